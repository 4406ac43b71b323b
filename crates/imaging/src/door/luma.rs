//! Luminance of stored colours. The weights are those of ITU-R Recommendation BT.601 in 16-bit fixed point;
//! they add up to 65536, so that equal channels keep their value exactly.

/// A stored sample of 8 or 16 bit.
pub(super) trait Sample: Copy + Into<u32> + TryFrom<u32> {
    /// The luminance of one colour.
    fn luma(r: Self, g: Self, b: Self) -> Self {
        let sum = 19_595 * r.into() + 38_470 * g.into() + 7_471 * b.into() + 32_768;
        Self::try_from(sum >> 16).unwrap_or(r)
    }
}

impl Sample for u8 {}
impl Sample for u16 {}

/// Luminance of pixels that interleave `channels` samples: grey, grey and alpha, RGB, or RGB and alpha.
pub(super) fn interleaved<T: Sample>(data: Vec<T>, channels: usize) -> Vec<T> {
    if channels == 1 {
        return data;
    }
    let mut out = Vec::with_capacity(data.len() / channels);
    append(&data, channels, &mut out);
    out
}

/// Appends the luminance of such pixels.
pub(super) fn append<T: Sample>(data: &[T], channels: usize, out: &mut Vec<T>) {
    match channels {
        1 => out.extend_from_slice(data),
        2 => out.extend(data.chunks_exact(2).map(|p| p[0])),
        3 => out.extend(data.chunks_exact(3).map(|p| T::luma(p[0], p[1], p[2]))),
        _ => out.extend(data.chunks_exact(channels).map(|p| T::luma(p[0], p[1], p[2]))),
    }
}

/// Luminance of planes that follow each other, `size` samples each: the first alone, or red, green, blue.
pub(super) fn planar<T: Sample>(mut data: Vec<T>, size: usize, planes: usize) -> Vec<T> {
    if planes < 3 {
        data.truncate(size);
        return data;
    }
    (0..size).map(|i| T::luma(data[i], data[size + i], data[2 * size + i])).collect()
}

/// Big-endian pairs of bytes as 16-bit samples.
pub(super) fn from_big_endian(bytes: &[u8]) -> Vec<u16> {
    bytes.chunks_exact(2).map(|p| u16::from_be_bytes([p[0], p[1]])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grey_stays_grey_at_every_level() {
        assert!((0..=u8::MAX).all(|v| u8::luma(v, v, v) == v));
        assert!((0..=u16::MAX).all(|v| u16::luma(v, v, v) == v));
    }

    /// Values of Pillow 13.0.0, `Image.new("RGB", (1, 1), c).convert("L")`, which names the same rule.
    #[test]
    fn colours_as_pillow_turns_them_grey() {
        let known =
            [((255, 0, 0), 76), ((0, 255, 0), 150), ((0, 0, 255), 29), ((10, 200, 77), 129), ((1, 2, 3), 2)];
        for ((r, g, b), luma) in known {
            assert_eq!(u8::luma(r, g, b), luma, "{r} {g} {b}");
        }
    }
}
