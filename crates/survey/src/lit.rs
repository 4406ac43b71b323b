//! Whether light comes out of a core. A dark core is as bright as the cladding or a little darker; some look
//! brighter by a few percent, so that a faint glow is not told from a dark core.

use terms::{Core, Feature};

/// A core brighter than its cladding by this share is lit, below the second it is dark; common practice, no source.
const LIT: f64 = 0.1;
const DARK: f64 = 0.06;
/// A mark that comes as near to the centre as this, um, may hide the light of a single-mode core.
const HIDES: f64 = 4.0;

/// How the core looks, by its light and what lies on it.
pub fn look(light: Option<f64>, features: &[Feature]) -> Core {
    match light {
        None => Core::Unknown,
        Some(light) if light >= LIT => Core::Lit,
        Some(_) if features.iter().any(|f| f.reach.inner.0 < HIDES) => Core::Unknown,
        Some(light) if light > DARK => Core::Unknown,
        Some(_) => Core::Dark,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::{FeatureId, Kind, Point, Reach, Um};

    #[test]
    fn dirt_on_the_middle_hides_the_dark_and_not_the_light() {
        let at = |inner: f64| Feature {
            id: FeatureId(1),
            kind: Kind::Particle,
            size: Um(9.0),
            u: Um(0.2),
            length: Um(9.0),
            centre: Point::new(inner + 4.5, 0.0),
            contrast: -0.4,
            reach: Reach { inner: Um(inner), outer: Um(inner + 9.0) },
            outline: vec![],
        };
        assert_eq!(
            [None, Some(0.3), Some(0.08), Some(-0.05)].map(|l| look(l, &[])),
            [Core::Unknown, Core::Lit, Core::Unknown, Core::Dark]
        );
        assert_eq!(look(Some(0.3), &[at(0.0)]), Core::Lit);
        assert_eq!(look(Some(-0.05), &[at(0.0)]), Core::Unknown);
        assert_eq!(look(Some(-0.05), &[at(20.0)]), Core::Dark);
    }
}
