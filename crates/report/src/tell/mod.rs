//! What the terminal and the map both say about a record: the summary, the worst mark of a position and
//! where it lies, and what to do next. Words only; every verdict is the record's.

mod advice;
mod close;
mod stepped;

pub use advice::{advice, retake};
pub use close::{close_call, closely, is_close};
pub use stepped::{left_out, pictures};

use crate::record::{
    CriteriaRecord, FaceRecord, Faith, FeatureRecord, FindingRecord, Key, Kind, PositionRecord, ReasonRecord,
    Verdict, ViewRecord,
};
use terms::words::listed;

/// A feature nearer to the cladding's centre than this (um) is said to lie at the centre: a direction would
/// rest on the last micrometre.
const AT_CENTRE_UM: f64 = 4.0;

/// "2 of 12 positions fail, 1 is ungraded".
pub fn summary(record: &FaceRecord) -> String {
    let count = |verdict| record.with_verdict(verdict).count();
    let (failed, open, all) = (count(Verdict::Fail), count(Verdict::Ungraded), record.positions.len());
    let ungraded = |n: usize| format!("{n} {} ungraded", if n == 1 { "is" } else { "are" });
    match (failed, open) {
        (0, 0) => format!("all {all} positions pass"),
        (0, n) if n == all => format!("none of the {all} positions could be graded"),
        (0, n) => format!("of {all} positions none fails, {}", ungraded(n)),
        (n, 0) => format!("{n} of {all} positions {}", fail(n)),
        (n, m) => format!("{n} of {all} positions {}, {}", fail(n), ungraded(m)),
    }
}

fn fail(n: usize) -> &'static str {
    if n == 1 { "fails" } else { "fail" }
}

/// How the picture was taken and how it is shown: "shown key up; the picture was taken key down, mirrored".
pub fn view(record: &FaceRecord) -> String {
    view_of(record.view)
}

/// The same of a view.
pub fn view_of(view: ViewRecord) -> String {
    viewed(view, "the picture was")
}

/// The same of several pictures that were taken alike.
pub fn view_of_all(view: ViewRecord) -> String {
    viewed(view, "the pictures were")
}

fn viewed(view: ViewRecord, they_were: &str) -> String {
    match (view.key, view.mirrored) {
        (Key::Up, false) => format!("shown key up, as {they_were} taken"),
        (Key::Up, true) => format!("shown key up; {they_were} taken mirrored"),
        (Key::Down, false) => format!("shown key up; {they_were} taken key down"),
        (Key::Down, true) => format!("shown key up; {they_were} taken key down and mirrored"),
    }
}

/// How each of two pictures was taken: once where they were taken alike, else of each by its name.
pub fn views([a, b]: [(&str, ViewRecord); 2]) -> String {
    match a.1 == b.1 {
        true => view_of_all(a.1),
        false => format!("{} {}; {} {}", a.0, view_of(a.1), b.0, view_of(b.1)),
    }
}

/// A sentence with a capital at its start.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The criteria's title with document and edition, each said once.
pub fn criteria(record: &FaceRecord) -> String {
    let criteria = &record.criteria;
    titled(&criteria.title, &criteria.document, &criteria.edition)
}

/// A title, and in brackets the document and its edition if the title does not name the document.
pub fn titled(title: &str, document: &str, edition: &str) -> String {
    if document.is_empty() || title.contains(document) {
        return title.to_owned();
    }
    match edition {
        "" => format!("{title} ({document})"),
        edition => format!("{title} ({document} edition {edition})"),
    }
}

/// What to mind of criteria with limits that are known from memory only.
pub fn from_memory(criteria: &CriteriaRecord) -> Option<String> {
    let which = if criteria.all_from_memory { "All" } else { "Some" };
    let text = format!("{which} limits of these criteria are from memory: check them against the standard.");
    (criteria.faith == Faith::FromMemory).then_some(text)
}

/// Which marks are too small to be counted, in words.
pub fn smallest_counted(um: f64) -> String {
    if um > 0.0 {
        format!("marks under {um} um are listed and not counted")
    } else {
        "marks of every size are counted".to_owned()
    }
}

/// The largest of the features that break a rule, or where none does of those that are counted.
pub fn worst(position: &PositionRecord) -> Option<&FeatureRecord> {
    let largest_of = |meant: &dyn Fn(&FeatureRecord) -> bool| {
        let meant = position.features.iter().filter(|f| meant(f));
        meant.max_by(|a, b| a.size_um.total_order(b.size_um))
    };
    largest_of(&|f| position.breaks(f.id)).or_else(|| largest_of(&|f| position.counts(f.id)))
}

/// The largest feature that a finding counts.
fn largest<'a>(position: &'a PositionRecord, finding: &FindingRecord) -> Option<&'a FeatureRecord> {
    let counted = finding.counted.iter().filter_map(|id| position.feature(*id));
    counted.max_by(|a, b| a.size_um.total_order(b.size_um))
}

