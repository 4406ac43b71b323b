//! Connected regions of a plane: found in one pass by runs, measured by their runs, and outlined along pixel
//! edges or, below the pixel, along a level of grey.

mod find;
mod outline;

pub use find::{region_at, regions};
pub use outline::{iso_contour, pixel_outline};

/// Which pixels count as neighbours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Connectivity {
    /// Pixels that share a side.
    Four,
    /// Pixels that share a side or a corner.
    Eight,
}

/// Pixels x0 to x1 - 1 of row y.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run {
    /// Row.
    pub y: u32,
    /// First column.
    pub x0: u32,
    /// Column after the last, above x0.
    pub x1: u32,
}

impl Run {
    /// Number of pixels.
    pub const fn length(self) -> usize {
        (self.x1 - self.x0) as usize
    }
}

/// A rectangle of pixels: columns x0 to x1 - 1 of rows y0 to y1 - 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// First column.
    pub x0: usize,
    /// First row.
    pub y0: usize,
    /// Column after the last.
    pub x1: usize,
    /// Row after the last.
    pub y1: usize,
}

/// One connected region: never empty, its runs in row order, then by column, none touching the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    runs: Vec<Run>,
    bounds: Bounds,
    area: usize,
    connectivity: Connectivity,
}

/// Centre and second moments of a region's pixels, each pixel a point of weight 1 at its centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moments {
    /// Mean of x, pixel frame of the plane.
    pub x: f64,
    /// Mean of y.
    pub y: f64,
    /// Variance of x, square pixels.
    pub xx: f64,
    /// Covariance of x and y.
    pub xy: f64,
    /// Variance of y.
    pub yy: f64,
}

/// Axes of the ellipse that has the same second moments as a region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axes {
    /// Full length of the longer axis, pixels.
    pub major: f64,
    /// Full length of the shorter axis, pixels; 0 for a line one pixel wide.
    pub minor: f64,
    /// Direction of the longer axis in radians, from x towards y (down), in (-pi/2, pi/2].
    pub angle: f64,
}

impl Region {
    /// A region from its runs, which are in row order; none without runs.
    fn new(runs: Vec<Run>, connectivity: Connectivity) -> Option<Region> {
        let (first, last) = (runs.first()?, runs.last()?);
        let bounds = Bounds {
            x0: runs.iter().map(|r| r.x0).min()? as usize,
            y0: first.y as usize,
            x1: runs.iter().map(|r| r.x1).max()? as usize,
            y1: last.y as usize + 1,
        };
        let area = runs.iter().map(|r| r.length()).sum();
        Some(Region { runs, bounds, area, connectivity })
    }

    /// The region's pixels as runs, in row order, then by column.
    pub fn runs(&self) -> &[Run] {
        &self.runs
    }

    /// The smallest rectangle that holds the region.
    pub const fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// Number of pixels, at least 1.
    pub const fn area(&self) -> usize {
        self.area
    }

    /// The pixels (x, y) in row order.
    pub fn pixels(&self) -> impl Iterator<Item = (usize, usize)> {
        self.runs.iter().flat_map(|r| (r.x0 as usize..r.x1 as usize).map(|x| (x, r.y as usize)))
    }

    /// Whether pixel (x, y) belongs to the region.
    pub fn contains(&self, x: usize, y: usize) -> bool {
        let after = self.runs.partition_point(|r| (r.y as usize, r.x0 as usize) <= (y, x));
        after > 0 && self.runs[after - 1].y as usize == y && x < self.runs[after - 1].x1 as usize
    }

