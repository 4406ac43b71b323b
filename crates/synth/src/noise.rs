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

/// The whole number below `x` and what is left. `f64::floor` is a call on plain x86-64; this is not.
#[inline]
fn split(x: f64) -> (i32, f32) {
    let cut = x as i32;
    let whole = cut - i32::from(x < f64::from(cut));
    (whole, (x - f64::from(whole)) as f32)
}

/// A smooth surface of mean 0 within -1 to 1, with a random value at each whole (x, y).
#[inline]
pub(crate) fn value_noise(seed: u32, x: f64, y: f64) -> f32 {
    let ((ix, tx), (iy, ty)) = (split(x), split(y));
    let (tx, ty) = (ease(tx), ease(ty));
    let top = lattice(seed, ix, iy) * (1.0 - tx) + lattice(seed, ix + 1, iy) * tx;
    let bottom = lattice(seed, ix, iy + 1) * (1.0 - tx) + lattice(seed, ix + 1, iy + 1) * tx;
    top * (1.0 - ty) + bottom * ty
}

/// A smooth line of mean 0 within -1 to 1, with a random value at each whole x.
#[inline]
pub(crate) fn line_noise(seed: u32, x: f64) -> f32 {
    let (i, t) = split(x);
    let t = ease(t);
    lattice(seed, i, 0) * (1.0 - t) + lattice(seed, i + 1, 0) * t
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
