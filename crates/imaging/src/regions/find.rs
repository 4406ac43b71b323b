//! Finding regions: runs of each row, joined with those of the row above by union-find.

use super::{Connectivity, Region, Run};
use crate::plane::Plane;

/// All connected regions of the pixels whose value is `inside`, in the order in which a reader meets their
/// first pixel: top row first, then left to right. (Runs and union-find: Rosenfeld and Pfaltz 1966,
/// "Sequential operations in digital picture processing"; He, Chao and Suzuki 2008, "A run-based two-scan
/// labeling algorithm".)
pub fn regions<T: Copy>(
    plane: &Plane<T>,
    connectivity: Connectivity,
    inside: impl Fn(T) -> bool,
) -> Vec<Region> {
    let mut forest = Forest::default();
    let mut above = 0..0;
    for y in 0..plane.height() {
        let start = forest.runs.len();
        forest.add_row(plane.row(y), y as u32, &inside);
        let here = start..forest.runs.len();
        forest.join(above, here.clone(), reach(connectivity));
        above = here;
    }
    forest.regions(connectivity)
}

/// The connected region of pixels whose value is `inside` that holds pixel (x, y); none if that pixel is
/// outside the plane or not `inside`. Visits the region only, row by row.
pub fn region_at<T: Copy>(
    plane: &Plane<T>,
    (x, y): (usize, usize),
    connectivity: Connectivity,
    inside: impl Fn(T) -> bool,
) -> Option<Region> {
    let holds = |x: usize, y: usize| x < plane.width() && y < plane.height() && inside(plane.at(x, y));
    let widen = |x: usize, y: usize| {
        let x0 = (0..x).rev().take_while(|&x| holds(x, y)).last().unwrap_or(x);
        let x1 = (x..).take_while(|&x| holds(x, y)).count() + x;
        Run { y: y as u32, x0: x0 as u32, x1: x1 as u32 }
    };
    if !holds(x, y) {
        return None;
    }
    let reach = reach(connectivity) as usize;
    let mut found = std::collections::BTreeMap::new();
    let mut waiting = vec![widen(x, y)];
    while let Some(run) = waiting.pop() {
        if found.insert((run.y, run.x0), run).is_some() {
            continue;
        }
        let y = run.y as usize;
        for beside in [y.checked_sub(1), Some(y + 1)].into_iter().flatten() {
            let mut x = (run.x0 as usize).saturating_sub(reach);
            while x < run.x1 as usize + reach {
                if holds(x, beside) {
                    let next = widen(x, beside);
                    x = next.x1 as usize;
                    if !found.contains_key(&(next.y, next.x0)) {
                        waiting.push(next);
                    }
                }
                x += 1;
            }
        }
    }
    Region::new(found.into_values().collect(), connectivity)
}

/// How many columns apart runs of neighbouring rows may end and begin and still touch.
const fn reach(connectivity: Connectivity) -> u32 {
    match connectivity {
        Connectivity::Four => 0,
        Connectivity::Eight => 1,
    }
}

/// Length of the whole blocks at the front of a line that hold nothing inside; most of a mask is such.
fn outside_blocks<T: Copy>(line: &[T], inside: &impl Fn(T) -> bool) -> usize {
    const BLOCK: usize = 16;
    // Without a way out of the middle of a block the test is done on all of it at once.
    let empty = |block: &&[T]| !block.iter().fold(false, |any, &v| any | inside(v));
    BLOCK * line.chunks_exact(BLOCK).take_while(empty).count()
}

/// Runs in row order, each with a parent of the same region that came no later.
#[derive(Default)]
struct Forest {
    runs: Vec<Run>,
    parent: Vec<u32>,
}

impl Forest {
    fn add_row<T: Copy>(&mut self, row: &[T], y: u32, inside: &impl Fn(T) -> bool) {
        let mut x = 0;
        while x < row.len() {
            x += outside_blocks(&row[x..], inside);
            let Some(skip) = row[x..].iter().position(|&v| inside(v)) else { return };
            let x0 = x + skip;
            let length = row[x0..].iter().position(|&v| !inside(v)).unwrap_or(row.len() - x0);
            x = x0 + length;
            self.parent.push(self.runs.len() as u32);
            self.runs.push(Run { y, x0: x0 as u32, x1: x as u32 });
        }
    }

