//! The marks of a position for the map of a comparison: numbered through both pictures, a mark that stayed with one
//! number in both, and listed by what became of them.

use super::record::{ChangesRecord, KeptFeature, Seen};
use crate::map::theme::Look;
use crate::pairs::{CardMark, outline};
use crate::record::{FaceRecord, FeatureRecord, PositionRecord};
use crate::tell::size;

/// Most marks of a position that get a number: more would leave no room to find one.
const MOST: usize = 40;

/// What became of a mark: its line, the sign before its number, and the word of the list.
#[derive(Clone, Copy)]
struct Fate {
    look: Look,
    sign: char,
    word: &'static str,
}

const NEW: Fate = Fate { look: Look::NEW, sign: '+', word: "new" };
const GONE: Fate = Fate { look: Look::GONE, sign: '−', word: "gone" };
const STAYED: Fate = Fate { look: Look::STAYED, sign: '=', word: "stayed" };
const UNSURE: Fate = Fate { look: Look::UNSURE, sign: '?', word: "unsure" };

/// An outline in the fibre frame, um.
type Line = Vec<[f64; 2]>;

/// One mark and where each picture shows it.
struct Mark<'r> {
    fate: Fate,
    feature: &'r FeatureRecord,
    breaks_limit: bool,
    note: String,
    before: Vec<Line>,
    after: Vec<Line>,
}

/// A position of one of the faces.
pub(super) struct Place<'r> {
    face: &'r FaceRecord,
    position: Option<&'r PositionRecord>,
}

impl<'r> Place<'r> {
    pub(super) fn new(face: &'r FaceRecord, number: u16) -> Place<'r> {
        Place { face, position: face.positions.iter().find(|p| p.position == number) }
    }

    fn line(&self, feature: &FeatureRecord) -> Line {
        self.position.map_or_else(Vec::new, |position| outline(self.face, position, feature))
    }

    fn features(&self) -> impl Iterator<Item = &'r FeatureRecord> {
        self.position.into_iter().flat_map(|p| &p.features)
    }
}

/// The marks of both pictures, the least important first, and the list that their numbers lead to.
pub(super) fn drawn(changes: &ChangesRecord, was: &Place, is: &Place) -> ([Vec<CardMark>; 2], Vec<String>) {
    let marks = marks(changes, was, is);
    let mut sides = [Vec::new(), Vec::new()];
    for (k, mark) in marks.iter().enumerate().rev() {
        let drawn = |line: &Line| CardMark { look: mark.fate.look, outline: line.clone(), tag: tag(k, mark) };
        let [before, after] = &mut sides;
        before.extend(mark.before.iter().map(drawn));
        after.extend(mark.after.iter().map(drawn));
    }
    (sides, list(&marks))
}

/// "+1!": what became of it, its number, and whether it breaks a limit.
fn tag(k: usize, mark: &Mark) -> String {
    let limit = if mark.breaks_limit { "!" } else { "" };
    if k < MOST { format!("{}{}{limit}", mark.fate.sign, k + 1) } else { String::new() }
}

/// A line for each fate: "new: +1! particle 5.3 um, +2 pit 1.2 um"; a number stays on the line of its kind.
fn list(marks: &[Mark]) -> Vec<String> {
    let numbered: Vec<(usize, &Mark)> = marks.iter().enumerate().take(MOST).collect();
    let told = |(k, mark): &(usize, &Mark)| {
        format!("{}\u{a0}{} {} um{}", tag(*k, mark), mark.feature.kind.word(), size(mark.feature), mark.note)
    };
    let line = |of_one: &[(usize, &Mark)]| {
        let word = of_one.first().map_or("", |(_, mark)| mark.fate.word);
        format!("{word}: {}", of_one.iter().map(told).collect::<Vec<_>>().join(", "))
    };
    let rest = marks.len().saturating_sub(MOST);
    let rest = (rest > 0).then(|| format!("{rest} more without a number: see the document"));
    numbered.chunk_by(|a, b| a.1.fate.sign == b.1.fate.sign).map(line).chain(rest).collect()
}

/// Fate by fate, of each first what breaks a limit, then the largest.
fn marks<'r>(changes: &'r ChangesRecord, was: &Place, is: &Place) -> Vec<Mark<'r>> {
    let gone_whole = |id: u32| changes.removed.iter().any(|f| f.feature.id == id && !f.part);
    let part = |is_part: bool| if is_part { " (part)" } else { "" };
    let new = changes.new.iter().map(|f| Mark {
        fate: NEW,
        feature: &f.feature,
        breaks_limit: f.breaks_limit,
        note: part(f.part).to_owned(),
        before: Vec::new(),
        after: vec![is.line(&f.feature)],
    });
    let gone = changes.removed.iter().map(|f| Mark {
        fate: GONE,
        feature: &f.feature,
        breaks_limit: f.breaks_limit,
        note: format!("{}{}", part(f.part), moved(changes, f.feature.id)),
        before: vec![was.line(&f.feature)],
        after: Vec::new(),
    });
    // Of a mark that went a part may be left: before, it is drawn as gone.
    let earlier = |kept: &KeptFeature| -> Vec<Line> {
        let there = was.features().filter(|f| kept.before_ids.contains(&f.id) && !gone_whole(f.id));
        match kept.before_ids.is_empty() {
            true => vec![is.line(&kept.feature)],
            false => there.map(|f| was.line(f)).collect(),
        }
    };
    let stayed = changes.remaining.iter().map(|f| Mark {
        fate: STAYED,
        feature: &f.feature,
        breaks_limit: f.breaks_limit,
        note: history(f),
        before: earlier(f),
        after: vec![is.line(&f.feature)],
    });
    let unsure = changes.unsure.iter().map(|f| {
        let (before, after) = match f.seen {
            Seen::Before => (vec![was.line(&f.feature)], Vec::new()),
            Seen::After => (Vec::new(), vec![is.line(&f.feature)]),
        };
        let (feature, breaks_limit) = (&f.feature, f.breaks_limit);
        Mark { fate: UNSURE, feature, breaks_limit, note: String::new(), before, after }
    });
    let groups: [Vec<Mark>; 4] = [new.collect(), gone.collect(), stayed.collect(), unsure.collect()];
    groups.into_iter().flat_map(gravest_first).collect()
}

fn gravest_first(mut marks: Vec<Mark>) -> Vec<Mark> {
    let size = |mark: &Mark| mark.feature.size_um.unwrap_or(0.0);
    marks.sort_by(|a, b| b.breaks_limit.cmp(&a.breaks_limit).then(size(b).total_cmp(&size(a))));
    marks
}

/// Where a mark that went probably lies now.
fn moved(changes: &ChangesRecord, id: u32) -> String {
    let to = changes.moved.iter().find(|m| m.from.id == id);
    to.map_or_else(String::new, |m| format!(" (probably moved to position {})", m.to_position))
}

/// What a mark that stayed was before, where that tells something.
fn history(kept: &KeptFeature) -> String {
    match (kept.before_ids.is_empty(), kept.grown || kept.shrunk, kept.size_before_um) {
        (true, ..) => " (faint before)".to_owned(),
        (false, true, Some(before)) => format!(" (was {})", crate::tell::short_size(Some(before))),
        _ => String::new(),
    }
}