trait TotalOrder {
    fn total_order(self, other: Self) -> std::cmp::Ordering;
}

impl TotalOrder for Option<f64> {
    fn total_order(self, other: Self) -> std::cmp::Ordering {
        let bare = |x: Option<f64>| x.unwrap_or(f64::NEG_INFINITY);
        bare(self).total_cmp(&bare(other))
    }
}

/// A size for a narrow column: one decimal below 10 um, none above.
pub fn short_size(size_um: Option<f64>) -> String {
    match size_um {
        Some(size) if size < 9.95 => format!("{size:.1}"),
        Some(size) => format!("{size:.0}"),
        None => "?".to_owned(),
    }
}

/// A feature's size in the same way, with more decimals where it would be told as the limit that it breaks.
pub fn size(feature: &FeatureRecord) -> String {
    let short = short_size(feature.size_um);
    let (Some(size), Some(limit)) = (feature.size_um, feature.limit_um) else { return short };
    let over = |text: &str| text.parse().is_ok_and(|told: f64| (told > limit) == (size > limit));
    let longer = (1..=3).map(|digits| format!("{size:.digits$}"));
    std::iter::once(short.clone()).chain(longer).find(|text| over(text)).unwrap_or(short)
}

/// Where on the fibre a feature lies: "at 2 o'clock" with the key up, or "at the centre".
pub fn place(feature: &FeatureRecord) -> Option<String> {
    across(feature).or_else(|| feature.centre_um.map(clock))
}

/// Where a mark runs that crosses the fibre, "from 12 to 6 o'clock": its middle lies nearer to the centre than a third
/// of its length, so that no one direction tells its place.
fn across(feature: &FeatureRecord) -> Option<String> {
    let ([x, y], ends) = (feature.centre_um?, feature.ends_um?);
    let [a, b] = ends;
    let length = (a[0] - b[0]).hypot(a[1] - b[1]);
    let far = ends.iter().all(|[x, y]| x.hypot(*y) >= AT_CENTRE_UM);
    let [from, to] = ends.map(hour);
    (3.0 * x.hypot(y) < length && far && from != to).then(|| format!("from {from} to {to} o'clock"))
}

/// The same of a place in the fibre frame, um.
pub fn clock([x, y]: [f64; 2]) -> String {
    if x.hypot(y) < AT_CENTRE_UM {
        return "at the centre".to_owned();
    }
    format!("at {} o'clock", hour([x, y]))
}

/// The hour that a direction has on the clock.
fn hour([x, y]: [f64; 2]) -> u8 {
    let turns = x.atan2(y) / std::f64::consts::TAU;
    match (turns * 12.0).round().rem_euclid(12.0) as u8 {
        0 => 12,
        hour => hour,
    }
}

/// Why a position fails or is ungraded, in one sentence; none on a pass. Of several broken rules the one whose mark is
/// the farthest over its limit, with the number of the others; of what keeps it from a verdict everything, as all of it
/// is to be mended.
pub fn why(position: &PositionRecord) -> Option<String> {
    if position.verdict == Verdict::Ungraded {
        return Some(whys(position).join("; "));
    }
    let mut text = whys(position).into_iter().next()?;
    // What a guard band leaves open is no reason of its own.
    match position.broken().count() {
        0 | 1 => {}
        2 => text.push_str(" (and 1 more limit is broken)"),
        n => text.push_str(&format!(" (and {} more limits are broken)", n - 1)),
    }
    Some(text)
}

/// Ungraded positions and why, those with the same to say together: "1-12" and "the cores look ...".
pub fn ungraded(record: &FaceRecord) -> Vec<(String, String)> {
    let mut groups: Vec<(String, Vec<u16>)> = Vec::new();
    for position in record.with_verdict(Verdict::Ungraded) {
        let why = why(position).unwrap_or_default();
        match groups.iter_mut().find(|(text, _)| *text == why) {
            Some((_, positions)) => positions.push(position.position),
            None => groups.push((why, vec![position.position])),
        }
    }
    groups.into_iter().map(|(why, positions)| (numbers(positions), why)).collect()
}

/// The same in short: positions of one kind of reason together, with the words of the first where they differ.
pub fn ungraded_in_short(record: &FaceRecord) -> Vec<String> {
    let mut groups: Vec<Vec<&PositionRecord>> = Vec::new();
    let codes = |p: &PositionRecord| p.reasons.iter().map(|r| r.code.clone()).collect::<Vec<_>>();
    for position in record.with_verdict(Verdict::Ungraded) {
        match groups.iter_mut().find(|group| group.iter().any(|p| codes(p) == codes(position))) {
            Some(group) => group.push(position),
            None => groups.push(vec![position]),
        }
    }
    let told = |group: &Vec<&PositionRecord>| {
        let (first, at) = (group.first()?, numbers(group.iter().map(|p| p.position)));
        let of = match group.iter().all(|p| p.reasons == first.reasons) {
            true => String::new(),
            false => format!("{}: ", first.position),
        };
        Some(format!("{at} ({of}{})", why(first)?))
    };
    groups.iter().filter_map(told).collect()
}

