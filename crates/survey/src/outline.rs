//! Outlines freed of blur. To first order a contour at half contrast moves inwards by blur^2 times its
//! curvature over two (Gaussian smoothing moves level lines by mean curvature: Merriman, Bence and Osher,
//! 1992, "Diffusion generated motion by mean curvature"); moving every point back undoes it.

/// The outline with every point moved outwards by `blur`^2 curvature / 2 and inwards by `level`, pixels.
/// Curvature is taken over about one blur either side, so that noise of the outline is no curvature; an
/// outline shorter than six blurs is left as it is. Keeps the direction of turn.
pub fn sharpened(outline: &[(f64, f64)], blur: f64, level: f64) -> Vec<(f64, f64)> {
    let step = (blur / 3.0).max(0.4);
    let even = evenly(outline, step);
    let n = even.len();
    if (n as f64) * step < 6.0 * blur || n < 12 {
        return outline.to_vec();
    }
    let arm = ((blur / step).round() as usize).clamp(1, n / 4);
    let turn = signed_area(&even).signum();
    let soft = averaged(&even, (arm / 2).max(1));
    (0..n)
        .map(|i| {
            let (a, b, c) = (soft[(i + n - arm) % n], soft[i], soft[(i + arm) % n]);
            let (u, v) = ((b.0 - a.0, b.1 - a.1), (c.0 - b.0, c.1 - b.1));
            let cross = u.0 * v.1 - u.1 * v.0;
            let chord = (c.0 - a.0).hypot(c.1 - a.1).max(1e-9);
            let sides = (u.0.hypot(u.1) * v.0.hypot(v.1) * chord).max(1e-9);
            // Menger's curvature of three points; sharper than 1.4 blurs it cannot have been seen.
            let curvature = (2.0 * cross / sides * turn).clamp(-0.7 / blur, 0.7 / blur);
            let out = (turn * (c.1 - a.1) / chord, -turn * (c.0 - a.0) / chord);
            let shift = blur * blur * curvature / 2.0 - level;
            (even[i].0 + out.0 * shift, even[i].1 + out.1 * shift)
        })
        .collect()
}

/// The closed outline with points about `step` apart.
fn evenly(outline: &[(f64, f64)], step: f64) -> Vec<(f64, f64)> {
    let next = |i: usize| outline[(i + 1) % outline.len()];
    let around: f64 =
        (0..outline.len()).map(|i| (next(i).0 - outline[i].0).hypot(next(i).1 - outline[i].1)).sum();
    let count = (around / step).round().max(3.0);
    let step = around / count;
    let (mut out, mut left) = (Vec::new(), 0.0);
    for i in 0..outline.len() {
        let (a, b) = (outline[i], next(i));
        let length = (b.0 - a.0).hypot(b.1 - a.1);
        while left < length && (out.len() as f64) < count {
            out.push((a.0 + (b.0 - a.0) * left / length, a.1 + (b.1 - a.1) * left / length));
            left += step;
        }
        left -= length;
    }
    out
}

/// Means over `half` points either side around the outline.
fn averaged(points: &[(f64, f64)], half: usize) -> Vec<(f64, f64)> {
    let n = points.len();
    let count = (2 * half + 1) as f64;
    (0..n)
        .map(|i| {
            let sum = (0..=2 * half)
                .map(|k| points[(i + n + k - half) % n])
                .fold((0.0, 0.0), |s, p| (s.0 + p.0, s.1 + p.1));
            (sum.0 / count, sum.1 / count)
        })
        .collect()
}

fn signed_area(points: &[(f64, f64)]) -> f64 {
    let n = points.len();
    (0..n).map(|i| points[i].0 * points[(i + 1) % n].1 - points[(i + 1) % n].0 * points[i].1).sum::<f64>()
        / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A circle of radius r moves out by blur^2 / (2 r), whichever way it turns.
    #[test]
    fn a_circle_grows_by_its_curvature() {
        for way in [1.0, -1.0] {
            let circle: Vec<(f64, f64)> = (0..200)
                .map(|k| f64::from(k) * way * std::f64::consts::TAU / 200.0)
                .map(|a| (9.0 * a.cos(), 9.0 * a.sin()))
                .collect();
            for p in sharpened(&circle, 3.0, 0.25) {
                assert!((p.0.hypot(p.1) - (9.0 + 0.5 - 0.25)).abs() < 0.06, "{p:?}");
            }
        }
    }
}
