//! Whether two pictures show one face, looked at as stated or turned: by the fibres' places and widths, and by
//! marks that cleaning does not move.

use super::fibre::paired;
use super::fingerprint::{self, Fingerprint};
use super::likeness::likeness;
use super::seen::{FaceSeen, Flip, Glass};
use super::visible::chance_seen;
use terms::{Feature, Kind};

/// Natural logarithm of the odds from which one face, or two, are taken for granted: a thousand to one.
const CERTAIN: f64 = 6.9;
/// However many marks are missing, they speak against one face no more than this: a face may be polished.
const MARKS_AGAINST: f64 = 5.0;

/// What speaks for one face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sameness {
    /// Whether it is one face, with odds of a thousand to one or better; if not, it is undecided.
    pub certain: bool,
    /// How the second picture has to be looked at against what was stated.
    pub flip: Flip,
    /// Natural logarithm of the odds for one face.
    pub log_odds: f64,
    /// By the fibres' places and widths alone.
    pub fingerprint: Fingerprint,
    /// Marks that were found again.
    pub marks: usize,
}

/// Two pictures that cannot be of one face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Another {
    /// Fibres that were found in both.
    pub fibres: usize,
    /// Median of how far a fibre lies elsewhere, um.
    pub apart: f64,
    /// Natural logarithm of the odds against one face.
    pub log_odds: f64,
}

/// Tries every way to look at the second face.
///
/// # Errors
/// [`Another`] if none fits and the pictures as stated are a thousand to one of two faces.
pub fn judge(before: &FaceSeen, after: &FaceSeen) -> Result<Sameness, Another> {
    let stated = look(before, after, Flip::None);
    if stated.certain {
        return Ok(stated);
    }
    let others = Flip::ALL[1..].iter().filter_map(|flip| Some(look(before, &after.flipped(*flip)?, *flip)));
    let best = others.max_by(|a, b| a.log_odds.total_cmp(&b.log_odds));
    match best {
        Some(turned) if turned.certain && turned.log_odds > stated.log_odds + CERTAIN => Ok(turned),
        _ if stated.log_odds <= -CERTAIN => Err(Another {
            fibres: stated.fingerprint.fibres,
            apart: stated.fingerprint.apart,
            log_odds: -stated.log_odds,
        }),
        _ => Ok(stated),
    }
}

fn look(before: &FaceSeen, after: &FaceSeen, flip: Flip) -> Sameness {
    let fingerprint = fingerprint::compare(before, after);
    let (mut log_odds, mut marks) = (0.0, 0);
    for fibre in &before.fibres {
        let there = after.at(fibre.position).and_then(|a| a.glass.as_ref());
        if let (Some(b), Some(a)) = (&fibre.glass, there) {
            let (odds, found) = by_marks(b, a);
            log_odds += odds;
            marks += found;
        }
    }
    let log_odds = fingerprint.log_odds + log_odds.max(-MARKS_AGAINST);
    Sameness { certain: log_odds >= CERTAIN, flip, log_odds, fingerprint, marks }
}

/// Odds by the marks of one fibre, and how many were found again: each mark stays with a chance that its kind
/// has, and what is found in its place is it or a stranger.
fn by_marks(before: &Glass, after: &Glass) -> (f64, usize) {
    let pairs = paired(&before.features, &after.features);
    let odds = before.features.iter().enumerate().map(|(i, mark)| {
        let stays = stays(mark) * chance_seen(mark, after);
        match pairs.iter().find(|p| p.0 == i) {
            Some(&(_, j)) => {
                let gain = likeness(mark, &after.features[j], after.features.len());
                (1.0 - stays + stays * gain.min(20.0).exp()).ln()
            }
            None => (1.0 - stays).ln(),
        }
    });
    (odds.sum(), pairs.len())
}

/// How surely a mark that looks like this outlasts a cleaning; common practice, no source.
fn stays(mark: &Feature) -> f64 {
    match mark.kind {
        Kind::Scratch => 0.6,
        Kind::Chip => 0.3,
        Kind::Pit => 0.1,
        Kind::Particle | Kind::Film => 0.02,
    }
}
