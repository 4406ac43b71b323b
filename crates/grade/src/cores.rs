//! Whether the cores that a face shows are those that the criteria are for. Limits of the other mode say nothing of a
//! fibre: those of multimode fibres let pass what fails a single-mode one.

use crate::criteria::{Criteria, Mode};
use crate::verdict::Reason;
use crate::words;
use terms::{Core, Fibre, Look, Survey};

/// Code of the reason of a face whose cores are not those that the criteria are for.
pub const OTHER_MODE: &str = "other-mode";

/// A single-mode core looks narrower than the first, um, a multimode one wider than the second: about 9 um, and 50 or
/// 62.5 um of which a lit one shows the brighter middle (ITU-T G.652, IEC 60793-2-10; from memory).
const SINGLE: f64 = 15.0;
const MULTI: f64 = 27.0;

/// So many cores have to say the same, and so large a share of those that say anything.
const LEAST: usize = 3;
const SHARE: f64 = 0.75;

/// Cores of one kind are as wide as one another, lit ones and dark ones each, but for this share.
const ALIKE: f64 = 0.15;

/// A mark that comes as near to the centre as this, um, may make a core look wider or narrower than it is: a core has a
/// radius of 31 um at most.
const CLEAR: f64 = 36.0;

/// Why nothing is graded by these criteria, if the cores say so. A core under a mark says nothing, nor do widths that are
/// not those of one kind of fibre.
pub fn of_other_mode(survey: &Survey, criteria: &Criteria) -> Option<Reason> {
    let found = survey.sites.iter().filter_map(|site| match &site.look {
        Look::Found(fibre) if fibre.flaws.is_empty() => Some(fibre.as_ref()),
        _ => None,
    });
    let told: Vec<(Mode, f64, bool)> = found
        .filter_map(|fibre| Some((mode(fibre)?, fibre.core_width?.0, fibre.core == Core::Lit)))
        .collect();
    let seen = match criteria.class.mode {
        Mode::Multi => Mode::Single,
        Mode::Single => Mode::Multi,
    };
    let widths = |of: bool| {
        let mut all: Vec<f64> = told.iter().filter(|t| t.0 == seen && t.2 == of).map(|t| t.1).collect();
        all.sort_by(f64::total_cmp);
        all
    };
    let (dark, lit) = (alike(&widths(false)), alike(&widths(true)));
    let more = if dark.len() < lit.len() { &lit } else { &dark };
    let count = dark.len() + lit.len();
    let enough = count >= LEAST && count as f64 >= SHARE * told.len() as f64;
    enough.then(|| words::other_mode(seen, more[more.len() / 2], !lit.is_empty()))
}

/// Those of some widths, in order, that are about as large as the middle one.
fn alike(widths: &[f64]) -> Vec<f64> {
    let Some(middle) = widths.get(widths.len() / 2) else { return Vec::new() };
    widths.iter().copied().filter(|w| (w - middle).abs() < ALIKE * middle).collect()
}

/// What a fibre's core says it is.
fn mode(fibre: &Fibre) -> Option<Mode> {
    let bare = fibre.features.iter().all(|mark| mark.reach.inner.0 > CLEAR);
    match fibre.core_width.filter(|_| bare)?.0 {
        width if width > MULTI => Some(Mode::Multi),
        width if width < SINGLE => Some(Mode::Single),
        _ => None,
    }
}
