//! Scratches in two pictures that were held against each other: too long for a fit of the mark itself, they are told by
//! what one picture alone shows along them.

use super::shape::{covers, points_of};
use super::visible::line_left;
use terms::{Feature, Kind, Spot, Um};

/// Share of a scratch's length along which one picture alone must show something, how far beside it that may lie, um, and
/// how strong it is at least against what the blur leaves of the scratch: what both pictures show in another light or
/// focus differs by less.
const ALONG: f64 = 0.6;
const REACH: f64 = 0.6;
const STRONG: f64 = 0.7;

/// Natural logarithm of the odds that the other picture lacks a scratch of which so much stands out; made-up faces, no
/// source.
const ODDS: f64 = 6.0;

/// Natural logarithm of the odds that the other picture lacks a scratch, by the spots that its own picture alone shows, in
/// pictures as blurred as the more blurred of the two; none where they do not tell.
pub fn lacks(scratch: &Feature, alone: &[Spot], blur: Um) -> Option<f64> {
    if scratch.kind != Kind::Scratch {
        return None;
    }
    let least = STRONG * scratch.contrast.abs() * line_left(scratch, blur);
    let on = |spot: &&Spot| spot.contrast * scratch.contrast > 0.0 && spot.contrast.abs() >= least;
    let spots: Vec<Feature> = alone.iter().filter(on).map(super::parts::shape).collect();
    let points = points_of(scratch);
    let shown = points.iter().filter(|p| spots.iter().any(|spot| covers(spot, **p, REACH))).count();
    (shown as f64 >= ALONG * points.len() as f64).then_some(ODDS)
}

#[cfg(test)]
mod tests {
    use super::super::fibre::on_fibre;
    use super::super::seen::Glass;
    use super::*;
    use terms::{FeatureId, Held, Point, Reach};

    /// A band along x of that contrast, 2 um wide.
    fn band(from: f64, to: f64, contrast: f64) -> Spot {
        let outline = [(from, 1.0), (to, 1.0), (to, -1.0), (from, -1.0)].map(|(x, y)| Point::new(x, y));
        let centre = Point::new(0.5 * (from + to), 0.0);
        Spot { size: Um(to - from), centre, contrast, outline: outline.to_vec() }
    }

    fn glass(features: Vec<Feature>) -> Glass {
        Glass {
            offset: Point::new(0.0, 0.0),
            centre_u: Um(0.02),
            diameter: Um(125.0),
            blur: Um(0.6),
            faintest: 0.02,
            features,
            hints: Some(Vec::new()),
        }
    }

    /// A scratch 80 um long and 2 um wide that only one picture tells is new, or gone, where that picture alone shows it
    /// along most of its length and as strong as it is; by its mark alone, in a part, fainter or bright it is not told.
    #[test]
    fn a_scratch_that_one_picture_alone_shows_came_or_went() {
        let sides = band(-40.0, 40.0, 0.0).outline;
        let scratch = Feature {
            id: FeatureId(1),
            kind: Kind::Scratch,
            size: Um(2.0),
            u: Um(0.2),
            length: Um(80.0),
            centre: Point::new(0.0, 0.0),
            contrast: -0.3,
            reach: Reach { inner: Um(0.0), outer: Um(40.0) },
            outline: sides,
        };
        let cases = [
            (vec![band(-39.0, 39.0, -0.28)], true),
            (vec![band(-39.0, -2.0, -0.28), band(3.0, 39.0, -0.25)], true),
            (vec![], false),
            (vec![band(-39.0, 0.0, -0.28)], false),
            (vec![band(-39.0, 39.0, -0.12)], false),
            (vec![band(-39.0, 39.0, 0.28)], false),
        ];
        for (spots, told) in cases {
            let (bare, marked) = (glass(Vec::new()), glass(vec![scratch.clone()]));
            let come = Held { after: vec![None], come: spots.clone(), ..Held::default() };
            let changes = on_fibre(&bare, &marked, &come);
            assert_eq!((changes.new.len(), changes.unsure.len()), (usize::from(told), usize::from(!told)));
            let gone = Held { before: vec![None], gone: spots, ..Held::default() };
            let changes = on_fibre(&marked, &bare, &gone);
            assert_eq!(
                (changes.removed.len(), changes.unsure.len()),
                (usize::from(told), usize::from(!told))
            );
        }
    }
}
