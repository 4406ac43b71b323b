//! Whether what one picture shows at a place stays at the same pixels in the others: dirt on the camera's optics
//! takes its share of the light there whatever part of the face lies beneath. Each picture is asked by one filter;
//! what its ground makes of it, and how that scatters, tell the places on the same ring about the nearest fibre.

use super::rigid::Spot;
use crate::locate::pyramid::Level;
use crate::solve::median;
use terms::{Layout, OpticsSpot, Point, Pose};

/// Radii of the filter's disc and of the ring of what lies about it, over that of the mark.
const DISC: [f64; 3] = [0.0, 0.4, 0.8];
const ABOUT: [f64; 2] = [2.0, 2.5];

/// What the filter gives of a spot of unit height.
const GAIN: f64 = 0.76;

/// The smallest radius of a mark that is asked for, pixels of the levels.
const LEAST_RADIUS: f64 = 1.2;

/// Places on a ring that tell the ground, most and least.
const PLACES: usize = 40;
const LEAST_PLACES: usize = 8;

/// No ground is known better than this, logarithm of the light.
const LEAST_SCATTER: f64 = 0.01;

/// A spot of given depth differs between pictures by so much of it.
const VARIES: f64 = 0.15;

/// Squared deviations are cut off here: what other things on the face make of one picture weighs no more.
const CUT: f64 = 9.0;

/// The spot makes at least and at most so much of the mark.
const SHARES: (f64, f64) = (0.15, 1.3);

/// Evidence that proves a spot under a mark and elsewhere, natural logarithm of the likelihoods' ratio, and how many
/// pictures show it at least, beside the one with the mark.
const PROVEN: (f64, f64) = (7.0, 12.0);
const LEAST_SHOWING: usize = 2;

/// The pictures of a run, their light and the fibres in it.
pub(crate) struct Stays<'a> {
    levels: &'a [Level],
    poses: &'a [Pose],
    /// Places of the layout in each picture, pixels of the frame; none where it is not placed.
    fibres: Vec<Vec<Spot>>,
}

/// A spot of the optics, and how much speaks for it.
#[derive(Clone, Debug)]
pub(crate) struct Proof {
    pub evidence: f64,
    pub spot: OpticsSpot,
}

/// What a picture shows at a place beyond its ground, logarithm, and how well that is known.
#[derive(Clone, Copy, Debug)]
struct Shown {
    height: f64,
    scatter: f64,
}

