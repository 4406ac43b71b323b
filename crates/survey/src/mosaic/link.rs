//! Whether two pictures show one piece of face, and how one lies on the other.

use super::blocks::{Trial, likeness, trial};
use super::rigid::{Rigid, Spot, Tie};
use super::spectrum::{Bench, Peak, Spectrum};
use super::texture::Texture;
use crate::solve::median;

/// Shifts of two pictures that are tried.
const PEAKS: usize = 6;

/// Least agreement over chance of a shift that is tried.
const LEAST_STRENGTH: f32 = 6.5;

/// Least share of the blocks, and least number of them, that must agree.
const LEAST_SHARE: f64 = 0.5;
const LEAST_BLOCKS: usize = 5;

/// A way is taken only if its blocks agree so much better than those of any other way: textures may repeat
/// themselves in part.
const BETTER: f32 = 0.1;

/// How far from a place of one picture's lattice a cladding of the other may come to lie, over its radius.
const OFF_LATTICE: f64 = 0.14;

/// Least median correlation of blocks where no cladding shows to hold the lattices against each other, or so
/// many blocks of which so large a share agrees with a lower one.
const WITHOUT_LATTICE: f32 = 0.75;
const MANY_WITHOUT_LATTICE: (usize, f64, f32) = (12, 0.6, 0.55);

/// A shift that stands out so far, over chance and over the next best shift, is no accident of a few blocks: so
/// many of its blocks, such a share of them and such a correlation then suffice.
const OUTSTANDING: f32 = 12.0;
const OVER_RIVAL: f32 = 1.8;
const OF_OUTSTANDING: (usize, f64, f32) = (8, 0.35, 0.25);

/// Of the shifts that the lattices leave, one is borne out by so few blocks if so many of them agree so well, and so
/// much better than those of any other: blocks of two places correlate by 0.3 at the best of their neighbourhood.
const OF_FEW: (usize, f64, f32) = (4, 0.75, 0.7);
const FAR_BETTER: f32 = 0.25;

/// Shifts nearer to each other than this are one, pixels of the textures.
const ONE_SHIFT: f64 = 8.0;

/// Largest turn between two pictures of one run, radians (3 degrees).
const LARGEST_TURN: f64 = 0.052;

/// Median correlation of blocks that chance does not exceed, each the best of its neighbourhood.
const CHANCE_CORRELATION: f32 = 0.3;

/// Two pictures that show one piece of face.
#[derive(Clone, Debug)]
pub(crate) struct Link {
    /// Index of the first picture, the smaller one.
    pub a: usize,
    pub b: usize,
    /// From the first picture into the second, pixels of the frames.
    pub way: Rigid,
    pub ties: Vec<Tie>,
    /// Median correlation of the blocks tried.
    pub correlation: f32,
}

/// A picture as links see it.
pub(crate) struct Look<'a> {
    pub index: usize,
    pub texture: &'a Texture,
    pub spectrum: &'a Spectrum,
    pub lattice: &'a Lattices,
}

/// The claddings of one picture and all places of the lattices that they lie on, pixels of the frame.
#[derive(Clone, Debug, Default)]
pub(crate) struct Lattices {
    pub claddings: Vec<Spot>,
    pub places: Vec<Spot>,
    /// Radius of a cladding.
    pub radius: f64,
}

/// The link of two pictures, wherever they overlap; none if the pictures do not decide it.
pub(crate) fn link(a: &Look, b: &Look, bench: &Bench) -> Option<Link> {
    let factor = a.texture.factor;
    let peaks = bench.peaks(a.spectrum, b.spectrum, PEAKS);
    let outstanding = outstanding(&peaks);
    let tried = |(i, p): (usize, &Peak)| {
        let shift = (f64::from(p.shift.0) * factor, f64::from(p.shift.1) * factor);
        let found = trial(a.texture, b.texture, Rigid { turn: 0.0, shift })?;
        sound(&found, a, b, outstanding && i == 0).then_some(found)
    };
    let clear = peaks.iter().enumerate().filter(|(_, p)| p.strength >= LEAST_STRENGTH);
    let mut trials: Vec<Trial> = clear.filter_map(tried).collect();
    trials.sort_by(|x, y| y.correlation.total_cmp(&x.correlation));
    let best = trials.first()?;
    let rival = trials.iter().skip(1).find(|t| !same(t.way.shift, best.way.shift, factor));
    rival.is_none_or(|r| r.correlation + BETTER < best.correlation).then(|| made(a, b, best))
}

