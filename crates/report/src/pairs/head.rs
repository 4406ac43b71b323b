//! The head of the map of two faces: verdicts, the summary, what to do, facts; and the legend of the lines.

use super::{PairMap, SIDE_UM, TILE};
use crate::draw::{Anchor, Outline};
use crate::map::page::{Face, Page};
use crate::map::theme::{MARGIN, QUIET, verdict_ink};

/// Share of the width that verdicts and sentences take.
const LEFT: f32 = 0.58;
/// Least height, and what is left below the lowest line of text.
const LEAST: f32 = 206.0;
const BELOW: f32 = 14.0;
/// Between lines of verdicts.
const VERDICT: f32 = 60.0;
/// Lines to a sentence, at most.
const LINES: usize = 3;
/// Width of the names of the facts.
const NAMES: f32 = 84.0;

/// Paints the head and gives its height, with as much room as its words take.
pub fn paint(page: &mut Page, map: &PairMap, width: f32) -> f32 {
    let split = (width * LEFT).round();
    let room = split - MARGIN - 20.0;
    let top = verdicts(page, map, MARGIN + room);
    let summary = page.paragraph([MARGIN, top + 50.0], Face::bold(18.0), &map.summary, room, usize::MAX);
    let mut said = summary - 3.0;
    for sentence in &map.sentences {
        said = page.paragraph([MARGIN, said], Face::regular(13.5), sentence, room, LINES);
    }
    let mut y = 42.0;
    for (name, value) in &map.facts {
        page.text([split, y], Anchor::Start, Face::regular(13.0).ink(QUIET), name);
        let room = width - MARGIN - split - NAMES;
        let next = page.paragraph([split + NAMES, y], Face::regular(14.0), value, room, 3);
        y = next.max(y + 20.0) + 1.0;
    }
    let height = (said.max(y) + BELOW).max(LEAST).round();
    page.rule(MARGIN, height - 8.0, width - 2.0 * MARGIN);
    height
}

/// Paints the verdicts, as many on a line as there is room for, and gives the height of the last line's middle.
fn verdicts(page: &mut Page, map: &PairMap, right: f32) -> f32 {
    let (mut x, mut y) = (MARGIN, 54.0);
    for (verdict, name) in &map.verdicts {
        let word = Face::bold(26.0).ink(verdict_ink(*verdict));
        let text = verdict.word().to_uppercase();
        let width = 60.0 + page.width(word, &text).max(70.0);
        if x > MARGIN && x + width > right {
            (x, y) = (MARGIN, y + VERDICT);
        }
        page.badge([x + 24.0, y], 22.0, *verdict);
        page.text([x + 60.0, y - 2.0], Anchor::Start, word, &text);
        page.text([x + 60.0, y + 17.0], Anchor::Start, Face::regular(14.0).ink(QUIET), name);
        x += width + 40.0;
    }
    y
}

/// Paints what the lines mean, below the head.
pub fn legend(page: &mut Page, map: &PairMap, width: f32, head: f32) {
    let (mut x, y) = (MARGIN, head + 18.0);
    for look in &map.legend {
        let line = Outline::Lines(vec![[[x, y - 5.0], [x + 28.0, y - 5.0]]]);
        page.shape(line.clone(), None, Some(look.stroke));
        page.shape(line, None, look.core);
        let face = Face::regular(13.0);
        page.text([x + 35.0, y], Anchor::Start, face, look.words);
        x += 35.0 + page.width(face, look.words) + 26.0;
    }
    page.text([x, y], Anchor::Start, Face::regular(13.0), map.signs);
    page.scale_bar([width - MARGIN, y - 5.0], 50.0, f64::from(TILE) / SIDE_UM);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Item;
    use crate::record::Verdict;

    /// The facts at the right begin where the words at the left end, however long these are.
    #[test]
    fn no_words_run_over_the_facts() {
        let map = PairMap {
            verdicts: (1..=9).map(|n| (Verdict::Ungraded, format!("look {n}"))).collect(),
            summary: "a summary of many words that do not fit on one line of the head ".repeat(4),
            sentences: vec!["a sentence of many words ".repeat(9)],
            facts: vec![("Face A".to_owned(), "a.png".to_owned())],
            legend: vec![],
            signs: "",
            zones_um: vec![],
            sections: vec![],
            tool: String::new(),
        };
        let (mut page, width) = (Page::default(), 1600.0);
        let height = paint(&mut page, &map, width);
        let texts: Vec<_> = page
            .items
            .iter()
            .filter_map(|i| if let Item::Text(t) = i { Some(t.clone()) } else { None })
            .collect();
        let facts = texts.iter().find(|t| t.words == "Face A").map(|t| t.at[0]);
        let left = |t: &&crate::draw::Text| {
            t.words.contains("many words") || t.words.starts_with("look") || t.words == "UNGRADED"
        };
        for text in texts.iter().filter(left) {
            let is_bold = text.size >= 18.0;
            let face = if is_bold { Face::bold(text.size) } else { Face::regular(text.size) };
            let right = text.at[0] + page.width(face, &text.words);
            assert!(facts.is_some_and(|facts| right < facts) && text.at[1] < height, "{text:?}");
        }
        let lines = texts.iter().filter(|t| t.size == 18.0).count();
        assert!(lines > 1, "{lines}");
    }
}
