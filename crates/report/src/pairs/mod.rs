//! The map of two faces, or of one face at several looks, position by position: two pictures of a position side by
//! side, their marks outlined by what became of them. What each line means is handed in.

mod card;
mod head;
mod tags;

use crate::draw::{Anchor, Drawing, GreyCrop, Rect};
use crate::map::Window;
use crate::map::page::{Face, Page};
use crate::map::theme::{Look, MARGIN, QUIET};
use crate::record::{FaceRecord, FeatureRecord, PositionRecord, Verdict};
use terms::Point;

/// Side of a fibre's picture.
const TILE: u32 = 176;
/// Between the two pictures of a card.
const SEAM: f32 = 14.0;
/// Height of a card's words above its pictures.
const TITLE: f32 = 44.0;
/// Height of a section's title.
const SECTION: f32 = 30.0;
/// Width of a card.
const CARD: f32 = 2.0 * TILE as f32 + SEAM;
/// Between cards.
const GAP: f32 = 20.0;
/// Cards side by side.
const ACROSS: usize = 4;
/// Height of the legend and of the foot.
const LEGEND: f32 = 34.0;
const FOOT: f32 = 44.0;
/// Face shown about a fibre, um: the cladding and a little ferrule.
const SIDE_UM: f64 = 150.0;

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
    /// Which of the looks or faces it shows, counted from 0.
    pub(crate) of: usize,
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
    /// What is said below it, each on lines of its own.
    pub(crate) said: Vec<String>,
}

/// Cards under a title.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Empty where there is one section only.
    pub(crate) title: String,
    /// In order of position.
    pub(crate) cards: Vec<Card>,
}

/// Everything that the map of two faces shows but the pictures.
#[derive(Clone, Debug, PartialEq)]
pub struct PairMap {
    /// The verdict of each look or face, with what it is called.
    pub(crate) verdicts: Vec<(Verdict, String)>,
    /// The most important sentence.
    pub(crate) summary: String,
    /// What to do and what it rests on, a sentence to a line.
    pub(crate) sentences: Vec<String>,
    /// Facts by name.
    pub(crate) facts: Vec<(String, String)>,
    /// The lines that occur.
    pub(crate) legend: Vec<Look>,
    /// What the signs beside the marks mean.
    pub(crate) signs: &'static str,
    /// The zones' outer diameters, um.
    pub(crate) zones_um: Vec<f64>,
    /// In order of the looks.
    pub(crate) sections: Vec<Section>,
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

/// Composes the map. The pictures are those of [`windows`] for each look or face.
pub fn compose<'a>(map: &PairMap, pictures: &[&'a [(u16, GreyCrop)]]) -> Drawing<'a> {
    let width = 2.0 * MARGIN + ACROSS as f32 * (CARD + GAP) - GAP;
    let mut page = Page::default();
    let head = head::paint(&mut page, map, width);
    head::legend(&mut page, map, width, head);
    let mut y = head + LEGEND;
    for section in &map.sections {
        y = paint(&mut page, map, section, y, pictures);
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

/// Paints the cards of a section from a height on, each row of the face from the left, and gives the height after them.
fn paint<'a>(
    page: &mut Page<'a>,
    map: &PairMap,
    section: &Section,
    mut y: f32,
    pictures: &[&'a [(u16, GreyCrop)]],
) -> f32 {
    if !section.title.is_empty() {
        page.text([MARGIN, y + 22.0], Anchor::Start, Face::bold(16.0), &section.title);
        y += SECTION;
    }
    for row in section.cards.chunk_by(|a, b| a.row == b.row) {
        for line in row.chunks(ACROSS) {
            let mut bottom = y;
            for (i, card) in line.iter().enumerate() {
                let at = Rect::new(MARGIN + i as f32 * (CARD + GAP), y, CARD, TILE as f32);
                bottom = card::paint(page, map, card, at, pictures).max(bottom);
            }
            y = bottom.round();
        }
    }
    y
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
            of: 0,
            position: 12,
            verdict: Verdict::Fail,
            marks: Vec::new(),
        };
        let caption = "3 marks on both. A 12 at risk: from B 12: 1 particle over 3 um in zone A, none allowed (6.2 um) (and \
                       1 more). B 12 at risk: from A 12: 2 particles over 5 um in zone B, none allowed (largest 10.5 um)";
        let card = Card { row: 1, sides: [side("a"), side("b")], said: vec![caption.to_owned()] };
        let map = PairMap {
            verdicts: ["face A", "face B"].map(|name| (Verdict::Fail, name.to_owned())).to_vec(),
            summary: "3 marks lie on both faces".to_owned(),
            sentences: (1..=9).map(|n| format!("Sentence {n} of them.")).collect(),
            facts: vec![("Layout".to_owned(), "mpo-12".to_owned())],
            legend: Vec::new(),
            signs: "what the signs mean",
            zones_um: Vec::new(),
            sections: vec![Section { title: "a step".to_owned(), cards: vec![card] }],
            tool: "tool".to_owned(),
        };
        let drawing = compose(&map, &[&[], &[]]);
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
        assert!(said.contains("what the signs mean"), "{said}");
    }

    /// Tags keep off the frame, off each other and, where there is room, off every mark.
    #[test]
    fn tags_cover_nothing() {
        let look = Look::STAYED;
        let mark = |x: f64, y: f64| CardMark {
            look,
            outline: [[-6.0, -6.0], [6.0, -6.0], [6.0, 6.0], [-6.0, 6.0]]
                .map(|[u, v]| [x + u, y + v])
                .to_vec(),
            tag: "= 12".to_owned(),
        };
        let marks =
            vec![mark(0.0, 0.0), mark(0.0, 20.0), mark(64.0, 0.0), mark(0.0, -66.0), mark(-66.0, 60.0)];
        let side = CardSide {
            label: String::new(),
            of: 0,
            position: 1,
            verdict: Verdict::Pass,
            marks: marks.clone(),
        };
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

    /// However crowded the marks, every one has its tag, apart from all others, and a line to it where it stands off.
    #[test]
    fn crowded_marks_keep_their_tags() {
        let mark = |k: usize| CardMark {
            look: Look::NEW,
            outline: vec![[3.0 * (k % 5) as f64, 3.0 * (k / 5) as f64]; 3],
            tag: format!("+{k}!"),
        };
        let marks: Vec<CardMark> = (0..25).map(mark).collect();
        let side = CardSide { label: String::new(), of: 0, position: 1, verdict: Verdict::Pass, marks };
        let mut page = Page::default();
        tags::marks(&mut page, &side, Rect::new(0.0, 0.0, TILE as f32, TILE as f32));
        let plates: Vec<Rect> = page.items.iter().filter_map(plate).collect();
        assert_eq!(plates.len(), 25);
        let apart = |p: &Rect, q: &Rect| {
            p.right() <= q.x || q.right() <= p.x || p.bottom() <= q.y || q.bottom() <= p.y
        };
        assert!(
            plates.iter().enumerate().all(|(i, p)| plates[..i].iter().all(|q| apart(p, q))),
            "{plates:?}"
        );
        let lines = |item: &Item| match item {
            Item::Shape { outline: Outline::Lines(lines), .. } => lines.len(),
            _ => 0,
        };
        assert!(page.items.iter().map(lines).max() > Some(12));
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