/// Whether the first of the peaks leaves all others far behind.
fn outstanding(peaks: &[Peak]) -> bool {
    let strength = |i: usize| peaks.get(i).map_or(0.0, |p| p.strength);
    strength(0) >= OUTSTANDING && strength(0) >= OVER_RIVAL * strength(1)
}

/// The link of two pictures near a way that is known from others.
pub(crate) fn link_near(a: &Look, b: &Look, way: Rigid) -> Option<Link> {
    let found = trial(a.texture, b.texture, way)?;
    sound(&found, a, b, false).then(|| made(a, b, &found))
}

/// The link of two pictures whose lattices leave few shifts, whole pitches apart; none unless the blocks of one agree
/// far better than those of any other. It takes a narrower strip than [`link`], where one shift must stand out among all.
pub(crate) fn link_among(a: &Look, b: &Look, shifts: &[Spot]) -> Option<Link> {
    let (ties, share, correlation) = OF_FEW;
    let good = |t: &Trial| {
        t.ties.len() >= ties
            && t.share() >= share
            && t.correlation >= correlation
            && t.way.turn.abs() < LARGEST_TURN
            && off_lattice(a.lattice, b.lattice, t.way).is_none_or(|off| off < OFF_LATTICE)
    };
    let way = |shift: Spot| Rigid { turn: 0.0, shift };
    let tried = |&shift: &Spot| Some((shift, trial(a.texture, b.texture, way(shift)).filter(good)?));
    let (at, best) =
        shifts.iter().filter_map(tried).max_by(|x, y| x.1.correlation.total_cmp(&y.1.correlation))?;
    let nearly = |&s: &Spot| {
        !same(s, at, a.texture.factor)
            && likeness(a.texture, b.texture, way(s)).1 + FAR_BETTER > best.correlation
    };
    (!shifts.iter().any(nearly)).then(|| made(a, b, &best))
}

fn made(a: &Look, b: &Look, t: &Trial) -> Link {
    Link { a: a.index, b: b.index, way: t.way, ties: t.ties.clone(), correlation: t.correlation }
}

/// Whether two shifts are one; `factor` is that of the textures.
fn same(a: Spot, b: Spot, factor: f64) -> bool {
    (a.0 - b.0).hypot(a.1 - b.1) < ONE_SHIFT * factor
}

/// Whether a way is borne out by the blocks and by the claddings. `outstanding`: by the correlation at all shifts
/// already.
fn sound(t: &Trial, a: &Look, b: &Look, outstanding: bool) -> bool {
    let (least, share, correlation) = OF_OUTSTANDING;
    let outstanding =
        outstanding && t.ties.len() >= least && t.share() >= share && t.correlation >= correlation;
    let borne_out = t.ties.len() >= LEAST_BLOCKS && t.share() >= LEAST_SHARE;
    (borne_out || outstanding)
        && t.way.turn.abs() < LARGEST_TURN
        && match off_lattice(a.lattice, b.lattice, t.way) {
            Some(off) => off < OFF_LATTICE,
            None => outstanding || t.correlation >= WITHOUT_LATTICE || many_agree(t),
        }
}

fn many_agree(t: &Trial) -> bool {
    let (ties, share, correlation) = MANY_WITHOUT_LATTICE;
    t.ties.len() >= ties && t.share() >= share && t.correlation >= correlation
}

