//! One picture after the door: luminance at the depth it came in, linear from 0 to 1 when read.

use crate::coding::Coding;
use crate::plane::Plane;
use std::ops::AddAssign;
use std::sync::OnceLock;

/// Luminance samples at the depth of the file.
#[derive(Clone, Debug, PartialEq)]
pub enum Samples {
    /// 0 to 255.
    Eight(Vec<u8>),
    /// 0 to 65535.
    Sixteen(Vec<u16>),
}

/// One picture: luminance only, never empty, at the depth it came in.
#[derive(Clone, Debug)]
pub struct Frame {
    width: usize,
    height: usize,
    samples: Samples,
    /// Told once it is asked for.
    coding: OnceLock<Coding>,
}

/// Frames of the same samples are the same.
impl PartialEq for Frame {
    fn eq(&self, other: &Frame) -> bool {
        (self.width, self.height) == (other.width, other.height) && self.samples == other.samples
    }
}

impl Frame {
    /// A frame from its samples, row by row; none if it is empty or their number is not `width * height`.
    pub fn new(width: usize, height: usize, samples: Samples) -> Option<Frame> {
        let count = match &samples {
            Samples::Eight(v) => v.len(),
            Samples::Sixteen(v) => v.len(),
        };
        (count > 0 && count == width * height).then(|| Frame {
            width,
            height,
            samples,
            coding: OnceLock::new(),
        })
    }

    /// Number of columns.
    pub const fn width(&self) -> usize {
        self.width
    }

    /// Number of rows.
    pub const fn height(&self) -> usize {
        self.height
    }

    /// The samples as they came.
    pub const fn samples(&self) -> &Samples {
        &self.samples
    }

    /// What storing it has done to its levels.
    pub fn coding(&self) -> Coding {
        *self.coding.get_or_init(|| Coding::of(&self.samples, self.width))
    }

    /// Distance between two neighbouring levels, on the scale 0 to 1.
    pub const fn level_step(&self) -> f32 {
        match self.samples {
            Samples::Eight(_) => 1.0 / 255.0,
            Samples::Sixteen(_) => 1.0 / 65535.0,
        }
    }

    /// The rectangle with top-left pixel (x0, y0), `width` x `height`, as values from 0 to 1; none unless it
    /// lies inside and is not empty.
    pub fn patch(&self, x0: usize, y0: usize, width: usize, height: usize) -> Option<Plane<f32>> {
        let inside = width > 0 && height > 0 && x0 + width <= self.width && y0 + height <= self.height;
        inside.then(|| {
            let step = self.level_step();
            let mut data = Vec::with_capacity(width * height);
            for y in y0..y0 + height {
                let start = y * self.width + x0;
                match &self.samples {
                    Samples::Eight(v) => {
                        data.extend(v[start..start + width].iter().map(|&s| f32::from(s) * step))
                    }
                    Samples::Sixteen(v) => {
                        data.extend(v[start..start + width].iter().map(|&s| f32::from(s) * step))
                    }
                }
            }
            Plane::from_vec(width, height, data)
        })?
    }

    /// The whole picture shrunk by the whole number `factor` >= 1: each value the mean of a block of
    /// `factor` x `factor` pixels; an incomplete last column or row is dropped. Pixel (x, y) of the result is
    /// centred at ((x + 0.5) * factor - 0.5, (y + 0.5) * factor - 0.5) of the frame. None if nothing is left.
    pub fn shrunk(&self, factor: usize) -> Option<Plane<f32>> {
        let (width, height) = (self.width.checked_div(factor)?, self.height.checked_div(factor)?);
        if width == 0 || height == 0 {
            return None;
        }
        let norm = self.level_step() / (factor * factor) as f32;
        let means = match &self.samples {
            Samples::Eight(v) if factor <= 257 => means::<u8, u16>(v, self.width, factor, norm),
            Samples::Eight(v) => means::<u8, u32>(v, self.width, factor, norm),
            Samples::Sixteen(v) => means::<u16, u32>(v, self.width, factor, norm),
        };
        Plane::from_vec(width, height, means)
    }
}

/// Sums over blocks of `factor` x `factor` samples times `norm`. A column of 8 bit holds in 16 bit up to a factor of 257,
/// one of 16 bit in 32 bit up to 65,537.
fn means<T: Copy, S>(samples: &[T], width: usize, factor: usize, norm: f32) -> Vec<f32>
where
    S: Copy + Default + AddAssign + From<T> + Into<u32>,
{
    let whole = width / factor * factor;
    let mut sums = vec![S::default(); whole];
    let mut means = Vec::with_capacity(samples.len() / (factor * factor));
    for rows in samples.chunks_exact(width * factor) {
        sums.fill(S::default());
        // Columns before blocks, because this loop runs on whole vectors.
        for row in rows.chunks_exact(width) {
            sums.iter_mut().zip(row).for_each(|(sum, sample)| *sum += S::from(*sample));
        }
        let total = |block: &[S]| block.iter().map(|&sum| i64::from(sum.into())).sum::<i64>();
        means.extend(sums.chunks_exact(factor).map(|block| total(block) as f32 * norm));
    }
    means
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shrinking_keeps_the_mean_and_drops_the_rest() {
        let frame = Frame::new(5, 2, Samples::Eight(vec![0, 10, 20, 30, 99, 2, 4, 6, 8, 99])).unwrap();
        let small = frame.shrunk(2).unwrap();
        assert_eq!((small.width(), small.height()), (2, 1));
        assert!((small.at(0, 0) - 4.0 / 255.0).abs() < 1e-6);
        assert!((small.at(1, 0) - 16.0 / 255.0).abs() < 1e-6);
        assert!(frame.shrunk(3).is_none());
    }

    #[test]
    fn a_large_white_block_of_16_bit_stays_white() {
        let side = 300;
        let frame = Frame::new(side, side, Samples::Sixteen(vec![u16::MAX; side * side])).unwrap();
        assert!((frame.shrunk(side).unwrap().at(0, 0) - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_patch_lies_inside_or_is_none() {
        let frame = Frame::new(3, 2, Samples::Sixteen(vec![0, 1, 2, 3, 4, 65535])).unwrap();
        assert_eq!(frame.patch(2, 1, 1, 1).unwrap().at(0, 0), 1.0);
        assert!(frame.patch(2, 1, 2, 1).is_none());
        assert!(Frame::new(0, 0, Samples::Eight(vec![])).is_none());
    }
}
