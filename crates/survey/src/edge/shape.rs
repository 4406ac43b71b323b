//! The shape of an edge: what moves in the fit, beside the grey levels.

/// Number of shape parameters.
pub(super) const SHAPES: usize = 9;

/// The first of them: centre, radius, blur.
pub(super) const CIRCLE: usize = 4;

/// The shape parameters, in the order of the normal equations.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shape {
    /// Centre.
    pub(super) x: f64,
    pub(super) y: f64,
    /// Mean radius.
    pub(super) radius: f64,
    /// Radius along cos 2a and sin 2a.
    pub(super) oval: [f64; 2],
    /// Blur.
    pub(super) blur: f64,
    /// Ring width: mean, along cos a, along sin a. Cladding and bore are two circles that need not share
    /// their centre, so the width follows the cosine of the angle.
    pub(super) ring: [f64; 3],
}

impl Shape {
    pub(super) fn moved(&self, step: &[f64; SHAPES]) -> Shape {
        Shape {
            x: self.x + step[0],
            y: self.y + step[1],
            radius: self.radius + step[2],
            blur: (self.blur + step[3]).clamp(0.3, 0.2 * self.radius),
            oval: [self.oval[0] + step[4], self.oval[1] + step[5]],
            ring: [self.ring[0] + step[6], self.ring[1] + step[7], self.ring[2] + step[8]],
        }
    }
}

/// Which parameters may move.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    /// Centre, radius, blur.
    Circle,
    /// All.
    Full,
}
