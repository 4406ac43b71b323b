//! Medians over small squares. Columns are sorted once and shared by the squares that they lie in; several
//! neighbouring squares are handled at once, so that comparing becomes the processor's minimum and maximum.

use super::{reflect_ends, reflected};
use crate::plane::Plane;

/// Squares handled side by side.
const LANES: usize = 8;

/// One value of each of the squares.
type Lanes = [f32; LANES];

/// Each value the median of the 3 x 3 square about it. Values must not be NaN.
pub fn median3(plane: &Plane<f32>) -> Plane<f32> {
    filtered(plane, sort3, |rows| {
        // With sorted columns: the median is that of the greatest low, the middle middle and the least high.
        let (low, middle, high) = (sort3(rows[0])[2], sort3(rows[1])[1], sort3(rows[2])[0]);
        sort3([low, middle, high])[1]
    })
}

/// Each value the median of the 5 x 5 square about it. Values must not be NaN.
pub fn median5(plane: &Plane<f32>) -> Plane<f32> {
    filtered(plane, sort5, |rows| {
        // With the columns sorted, and then the rows, 6 of the 25 have 13 others at or below them and 6 have
        // 13 at or above: the median of all is that of the 13 left.
        let [_, _, _, a, b] = sort5(rows[0]);
        let [_, _, c, d, e] = sort5(rows[1]);
        let [_, f, g, h, _] = sort5(rows[2]);
        let [i, j, k, _, _] = sort5(rows[3]);
        let [l, m, _, _, _] = sort5(rows[4]);
        let mut hand = [a, b, c, d, f, g, i, l];
        // Of just over half of all, neither the least nor the greatest can be the median.
        extremes_out::<8>(&mut hand);
        hand[0] = e;
        extremes_out::<7>(&mut hand);
        hand[0] = h;
        extremes_out::<6>(&mut hand);
        hand[0] = j;
        extremes_out::<5>(&mut hand);
        hand[0] = k;
        extremes_out::<4>(&mut hand);
        sort3([m, hand[1], hand[2]])[1]
    })
}

/// Runs `pick` over every square, given as rows of values whose columns `sort` has put in ascending order.
#[inline(always)]
fn filtered<const SIDE: usize>(
    plane: &Plane<f32>,
    sort: impl Fn([Lanes; SIDE]) -> [Lanes; SIDE],
    pick: impl Fn([[Lanes; SIDE]; SIDE]) -> Lanes,
) -> Plane<f32> {
    let (width, height) = (plane.width(), plane.height());
    let mut out = Plane::filled(width, height, 0.0);
    if width == 0 || height == 0 {
        return out;
    }
    let margin = SIDE / 2;
    // Lines are long enough for last blocks that overhang.
    let length = (width + 2 * margin).next_multiple_of(LANES) + LANES;
    let mut lines = vec![vec![0.0; length]; SIDE];
    for y in 0..height {
        for (line, offset) in lines.iter_mut().zip(0..) {
            let row = plane.row(reflected(y as isize + offset - margin as isize, height));
            line[margin..margin + width].copy_from_slice(row);
            reflect_ends(&mut line[..width + 2 * margin], margin);
        }
        for x in (0..width + 2 * margin).step_by(LANES) {
            let sorted = sort(std::array::from_fn(|i| lanes(&lines[i], x)));
            for (line, values) in lines.iter_mut().zip(sorted) {
                line[x..x + LANES].copy_from_slice(&values);
            }
        }
        for (block, x) in out.row_mut(y).chunks_mut(LANES).zip((0..).step_by(LANES)) {
            let square = std::array::from_fn(|i| std::array::from_fn(|j| lanes(&lines[i], x + j)));
            block.copy_from_slice(&pick(square)[..block.len()]);
        }
    }
    out
}

#[inline(always)]
fn lanes(line: &[f32], x: usize) -> Lanes {
    let values = &line[x..x + LANES];
    std::array::from_fn(|i| values[i])
}

#[inline(always)]
fn sort3([a, b, c]: [Lanes; 3]) -> [Lanes; 3] {
    let (a, b) = order(a, b);
    let (b, c) = order(b, c);
    let (a, b) = order(a, b);
    [a, b, c]
}

/// Nine exchanges, the fewest that sort five (Knuth 1998, "The art of computer programming", volume 3, 5.3.4).
#[inline(always)]
fn sort5([a, b, c, d, e]: [Lanes; 5]) -> [Lanes; 5] {
    let (a, b) = order(a, b);
    let (d, e) = order(d, e);
    let (c, e) = order(c, e);
    let (c, d) = order(c, d);
    let (a, d) = order(a, d);
    let (a, c) = order(a, c);
    let (b, e) = order(b, e);
    let (b, d) = order(b, d);
    let (b, c) = order(b, c);
    [a, b, c, d, e]
}

/// Moves the least of the first COUNT values to the front and the greatest to the end of them.
#[inline(always)]
fn extremes_out<const COUNT: usize>(hand: &mut [Lanes; 8]) {
    for i in 0..COUNT / 2 {
        exchange(hand, i, COUNT - 1 - i);
    }
    for i in 1..COUNT.div_ceil(2) {
        exchange(hand, 0, i);
    }
    for i in COUNT / 2..COUNT - 1 {
        exchange(hand, i, COUNT - 1);
    }
}

#[inline(always)]
fn exchange<const N: usize>(values: &mut [Lanes; N], low: usize, high: usize) {
    (values[low], values[high]) = order(values[low], values[high]);
}

/// The smaller and the larger value of each lane.
#[inline(always)]
fn order(a: Lanes, b: Lanes) -> (Lanes, Lanes) {
    let (mut low, mut high) = (a, b);
    for i in 0..LANES {
        low[i] = if a[i] < b[i] { a[i] } else { b[i] };
        high[i] = if a[i] < b[i] { b[i] } else { a[i] };
    }
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sorted_median(plane: &Plane<f32>, x: usize, y: usize, reach: isize) -> f32 {
        let mut values = Vec::new();
        for dy in -reach..=reach {
            for dx in -reach..=reach {
                let at = |i: usize, d, n| reflected(i as isize + d, n);
                values.push(plane.at(at(x, dx, plane.width()), at(y, dy, plane.height())));
            }
        }
        values.sort_by(f32::total_cmp);
        values[values.len() / 2]
    }

    #[test]
    fn medians_equal_those_of_sorting() {
        for (width, height) in [(1, 1), (7, 9), (8, 3), (41, 12)] {
            let plane = Plane::from_fn(width, height, |x, y| ((x * x * 31 + y * 57 + x * y) % 101) as f32);
            let (three, five) = (median3(&plane), median5(&plane));
            for y in 0..height {
                for x in 0..width {
                    assert_eq!(three.at(x, y), sorted_median(&plane, x, y, 1));
                    assert_eq!(five.at(x, y), sorted_median(&plane, x, y, 2));
                }
            }
        }
    }
}
