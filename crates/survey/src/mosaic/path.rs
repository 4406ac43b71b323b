//! Levels of a picture along a straight path, between four pixels each. Places are counted in whole parts of a pixel, so
//! that most of the path is pixel after pixel and several are taken at once.

/// Parts of a pixel, as a power of two.
const BITS: u32 = 22;
const ONE: f64 = (1 << BITS) as f64;

/// Places a step apart; a step is a pixel long at most, and places are so few that 32 bit hold their parts.
pub(crate) struct Path {
    /// Column and row of the pixel that the first place lies in.
    pixel: (i32, i32),
    /// How far beyond its middle the first lies, and each beyond the one before, parts of a pixel.
    beyond: (i32, i32),
    step: (i32, i32),
}

impl Path {
    pub fn new(from: (f64, f64), step: (f64, f64)) -> Path {
        // By casts: the library's rounding takes several times as long, and this is asked for every few pixels.
        let whole = |v: f64| v as i32 - i32::from(v < f64::from(v as i32));
        let parts = |v: f64| (v * ONE + 0.5f64.copysign(v)) as i32;
        let pixel = (whole(from.0), whole(from.1));
        Path {
            pixel,
            beyond: (parts(from.0 - f64::from(pixel.0)), parts(from.1 - f64::from(pixel.1))),
            step: (parts(step.0), parts(step.1)),
        }
    }

    /// The column of place `i`, and the part of a pixel beyond.
    fn column(&self, i: usize) -> (i32, f32) {
        let parts = self.beyond.0 + i as i32 * self.step.0;
        (self.pixel.0 + (parts >> BITS), part(parts))
    }

    fn row(&self, i: usize) -> (i32, f32) {
        let parts = self.beyond.1 + i as i32 * self.step.1;
        (self.pixel.1 + (parts >> BITS), part(parts))
    }

    /// Levels at the first places of the path; what lies outside the picture has those of its border.
    #[inline(always)]
    pub fn levels<T: Copy + Into<u32>>(&self, samples: &[T], width: usize, out: &mut [f32]) {
        let bottom = (samples.len() / width) as i32 - 1;
        let line = |row: i32| &samples[row.clamp(0, bottom) as usize * width..][..width];
        let mut first = 0;
        while first < out.len() {
            let row = self.row(first).0;
            // The way is straight: what ends in the row that it begins in lies in it.
            let count = match self.row(out.len() - 1).0 == row {
                true => out.len() - first,
                false => (first..out.len()).take_while(|&i| self.row(i).0 == row).count(),
            };
            self.between(line(row), line(row + 1), first, &mut out[first..first + count]);
            first += count;
        }
    }

    /// Levels between two rows, from place `first` on.
    #[inline(always)]
    fn between<T: Copy + Into<u32>>(&self, above: &[T], below: &[T], first: usize, out: &mut [f32]) {
        let (from, to) = (self.column(first).0, self.column(first + out.len() - 1).0);
        let right = above.len() as i32 - 1;
        let count = out.len();
        let part = |i: usize| (self.column(first + i).1, self.row(first + i).1);
        if from >= 0 && to < right && to - from == count as i32 - 1 {
            let reach = from as usize..from as usize + count + 1;
            let (above, below) = (&above[reach.clone()], &below[reach]);
            let pairs = above.iter().zip(&above[1..]).zip(below.iter().zip(&below[1..]));
            let at = |from: i32, step: i32| from + first as i32 * step;
            let (mut x, mut y) = (at(self.beyond.0, self.step.0), at(self.beyond.1, self.step.1));
            for (o, ((p, q), (r, s))) in out.iter_mut().zip(pairs) {
                *o = level([*p, *q, *r, *s], (self::part(x), self::part(y)));
                (x, y) = (x + self.step.0, y + self.step.1);
            }
        } else {
            for (i, o) in out.iter_mut().enumerate() {
                let column = self.column(first + i).0;
                let (p, q) = (column.clamp(0, right) as usize, (column + 1).clamp(0, right) as usize);
                *o = level([above[p], above[q], below[p], below[q]], part(i));
            }
        }
    }
}

fn part(parts: i32) -> f32 {
    (parts & ((1 << BITS) - 1)) as f32 * (1.0 / ONE as f32)
}

/// The level between two samples above and two below.
fn level<T: Into<u32>>(four: [T; 4], (fx, fy): (f32, f32)) -> f32 {
    let [p, q, r, s] = four.map(|v| v.into() as f32);
    let (above, below) = (p + (q - p) * fx, r + (s - r) * fx);
    above + (below - above) * fy
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Between the pixels of a plane slope every level is known.
    #[test]
    fn levels_of_a_slope_are_those_of_their_places_whichever_way_the_path_goes() {
        let (width, height) = (60, 40);
        let slope = |x: f64, y: f64| 3.0 * x + 2.0 * y;
        let samples: Vec<u16> =
            (0..width * height).map(|i| slope((i % width) as f64, (i / width) as f64) as u16).collect();
        for degrees in [0.0f64, 0.7, -1.0, 90.0, 179.3, 180.0, 217.0] {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let from = (29.6 - 16.0 * cos, 19.3 - 16.0 * sin);
            let mut out = [0.0f32; 32];
            Path::new(from, (cos, sin)).levels(&samples, width, &mut out);
            for (i, seen) in out.iter().enumerate() {
                let due = slope(from.0 + i as f64 * cos, from.1 + i as f64 * sin);
                assert!((f64::from(*seen) - due).abs() < 1e-3, "{degrees} {i}: {seen} for {due}");
            }
        }
    }

    #[test]
    fn what_lies_outside_has_the_levels_of_the_border() {
        let samples: Vec<u8> = vec![10, 20, 30, 40];
        let mut out = [0.0f32; 6];
        Path::new((-2.0, 0.5), (1.0, 0.0)).levels(&samples, 2, &mut out);
        assert_eq!(out, [20.0, 20.0, 20.0, 30.0, 30.0, 30.0]);
    }
}
