//! The map of two faces, or of one face twice, position by position: both pictures of a position side by side,
//! their marks outlined by what became of them. What each line means is handed in.

mod card;
mod head;
mod tags;

use crate::draw::{Anchor, Drawing, GreyCrop, Rect, Stroke};
use crate::map::Window;
use crate::map::page::{Face, Page};
use crate::map::theme::{MARGIN, QUIET};
use crate::record::{FaceRecord, FeatureRecord, PositionRecord, Verdict};
use terms::Point;

/// Side of a fibre's picture.
const TILE: u32 = 176;
/// Between the two pictures of a card.
const SEAM: f32 = 14.0;
/// Height of a card's words above its pictures, and below them.
const TITLE: f32 = 44.0;
const CAPTION: f32 = 82.0;
/// Between cards.
const GAP: f32 = 20.0;
/// Cards side by side.
const ACROSS: usize = 4;
/// Height of the legend and of the foot.
const LEGEND: f32 = 34.0;
const FOOT: f32 = 44.0;
/// Face shown about a fibre, um: the cladding and a little ferrule.
const SIDE_UM: f64 = 150.0;

/// A line's look and what it means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// The line.
    pub(crate) stroke: Stroke,
    /// In words, for the legend.
    pub(crate) words: &'static str,
}

/// A mark as it is drawn on a fibre's picture.
#[derive(Clone, Debug, PartialEq)]
pub struct CardMark {
    /// Its line.
    pub(crate) look: Look,
    /// Its outline, fibre frame, um.
    pub(crate) outline: Vec<[f64; 2]>,
    /// A few signs beside it.
    pub(crate) tag: String,
}

/// One of the two pictures of a card.
#[derive(Clone, Debug, PartialEq)]
pub struct CardSide {
    /// What stands above it.
    pub(crate) label: String,
    /// The position on its face.
    pub(crate) position: u16,
    /// The verdict there.
    pub(crate) verdict: Verdict,
    /// Marks, the least important first.
    pub(crate) marks: Vec<CardMark>,
}

/// Both pictures of a position.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Row of the face: a new row starts a new line.
    pub(crate) row: u16,
    /// Its two sides.
    pub(crate) sides: [CardSide; 2],
    /// What is said below it.
    pub(crate) caption: String,
}

