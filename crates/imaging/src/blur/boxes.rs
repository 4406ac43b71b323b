//! Means over a square, at a cost that does not depend on its size.

use super::{reflect_ends, reflected};
use crate::plane::Plane;

/// Each value the mean of the square of side 2 * `radius` + 1 about it, by running sums in f64.
pub fn box_mean(plane: &Plane<f32>, radius: usize) -> Plane<f32> {
    let (width, height) = (plane.width(), plane.height());
    let mut out = Plane::filled(width, height, 0.0);
    if width == 0 || height == 0 {
        return out;
    }
    let side = 2 * radius + 1;
    let share = 1.0 / (side * side) as f64;
    let reach = radius as isize;
    let mut line = vec![0.0_f64; width + 2 * radius];
    let mut columns = vec![0.0_f64; width];
    for offset in -reach..=reach {
        add(&mut columns, plane.row(reflected(offset, height)), 1.0);
    }
    for y in 0..height {
        line[radius..radius + width].copy_from_slice(&columns);
        reflect_ends(&mut line, radius);
        let mut sum: f64 = line[..side - 1].iter().sum();
        for (x, value) in out.row_mut(y).iter_mut().enumerate() {
            sum += line[x + side - 1];
            *value = (sum * share) as f32;
            sum -= line[x];
        }
        add(&mut columns, plane.row(reflected(y as isize + reach + 1, height)), 1.0);
        add(&mut columns, plane.row(reflected(y as isize - reach, height)), -1.0);
    }
    out
}

fn add(sums: &mut [f64], row: &[f32], sign: f64) {
    for (sum, &value) in sums.iter_mut().zip(row) {
        *sum += sign * f64::from(value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_is_the_mean_of_its_square() {
        let plane = Plane::from_fn(23, 17, |x, y| ((x * 7 + y * 5) % 13) as f32);
        for radius in [0, 1, 4, 30] {
            let reach = radius as isize;
            let out = box_mean(&plane, radius);
            for (x, y) in [(0, 0), (22, 16), (11, 3), (5, 16)] {
                let mut sum = 0.0;
                for dy in -reach..=reach {
                    for dx in -reach..=reach {
                        sum += plane.at(reflected(x + dx, 23), reflected(y + dy, 17));
                    }
                }
                let mean = sum / ((2 * radius + 1) * (2 * radius + 1)) as f32;
                assert!((out.at(x as usize, y as usize) - mean).abs() < 1e-4);
            }
        }
    }
}