    /// Centre and second moments, exact up to the last rounding.
    pub fn moments(&self) -> Moments {
        let Bounds { x0, y0, .. } = self.bounds;
        let [mut sx, mut sy, mut sxx, mut sxy, mut syy] = [0u128; 5];
        for run in &self.runs {
            let (a, b) = (run.x0 as u128 - x0 as u128, run.x1 as u128 - x0 as u128);
            let (y, n) = (run.y as u128 - y0 as u128, b - a);
            let sum = (a + b - 1) * n / 2;
            sx += sum;
            sy += y * n;
            sxx += squares_below(b) - squares_below(a);
            sxy += sum * y;
            syy += y * y * n;
        }
        let n = self.area as u128;
        let area = self.area as f64;
        let central = |both: u128, one: u128, other: u128| {
            ((n * both) as i128 - (one * other) as i128) as f64 / (area * area)
        };
        Moments {
            x: x0 as f64 + sx as f64 / area,
            y: y0 as f64 + sy as f64 / area,
            xx: central(sxx, sx, sx),
            xy: central(sxy, sx, sy),
            yy: central(syy, sy, sy),
        }
    }
}

/// 0 + 1 + 4 + ... + (n - 1)^2.
const fn squares_below(n: u128) -> u128 {
    if n == 0 { 0 } else { (n - 1) * n * (2 * n - 1) / 6 }
}

impl Moments {
    /// The axes: four times the square root of the principal moments. For a filled disc that is its diameter;
    /// a bar's length is overstated by 2/sqrt 3.
    pub fn axes(self) -> Axes {
        let (mean, half) = ((self.xx + self.yy) / 2.0, (self.xx - self.yy) / 2.0);
        let spread = half.hypot(self.xy);
        Axes {
            major: 4.0 * (mean + spread).sqrt(),
            minor: 4.0 * (mean - spread).max(0.0).sqrt(),
            angle: self.xy.atan2(half) / 2.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Plane;

    /// Axes and angle by scikit-image 0.26's definitions: block 11.489125, bar 57.723479 by 3.265986.
    #[test]
    fn axes_of_a_block_and_a_bar() {
        let plane = Plane::from_fn(80, 40, |x, y| {
            (5..15).contains(&x) && (7..17).contains(&y) || x > 28 && x < 79 && y < 3
        });
        let found = regions(&plane, Connectivity::Eight, |v| v);
        let (bar, block) = (&found[0], &found[1]);
        assert_eq!((bar.area(), block.area()), (150, 100));
        assert_eq!(block.bounds(), Bounds { x0: 5, y0: 7, x1: 15, y1: 17 });
        let m = block.moments();
        assert_eq!((m.x, m.y, m.xx, m.xy), (9.5, 11.5, 8.25, 0.0));
        let axes = bar.moments().axes();
        assert!((m.axes().major - 11.489_125).abs() < 1e-6);
        assert!((axes.major - 57.723_479).abs() < 1e-6 && (axes.minor - 3.265_986).abs() < 1e-6);
        assert_eq!(axes.angle, 0.0);
    }

    #[test]
    fn the_angle_runs_from_x_down_to_y() {
        let line = |f: fn(usize) -> usize| Plane::from_fn(20, 20, |x, y| y == f(x));
        for (plane, angle) in [(line(|x| x), 45.0_f64), (line(|x| 19 - x), -45.0)] {
            let axes = regions(&plane, Connectivity::Eight, |v| v)[0].moments().axes();
            assert!((axes.angle.to_degrees() - angle).abs() < 1e-9 && axes.minor < 1e-6);
        }
        let upright = Plane::from_fn(3, 20, |x, _| x == 1);
        let axes = regions(&upright, Connectivity::Four, |v| v)[0].moments().axes();
        assert_eq!(axes.angle.to_degrees(), 90.0);
    }

    #[test]
    fn membership_and_pixels_agree_with_the_plane() {
        let plane = Plane::from_fn(30, 20, |x, y| (x * 7 + y * 3) % 5 < 3 && (x + y) % 4 != 0);
        let found = regions(&plane, Connectivity::Four, |v| v);
        assert_eq!(
            found.iter().map(Region::area).sum::<usize>(),
            plane.data().iter().filter(|&&v| v).count()
        );
        for region in &found {
            assert_eq!(region.pixels().count(), region.area());
            assert!(region.pixels().all(|(x, y)| plane.at(x, y) && region.contains(x, y)));
        }
        for y in 0..20 {
            for x in 0..30 {
                assert_eq!(found.iter().filter(|r| r.contains(x, y)).count(), usize::from(plane.at(x, y)));
            }
        }
    }
}
