//! The array as single pictures show it: from one cladding to the next, where others lie, and which shifts lay the
//! lattice of one picture on that of another.

use super::circles::Circles;
use super::rigid::Spot;
use crate::solve::median;
use terms::Layout;

/// Places to either side of a cladding.
const FARTHEST: i32 = 8;

/// Least share of the smaller picture that two have in common for a shift to be tried.
const SHARED: f64 = 0.05;

/// The array in pixels of the frames.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Array<'a> {
    layout: &'a Layout,
    pitch: f64,
    /// The step of the pictures that tell one.
    usual: Spot,
}

/// What is known of the claddings in one picture, pixels of it.
#[derive(Clone, Debug)]
pub(crate) struct Seen {
    /// Centres, also those beyond the border, by the pictures that this one hangs together with.
    pub claddings: Vec<Spot>,
    /// Width and height of the picture.
    pub size: Spot,
}

impl<'a> Array<'a> {
    /// By the claddings of all pictures and their radius, pixels of the frames.
    pub fn new(layout: &'a Layout, radius: f64, circles: &[Circles]) -> Array<'a> {
        let pitch = layout.pitch.0 / (layout.cladding.0 / 2.0) * radius;
        let steps: Vec<Spot> = circles.iter().filter_map(|c| step(&c.claddings, pitch)).collect();
        let usual = |f: fn(&Spot) -> f64, other: f64| match steps.is_empty() {
            true => other,
            false => median(&mut steps.iter().map(f).collect::<Vec<_>>()),
        };
        Array { layout, pitch, usual: (usual(|s| s.0, pitch), usual(|s| s.1, 0.0)) }
    }

    /// From one cladding to its right-hand neighbour: by these, or as usual where they do not tell.
    pub fn step(&self, claddings: &[Spot]) -> Spot {
        step(claddings, self.pitch).unwrap_or(self.usual)
    }

    /// The lattice places that follow from claddings and the step from one to the next in its row.
    pub fn places(&self, claddings: &[Spot], (sx, sy): Spot) -> Vec<Spot> {
        let across = self.layout.row_pitch.0 / self.layout.pitch.0;
        let rows = i32::from(self.layout.rows) - 1;
        let at = |from: &Spot, k: i32, row: i32| {
            let (k, row) = (f64::from(k), f64::from(row) * across);
            (from.0 + k * sx - row * sy, from.1 + k * sy + row * sx)
        };
        let columns = || -FARTHEST..=FARTHEST;
        let about = |from| (-rows..=rows).flat_map(move |row| columns().map(move |k| at(from, k, row)));
        claddings.iter().flat_map(about).collect()
    }

    /// The shifts from a place in the first picture to the same in the second that lay lattice on lattice and have the
    /// pictures overlap: few, which need less of what both show to be told apart than all. Both are turned alike, but
    /// for a fraction of a degree.
    pub fn shifts(&self, a: &Seen, b: &Seen) -> Vec<Spot> {
        let (Some(from), Some(to)) = (a.nearest_the_middle(), b.nearest_the_middle()) else {
            return Vec::new();
        };
        let step = step(&a.claddings, self.pitch).unwrap_or_else(|| self.step(&b.claddings));
        let mut all = self.places(&[(to.0 - from.0, to.1 - from.1)], step);
        all.retain(|&shift| shared(a.size, b.size, shift) >= SHARED);
        all
    }
}

impl Seen {
    fn nearest_the_middle(&self) -> Option<Spot> {
        let far = |p: &Spot| (p.0 - 0.5 * self.size.0).hypot(p.1 - 0.5 * self.size.1);
        self.claddings.iter().copied().min_by(|p, q| far(p).total_cmp(&far(q)))
    }
}

/// Share of the smaller picture's area that two have in common, shifted.
fn shared(a: Spot, b: Spot, shift: Spot) -> f64 {
    let along = |a: f64, b: f64, shift: f64| (a.min(b - shift) - (-shift).max(0.0)).max(0.0);
    along(a.0, b.0, shift.0) * along(a.1, b.1, shift.1) / (a.0 * a.1).min(b.0 * b.1)
}

/// From one cladding to its right-hand neighbour: by the usual way between two one pitch apart, and then by the
/// two outermost that lie in one row. Far apart, a pair across rows is hardly more slanted than a turned row.
fn step(claddings: &[Spot], pitch: f64) -> Option<Spot> {
    let pairs = claddings.iter().flat_map(|a| claddings.iter().map(move |b| (b.0 - a.0, b.1 - a.1)));
    let level: Vec<Spot> = pairs.filter(|d| d.0 > 0.5 * pitch && d.1.abs() < 0.36 * d.0).collect();
    let count = |d: &Spot| (d.0.hypot(d.1) / pitch).round().max(1.0);
    let least = level.iter().map(count).min_by(f64::total_cmp)?;
    let nearest = || level.iter().filter(|d| count(d) == least);
    let middle = |f: fn(&Spot) -> f64| median(&mut nearest().map(f).collect::<Vec<_>>()) / least;
    let (x, y) = (middle(|d| d.0), middle(|d| d.1));
    let in_row = |d: &&Spot| {
        let n = (d.0 / x).round();
        (d.0 - n * x).hypot(d.1 - n * y) < 0.4 * pitch
    };
    let longest = level.iter().filter(in_row).max_by(|a, b| a.0.total_cmp(&b.0))?;
    let n = (longest.0 / x).round().max(1.0);
    Some((longest.0 / n, longest.1 / n))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::locate::scene::layout;
    use terms::Um;

    const SIZE: Spot = (420.0, 300.0);

    fn seen(claddings: &[Spot]) -> Seen {
        Seen { claddings: claddings.to_vec(), size: SIZE }
    }

    #[test]
    fn few_shifts_are_left_and_the_true_one_is_among_them() {
        let twelve = layout("mpo-12");
        let array = Array::new(&twelve, 100.0, &[]);
        // Back: 30 px in common. None: nearly all, one view taken twice. On: 10 px, too few.
        let (level, b) = (seen(&[(200.0, 150.0)]), seen(&[(210.0, 150.0)]));
        assert_eq!(array.shifts(&level, &b), [(-390.0, 0.0), (10.0, 0.0)]);
        // Two claddings of either picture tell that the row falls to the right.
        let falling = seen(&[(200.0, 150.0), (-200.0, 140.0)]);
        assert_eq!(array.shifts(&falling, &b), [(-390.0, -10.0), (10.0, 0.0)]);
        assert_eq!(array.shifts(&b, &falling), [(-10.0, 0.0), (390.0, 10.0)]);
        assert!(array.shifts(&level, &seen(&[])).is_empty());
    }

    #[test]
    fn what_one_picture_tells_of_the_turn_serves_those_that_tell_nothing() {
        let twelve = layout("mpo-12");
        let telling = Circles { claddings: vec![(0.0, 0.0), (400.0, 10.0)], ..Circles::default() };
        let array = Array::new(&twelve, 100.0, &[Circles::default(), telling]);
        let shifts = array.shifts(&seen(&[(200.0, 150.0)]), &seen(&[(210.0, 150.0)]));
        assert_eq!(shifts, [(-390.0, -10.0), (10.0, 0.0)]);
    }

    #[test]
    fn a_second_row_leaves_shifts_across() {
        let rows = Layout { row_pitch: Um(125.0), ..layout("mpo-24") };
        let array = Array::new(&rows, 100.0, &[]);
        let a = seen(&[(200.0, 150.0), (600.0, 160.0)]);
        // A row lower lies to the left where the row falls to the right.
        let expected = [
            (-135.0, -200.0),
            (265.0, -190.0),
            (-140.0, 0.0),
            (260.0, 10.0),
            (-145.0, 200.0),
            (255.0, 210.0),
        ];
        assert_eq!(array.shifts(&a, &seen(&[(60.0, 150.0)])), expected);
    }

    #[test]
    fn the_step_follows_the_row_however_long_and_never_crosses_to_the_next() {
        let rows = |rows: i32| -> Vec<Spot> {
            let at = |row: i32, column: i32| {
                let (x, y) = (f64::from(column) * 100.0, f64::from(row) * 200.0);
                (x - 0.01 * y, y + 0.01 * x)
            };
            (0..rows).flat_map(|row| (0..16).map(move |column| at(row, column))).collect()
        };
        for count in [1, 2] {
            let (x, y) = step(&rows(count), 102.0).unwrap();
            assert!((x - 100.0).abs() < 1e-6 && (y - 1.0).abs() < 1e-6, "{count}: {x} {y}");
        }
        // Blank bores between: two columns seven apart.
        let (x, y) = step(&[(0.0, 0.0), (700.0, 7.0)], 101.0).unwrap();
        assert!((x - 100.0).abs() < 1e-6 && (y - 1.0).abs() < 1e-6, "{x} {y}");
        assert_eq!(step(&[(0.0, 0.0), (0.0, 200.0)], 100.0), None);
    }
}