impl<'a> Stays<'a> {
    pub fn new(levels: &'a [Level], poses: &'a [Pose], unplaced: &[usize], layout: &Layout) -> Stays<'a> {
        let fibres = |i: usize| match unplaced.contains(&i) {
            true => Vec::new(),
            false => {
                let at = layout.places.iter().map(|p| poses[i].to_pixel(p.at));
                at.map(|p| (p.x, p.y)).collect()
            }
        };
        Stays { levels, poses, fibres: (0..levels.len()).map(fibres).collect() }
    }

    /// The spot of the optics that makes a mark, if the other pictures prove one. `source` is the picture that shows the
    /// mark, none if it stands out of them all.
    pub fn proven(&self, source: Option<usize>, at: Spot, size: f64, contrast: f64) -> Option<Proof> {
        let told = self.witnesses(source, at, size);
        let whole = GAIN * (1.0 + contrast.max(-0.9)).ln();
        let most = if source.is_some() { SHARES.1 } else { f64::INFINITY };
        let heights = told.iter().map(|s| s.height).filter(|h| (SHARES.0..most).contains(&(h / whole)));
        let tried = heights.map(|h| (h, evidence(&told, h)));
        let (height, evidence) = tried.max_by(|a, b| a.1.total_cmp(&b.1))?;
        let showing = told.iter().filter(|s| s.height / height > 0.5 && s.height.abs() > s.scatter).count();
        let spot = OpticsSpot {
            centre: Point::new(at.0, at.1),
            size_px: size,
            contrast: (height / GAIN).exp() - 1.0,
            pictures: showing + usize::from(source.is_some()),
        };
        let least = if source.is_some() { PROVEN.0 } else { PROVEN.1 };
        (evidence > least && showing >= LEAST_SHOWING).then_some(Proof { evidence, spot })
    }

    /// What the pictures of one size show there, but for `source`. What two of them show of one place of the face counts
    /// once.
    fn witnesses(&self, source: Option<usize>, at: Spot, size: f64) -> Vec<Shown> {
        let face = |i: usize| self.poses[i].to_face(Point::new(at.0, at.1));
        let off = |i: usize, j: usize| face(i).distance(face(j)) / self.poses[i].um_per_px();
        let size_of = |i: usize| (self.levels[i].plane.width(), self.levels[i].plane.height());
        let alike = |i: &usize| size_of(*i) == size_of(source.unwrap_or(0));
        let mut asked: Vec<usize> = source.into_iter().collect();
        let mut told = Vec::new();
        for i in (0..self.levels.len()).filter(alike) {
            if asked.iter().all(|&j| apart(off(i, j), size))
                && let Some(shown) = self.shown(i, at, 0.5 * size)
            {
                asked.push(i);
                told.push(shown);
            }
        }
        told
    }

    fn shown(&self, picture: usize, at: Spot, radius: f64) -> Option<Shown> {
        let level = &self.levels[picture];
        let fibres = &self.fibres[picture];
        let on = |(x, y): Spot| ((x + 0.5) / level.factor - 0.5, (y + 0.5) / level.factor - 0.5);
        let far = |p: &Spot, q: Spot| (p.0 - q.0).hypot(p.1 - q.1);
        let nearest =
            |q: Spot| (0..fibres.len()).min_by(|a, b| far(&fibres[*a], q).total_cmp(&far(&fibres[*b], q)));
        let home = nearest(at)?;
        let centre = fibres[home];
        let (dx, dy) = (at.0 - centre.0, at.1 - centre.1);
        let radius = (radius / level.factor).max(LEAST_RADIUS);
        let value = filtered(level, on(at), radius)?;
        let clear = (ABOUT[1] + 1.0) * radius * level.factor;
        let places = (1..PLACES).filter_map(|k| {
            let (sin, cos) = (std::f64::consts::TAU * k as f64 / PLACES as f64).sin_cos();
            let q = (centre.0 + cos * dx - sin * dy, centre.1 + sin * dx + cos * dy);
            (far(&q, at) > clear && nearest(q) == Some(home)).then(|| filtered(level, on(q), radius))?
        });
        let mut ground: Vec<f64> = places.collect();
        if ground.len() < LEAST_PLACES {
            return None;
        }
        let usual = median(&mut ground);
        let mut off: Vec<f64> = ground.iter().map(|v| (v - usual).abs()).collect();
        let scatter = (1.4826 * median(&mut off)).max(LEAST_SCATTER);
        Some(Shown { height: value - usual, scatter })
    }
}

/// Whether two places so far from each other, pixels, share nothing of a mark or spot of this size.
pub(crate) fn apart(distance: f64, size: f64) -> bool {
    distance > 1.5 * size + 3.0
}

/// By how much likelier it is that all pictures show a spot of this height than that none does, logarithm.
fn evidence(told: &[Shown], height: f64) -> f64 {
    let one = |s: &Shown| {
        let without = (s.height / s.scatter).powi(2).min(CUT);
        let with = ((s.height - height) / s.scatter.hypot(VARIES * height)).powi(2).min(CUT);
        0.5 * (without - with)
    };
    told.iter().map(one).sum()
}

