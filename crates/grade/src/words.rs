//! The sentences of grading: bands, limits and reasons in plain words.

use crate::conformity::{Acceptance, Risk};
use crate::cores::OTHER_MODE;
use crate::count::Tally;
use crate::criteria::{Allowed, Band, Mode, Subject};
use crate::verdict::{Reason, Verdict};
use std::fmt;
use terms::{Feature, Fibre, Kind, Um};

impl fmt::Display for Allowed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Allowed::Any => f.write_str("any number"),
            Allowed::AtMost(0) => f.write_str("none"),
            Allowed::AtMost(limit) => write!(f, "at most {limit}"),
            Allowed::Undecided => f.write_str("not decided"),
        }
    }
}

impl Band {
    /// The band with its subject, e.g. "scratches over 3 um wide", "defects of 2 to 5 um".
    pub fn words(&self, subject: Subject) -> String {
        let any_size = match subject {
            Subject::Scratches => " of any width",
            Subject::Defects => " of any size",
        };
        format!("{}{}", subject.word(), sizes(self, subject).as_deref().unwrap_or(any_size))
    }
}

/// The sizes of a band with a leading space; none if it holds every size. Limits are written in full, never
/// rounded.
fn sizes(band: &Band, subject: Subject) -> Option<String> {
    let (of, wide) = match subject {
        Subject::Scratches => ("", " wide"),
        Subject::Defects => ("of ", ""),
    };
    let low = band.low.0;
    let from_zero = low == 0.0 && band.low_included;
    let range = match (from_zero, band.high.map(Um::get), band.low_included, band.high_included) {
        (true, None, ..) => return None,
        (true, Some(high), _, true) => format!("up to {high} um"),
        (true, Some(high), _, false) => format!("under {high} um"),
        (false, None, true, _) => format!("{of}{low} um or more"),
        (false, None, false, _) => format!("over {low} um"),
        (false, Some(high), true, true) => format!("{of}{low} to {high} um"),
        (false, Some(high), true, false) => format!("from {low} to under {high} um"),
        (false, Some(high), false, true) => format!("over {low} and up to {high} um"),
        (false, Some(high), false, false) => format!("over {low} and under {high} um"),
    };
    Some(format!(" {range}{wide}"))
}

/// Why a band fails: what, where, how large, against which limit.
pub(crate) fn broken(tally: &Tally, acceptance: Acceptance) -> Reason {
    let limit = tally.band.allowed;
    let whole_range = sizes(tally.band, tally.rule.subject).is_none();
    let code = if limit == Allowed::AtMost(0) && !whole_range { "too-large" } else { "too-many" };
    Reason {
        code: code.to_owned(),
        text: format!("{}, {limit} allowed ({})", observed(tally), extreme(tally, acceptance)),
    }
}

/// Why a band with features in it decides nothing.
pub(crate) fn undecided(tally: &Tally, acceptance: Acceptance) -> Reason {
    let text = format!(
        "{}: the criteria do not decide this band ({}); grade by criteria that do",
        observed(tally),
        extreme(tally, acceptance)
    );
    Reason { code: "undecided-by-criteria".to_owned(), text }
}

/// Why a feature that no band holds decides nothing.
pub(crate) fn in_no_band(feature: &Feature) -> Reason {
    let text = format!(
        "the criteria have no limit for a {} of {} where one was seen; mend the criteria file",
        feature.kind, feature.size
    );
    Reason { code: "undecided-by-criteria".to_owned(), text }
}

/// Why a feature whose numbers are no numbers allows no verdict.
pub(crate) fn unmeasured(feature: &Feature) -> Reason {
    let text = format!(
        "the {} numbered {} could not be measured; take the picture again",
        feature.kind, feature.id.0
    );
    Reason { code: "unmeasured-feature".to_owned(), text }
}

/// Why a fibre is not accepted although its measured sizes are.
pub(crate) fn guarded(simple: Verdict, conformity: f64, acceptance: Acceptance) -> Reason {
    let risk = match acceptance {
        Acceptance::Simple => 50.0,
        Acceptance::Guarded(risk) => percent(risk),
    };
    let text = format!(
        "the sizes as measured would give {} (the limits are held with probability {:.0} %); the guard band for a \
         risk of {} % does not allow it",
        simple.word(),
        100.0 * conformity,
        risk
    );
    Reason { code: "guard-band".to_owned(), text }
}

/// A risk in per cent, with as many decimals as it is told with and two at most.
fn percent(risk: Risk) -> f64 {
    (10_000.0 * risk.get()).round() / 100.0
}

/// Why criteria without a rule decide nothing.
pub(crate) fn no_rule() -> Reason {
    let text = "the criteria hold no rule; mend the criteria file".to_owned();
    Reason { code: "undecided-by-criteria".to_owned(), text }
}

/// Why a fibre that fails only with marks where the optics are dirty is not graded.
pub(crate) fn dirty_optics(count: usize) -> Reason {
    let marks = if count == 1 { "a mark that lies" } else { "marks that lie" };
    let are = if count == 1 { "it is" } else { "they are" };
    let text = format!(
        "it fails only with {marks} where the camera's optics are dirty, and no other picture tells whether {are} on \
         the fibre; clean the optics and take the run again"
    );
    Reason { code: "dirty-optics".to_owned(), text }
}

