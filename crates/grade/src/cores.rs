//! Whether the cores that a face shows are those that the criteria are for. Limits of the other mode say nothing of a
//! fibre: those of multimode fibres let pass what fails a single-mode one.

use crate::criteria::{Criteria, Mode};
use crate::verdict::Reason;
use crate::words;
use terms::{Core, Fibre, Look, Survey};

/// A single-mode core looks narrower than the first, um, a multimode one wider than the second: about 9 um, and 50 or
/// 62.5 um of which a lit one shows the brighter middle (ITU-T G.652, IEC 60793-2-10; from memory).
const SINGLE: f64 = 15.0;
const MULTI: f64 = 27.0;

/// So many cores have to say the same.
const LEAST: usize = 3;

/// Why nothing is graded by these criteria, if the cores say so: at least half of the fibres, and none otherwise.
pub fn of_other_mode(survey: &Survey, criteria: &Criteria) -> Option<Reason> {
    let found = survey.sites.iter().filter_map(|site| match &site.look {
        Look::Found(fibre) if fibre.flaws.is_empty() => Some(fibre.as_ref()),
        _ => None,
    });
    let all: Vec<Option<Mode>> = found.clone().map(mode).collect();
    let told: Vec<Mode> = all.iter().flatten().copied().collect();
    let seen = *told.first().filter(|first| told.iter().all(|mode| mode == *first))?;
    if seen == criteria.class.mode || told.len() < LEAST || 2 * told.len() < all.len() {
        return None;
    }
    let told = found.filter(|fibre| mode(fibre).is_some());
    let lit = told.clone().any(|fibre| fibre.core == Core::Lit);
    let mut widths: Vec<f64> = told.filter_map(|fibre| Some(fibre.core_width?.0)).collect();
    widths.sort_by(f64::total_cmp);
    Some(words::other_mode(seen, widths[widths.len() / 2], lit))
}

/// What a fibre's core says it is.
fn mode(fibre: &Fibre) -> Option<Mode> {
    match fibre.core_width?.0 {
        width if width > MULTI => Some(Mode::Multi),
        width if width < SINGLE => Some(Mode::Single),
        _ => None,
    }
}
