//! Whether a mark's border shows between the two pictures: the step across its outline, in its own picture and in
//! the ratio of both, arc by arc. What a film does to the light about it fades over many micrometres and has no
//! border; what truly came or went has one all around. Shares are from made-up faces, no source.

use super::marks::{AT_CORE, Decided, WIDEST};
use super::ratio::Ratio;
use crate::elsewhere::elsewhere;
use crate::near::near;
use crate::solve::median;
use imaging::Plane;
use terms::geometry::point_segment_distance;
use terms::{Feature, Kind};

/// Arcs of equal length that an outline is cut into, how many must be on the glass that is compared, and the share
/// of those that must show the border.
const ARCS: usize = 12;
const ON_GLASS: usize = 8;
const SHOW: f64 = 0.75;

/// How far inside and outside the outline the step is read, standard deviations of the blur and um more: two and a
/// half of them apart, more than three quarters of a sharp step show and a quarter of one that fades over a mark of
/// 8 um.
const OFF: (f64, f64) = (1.2, 0.1);

/// Least step in its own picture, as a share of the mark's contrast: of an arc, and the mean of those that show.
const SHARP: (f64, f64) = (0.35, 0.5);

/// The ratio shows an arc if its step is between these shares of the own picture's, and so many of its scatters. So
/// many arcs hardly do so by chance.
const SHARE: (f64, f64) = (0.55, 1.6);
const CLEAR: f64 = 1.75;

/// Marks wider than this, um, may have made the border that another shows; it is theirs within this distance, um.
const WIDE_UM: f64 = 8.0;
const THEIRS_UM: f64 = 1.5;

/// Other places of the glass whose steps tell the scatter, and the least number of them.
const ELSEWHERE: (usize, usize) = (40, 8);

/// Places along an outline.
type Points = Vec<(f64, f64)>;

/// Natural logarithm of the odds, above 0, that the other picture lacks a mark of the first or the second picture,
/// whose marks are `others`; none unless the ratio shows its border nearly all around and that border is no other
/// mark's.
pub(super) fn lacks(mark: &Feature, others: &[Feature], ratio: &Ratio, second: bool) -> Option<f64> {
    let line = mark.kind == Kind::Scratch || mark.size.0.max(mark.length.0) > WIDEST;
    if line || mark.reach.inner.0 < ratio.grid.evened && mark.contrast.abs() < AT_CORE {
        return None;
    }
    share(mark, others, ratio, second).map(Decided::odds).filter(|odds| *odds > 0.0)
}

/// The share of the step across a mark's border that the ratio shows.
fn share(mark: &Feature, others: &[Feature], ratio: &Ratio, second: bool) -> Option<Decided> {
    let sign = if second { -1.0 } else { 1.0 };
    let on_grid =
        |f: &Feature| -> Points { f.outline.iter().map(|p| ratio.grid.place((p.x, p.y))).collect() };
    let pixel = ratio.grid.pixel;
    let off = (OFF.0 * ratio.blur + OFF.1) / pixel;
    let arcs = arcs(&on_grid(mark), off)?;
    let wide = |f: &&Feature| f.id != mark.id && f.kind != Kind::Scratch && f.size.0 > WIDE_UM;
    let borders: Vec<Points> = others.iter().filter(wide).map(on_grid).collect();
    let theirs = |arc: &&Arc| {
        let at = arc.middle();
        borders.iter().any(|border| on_border(border, at, THEIRS_UM / pixel))
    };
    let contrast = (1.0 + mark.contrast.max(-0.95)).ln();
    let scatter = scatter(mark, &arcs, ratio)?;
    let shown = |arc: &Arc| {
        let own = arc.step(&ratio.own[usize::from(second)], (0, 0))?;
        let share = sign * arc.step(&ratio.plane, (0, 0))? / own;
        let sharp = own / contrast > SHARP.0 && (share * own).abs() > CLEAR * scatter;
        (sharp && (SHARE.0..SHARE.1).contains(&share)).then_some((share, own / contrast))
    };
    let (mut shares, steps): (Vec<f64>, Vec<f64>) =
        arcs.iter().filter(|arc| !theirs(arc)).filter_map(shown).unzip();
    let on_glass = arcs.iter().filter(|arc| arc.step(&ratio.plane, (0, 0)).is_some()).count();
    let all_around = on_glass >= ON_GLASS && shares.len() as f64 >= SHOW * on_glass as f64;
    if !all_around || steps.iter().sum::<f64>() < SHARP.1 * steps.len() as f64 {
        return None;
    }
    let middle = median(&mut shares);
    let mut apart: Vec<f64> = shares.iter().map(|share| (share - middle).abs()).collect();
    let scatter = 1.4826 * median(&mut apart) * 1.2533 / (shares.len() as f64).sqrt();
    Some(Decided { share: middle, scatter })
}

