//! What storing a picture has done to its levels: levels that are left out, and patterns of 8 x 8 pixels that a
//! lossy coder (ITU-T T.81, JPEG) has rounded. Told by the levels themselves, because pictures are decoded,
//! brightened and stored again before they come here.
//!
//! Method: the grid of blocks shows in the differences of neighbouring pixels; coefficients of the lowest patterns
//! lie at multiples of their step (Fan and de Queiroz, 2003, "Identification of bitmap compression history: JPEG
//! detection and quantizer estimation").

use crate::frame::Samples;
use std::f32::consts::{PI, SQRT_2, TAU};

/// Side of a block.
const BLOCK: usize = 8;
/// Lines and blocks looked at.
const LINES: usize = 64;
const BLOCKS: usize = 900;
/// Differences at the borders of blocks stand out of the others by this factor at least.
const STANDS_OUT: f32 = 1.02;
/// Differences beyond this, of 255, are edges of what is pictured.
const EDGE: f32 = 12.0;
/// Steps that are tried, of 255: finer ones do no harm, coarser ones leave nothing to grade.
const STEPS: (f32, f32) = (3.0, 64.0);
/// How well the coefficients keep to the multiples of a step, from 0 to 1, and how many must.
const KEEPS: f32 = 0.6;
const ENOUGH: usize = 60;

/// What is left of the levels, on the scale 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coding {
    /// Mean distance of neighbouring levels in use.
    pub level_step: f32,
    /// Step of the lowest patterns' coefficients (orthonormal), 0 where none is seen.
    pub block_step: f32,
}

impl Coding {
    /// Whether levels were coded block by block, which leaves next to nothing of the noise in many.
    pub fn is_in_blocks(&self) -> bool {
        self.block_step > 0.0
    }

    /// How far it sets single pixels off, on the scale 0 to 1: half a step between levels, and the height of a pattern that
    /// was kept, a quarter of its step (one half wave each way; ITU-T T.81, A.3.3).
    pub fn of_pixel(&self) -> f32 {
        0.5 * self.level_step + 0.25 * self.block_step
    }

    /// What can be told of a picture of `width` columns, row by row.
    pub(crate) fn of(samples: &Samples, width: usize) -> Coding {
        match samples {
            Samples::Eight(v) => coding(v, width, 255, 1.0),
            Samples::Sixteen(v) => coding(v, width, 65535, 255.0 / 65535.0),
        }
    }
}

fn coding<T: Copy + Into<u32>>(samples: &[T], width: usize, top: usize, unit: f32) -> Coding {
    let grey = Grey { samples, width, height: samples.len() / width.max(1), unit };
    Coding { level_step: level_step(samples, top), block_step: grey.block_step().unwrap_or(0.0) / 255.0 }
}

/// Mean distance of the levels in use between the darkest and the brightest twentieth, share of the range.
fn level_step<T: Copy + Into<u32>>(samples: &[T], top: usize) -> f32 {
    // A prime, so that no column is favoured.
    let stride = if samples.len() > 1_000_000 { 7 } else { 1 };
    let counts = counts(samples, stride, top);
    let total: u32 = counts.iter().sum();
    let (mut below, mut first, mut last, mut used) = (0, None, 0, 0usize);
    for (level, &count) in counts.iter().enumerate().filter(|(_, c)| **c > 0) {
        below += count;
        if below >= total / 20 && below - count <= total - total / 20 {
            first.get_or_insert(level);
            last = level;
            used += 1;
        }
    }
    // Few pixels leave levels out by chance.
    let range = last - first.unwrap_or(last);
    let known = used > 3 && total as usize > 8 * used;
    if known { range as f32 / (used - 1) as f32 / top as f32 } else { 1.0 / top as f32 }
}