/// Whether nothing tells of any fibre which position it is.
pub fn unnumbered(record: &FaceRecord) -> bool {
    record.positions.iter().all(|p| p.reasons.iter().any(ReasonRecord::is_unnumbered))
}

/// The number of a position as it stands on a map: a question mark where no fibre's is known.
pub fn number(record: &FaceRecord, position: &PositionRecord) -> String {
    if unnumbered(record) { "?".to_owned() } else { position.position.to_string() }
}

/// What is said of a position that carries no lane.
pub const NO_LANE: &str = "no lane";

/// The lane that a position carries in the application that was stated, "Rx3" or [`NO_LANE`]; none where no application
/// was stated, or no fibre's number is known.
pub fn lane<'r>(record: &'r FaceRecord, position: &PositionRecord) -> Option<&'r str> {
    let lanes = record.application.iter().filter(|_| !unnumbered(record)).flat_map(|a| &a.lanes);
    let here = lanes.into_iter().find(|lane| lane.position == position.position)?;
    Some(here.lane.as_deref().unwrap_or(NO_LANE))
}

/// What keeps every position of a face from a verdict, if they say the same: it is told once for the face.
pub fn of_all<'r>(mut positions: impl Iterator<Item = &'r [ReasonRecord]>) -> Option<&'r ReasonRecord> {
    let first = positions.next()?;
    let others: Vec<&[ReasonRecord]> = positions.collect();
    let by_all = |reason: &&ReasonRecord| others.iter().all(|reasons| reasons.contains(reason));
    first.iter().find(by_all).filter(|_| !others.is_empty())
}

/// The same of a record.
pub fn of_face(record: &FaceRecord) -> Option<&ReasonRecord> {
    let open = record.positions.iter().all(|p| p.verdict == Verdict::Ungraded);
    of_all(record.positions.iter().map(|p| p.reasons.as_slice())).filter(|_| open)
}

/// Why a position is ungraded beside what is told of the whole face.
pub fn besides(reasons: &[ReasonRecord], of_all: &ReasonRecord) -> String {
    let own: Vec<&str> = reasons.iter().filter(|r| *r != of_all).map(|r| r.text.as_str()).collect();
    if own.is_empty() { "for the reason above".to_owned() } else { own.join("; ") }
}

/// Every reason why a position fails or is ungraded, and where the largest mark of it lies. Of a fail, the broken rules
/// come by how far their largest mark is over its limit.
pub fn whys(position: &PositionRecord) -> Vec<String> {
    let mut broken = position.broken();
    let told = |reason: &ReasonRecord| {
        let mut text = reason.text.clone();
        let Some(finding) = broken.next() else { return (f64::NEG_INFINITY, text) };
        let largest = largest(position, finding);
        if let Some(at) = largest.and_then(place) {
            let of = if finding.observed > 1 { "the largest " } else { "" };
            text.push_str(&format!(", {of}{at}"));
        }
        if finding.source.faith == Faith::FromMemory {
            text.push_str(" [limit from memory]");
        }
        (largest.and_then(over).unwrap_or(0.0), text)
    };
    let mut told: Vec<(f64, String)> = position.reasons.iter().map(told).collect();
    told.sort_by(|a, b| b.0.total_cmp(&a.0));
    told.into_iter().map(|(_, text)| text).collect()
}

/// How far a feature is over the limit that it breaks, um.
fn over(feature: &FeatureRecord) -> Option<f64> {
    Some(feature.size_um? - feature.limit_um?)
}

/// A probability in words; none is told as certain.
pub fn percent(probability: f64) -> String {
    match 100.0 * probability {
        p if p >= 99.5 => "over 99 %".to_owned(),
        p if p < 0.5 => "under 1 %".to_owned(),
        p => format!("{p:.0} %"),
    }
}

/// By what the limits were drawn in, if they were.
pub fn guard(record: &FaceRecord) -> Option<String> {
    let risk = record.guard_risk?;
    let percent = (10_000.0 * risk).round() / 100.0;
    Some(format!("limits drawn in by a guard band, risk {percent} %"))
}

