//! Which zones a feature is held to, from how near to and far from the cladding's centre it reaches.

use crate::criteria::{Criteria, CrossingRule, Subject, Zone};
use terms::{Feature, Um};

/// Whether any of the radii from `inner` to `outer` lies in the zone. A zone owns its outer border and not
/// its inner one, so that a mark which just touches the border of two zones is held to the inner of them.
fn touches(zone: &Zone, inner: Um, outer: Um) -> bool {
    let reaches_out = zone.from == Um(0.0) || outer > zone.from / 2.0;
    reaches_out && inner <= zone.to / 2.0
}

/// The zones that a feature is held to, from the inside out; none if it lies outside every zone or, where
/// the criteria go by its centre, if its centre does.
pub(crate) fn held_to<'a>(feature: &Feature, criteria: &'a Criteria) -> Vec<&'a Zone> {
    let across = match Subject::of(feature.kind) {
        Subject::Scratches => criteria.counting.scratches_across,
        Subject::Defects => criteria.counting.defects_across,
    };
    let (inner, outer) = match across {
        CrossingRule::Innermost | CrossingRule::Every => (feature.reach.inner, feature.reach.outer),
        CrossingRule::Centre => {
            let radius = Um(feature.centre.radius());
            (radius, radius)
        }
    };
    let most = if across == CrossingRule::Every { usize::MAX } else { 1 };
    criteria.zones.iter().filter(|zone| touches(zone, inner, outer)).take(most).collect()
}