/// How often each level is met among every `stride`th sample. Neighbours are counted apart, since one that waits for the
/// other's count takes several times as long.
fn counts<T: Copy + Into<u32>>(samples: &[T], stride: usize, top: usize) -> Vec<u32> {
    const APART: usize = 4;
    let mut counts: [Vec<u32>; APART] = std::array::from_fn(|_| vec![0; top + 1]);
    let blocks = samples.chunks_exact(APART * stride);
    let rest = blocks.remainder();
    for block in blocks {
        for (i, count) in counts.iter_mut().enumerate() {
            count[block[i * stride].into() as usize] += 1;
        }
    }
    rest.iter().step_by(stride).for_each(|s| counts[0][(*s).into() as usize] += 1);
    let [mut sums, others @ ..] = counts;
    others.iter().for_each(|more| sums.iter_mut().zip(more).for_each(|(s, m)| *s += m));
    sums
}

/// A picture's levels, 0 to 255.
struct Grey<'a, T> {
    samples: &'a [T],
    width: usize,
    height: usize,
    unit: f32,
}

impl<T: Copy + Into<u32>> Grey<'_, T> {
    fn at(&self, x: usize, y: usize) -> f32 {
        let level: u32 = self.samples[y * self.width + x].into();
        level as f32 * self.unit
    }

    /// The step of the lowest patterns, of 255.
    fn block_step(&self) -> Option<f32> {
        if self.width < 4 * BLOCK || self.height < 4 * BLOCK {
            return None;
        }
        let left = phase(self.width, self.height, |x, y| self.at(x, y))?;
        let top = phase(self.height, self.width, |x, y| self.at(y, x))?;
        let (across, down) = ((self.width - left) / BLOCK, (self.height - top) / BLOCK);
        let stride = (across * down / BLOCKS).max(1);
        let mut lows: [Vec<f32>; 3] = Default::default();
        for i in (0..across * down).step_by(stride) {
            let (x, y) = (left + i % across * BLOCK, top + i / across * BLOCK);
            for (all, one) in lows.iter_mut().zip(self.lowest(x, y)) {
                all.push(one.abs());
            }
        }
        let steps: Vec<f32> = lows.iter().filter_map(|low| step_of(low)).collect();
        (!steps.is_empty()).then(|| steps.iter().sum::<f32>() / steps.len() as f32)
    }

    /// The block's coefficients of one half wave across, one down, and both.
    fn lowest(&self, x0: usize, y0: usize) -> [f32; 3] {
        let wave = |k: usize| ((k as f32 + 0.5) * PI / BLOCK as f32).cos();
        let mut sums = [0.0; 3];
        for y in 0..BLOCK {
            let (mut plain, mut waved) = (0.0, 0.0);
            for x in 0..BLOCK {
                let v = self.at(x0 + x, y0 + y);
                plain += v;
                waved += v * wave(x);
            }
            sums[0] += waved;
            sums[1] += plain * wave(y);
            sums[2] += waved * wave(y);
        }
        [sums[0] / (4.0 * SQRT_2), sums[1] / (4.0 * SQRT_2), sums[2] / 4.0]
    }
}

/// Number of the first column, below 8, at which a block begins; None if differences across no border stand out.
fn phase(columns: usize, rows: usize, at: impl Fn(usize, usize) -> f32) -> Option<usize> {
    let (mut sums, mut counts) = ([0.0f64; BLOCK], [0u32; BLOCK]);
    for y in (0..rows).step_by((rows / LINES).max(1)) {
        for x in 1..columns {
            let gap = (at(x, y) - at(x - 1, y)).abs();
            if gap < EDGE {
                sums[x % BLOCK] += f64::from(gap);
                counts[x % BLOCK] += 1;
            }
        }
    }
    let means: Vec<f32> = sums.iter().zip(counts).map(|(s, n)| (s / f64::from(n.max(1))) as f32).collect();
    let best = (0..BLOCK).max_by(|a, b| means[*a].total_cmp(&means[*b]))?;
    let others = (means.iter().sum::<f32>() - means[best]) / (BLOCK - 1) as f32;
    (means[best] > STANDS_OUT * others).then_some(best)
}