/// Scatter of an arc's step, from the steps along the same outline elsewhere on the glass.
fn scatter(mark: &Feature, arcs: &[Arc], ratio: &Ratio) -> Option<f64> {
    let pixel = ratio.grid.pixel;
    let usual = |step| {
        let mut steps: Vec<f64> =
            arcs.iter().filter_map(|arc| arc.step(&ratio.plane, step)).map(f64::abs).collect();
        (2 * steps.len() > ARCS).then(|| median(&mut steps))
    };
    let disc = ((ratio.grid.middle, ratio.grid.middle), ratio.grid.radius / pixel);
    let apart = (1.2 * mark.size.0.max(mark.length.0) + 2.0 * ratio.blur) / pixel;
    let at = ratio.grid.place((mark.centre.x, mark.centre.y));
    Some(1.4826 * elsewhere(ELSEWHERE, disc, at, apart, usual)?.0)
}

/// Whether a place lies near an outline, inside or outside.
fn on_border(outline: &[(f64, f64)], at: (f64, f64), reach: f64) -> bool {
    let sides = outline.iter().zip(outline.iter().cycle().skip(1));
    near(outline, at, reach) && { sides }.any(|(a, b)| point_segment_distance(at, *a, *b) <= reach)
}

/// A piece of an outline: its places, and the way outwards from each as far as the step is read.
struct Arc {
    places: Vec<((f64, f64), (f64, f64))>,
}

impl Arc {
    fn middle(&self) -> (f64, f64) {
        self.places[self.places.len() / 2].0
    }

    /// How much higher a plane is inside than outside, moved by a step; none where less than half of it is on the
    /// glass.
    fn step(&self, plane: &Plane<f32>, (dx, dy): (isize, isize)) -> Option<f64> {
        let (right, bottom) = (plane.width() as f64 - 1.0, plane.height() as f64 - 1.0);
        let value = |x: f64, y: f64| {
            let (x, y) = (x + dx as f64, y + dy as f64);
            let within = x >= 0.0 && y >= 0.0 && x <= right && y <= bottom;
            if within { f64::from(plane.sample(x, y)) } else { f64::NAN }
        };
        let steps = self.places.iter().map(|((x, y), (u, v))| value(x - u, y - v) - value(x + u, y + v));
        let steps: Vec<f64> = steps.filter(|step| step.is_finite()).collect();
        (2 * steps.len() > self.places.len()).then(|| steps.iter().sum::<f64>() / steps.len() as f64)
    }
}

/// An outline cut into arcs, places about a pixel apart; none if it is no outline or shorter than a step for each.
fn arcs(outline: &[(f64, f64)], off: f64) -> Option<Vec<Arc>> {
    let sides = || outline.iter().zip(outline.iter().cycle().skip(1));
    let long = |((ax, ay), (bx, by)): (&(f64, f64), &(f64, f64))| (bx - ax).hypot(by - ay);
    let around: f64 = sides().map(long).sum();
    if outline.len() < 3 || !(around > 2.0 * ARCS as f64 && around < 1e4) {
        return None;
    }
    let each = (around / ARCS as f64).ceil() as usize;
    let count = each * ARCS;
    let mut places = Vec::with_capacity(count);
    let mut passed = 0.0;
    for (a, b) in sides() {
        let length = long((a, b));
        while places.len() < count && around * (places.len() as f64 + 0.5) / count as f64 <= passed + length {
            let t = (around * (places.len() as f64 + 0.5) / count as f64 - passed) / length.max(1e-9);
            places.push((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)));
        }
        passed += length;
    }
    if places.len() < count {
        return None;
    }
    // The way along the outline, from so far before to so far behind that its pixels do not show.
    let twice: f64 = sides().map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum();
    let turn = twice.signum();
    let reach = (off.ceil() as usize).max(1);
    let outwards = |i: usize| {
        let (a, b) = (places[(i + count - reach) % count], places[(i + reach) % count]);
        let (x, y) = (b.0 - a.0, b.1 - a.1);
        let length = x.hypot(y).max(1e-9);
        (turn * off * y / length, -turn * off * x / length)
    };
    let place = |i: usize| (places[i], outwards(i));
    Some((0..ARCS).map(|k| Arc { places: (k * each..(k + 1) * each).map(place).collect() }).collect())
}
