//! Close calls: verdicts that hang on a size that is not known well enough, and how they are told.

use super::percent;
use crate::record::{PositionRecord, Verdict};

/// A verdict less probable than this is a close call.
const SURE: f64 = 0.95;

/// Whether a size lies within its uncertainty of a limit that decides the verdict, or the verdict is not sure for
/// all sizes together.
pub fn close_call(position: &PositionRecord) -> bool {
    let near = position.features.iter().any(|feature| feature.near_limit);
    near || is_unsure(position.verdict, position.conformity)
}

/// The same of a verdict, the probability that all limits are held, and whether a size lies near a limit; what has no
/// verdict is no close call.
pub fn is_close(verdict: Verdict, conformity: Option<f64>, near: bool) -> bool {
    verdict != Verdict::Ungraded && (near || is_unsure(verdict, conformity))
}

fn is_unsure(verdict: Verdict, conformity: Option<f64>) -> bool {
    conformity.is_some_and(|p| match verdict {
        Verdict::Pass => p < SURE,
        Verdict::Fail => p > 1.0 - SURE,
        Verdict::Ungraded => false,
    })
}

/// Close calls in a sentence, each position with the probability that all limits are held.
pub fn closely(calls: impl Iterator<Item = (u16, Option<f64>)>) -> Option<String> {
    let call = |(position, held): (u16, Option<f64>)| match held {
        Some(held) => format!("{position} ({})", percent(held)),
        None => position.to_string(),
    };
    let at: Vec<String> = calls.map(call).collect();
    (!at.is_empty()).then(|| {
        format!(
            "Close call at {}: a size lies within its uncertainty of a limit (in brackets: how probable it is that \
             all limits are held).",
            at.join(", ")
        )
    })
}