    /// Joins the runs of one row with those of the row above that they touch.
    fn join(&mut self, above: std::ops::Range<usize>, here: std::ops::Range<usize>, reach: u32) {
        let (mut i, mut j) = (above.start, here.start);
        while i < above.end && j < here.end {
            let (a, b) = (self.runs[i], self.runs[j]);
            if a.x0 < b.x1 + reach && b.x0 < a.x1 + reach {
                self.unite(i as u32, j as u32);
            }
            if a.x1 < b.x1 { i += 1 } else { j += 1 }
        }
    }

    fn unite(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        // The earlier run stays the root, so that roots come in reading order.
        self.parent[a.max(b) as usize] = a.min(b);
    }

    fn root(&mut self, mut i: u32) -> u32 {
        while self.parent[i as usize] != i {
            let grand = self.parent[self.parent[i as usize] as usize];
            self.parent[i as usize] = grand;
            i = grand;
        }
        i
    }

    fn regions(mut self, connectivity: Connectivity) -> Vec<Region> {
        let roots: Vec<u32> = (0..self.runs.len() as u32).map(|i| self.root(i)).collect();
        let mut place = vec![0u32; roots.len()];
        let mut counts: Vec<usize> = Vec::new();
        for (i, &root) in roots.iter().enumerate() {
            if root as usize == i {
                place[i] = counts.len() as u32;
                counts.push(0);
            }
            counts[place[root as usize] as usize] += 1;
        }
        let mut grouped: Vec<Vec<Run>> = counts.into_iter().map(Vec::with_capacity).collect();
        for (run, &root) in self.runs.iter().zip(&roots) {
            grouped[place[root as usize] as usize].push(*run);
        }
        grouped.into_iter().filter_map(|runs| Region::new(runs, connectivity)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(rows: &[&str]) -> Plane<u8> {
        let data = rows.iter().flat_map(|r| r.bytes()).collect();
        Plane::from_vec(rows[0].len(), rows.len(), data).unwrap()
    }

    fn areas(rows: &[&str], connectivity: Connectivity) -> Vec<usize> {
        regions(&drawn(rows), connectivity, |v| v == b'#').iter().map(Region::area).collect()
    }

    #[test]
    fn corners_join_by_eight_and_not_by_four() {
        let rows = ["#..#.", ".##..", "#...#"];
        assert_eq!(areas(&rows, Connectivity::Eight), [5, 1]);
        assert_eq!(areas(&rows, Connectivity::Four), [1, 1, 2, 1, 1]);
    }

    #[test]
    fn arms_that_meet_late_are_one_region() {
        let rows = ["#.#.#.#", "#.#.#.#", "#.###.#", "#.....#", "#######", ".......", "##.##.#"];
        assert_eq!(areas(&rows, Connectivity::Four), [15, 7, 2, 2, 1]);
        assert_eq!(areas(&["...", "..."], Connectivity::Eight), []);
        assert_eq!(areas(&["###", "###"], Connectivity::Four), [6]);
    }

    #[test]
    fn growing_from_any_pixel_gives_the_region_that_holds_it() {
        let plane = Plane::from_fn(40, 25, |x, y| (x * x + 3 * y * y + x * y) % 11 < 6);
        for connectivity in [Connectivity::Four, Connectivity::Eight] {
            for region in regions(&plane, connectivity, |v| v) {
                for pixel in region.pixels() {
                    assert_eq!(region_at(&plane, pixel, connectivity, |v| v).as_ref(), Some(&region));
                }
            }
        }
        assert_eq!(region_at(&plane, (40, 0), Connectivity::Four, |_| true), None);
        assert_eq!(region_at(&plane, (0, 0), Connectivity::Four, |_| false), None);
    }
}
