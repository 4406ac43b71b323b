//! What may be marks too faint to be told: peaks of the finest field that noise alone seldom has, where no mark lies.

use crate::blobs::Field;
use imaging::Plane;
use terms::Hint;

/// A peak stands over every pixel as near as this.
const ABOUT: isize = 2;

/// Peaks where the glass is `open`: their pixels and signed heights, row by row.
pub fn find(field: &Field, open: &Plane<f32>) -> Vec<((f64, f64), f64)> {
    let plane = &field.plane;
    let mut found = Vec::new();
    for y in 0..plane.height() {
        for (x, (v, open)) in plane.row(y).iter().zip(open.row(y)).enumerate() {
            let high = |unrest: f64| f64::from(v.abs()) > Hint::LEAST_SCATTERS * field.scatter * unrest;
            // Nowhere does it scatter less than far from the rim.
            if *open > 0.0 && high(1.0) && high(field.unrest((x, y))) && is_peak(plane, (x, y)) {
                found.push(((x as f64, y as f64), f64::from(*v)));
            }
        }
    }
    found
}

/// Whether no pixel about one differs more from clean glass in its direction; of equals, the last is the peak.
fn is_peak(plane: &Plane<f32>, (x, y): (usize, usize)) -> bool {
    let own = plane.at(x, y);
    let steps = || -ABOUT..=ABOUT;
    steps().flat_map(|dy| steps().map(move |dx| (dy, dx))).filter(|step| *step != (0, 0)).all(|(dy, dx)| {
        let near = plane.get(x as isize + dx, y as isize + dy).unwrap_or(0.0) * own.signum();
        near < own.abs() || near == own.abs() && (dy, dx) < (0, 0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plateau_is_one_peak() {
        let mut plane = Plane::filled(9, 9, 0.0f32);
        [(4, 4), (5, 4)].into_iter().for_each(|(x, y)| plane.set(x, y, -0.1));
        let peaks = |x| is_peak(&plane, (x, 4));
        assert_eq!([peaks(3), peaks(4), peaks(5)], [false, false, true]);
    }
}
