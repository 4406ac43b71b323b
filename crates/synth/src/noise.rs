//! Value noise: smooth random surfaces over the plane, the same wherever and whenever they are asked for.

/// A 32-bit hash of a lattice point (the mixing steps of Wellons, 2018, "Prospecting for hash functions").
#[inline]
fn lattice(seed: u32, x: i32, y: i32) -> f32 {
    let mut h = (x as u32).wrapping_mul(0x9E37_79B1) ^ (y as u32).wrapping_mul(0x85EB_CA77) ^ seed;
    h = (h ^ (h >> 16)).wrapping_mul(0x7FEB_352D);
    h = (h ^ (h >> 15)).wrapping_mul(0x846C_A68B);
    h ^= h >> 16;
    h as f32 * (2.0 / 4_294_967_296.0) - 1.0
}

#[inline]
fn ease(t: f32) -> f32 {
    t * t * (3.0 - 2.0 * t)
}

/// A smooth surface of mean 0 within -1 to 1, with a random value at each whole (x, y).
#[inline]
pub(crate) fn value_noise(seed: u32, x: f64, y: f64) -> f32 {
    let (fx, fy) = (x.floor(), y.floor());
    let (ix, iy) = (fx as i32, fy as i32);
    let (tx, ty) = (ease((x - fx) as f32), ease((y - fy) as f32));
    let top = lattice(seed, ix, iy) * (1.0 - tx) + lattice(seed, ix + 1, iy) * tx;
    let bottom = lattice(seed, ix, iy + 1) * (1.0 - tx) + lattice(seed, ix + 1, iy + 1) * tx;
    top * (1.0 - ty) + bottom * ty
}

/// A smooth line of mean 0 within -1 to 1, with a random value at each whole x.
#[inline]
pub(crate) fn line_noise(seed: u32, x: f64) -> f32 {
    let floor = x.floor();
    let t = ease((x - floor) as f32);
    lattice(seed, floor as i32, 0) * (1.0 - t) + lattice(seed, floor as i32 + 1, 0) * t
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_is_centred_and_smooth() {
        let n = 200;
        let mut sum = 0.0;
        for i in 0..n * n {
            let (x, y) = (f64::from(i % n) * 0.37, f64::from(i / n) * 0.41);
            let v = f64::from(value_noise(7, x, y));
            assert!(v.abs() <= 1.0);
            assert!((f64::from(value_noise(7, x + 1e-4, y)) - v).abs() < 1e-3);
            sum += v;
        }
        assert!((sum / f64::from(n * n)).abs() < 0.02, "{}", sum / f64::from(n * n));
    }
}
