//! Value noise: smooth random surfaces over the plane, the same wherever and whenever they are asked for.

/// A 32-bit hash of a lattice point (the mixing steps of Wellons, 2018, "Prospecting for hash functions").
#[inline(always)]
fn lattice(seed: u32, x: i32, y: i32) -> f32 {
    let mut h = (x as u32).wrapping_mul(0x9E37_79B1) ^ (y as u32).wrapping_mul(0x85EB_CA77) ^ seed;
    h = (h ^ (h >> 16)).wrapping_mul(0x7FEB_352D);
    h = (h ^ (h >> 15)).wrapping_mul(0x846C_A68B);
    h ^= h >> 16;
    h as f32 * (2.0 / 4_294_967_296.0) - 1.0
}

#[inline(always)]
fn ease(t: f32) -> f32 {
    t * t * (3.0 - 2.0 * t)
}

/// The whole number below `x`, of less than 2^31, and what is left. Found by adding so much that no bits are left for
/// parts, which runs on whole vectors; `f64::floor` is a call on plain x86-64.
#[inline(always)]
fn split(x: f64) -> (i32, f32) {
    const NO_PARTS: f64 = 6_755_399_441_055_744.0; // 1.5 * 2^52
    let shifted = x + NO_PARTS;
    let nearest = shifted - NO_PARTS;
    let (over, below) = if nearest > x { (1, nearest - 1.0) } else { (0, nearest) };
    ((shifted.to_bits() as i32).wrapping_sub(over), (x - below) as f32)
}

/// A smooth surface of mean 0 within -1 to 1, with a random value at each whole (x, y).
#[inline(always)]
pub(crate) fn value_noise(seed: u32, x: f64, y: f64) -> f32 {
    let ((ix, tx), (iy, ty)) = (split(x), split(y));
    let (tx, ty) = (ease(tx), ease(ty));
    // A check for overflow would keep the loops that ask for rows of values off whole vectors.
    let (next_x, next_y) = (ix.wrapping_add(1), iy.wrapping_add(1));
    let top = lattice(seed, ix, iy) * (1.0 - tx) + lattice(seed, next_x, iy) * tx;
    let bottom = lattice(seed, ix, next_y) * (1.0 - tx) + lattice(seed, next_x, next_y) * tx;
    top * (1.0 - ty) + bottom * ty
}

/// A smooth line of mean 0 within -1 to 1, with a random value at each whole x.
#[inline(always)]
pub(crate) fn line_noise(seed: u32, x: f64) -> f32 {
    let (i, t) = split(x);
    let t = ease(t);
    lattice(seed, i, 0) * (1.0 - t) + lattice(seed, i + 1, 0) * t
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_split_as_by_their_floor() {
        for x in [
            0.0,
            0.25,
            0.5,
            0.75,
            1.0,
            1.5,
            2.5,
            -0.25,
            -0.5,
            -1.0,
            -1.5,
            -2.75,
            1e6 + 0.5,
            -1e6 - 0.125,
            2e9,
        ] {
            let whole: f64 = f64::floor(x);
            assert_eq!(split(x), (whole as i32, (x - whole) as f32), "{x}");
        }
    }

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
