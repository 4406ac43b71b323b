//! From fitted centres to the face frame: scale, turn and origin of the picture by least squares.
//!
//! Method: a similarity in closed form (Umeyama, 1991, "Least-squares estimation of transformation parameters
//! between two point patterns"), reweighted by Tukey's biweight so that one bad centre does not turn the face.

use terms::{Face, Pixel, Point, Pose, View};

/// A registered picture.
#[derive(Clone, Copy, Debug)]
pub struct Registered {
    /// Face frame to pixel frame.
    pub pose: Pose,
    /// Standard uncertainty of the scale, um per pixel.
    pub scale_u: f64,
}

/// Fits the pose to pairs of nominal site and measured centre; at least two that differ along the row. With
/// `stated` um per pixel the scale is held and only turn and origin are found.
pub fn register(
    pairs: &[(Point<Face>, Point<Pixel>)],
    view: View,
    stated: Option<f64>,
) -> Option<Registered> {
    let mut weights = vec![1.0; pairs.len()];
    let mut fitted = None;
    for _ in 0..6 {
        let now = weighted(pairs, &weights, view, stated)?;
        let misses: Vec<f64> = pairs.iter().map(|(f, p)| now.pose.to_face(*p).distance(*f)).collect();
        let typical = crate::solve::median(&mut misses.clone()).max(0.05);
        for (w, m) in weights.iter_mut().zip(&misses) {
            let t = m / (6.0 * typical);
            *w = if t < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 };
        }
        fitted = Some(now);
    }
    fitted
}

fn weighted(
    pairs: &[(Point<Face>, Point<Pixel>)],
    weights: &[f64],
    view: View,
    stated: Option<f64>,
) -> Option<Registered> {
    let total: f64 = weights.iter().sum();
    let (sx, sy) = view.signs();
    let mean = |f: &dyn Fn(usize) -> f64| (0..pairs.len()).map(|i| weights[i] * f(i)).sum::<f64>() / total;
    let (fx, fy) = (mean(&|i| pairs[i].0.x * sx), mean(&|i| pairs[i].0.y * sy));
    let (px, py) = (mean(&|i| pairs[i].1.x), mean(&|i| pairs[i].1.y));
    let (mut dot, mut cross, mut spread) = (0.0, 0.0, 0.0);
    for ((f, p), w) in pairs.iter().zip(weights) {
        let (ax, ay) = (f.x * sx - fx, f.y * sy - fy);
        let (bx, by) = (p.x - px, p.y - py);
        dot += w * (ax * bx + ay * by);
        cross += w * (ax * by - ay * bx);
        spread += w * (ax * ax + ay * ay);
    }
    if !(spread > 0.0 && dot.hypot(cross) > 0.0) {
        return None;
    }
    let turn = cross.atan2(dot);
    let um_per_px = stated.unwrap_or(spread / dot.hypot(cross));
    let (sin, cos) = turn.sin_cos();
    let origin = Point::new(px - (cos * fx - sin * fy) / um_per_px, py - (sin * fx + cos * fy) / um_per_px);
    let pose = Pose::new(view, um_per_px, turn, origin);
    let misfit: f64 =
        pairs.iter().zip(weights).map(|((f, p), w)| w * pose.to_face(*p).distance(*f).powi(2)).sum();
    let freedom = (2.0 * total - 4.0).max(1.0);
    // The sites' own errors, up to a few micrometres, scatter the lattice and limit the scale.
    let scale_u = um_per_px * (misfit / freedom / spread).sqrt();
    Some(Registered { pose, scale_u })
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::Key;

    #[test]
    fn a_known_pose_is_found_in_every_view_despite_one_bad_centre() {
        for key in [Key::Up, Key::Down] {
            for mirrored in [false, true] {
                let view = View { key, mirrored };
                let pose = Pose::new(view, 0.5, 0.07, Point::new(3000.0, 400.0));
                let mut pairs: Vec<(Point<Face>, Point<Pixel>)> = (0..12)
                    .map(|i| Point::new(-1375.0 + 250.0 * f64::from(i), 0.0))
                    .map(|f| (f, pose.to_pixel(f)))
                    .collect();
                pairs[3].1 = pairs[3].1.moved(25.0, -14.0);
                let found = register(&pairs, view, None).unwrap();
                assert!((found.pose.um_per_px() - 0.5).abs() < 1e-6, "{view:?}");
                assert!(found.pose.origin.distance(pose.origin) < 1e-3);
                assert!((found.pose.turn(view) - 0.07).abs() < 1e-6);
            }
        }
    }
}
