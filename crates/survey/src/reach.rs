//! Distances of pixels from a set of pixels, by two sweeps over the square about it (Borgefors, 1986, "Distance
//! transformations in digital images"; steps of 1 and 1.4142, at most 8 % too long).

use imaging::Plane;

/// Distances from a set of pixels within a margin about it.
pub struct Distances {
    corner: (isize, isize),
    plane: Plane<f32>,
}

impl Distances {
    /// Distances from `pixels`, which may lie anywhere, out to `margin` pixels about them.
    pub fn from(pixels: &[(isize, isize)], margin: f64) -> Distances {
        let margin = margin.ceil().max(0.0) as isize + 1;
        let span = |of: fn(&(isize, isize)) -> isize| {
            let low = pixels.iter().map(of).min().unwrap_or(0) - margin;
            let high = pixels.iter().map(of).max().unwrap_or(0) + margin;
            (low, (high - low + 1) as usize)
        };
        let ((x0, width), (y0, height)) = (span(|p| p.0), span(|p| p.1));
        let mut plane = Plane::filled(width, height, f32::MAX);
        pixels.iter().for_each(|p| plane.set((p.0 - x0) as usize, (p.1 - y0) as usize, 0.0));
        sweep(&mut plane);
        Distances { corner: (x0, y0), plane }
    }

    /// The distance of a pixel; none beyond the margin.
    pub fn at(&self, (x, y): (isize, isize)) -> Option<f64> {
        self.plane.get(x - self.corner.0, y - self.corner.1).map(f64::from)
    }

    /// The pixels of `other` that lie within the margin, with their distances.
    pub fn within<T: Copy>(&self, other: &Plane<T>) -> impl Iterator<Item = (usize, usize, f64)> {
        let (x0, y0) = self.corner;
        let inside = move |v: isize, size: usize| usize::try_from(v).ok().filter(|v| *v < size);
        let (width, height) = (other.width(), other.height());
        (0..self.plane.height()).flat_map(move |j| {
            let row = inside(j as isize + y0, height);
            (0..self.plane.width()).filter_map(move |i| {
                let (x, y) = (inside(i as isize + x0, width)?, row?);
                Some((x, y, f64::from(self.plane.at(i, j))))
            })
        })
    }
}

/// Lowers every pixel to the least of its neighbours and the step from them.
fn sweep(plane: &mut Plane<f32>) {
    let (w, h) = (plane.width() as isize, plane.height() as isize);
    let lower = |plane: &mut Plane<f32>, x: isize, y: isize, steps: [(isize, isize); 4]| {
        let near = steps.into_iter().filter_map(|(dx, dy)| {
            let step = if dx != 0 && dy != 0 { std::f32::consts::SQRT_2 } else { 1.0 };
            plane.get(x + dx, y + dy).map(|v| v + step)
        });
        let least = near.fold(plane.at(x as usize, y as usize), f32::min);
        plane.set(x as usize, y as usize, least);
    };
    for y in 0..h {
        for x in 0..w {
            lower(plane, x, y, [(-1, -1), (0, -1), (1, -1), (-1, 0)]);
        }
    }
    for y in (0..h).rev() {
        for x in (0..w).rev() {
            lower(plane, x, y, [(1, 1), (0, 1), (-1, 1), (1, 0)]);
        }
    }
}
