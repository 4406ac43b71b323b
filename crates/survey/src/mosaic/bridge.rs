//! Shifts that the lattice leaves between two pictures that nothing else joins: whole pitches, and only few of them have
//! the pictures overlap at all. Few shifts need less of what both show to be told apart than all.

use super::rigid::Spot;

/// Least share of the smaller picture that the two have in common.
const SHARED: f64 = 0.05;

/// Pitches to either side that are tried, from the claddings nearest to the middles of the pictures.
const FARTHEST: i32 = 70;

/// The array, in pixels of the frames.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Array {
    pub pitch: f64,
    /// Distance of rows over the pitch.
    pub across: f64,
    pub rows: u16,
}

/// What is known of the lattice in one picture, pixels of it.
#[derive(Clone, Debug)]
pub(crate) struct Seen {
    /// Centres of claddings, also those beyond the border, by the pictures that this one hangs together with.
    pub claddings: Vec<Spot>,
    /// From one cladding to the next in its row.
    pub step: Option<Spot>,
    /// Width and height of the picture.
    pub size: Spot,
}

/// The shifts from a place in the first picture to the same in the second that lay lattice on lattice and have the
/// pictures overlap. Both are turned alike, but for a fraction of a degree.
pub(crate) fn shifts(a: &Seen, b: &Seen, array: Array) -> Vec<Spot> {
    let (Some(from), Some(to)) = (a.nearest_the_middle(), b.nearest_the_middle()) else { return Vec::new() };
    let (sx, sy) = a.step.or(b.step).unwrap_or((array.pitch, 0.0));
    let rows = i32::from(array.rows) - 1;
    let at = |k: i32, row: i32| {
        let (k, row) = (f64::from(k), f64::from(row) * array.across);
        (to.0 - from.0 + k * sx - row * sy, to.1 - from.1 + k * sy + row * sx)
    };
    let all = (-rows..=rows).flat_map(|row| (-FARTHEST..=FARTHEST).map(move |k| at(k, row)));
    all.filter(|&shift| shared(a.size, b.size, shift) >= SHARED).collect()
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

#[cfg(test)]
mod tests {
    use super::*;

    const ARRAY: Array = Array { pitch: 400.0, across: 2.0, rows: 1 };

    fn seen(claddings: &[Spot]) -> Seen {
        Seen { claddings: claddings.to_vec(), step: None, size: (420.0, 300.0) }
    }

    #[test]
    fn few_shifts_are_left_and_the_true_one_is_among_them() {
        // The row is turned a little: a cladding 800 px to the right lies 20 px lower.
        let a = Seen { step: Some((400.0, 10.0)), ..seen(&[(200.0, 150.0), (-200.0, 140.0)]) };
        let b = seen(&[(210.0, 150.0)]);
        let left = shifts(&a, &b, ARRAY);
        // Back: 30 px in common. None: nearly all, one view taken twice. On: 10 px, too few.
        assert_eq!(left, vec![(-390.0, -10.0), (10.0, 0.0)]);
    }

    #[test]
    fn a_second_row_leaves_shifts_across_and_no_cladding_leaves_none() {
        let two = Array { across: 0.5, rows: 2, ..ARRAY };
        let a = Seen { step: Some((400.0, 10.0)), ..seen(&[(200.0, 150.0)]) };
        let left = shifts(&a, &seen(&[(60.0, 150.0)]), two);
        // A row lower lies to the left where the row falls to the right.
        assert_eq!(
            left,
            vec![
                (-135.0, -200.0),
                (265.0, -190.0),
                (-140.0, 0.0),
                (260.0, 10.0),
                (-145.0, 200.0),
                (255.0, 210.0)
            ]
        );
        assert!(shifts(&a, &seen(&[]), two).is_empty());
    }
}
