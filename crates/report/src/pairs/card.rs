//! One position: both pictures with their zones and marks, verdicts above, words below.

use super::tags;
use super::{Card, CardSide, PairMap, SEAM, SIDE_UM, TILE, TITLE};
use crate::draw::{Anchor, GreyCrop, Item, Outline, Rect, Stroke};
use crate::map::page::{Face, Page, hatch};
use crate::map::theme::{BLANK, FAIL, QUIET, RULE, TEXT, UNGRADED, verdict_ink};
use crate::record::Verdict;

/// Paints a card and gives the height below its last line.
pub fn paint<'a>(
    page: &mut Page<'a>,
    map: &PairMap,
    card: &Card,
    at: Rect,
    pictures: &[&'a [(u16, GreyCrop)]],
) -> f32 {
    let words = format!("Position {}. {}", card.sides[0].position, card.said.join(". "));
    let mut y = at.y + TITLE + TILE as f32 + 18.0;
    page.group(words, |page| {
        for (i, side) in card.sides.iter().enumerate() {
            let x = at.x + i as f32 * (TILE as f32 + SEAM);
            let rect = Rect::new(x, at.y + TITLE, TILE as f32, TILE as f32);
            let seen = pictures.get(side.of).copied().unwrap_or_default();
            let picture = seen.iter().find(|(position, _)| *position == side.position);
            one_side(page, map, side, rect, picture.map(|(_, crop)| crop));
        }
        for said in &card.said {
            y = page.paragraph([at.x, y], Face::regular(12.5), said, at.width, usize::MAX) + 2.0;
        }
    });
    y
}

fn one_side<'a>(
    page: &mut Page<'a>,
    map: &PairMap,
    side: &CardSide,
    rect: Rect,
    picture: Option<&'a GreyCrop>,
) {
    title(page, side, rect);
    match picture {
        Some(crop) => page.items.push(Item::Picture { at: [rect.x as u32, rect.y as u32], crop }),
        None => page.shape(Outline::Rect(rect, 0.0), Some(BLANK), None),
    }
    if side.verdict == Verdict::Ungraded {
        page.shape(hatch(rect, 22.0), None, Some(Stroke::solid(UNGRADED.with_alpha(150), 1.2)));
    }
    for diameter in &map.zones_um {
        let radius = (diameter / 2.0 * scale()) as f32;
        let circle = Outline::Circle { centre: place(rect, [0.0, 0.0]), radius };
        page.cased(circle, Stroke::solid(TEXT.with_alpha(150), 0.7));
    }
    tags::marks(page, side, rect);
    let frame = match side.verdict {
        Verdict::Pass => Stroke::solid(RULE, 1.0),
        Verdict::Fail => Stroke::solid(FAIL, 2.4),
        Verdict::Ungraded => Stroke::dashed(UNGRADED, 2.0, 8.0, 4.0),
    };
    page.shape(Outline::Rect(rect, 0.0), None, Some(frame));
}

fn title(page: &mut Page, side: &CardSide, rect: Rect) {
    let y = rect.y - 14.0;
    page.badge([rect.x + 10.0, y], 9.0, side.verdict);
    let number = Face::bold(17.0);
    let words = side.position.to_string();
    page.text([rect.x + 26.0, y + 6.0], Anchor::Start, number, &words);
    let after = rect.x + 26.0 + page.width(number, &words) + 7.0;
    let word = Face::bold(12.5).ink(verdict_ink(side.verdict));
    page.text([after, y + 6.0], Anchor::Start, word, side.verdict.word());
    page.text([rect.right(), y + 6.0], Anchor::End, Face::regular(12.5).ink(QUIET), &side.label);
}

/// Units to a micrometre.
fn scale() -> f64 {
    f64::from(TILE) / SIDE_UM
}

/// Where a point of the fibre frame (um) lies on the page.
pub fn place(rect: Rect, [x, y]: [f64; 2]) -> [f32; 2] {
    let half = rect.width / 2.0;
    [rect.x + half + (x * scale()) as f32, rect.y + half - (y * scale()) as f32]
}