/// How far the claddings of one picture come to lie from the lattice of the other, over the radius: the
/// median. None if the one shows no cladding or the lattice of the other is not known, either way round.
fn off_lattice(a: &Lattices, b: &Lattices, way: Rigid) -> Option<f64> {
    let off = |from: &Lattices, to: &Lattices, way: Rigid| {
        let one = |p: &Spot| {
            let at = way.place(*p);
            let all = to.places.iter().map(|q| (q.0 - at.0).hypot(q.1 - at.1));
            all.fold(f64::INFINITY, f64::min) / from.radius
        };
        let mut all: Vec<f64> = from.claddings.iter().map(one).filter(|d| d.is_finite()).collect();
        (!all.is_empty()).then(|| median(&mut all))
    };
    off(a, b, way).or_else(|| off(b, a, way.back()))
}

/// Whether two pictures that should show one piece of face do not: enough blocks were looked for near a way,
/// and they are no more alike than chance makes them. Two pictures of one place agree even out of focus.
pub(crate) fn contradicts(a: &Look, b: &Look, way: Rigid) -> bool {
    let (tried, correlation) = likeness(a.texture, b.texture, way);
    tried >= 12 && correlation < CHANCE_CORRELATION
}

impl Link {
    /// How much speaks for it.
    pub fn strength(&self) -> f64 {
        self.ties.len() as f64 * f64::from(self.correlation)
    }
}

#[cfg(test)]
mod tests {
    use super::super::blocks::tests::{grain, texture};
    use super::*;
    use imaging::Plane;

    /// Pixels of a picture 144 wide, four to one of its texture, that both show at the shifts that are tried.
    const STRIP: usize = 22;
    const SHIFTS: [Spot; 2] = [(-4.0 * 122.0, 0.0), (4.0 * 122.0, 0.0)];

    /// The shift by which `link_among` joins the first 144 columns of a grain with a picture.
    fn joined(plane: Plane<f32>, shifts: &[Spot]) -> Option<Spot> {
        let (a, b) = (texture(&grain(1), 0), Texture { plane, ..texture(&grain(1), 0) });
        let bench = Bench::new((a.plane.width(), a.plane.height()));
        let spectra = [&a, &b].map(|t| bench.spectrum(&t.plane).unwrap());
        let lattice = Lattices::default();
        let look =
            |index: usize, texture| Look { index, texture, spectrum: &spectra[index], lattice: &lattice };
        link_among(&look(0, &a), &look(1, &b), shifts).map(|l| l.way.shift)
    }

    /// A picture of another place but for a strip on its left, and one on its right, that show the first with this weight.
    fn strips(left: f32, right: f32) -> Plane<f32> {
        let (first, other) = (grain(1), grain(2));
        let mixed = |at: f32, v: f32, w: f32| at * v + (1.0 - at * at).sqrt() * w;
        Plane::from_fn(144, 290, |x, y| match x {
            _ if x < STRIP => mixed(left, first.at(144 - STRIP + x, y), other.at(x, y)),
            _ if x >= 144 - STRIP => mixed(right, first.at(x - (144 - STRIP), y), other.at(x, y)),
            _ => other.at(x, y),
        })
    }

    #[test]
    fn of_few_shifts_the_one_that_agrees_is_taken() {
        for (left, right, expected) in [(1.0, 0.0, SHIFTS[0]), (0.0, 0.9, SHIFTS[1])] {
            let (x, y) = joined(strips(left, right), &SHIFTS).unwrap();
            assert!((x - expected.0).hypot(y - expected.1) < 1.0, "{x} {y}");
        }
    }

    #[test]
    fn no_shift_is_taken_that_agrees_little_or_hardly_better_than_another() {
        assert_eq!(joined(strips(0.0, 0.0), &SHIFTS), None);
        assert_eq!(joined(strips(0.6, 0.0), &SHIFTS), None);
        assert_eq!(joined(strips(1.0, 1.0), &SHIFTS), None);
        // The other is a rival though it would not be taken itself.
        assert_eq!(joined(strips(0.85, 0.66), &SHIFTS), None);
        assert!(joined(strips(0.85, 0.66), &SHIFTS[..1]).is_some());
    }
}
