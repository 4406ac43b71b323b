//! Medians over small squares, by comparing whole lines of values at once.

use super::{reflect_ends, reflected};
use crate::plane::Plane;

/// Values handled side by side: what the registers of every x86-64 and ARM machine hold.
const LANES: usize = 8;

/// Each value the median of the 3 x 3 square about it. Values must not be NaN.
pub fn median3(plane: &Plane<f32>) -> Plane<f32> {
    median::<3, 6>(plane)
}

/// Each value the median of the 5 x 5 square about it. Values must not be NaN.
pub fn median5(plane: &Plane<f32>) -> Plane<f32> {
    median::<5, 14>(plane)
}

/// The median of SIDE x SIDE values needs KEPT = (SIDE^2 + 1) / 2 + 1 of them in hand.
fn median<const SIDE: usize, const KEPT: usize>(plane: &Plane<f32>) -> Plane<f32> {
    let (width, height) = (plane.width(), plane.height());
    let mut out = Plane::filled(width, height, 0.0);
    if width == 0 || height == 0 {
        return out;
    }
    let margin = SIDE / 2;
    // Lines are long enough for a last block that overhangs.
    let length = width.next_multiple_of(LANES) + 2 * margin;
    let mut lines: Vec<Vec<f32>> = vec![vec![0.0; length]; SIDE];
    for y in 0..height {
        for (line, offset) in lines.iter_mut().zip(0..) {
            let row = plane.row(reflected(y as isize + offset - margin as isize, height));
            line[margin..margin + width].copy_from_slice(row);
            reflect_ends(&mut line[..width + 2 * margin], margin);
        }
        for (block, x) in out.row_mut(y).chunks_mut(LANES).zip((0..).step_by(LANES)) {
            let middle = middle_of::<SIDE, KEPT>(|i| &lines[i / SIDE][x + i % SIDE..]);
            block.copy_from_slice(&middle[..block.len()]);
        }
    }
    out
}

/// Takes in one value after the other and drops the least and the greatest of those in hand each time: with
/// just over half of all in hand, neither can be the median.
#[inline(always)]
fn middle_of<'a, const SIDE: usize, const KEPT: usize>(value: impl Fn(usize) -> &'a [f32]) -> [f32; LANES] {
    let take = |i: usize| -> [f32; LANES] { std::array::from_fn(|lane| value(i)[lane]) };
    let mut hand: [[f32; LANES]; KEPT] = std::array::from_fn(take);
    let mut count = KEPT;
    for i in KEPT..SIDE * SIDE {
        extremes_out(&mut hand, count);
        hand[0] = take(i);
        count -= 1;
    }
    extremes_out(&mut hand, count);
    hand[1]
}

/// Moves the least of the first `count` values to the front and the greatest to the end.
#[inline(always)]
fn extremes_out<const KEPT: usize>(hand: &mut [[f32; LANES]; KEPT], count: usize) {
    for i in 0..count / 2 {
        exchange(hand, i, count - 1 - i);
    }
    for i in 1..count.div_ceil(2) {
        exchange(hand, 0, i);
    }
    for i in count / 2..count - 1 {
        exchange(hand, i, count - 1);
    }
}

#[inline(always)]
fn exchange<const KEPT: usize>(hand: &mut [[f32; LANES]; KEPT], low: usize, high: usize) {
    let (a, b) = (hand[low], hand[high]);
    hand[low] = std::array::from_fn(|i| if a[i] < b[i] { a[i] } else { b[i] });
    hand[high] = std::array::from_fn(|i| if a[i] < b[i] { b[i] } else { a[i] });
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