/// Everything that the map of two faces shows but the pictures.
#[derive(Clone, Debug, PartialEq)]
pub struct PairMap {
    /// The verdicts of the two sides, with what each side is called.
    pub(crate) verdicts: [(Verdict, &'static str); 2],
    /// The most important sentence.
    pub(crate) summary: String,
    /// What to do and what it rests on, a sentence to a line.
    pub(crate) sentences: Vec<String>,
    /// Facts by name.
    pub(crate) facts: Vec<(&'static str, String)>,
    /// The lines that occur.
    pub(crate) legend: Vec<Look>,
    /// The zones' outer diameters, um.
    pub(crate) zones_um: Vec<f64>,
    /// In order of position.
    pub(crate) cards: Vec<Card>,
    /// The program that made it.
    pub(crate) tool: String,
}

/// The parts of a face that the map shows, by position.
pub fn windows(face: &FaceRecord) -> Vec<(u16, Window)> {
    face.positions.iter().map(|p| (p.position, window(p))).collect()
}

fn window(position: &PositionRecord) -> Window {
    let ([x, y], [dx, dy]) = (position.nominal_um, position.offset_um.unwrap_or_default());
    let centre = Point::new(x + dx, y + dy);
    Window { centre, px_per_um: f64::from(TILE) / SIDE_UM, width_px: TILE, height_px: TILE }
}

/// A feature's outline in the fibre frame, um.
pub fn outline(face: &FaceRecord, position: &PositionRecord, feature: &FeatureRecord) -> Vec<[f64; 2]> {
    let pose = position.source.and_then(|source| face.poses.get(source));
    let (Some(pose), Some(centre)) = (pose, position.centre_px) else { return Vec::new() };
    pose.to_fibre(&feature.outline_px, centre).iter().map(|at| [at.x, at.y]).collect()
}

/// Composes the map. The pictures are those of [`windows`] for the first and the second face.
pub fn compose<'a>(map: &PairMap, pictures: [&'a [(u16, GreyCrop)]; 2]) -> Drawing<'a> {
    let card_width = 2.0 * TILE as f32 + SEAM;
    let width = 2.0 * MARGIN + ACROSS as f32 * (card_width + GAP) - GAP;
    let mut page = Page::default();
    let head = head::paint(&mut page, map, width);
    head::legend(&mut page, map, width, head);
    let mut y = head + LEGEND;
    let mut rows: Vec<u16> = map.cards.iter().map(|c| c.row).collect();
    rows.dedup();
    for row in rows {
        let cards: Vec<&Card> = map.cards.iter().filter(|c| c.row == row).collect();
        for line in cards.chunks(ACROSS) {
            for (i, card) in line.iter().enumerate() {
                let at = Rect::new(MARGIN + i as f32 * (card_width + GAP), y, card_width, TILE as f32);
                card::paint(&mut page, map, card, at, pictures);
            }
            y += TITLE + TILE as f32 + CAPTION;
        }
    }
    page.rule(MARGIN, y + 2.0, width - 2.0 * MARGIN);
    page.text([width - MARGIN, y + 26.0], Anchor::End, Face::regular(13.0).ink(QUIET), &map.tool);
    Drawing {
        width: width as u32,
        height: (y + FOOT) as u32,
        title: map.summary.clone(),
        description: map.sentences.join(" "),
        items: page.items,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::{Item, Outline, Text};

    /// Every text of a drawing, and how high each horizontal line across it lies.
    fn texts_and_rules<'a>(items: &'a [Item<'a>]) -> (Vec<&'a Text>, Vec<f32>) {
        let (mut texts, mut rules) = (Vec::new(), Vec::new());
        for item in items {
            match item {
                Item::Text(text) => texts.push(text),
                Item::Group { items, .. } => texts.extend(texts_and_rules(items).0),
                Item::Shape { outline: Outline::Lines(lines), .. } => {
                    let across = |l: &&[[f32; 2]; 2]| l[0][1] == l[1][1] && l[1][0] - l[0][0] > 1000.0;
                    rules.extend(lines.iter().filter(across).map(|l| l[0][1]));
                }
                Item::Shape { .. } | Item::Picture { .. } => {}
            }
        }
        (texts, rules)
    }

    /// However much there is to say, all of it stands there, and above the line that ends its part.
    #[test]
    fn words_have_the_room_they_take() {
        let side = |label: &str| CardSide {
            label: label.to_owned(),
            position: 12,
            verdict: Verdict::Fail,
            marks: Vec::new(),
        };
        let caption = "3 marks on both. A 12 at risk: from B 12: 1 particle over 3 um in zone A, none allowed (6.2 um) (and \
                       1 more). B 12 at risk: from A 12: 2 particles over 5 um in zone B, none allowed (largest 10.5 um)";
        let map = PairMap {
            verdicts: [(Verdict::Fail, "face A"), (Verdict::Fail, "face B")],
            summary: "3 marks lie on both faces".to_owned(),
            sentences: (1..=9).map(|n| format!("Sentence {n} of them.")).collect(),
            facts: vec![("Layout", "mpo-12".to_owned())],
            legend: Vec::new(),
            zones_um: Vec::new(),
            cards: vec![Card { row: 1, sides: [side("a"), side("b")], caption: caption.to_owned() }],
            tool: "tool".to_owned(),
        };
        let drawing = compose(&map, [&[], &[]]);
        let (texts, rules) = texts_and_rules(&drawing.items);
        let said: String = texts.iter().map(|text| text.words.as_str()).collect::<Vec<_>>().join(" ");
        assert!(said.contains("10.5") && !said.contains('…'), "{said}");
        assert_eq!(rules.len(), 2);
        let [mut above, mut below] = [0.0f32, 0.0];
        for text in texts.iter().filter(|text| text.words != "tool") {
            let lowest = if said_in_head(&text.words) { &mut above } else { &mut below };
            *lowest = lowest.max(text.at[1] + 0.25 * text.size);
        }
        assert!(above < rules[0] && below < rules[1], "{above} {below} {rules:?}");
        assert!(said.contains("Sentence 9 of them."), "{said}");
        assert!(said.contains("numbers: sizes in\u{a0}µm"), "{said}");
    }

    /// Tags keep off the frame, off each other and, where there is room, off every mark.
    #[test]
    fn tags_cover_nothing() {
        let look = Look { stroke: Stroke::solid(QUIET, 1.0), words: "" };
        let mark = |x: f64, y: f64| CardMark {
            look,
            outline: [[-6.0, -6.0], [6.0, -6.0], [6.0, 6.0], [-6.0, 6.0]]
                .map(|[u, v]| [x + u, y + v])
                .to_vec(),
            tag: "= 12".to_owned(),
        };
        let marks =
            vec![mark(0.0, 0.0), mark(0.0, 20.0), mark(64.0, 0.0), mark(0.0, -66.0), mark(-66.0, 60.0)];
        let side =
            CardSide { label: String::new(), position: 1, verdict: Verdict::Pass, marks: marks.clone() };
        let frame = Rect::new(100.0, 100.0, TILE as f32, TILE as f32);
        let mut page = Page::default();
        tags::marks(&mut page, &side, frame);
        let plates: Vec<Rect> = page.items.iter().filter_map(plate).collect();
        assert_eq!(plates.len(), marks.len());
        for (i, p) in plates.iter().enumerate() {
            let inside = p.x > frame.x + 3.0 && p.right() < frame.right() - 3.0;
            assert!(inside && p.y > frame.y + 3.0 && p.bottom() < frame.bottom() - 3.0, "{p:?}");
            let apart =
                |q: &Rect| p.right() <= q.x || q.right() <= p.x || p.bottom() <= q.y || q.bottom() <= p.y;
            assert!(plates[..i].iter().all(apart), "{plates:?}");
            for mark in &marks {
                let corners: Vec<[f32; 2]> = mark.outline.iter().map(|at| card::place(frame, *at)).collect();
                let drawn = Rect::new(corners[3][0], corners[3][1], 14.0, 14.0);
                assert!(apart(&drawn), "{p:?} covers {drawn:?}");
            }
        }
    }

    /// The rectangle under a tag.
    fn plate(item: &Item) -> Option<Rect> {
        match item {
            Item::Shape { outline: Outline::Rect(rect, _), fill: Some(_), .. } => Some(*rect),
            _ => None,
        }
    }

    fn said_in_head(words: &str) -> bool {
        words.starts_with("Sentence")
    }
}