/// Why criteria for the other mode grade nothing; the cores are so many um wide, and some may be lit: light that comes from a
/// single-mode cord fills the middle of a multimode core alone.
pub(crate) fn other_mode(seen: Mode, width: f64, lit: bool) -> Reason {
    let lit_by_cord = seen == Mode::Single && lit;
    let (seen, other) = match seen {
        Mode::Single => ("single-mode", "multimode"),
        Mode::Multi => ("multimode", "single-mode"),
    };
    let or_light = match lit_by_cord {
        true => ", or take the light of a single-mode cord off it and take the picture again",
        false => "",
    };
    let text = format!(
        "the cores look {width:.0} um wide, as those of {seen} fibres do, and the criteria are for {other} ones; grade it \
         by criteria for {seen} fibres{or_light}"
    );
    Reason { code: OTHER_MODE.to_owned(), text }
}

/// Why the picture is not sharp enough for the criteria, if it is not: the smallest mark that would be seen,
/// or the blur itself, is larger than the mark that must be seen.
pub(crate) fn not_sharp_enough(fibre: &Fibre, must_see: Um) -> Option<Reason> {
    let too_large = |length: Um| length.0.is_nan() || length > must_see;
    let what = if too_large(fibre.smallest_visible) {
        format!("the smallest mark that would be seen here is {}", seen(fibre.smallest_visible, must_see))
    } else if too_large(fibre.blur) {
        format!("the picture is blurred by {} here", seen(fibre.blur, must_see))
    } else {
        return None;
    };
    let text = format!(
        "{what}, and these criteria need marks of {} um to be seen; take a sharper picture",
        must_see.0
    );
    Some(Reason { code: "not-sharp-enough".to_owned(), text })
}

fn seen(length: Um, must_see: Um) -> String {
    if length.0.is_finite() { rounded(length, |rounded| rounded > must_see) } else { "not known".to_owned() }
}

/// "2 scratches over 3 um wide in zone A"; where the guard band alone brings them into the band, "2 scratches that may
/// be over 3 um wide in zone A", or "2 scratches over 3 um wide, 1 of them not surely, in zone A".
fn observed(tally: &Tally) -> String {
    let sizes = sizes(tally.band, tally.rule.subject).unwrap_or_default();
    let (all, zone) = (number_of(&tally.features), &tally.rule.zone);
    match by_guard(tally) {
        0 => format!("{all}{sizes} in zone {zone}"),
        n if n == tally.features.len() => format!("{all} that may be{sizes} in zone {zone}"),
        n => format!("{all}{sizes}, {n} of them not surely, in zone {zone}"),
    }
}

/// How many features count in a band that does not hold them as they were measured.
fn by_guard(tally: &Tally) -> usize {
    tally.features.iter().filter(|feature| !tally.band.holds(feature.size)).count()
}

/// "2 scratches", "1 pit", "4 defects (3 particles, 1 pit)".
fn number_of(features: &[&Feature]) -> String {
    const KINDS: [Kind; 5] = [Kind::Scratch, Kind::Particle, Kind::Pit, Kind::Film, Kind::Chip];
    let parts: Vec<String> = KINDS
        .into_iter()
        .filter_map(|kind| match features.iter().filter(|feature| feature.kind == kind).count() {
            0 => None,
            1 => Some(format!("1 {kind}")),
            n if kind == Kind::Scratch => Some(format!("{n} {kind}es")),
            n => Some(format!("{n} {kind}s")),
        })
        .collect();
    match parts.as_slice() {
        [one] => one.clone(),
        several => format!("{} defects ({})", features.len(), several.join(", ")),
    }
}

/// "widest 4.2 um", "largest 12.0 um", "4.2 um" for one alone; with the guard band where that counts some of them.
fn extreme(tally: &Tally, acceptance: Acceptance) -> String {
    let largest =
        tally.features.iter().map(|feature| feature.size).fold(Um(0.0), |a, b| if b > a { b } else { a });
    let measured = tally.band.holds(largest);
    let mut size = rounded(largest, |size| tally.band.holds(size) == measured);
    if let (true, Acceptance::Guarded(risk)) = (by_guard(tally) > 0, acceptance) {
        size.push_str(&format!(", guard {} %", percent(risk)));
    }
    match (tally.features.len(), tally.rule.subject) {
        (1, _) => size,
        (_, Subject::Scratches) => format!("widest {size}"),
        (_, Subject::Defects) => format!("largest {size}"),
    }
}

/// A length with one decimal, or with as many as it takes for the rounded figure to lie on the same side of
/// a limit as the length itself.
fn rounded(value: Um, same_side: impl Fn(Um) -> bool) -> String {
    (1..6)
        .map(|digits| format!("{:.digits$}", value.0))
        .find(|text| text.parse().is_ok_and(|number| same_side(Um(number))))
        .map_or_else(|| format!("{} um", value.0), |text| format!("{text} um"))
}
