//! Pictures that show a part of a fibre. None is graded in them; but where dirt on the optics lies on the only picture
//! that shows it wholly, one that shows the place of the dirt tells what is beneath.

use super::agreement::Other;
use crate::fibre;
use imaging::Frame;
use terms::{Flaw, Pixel, Point, Pose};

/// Pixels that must lie between what a mark fills and the border.
const MARGIN: f64 = 4.0;

/// The pictures of a run whose places are known.
pub(crate) struct Parts<'a> {
    pub frames: &'a [Frame],
    pub poses: &'a [Pose],
    pub unplaced: &'a [usize],
    /// Radius of a cladding, pixels.
    pub radius: f64,
}

impl Parts<'_> {
    /// What of a fibre each further picture shows that has one of these places with so much about it. The fibre's middle
    /// and the places are those in picture `source`; `known` are the pictures that are looked at already.
    pub fn with(
        &self,
        source: usize,
        centre: Point<Pixel>,
        places: &[(Point<Pixel>, f64)],
        known: &[usize],
    ) -> Vec<Other> {
        let further = |i: &usize| *i != source && !known.contains(i) && !self.unplaced.contains(i);
        let there = |i: usize, p: Point<Pixel>| self.poses[i].to_pixel(self.poses[source].to_face(p));
        let inside = |i: usize, (p, about): &(Point<Pixel>, f64)| {
            let at = there(i, *p);
            let within = |v: f64, size: usize| v >= about + MARGIN && v + about + MARGIN <= size as f64 - 1.0;
            within(at.x, self.frames[i].width()) && within(at.y, self.frames[i].height())
        };
        let look = |i: usize| {
            let um_per_px = self.poses[i].um_per_px();
            let edged = fibre::edged(&self.frames[i], there(i, centre), self.radius, um_per_px).ok()?;
            let sound = edged.flaws().iter().all(|f| matches!(f, Flaw::CutByBorder { .. }));
            sound.then(|| Other::new(i, edged))
        };
        let shown = (0..self.frames.len()).filter(further).filter(|i| places.iter().any(|p| inside(*i, p)));
        shown.filter_map(look).collect()
    }
}