/// What is on a position that passes: "no marks", "2 marks, within the limits; largest: particle 3.1 um; 1 not counted".
pub fn what_passes(position: &PositionRecord) -> String {
    let counted = position.features.iter().filter(|f| position.counts(f.id)).count();
    let Some(worst) = worst(position) else {
        return match position.features.len() {
            0 => "no marks".to_owned(),
            n => format!("{}, none counted", marks(n)),
        };
    };
    let rest = match position.features.len() - counted {
        0 => String::new(),
        n => format!("; {n} not counted"),
    };
    let (kind, size) = (worst.kind.word(), size(worst));
    format!("{}, within the limits; largest: {kind} {size} um{rest}", marks(counted))
}

fn marks(n: usize) -> String {
    if n == 1 { "1 mark".to_owned() } else { format!("{n} marks") }
}

/// Position numbers as people write them: "1-3, 7".
pub fn numbers(positions: impl IntoIterator<Item = u16>) -> String {
    let mut runs: Vec<(u16, u16)> = Vec::new();
    for p in positions {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == p => *last = p,
            _ => runs.push((p, p)),
        }
    }
    let run = |(a, b): &(u16, u16)| match b - a {
        0 => a.to_string(),
        1 => format!("{a}, {b}"),
        _ => format!("{a}-{b}"),
    };
    runs.iter().map(run).collect::<Vec<_>>().join(", ")
}

/// Kinds in words: "scratch, chip and pit".
pub fn kinds(kinds: &[Kind]) -> String {
    listed(kinds.iter().map(|kind| kind.word()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_read_like_sentences() {
        assert_eq!(kinds(&[Kind::Scratch, Kind::Pit, Kind::Chip]), "scratch, pit and chip");
        assert_eq!(numbers([1, 2, 3, 7, 9, 10]), "1-3, 7, 9, 10");
        assert_eq!(numbers([]), "");
    }

    #[test]
    fn no_probability_is_told_as_certain() {
        assert_eq!([1.0, 0.996, 0.94, 0.0].map(percent), ["over 99 %", "over 99 %", "94 %", "under 1 %"]);
    }

    #[test]
    fn a_document_is_named_once() {
        assert_eq!(titled("IEC 1 edition 2, multimode", "IEC 1", "2"), "IEC 1 edition 2, multimode");
        assert_eq!(titled("our own", "IEC 1", "2"), "our own (IEC 1 edition 2)");
        assert_eq!(titled("our own", "", ""), "our own");
    }

    /// A figure that is told as the limit itself would contradict the verdict.
    #[test]
    fn no_size_is_rounded_onto_the_limit_that_it_breaks() {
        let told = |size_um, limit_um| {
            size(&FeatureRecord { size_um: Some(size_um), limit_um, ..feature(0.0, 0.0) })
        };
        assert_eq!(told(10.053, Some(10.0)), "10.1");
        assert_eq!(told(10.004, Some(10.0)), "10.004");
        assert_eq!(told(5.02, Some(5.0)), "5.02");
        assert_eq!([told(12.4, Some(10.0)), told(10.053, None)], ["12", "10"]);
    }

    fn at(x: f64, y: f64) -> Option<String> {
        place(&feature(x, y))
    }

    fn feature(x: f64, y: f64) -> FeatureRecord {
        FeatureRecord {
            id: 1,
            kind: Kind::Pit,
            zone: None,
            size_um: None,
            u_um: None,
            length_um: None,
            centre_um: Some([x, y]),
            contrast: None,
            outline_px: vec![],
            reach_um: None,
            near_limit: false,
            limit_um: None,
            ends_um: None,
        }
    }

    #[test]
    fn places_are_told_by_the_clock_with_the_key_up() {
        let hours = [(0.0, 30.0), (30.0, 0.0), (0.0, -30.0), (-30.0, 0.0), (-1.0, 30.0), (20.0, 20.0)];
        let words: Vec<String> = hours.into_iter().filter_map(|(x, y)| at(x, y)).collect();
        let expected = [12, 3, 6, 9, 12, 2].map(|hour| format!("at {hour} o'clock"));
        assert_eq!(words, expected);
        assert_eq!(at(2.0, -2.0).unwrap(), "at the centre");
    }

    /// One that runs from 12 to 6 and passes at the right of the centre is not "at 3 o'clock".
    #[test]
    fn what_crosses_the_fibre_is_told_by_its_ends() {
        let told = |x, ends_um| place(&FeatureRecord { ends_um, ..feature(x, 0.0) }).unwrap();
        assert_eq!(told(6.0, Some([[6.0, 50.0], [6.0, -50.0]])), "from 12 to 6 o'clock");
        assert_eq!(told(0.0, Some([[40.0, 23.0], [-40.0, -23.0]])), "from 2 to 8 o'clock");
        assert_eq!(told(40.0, Some([[40.0, 50.0], [40.0, -50.0]])), "at 3 o'clock");
        assert_eq!(told(1.0, Some([[1.0, 3.0], [1.0, -3.0]])), "at the centre");
        assert_eq!(told(6.0, None), "at 3 o'clock");
    }
}
