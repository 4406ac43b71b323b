//! One fibre in two pictures taken at different times, before and after a cleaning: held against each other pixel by
//! pixel, so that what one alone shows is known where the marks that each tells do not say it, as where two marks touch
//! and are told as one.

mod aperture;
mod border;
mod lines;
mod marks;
mod ratio;
mod spots;

use imaging::Frame;
use ratio::Ratio;
use terms::{Feature, Held, Lacks, Pixel, Point, Um};

/// A fibre in one picture, and what was seen there.
#[derive(Clone, Copy, Debug)]
pub struct Shot<'a> {
    /// The picture.
    pub frame: &'a Frame,
    /// Centre of the cladding in it.
    pub centre: Point<Pixel>,
    /// Pixels per micrometre: rows picture x and y, columns fibre x and y.
    pub matrix: [[f64; 2]; 2],
    /// Diameter of the cladding.
    pub diameter: Um,
    /// Standard deviation of the picture's blur.
    pub blur: Um,
    /// Level of the core against the glass about it, less 1; none if it was not seen.
    pub core_light: Option<f64>,
    /// The features, in the same frame as those of the other picture.
    pub features: &'a [Feature],
}

/// What the two pictures say of each other; none if they do not show enough of the fibre both.
pub fn held(before: &Shot, after: &Shot) -> Option<Held> {
    let ratio = Ratio::new(before, after)?;
    let (gone, come) = spots::spots(&ratio);
    let lacks = |shot: &Shot, second| {
        shot.features.iter().map(|mark| lacks(mark, shot.features, &ratio, second)).collect()
    };
    Some(Held { before: lacks(before, false), after: lacks(after, true), gone, come })
}

/// What the ratio says of a mark of the first or the second picture.
fn lacks(mark: &Feature, all: &[Feature], ratio: &Ratio, second: bool) -> Lacks {
    let odds = marks::lacks(mark, ratio, second);
    let border =
        if odds.is_some_and(|odds| odds < 0.0) { None } else { border::lacks(mark, all, ratio, second) };
    match (odds, border) {
        (odds, Some(border)) => Lacks::Bordered(odds.map_or(border, |odds| odds.max(border))),
        (Some(odds), None) => Lacks::Odds(odds),
        (None, None) => Lacks::Untold,
    }
}
