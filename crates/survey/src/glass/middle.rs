//! The middle of a core that a mark covers. Rings about it hold so few pixels there that a scratch fills them, and their
//! medians are the scratch. The fibres of one face share what a core looks like, so the common look is fitted to the
//! pixels by its brightness and place: the sum of squares cut off at a limit (P. J. Rousseeuw, A. M. Leroy 1987, Robust
//! regression and outlier detection) is least where most of what no mark covers is met.

use super::Spot;

/// Squares count up to this many of the scatter's.
const CUT: f32 = 9.0;

/// Brightness is looked for between these factors of the common one, in so many steps, and places in so many to either
/// side of the cladding's centre, each a share of its radius; then thrice in steps half as wide.
const FACTORS: (f32, f32) = (0.5, 1.7);
const FACTOR_STEP: f32 = 0.06;
const PLACES: i32 = 3;
const PLACE_STEP: f32 = 0.008;
const FINER: usize = 3;

/// How far cores lie off the cladding's centre, share of its radius, and how their brightness differs, standard
/// deviations; from made-up faces, no source.
const OFF: f32 = 0.011;
const UNLIKE: f32 = 0.2;

/// The common look as it fits a fibre best.
#[derive(Clone, Copy, Debug)]
pub struct Fitted {
    /// Times the common brightness.
    pub factor: f32,
    /// Centre, pixels from the cladding's.
    pub at: (f32, f32),
    /// Squares that it leaves, in the scatter's, and what speaks against such a core.
    pub cost: f32,
}

/// A fibre's middle: its pixels, the cladding's radius in pixels, and the level about it.
pub struct Middle<'a> {
    pub spots: &'a [Spot],
    pub unit: f32,
    pub base: f32,
    /// Scatter of a pixel.
    pub scatter: f32,
}

impl Middle<'_> {
    /// What a look leaves.
    pub fn cost(&self, look: impl Fn(&Spot) -> f32) -> f32 {
        let square = |s: &Spot| ((s.value - look(s)) / self.scatter).powi(2).min(CUT);
        self.spots.iter().map(square).sum()
    }

    /// The common look, levels over those about the middle by radius in pixels, where its brightness and place are known
    /// from outside the middle.
    pub fn as_known(&self, common: &impl Fn(f32) -> f32, factor: f32, at: (f32, f32)) -> Fitted {
        let look = |s: &Spot| self.base + factor * common((s.dx - at.0).hypot(s.dy - at.1));
        Fitted { factor, at, cost: self.cost(look) }
    }

    /// The common look as it fits best.
    pub fn fit(&self, common: &impl Fn(f32) -> f32) -> Fitted {
        let try_one = |factor: f32, at: (f32, f32)| {
            let fitted = self.as_known(common, factor, at);
            let unlike = (at.0.hypot(at.1) / (OFF * self.unit)).powi(2) + ((factor - 1.0) / UNLIKE).powi(2);
            Fitted { cost: fitted.cost + unlike, ..fitted }
        };
        let better = |a: Fitted, b: Fitted| if b.cost < a.cost { b } else { a };
        let steps = ((FACTORS.1 - FACTORS.0) / FACTOR_STEP) as i32;
        let factors: Vec<f32> = (0..=steps).map(|k| FACTORS.0 + k as f32 * FACTOR_STEP).collect();
        let (mut factor_step, mut step) = (FACTOR_STEP, PLACE_STEP * self.unit);
        let mut best = try_one(1.0, (0.0, 0.0));
        for place in about((0.0, 0.0), PLACES, step) {
            best = factors.iter().map(|f| try_one(*f, place)).fold(best, better);
        }
        for _ in 0..FINER {
            (factor_step, step) = (0.5 * factor_step, 0.5 * step);
            for place in about(best.at, 1, step) {
                let near = [-1.0, 0.0, 1.0].map(|k| best.factor + k * factor_step);
                best = near.into_iter().map(|f| try_one(f, place)).fold(best, better);
            }
        }
        best
    }
}

/// Places about one, so many steps to either side.
fn about((x, y): (f32, f32), count: i32, step: f32) -> impl Iterator<Item = (f32, f32)> {
    let along = move || (-count..=count).map(move |k| k as f32 * step);
    along().flat_map(move |v| along().map(move |u| (x + u, y + v)))
}
