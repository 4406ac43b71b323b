//! Thin arms of a closed mark: a scratch that runs into a droplet's rim looks like one mark with it. What is much thinner
//! than the whole is not of it (opening by reconstruction with a disc: Serra, 1982, "Image Analysis and Mathematical
//! Morphology").

use crate::reach::Distances;
use imaging::Plane;

/// Radius of the disc that must fit, share of the largest that fits into the mark.
const FITS: f64 = 0.5;

/// The pixels of a mark that lie on its body, holes filled, and not on arms of it.
pub fn body(pixels: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let all: Vec<(isize, isize)> = pixels.iter().map(|p| (p.0 as isize, p.1 as isize)).collect();
    let outside = outside(&all);
    let depth = Distances::from(&outside, 0.0);
    let mut within: Vec<((isize, isize), f64)> = Vec::new();
    let low = |of: fn(&(isize, isize)) -> isize| all.iter().map(of).min().unwrap_or(0);
    let high = |of: fn(&(isize, isize)) -> isize| all.iter().map(of).max().unwrap_or(0);
    for y in low(|p| p.1)..=high(|p| p.1) {
        for x in low(|p| p.0)..=high(|p| p.0) {
            within.extend(depth.at((x, y)).filter(|d| *d > 0.0).map(|d| ((x, y), d)));
        }
    }
    let disc = FITS * within.iter().map(|w| w.1).fold(0.0, f64::max);
    let core: Vec<(isize, isize)> = within.iter().filter(|w| w.1 > disc).map(|w| w.0).collect();
    let near = Distances::from(&core, disc + 2.0);
    let on_body = |p: &(usize, usize)| near.at((p.0 as isize, p.1 as isize)).is_some_and(|d| d < disc + 1.0);
    pixels.iter().copied().filter(on_body).collect()
}

/// The pixels about a set that can be reached from far away without crossing it.
fn outside(pixels: &[(isize, isize)]) -> Vec<(isize, isize)> {
    let x0 = pixels.iter().map(|p| p.0).min().unwrap_or(0) - 1;
    let y0 = pixels.iter().map(|p| p.1).min().unwrap_or(0) - 1;
    let x1 = pixels.iter().map(|p| p.0).max().unwrap_or(0) + 1;
    let y1 = pixels.iter().map(|p| p.1).max().unwrap_or(0) + 1;
    let mut closed = Plane::filled((x1 - x0 + 1) as usize, (y1 - y0 + 1) as usize, false);
    pixels.iter().for_each(|p| closed.set((p.0 - x0) as usize, (p.1 - y0) as usize, true));
    let mut reached = vec![(x0, y0)];
    closed.set(0, 0, true);
    let mut next = 0;
    while let Some(&(x, y)) = reached.get(next) {
        next += 1;
        for (x, y) in [(x - 1, y), (x + 1, y), (x, y - 1), (x, y + 1)] {
            if closed.get(x - x0, y - y0) == Some(false) {
                closed.set((x - x0) as usize, (y - y0) as usize, true);
                reached.push((x, y));
            }
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ring_keeps_its_rim_and_loses_its_tail() {
        let ring = |x: f64, y: f64| (10.0..=13.0).contains(&(x - 20.0).hypot(y - 20.0));
        let tail = |x: f64, y: f64| x > 32.0 && (y - 20.0).abs() < 2.5;
        let all = (0..60).flat_map(|y| (0..60).map(move |x| (x, y)));
        let held = |p: &(usize, usize)| ring(p.0 as f64, p.1 as f64) || tail(p.0 as f64, p.1 as f64);
        let pixels: Vec<(usize, usize)> = all.filter(held).collect();
        let body = body(&pixels);
        assert!(body.iter().all(|p| p.0 < 37), "the tail");
        let rim = pixels.iter().filter(|p| ring(p.0 as f64, p.1 as f64));
        assert!(rim.clone().all(|p| body.contains(p)), "the rim");
    }
}