/// Mean logarithm of the light in a disc less that about it; none where it leaves the picture.
fn filtered(level: &Level, (x, y): Spot, radius: f64) -> Option<f64> {
    let reach = ABOUT[1] * radius;
    let (right, bottom) = (level.plane.width() as f64 - 1.0, level.plane.height() as f64 - 1.0);
    if x < reach || y < reach || x + reach > right || y + reach > bottom {
        return None;
    }
    let ring = |share: f64, count: usize| {
        let at = move |k: usize| {
            let (sin, cos) = (std::f64::consts::TAU * k as f64 / count as f64).sin_cos();
            f64::from((level.plane.sample(x + share * radius * cos, y + share * radius * sin) + 0.004).ln())
        };
        (0..count).map(at).sum::<f64>()
    };
    let inside = ring(DISC[0], 1) + ring(DISC[1], 6) + ring(DISC[2], 12);
    let about = ring(ABOUT[0], 16) + ring(ABOUT[1], 16);
    Some(inside / 19.0 - about / 32.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::locate::scene::layout;
    use imaging::Plane;
    use terms::View;

    const SIZE: (usize, usize) = (400, 300);
    const AT: Spot = (231.0, 122.0);

    /// Where the pictures lie, um along the face, at 1 um per pixel.
    fn steps(count: usize) -> Vec<f64> {
        (0..count).map(|i| -1300.0 + 230.0 * i as f64).collect()
    }

    fn poses(at: &[f64]) -> Vec<Pose> {
        let middle = |x: &f64| Point::new(200.0 - x, 150.0);
        at.iter().map(|x| Pose::new(View::default(), 1.0, 0.0, middle(x))).collect()
    }

    /// Grain of each picture by itself, a share of the light, times what is added to each.
    fn levels(poses: &[Pose], grain: f64, add: impl Fn(usize, Spot) -> f64) -> Vec<Level> {
        let noise = |k: usize, x: usize, y: usize| {
            let mut h = (k as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ ((x as u64) << 20) ^ (y as u64);
            for _ in 0..3 {
                h = (h ^ (h >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            }
            (h >> 40) as f64 / f64::from(1u32 << 24) * 3.4 - 1.7
        };
        let level = |k: usize, x: usize, y: usize| {
            (0.5 * (1.0 + grain * noise(k, x, y)) * add(k, (x as f64, y as f64))) as f32
        };
        let plane = |k: usize| Plane::from_fn(SIZE.0, SIZE.1, |x, y| level(k, x, y));
        (0..poses.len()).map(|k| Level { plane: plane(k), factor: 1.0 }).collect()
    }

    /// What a spot of this depth at a place lets through.
    fn spot((x, y): Spot, at: Spot, depth: f64) -> f64 {
        1.0 - depth * (-((x - at.0).powi(2) + (y - at.1).powi(2)) / 32.0).exp()
    }

    fn proof(levels: &[Level], poses: &[Pose]) -> Option<Proof> {
        Stays::new(levels, poses, &[], &layout("mpo-12")).proven(Some(5), AT, 9.4, -0.2)
    }

    #[test]
    fn what_all_pictures_show_at_the_same_pixels_is_proven_though_each_shows_it_poorly() {
        let poses = poses(&steps(12));
        let found = proof(&levels(&poses, 0.12, |_, p| spot(p, AT, 0.2)), &poses).unwrap();
        assert!((found.spot.contrast + 0.2).abs() < 0.05 && found.spot.pictures >= 9, "{found:?}");
    }

    #[test]
    fn what_one_picture_shows_is_not_proven_nor_is_grain() {
        let poses = poses(&steps(12));
        for grain in [0.02, 0.12, 0.3] {
            let alone = |k: usize, p: Spot| if k == 5 { spot(p, AT, 0.2) } else { 1.0 };
            assert!(proof(&levels(&poses, grain, alone), &poses).is_none(), "{grain}");
            assert!(proof(&levels(&poses, grain, |_, _| 1.0), &poses).is_none(), "{grain}");
        }
    }

    /// A mark on the face comes back to the same pixels in pictures of the same place.
    #[test]
    fn a_picture_taken_again_and_again_bears_no_witness() {
        let mut at = steps(12);
        let here = at[5];
        at[3..].fill(here);
        let poses = poses(&at);
        let again = |k: usize, p: Spot| if k < 3 { 1.0 } else { spot(p, AT, 0.2) };
        assert!(proof(&levels(&poses, 0.05, again), &poses).is_none());
    }

    /// Steps of one pitch show every fibre at the same pixels, here a ring and a core of its own.
    #[test]
    fn fibres_that_come_back_to_the_same_pixels_prove_nothing_and_hide_nothing() {
        let at: Vec<f64> = (0..11).map(|i| -1250.0 + 250.0 * f64::from(i)).collect();
        let poses = poses(&at);
        let fibre = |p: Spot| {
            let off = (p.0 - 75.0).hypot(p.1 - 150.0).min((p.0 - 325.0).hypot(p.1 - 150.0));
            if off < 62.5 || (95.0..105.0).contains(&off) { 0.6 } else { 1.0 }
        };
        assert!(proof(&levels(&poses, 0.03, |_, p| fibre(p)), &poses).is_none());
        assert!(proof(&levels(&poses, 0.03, |_, p| fibre(p) * spot(p, AT, 0.2)), &poses).is_some());
    }

    #[test]
    fn pictures_of_another_size_or_without_a_place_are_not_asked() {
        let poses = poses(&steps(12));
        let mut all = levels(&poses, 0.02, |_, p| spot(p, AT, 0.2));
        let layout = layout("mpo-12");
        let unplaced: Vec<usize> = (0..12).filter(|i| *i != 5).collect();
        assert!(Stays::new(&all, &poses, &unplaced, &layout).proven(Some(5), AT, 9.4, -0.2).is_none());
        for (i, level) in all.iter_mut().enumerate().filter(|(i, _)| *i != 5) {
            level.plane = Plane::from_fn(SIZE.0 + i % 2 + 1, SIZE.1, |x, y| {
                level.plane.get(x as isize, y as isize).unwrap_or(0.5)
            });
        }
        assert!(Stays::new(&all, &poses, &[], &layout).proven(Some(5), AT, 9.4, -0.2).is_none());
    }
}