/// The largest step whose multiples the values keep to.
fn step_of(values: &[f32]) -> Option<f32> {
    let mut tried = std::iter::successors(Some(STEPS.1), |step| Some(step * 0.985))
        .take_while(|step| *step > STEPS.0)
        .map(|step| (step, kept(values, step)));
    let mut best = tried.find(|(_, kept)| *kept > KEEPS)?;
    for next in tried.take_while(|(_, kept)| *kept > KEEPS) {
        if next.1 > best.1 {
            best = next;
        }
    }
    Some(best.0)
}

/// How well values keep to the multiples of a step: 1 if they lie on them, about 0 if they lie anywhere.
fn kept(values: &[f32], step: f32) -> f32 {
    // What lies below is nought, with the rounding of the levels.
    let beyond = values.iter().filter(|v| **v > (0.15 * step).max(1.0));
    let (count, sum) = beyond.fold((0usize, 0.0), |(n, s), v| (n + 1, s + (TAU * v / step).cos()));
    if count < ENOUGH { 0.0 } else { sum / count as f32 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::door::{self, Limits};
    use image::codecs::jpeg::JpegEncoder;

    /// A mottled picture with a little noise.
    fn picture(width: usize, height: usize) -> Vec<u8> {
        let mut state = 7u32;
        let mut noise = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 8) as f32 / (1 << 24) as f32 - 0.5
        };
        let level = |x: usize, y: usize| {
            let (x, y) = (x as f32, y as f32);
            110.0 + 25.0 * (x / 9.0).sin() * (y / 7.0).cos() + 12.0 * (x / 3.1 + y / 4.3).sin()
        };
        (0..width * height).map(|i| (level(i % width, i / width) + 5.0 * noise()) as u8).collect()
    }

    fn decoded(quality: u8) -> Coding {
        let (width, height) = (320, 200);
        let mut bytes = Vec::new();
        JpegEncoder::new_with_quality(&mut bytes, quality)
            .encode(&picture(width, height), width as u32, height as u32, image::ExtendedColorType::L8)
            .unwrap();
        let frame = door::open(&bytes, &Limits::default()).unwrap();
        frame.coding()
    }

    /// The standard's own luminance table (ITU-T T.81, table K.1) has 11, 12 and 12 for these patterns; quality
    /// 60 is 0.8 of it, rounded, quality 50 the table itself (the rule of the widespread libjpeg).
    #[test]
    fn the_step_is_that_of_the_file() {
        for (quality, want) in [(60, (9.0 + 10.0 + 10.0) / 3.0), (50, 35.0 / 3.0), (75, 6.0)] {
            let step = 255.0 * decoded(quality).block_step;
            assert!((step - want).abs() < 0.25, "{quality}: {step} for {want}");
        }
    }

    #[test]
    fn what_was_never_coded_has_no_blocks() {
        let coding = Coding::of(&Samples::Eight(picture(320, 200)), 320);
        assert_eq!(coding.block_step, 0.0);
        assert!((255.0 * coding.level_step - 1.0).abs() < 1e-3);
    }

    #[test]
    fn levels_left_out_widen_the_step() {
        let posterised = picture(320, 200).iter().map(|v| v / 4 * 4).collect();
        let coding = Coding::of(&Samples::Eight(posterised), 320);
        assert!((255.0 * coding.level_step - 4.0).abs() < 0.1);
        let deep = picture(320, 200).iter().map(|v| u16::from(*v) * 257).collect();
        let coding = Coding::of(&Samples::Sixteen(deep), 320);
        assert!((255.0 * coding.level_step - 1.0).abs() < 0.02);
    }

    #[test]
    fn small_and_even_pictures_are_no_trouble() {
        for (width, count) in [(1, 1), (3, 9), (40, 1600)] {
            let coding = Coding::of(&Samples::Eight(vec![9; count]), width);
            assert_eq!(coding, Coding { level_step: 1.0 / 255.0, block_step: 0.0 });
        }
    }
}
