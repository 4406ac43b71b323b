//! Everything seen in pictures whose truth is known, counted: detection, sizes, false calls, centres, verdicts and
//! refusals.

use crate::binomial::Share;
use crate::confusion::Confusion;
use crate::detection::{Axis, Detection, Target, detection};
use crate::pairing::{Pairs, from_piece, pair};
use crate::seen::{SeenFace, SeenFibre};
use crate::sizing::{Measured, Sizing, percentile, sizing};
use crate::truth::{TrueFace, TrueFibre, TrueMark};
use grade::{Criteria, Verdict};
use terms::Kind;

/// One isolated mark that was there to be seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// What it is.
    pub kind: Kind,
    /// Its contrast, without sign.
    pub contrast: f64,
    /// Its size over the smallest that the program said it would see in this picture; none where it said none.
    pub over_smallest: Option<f64>,
    /// Its size, and whether it was seen.
    pub target: Target,
}

/// A size with what it is of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizedMark {
    /// What it is.
    pub kind: Kind,
    /// Whether no other mark lies within 4 um of its edge.
    pub isolated: bool,
    /// Measured and true.
    pub measured: Measured,
}

/// Which isolated marks of a picture count for detection.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// All.
    All,
    /// Pits and films: those of a face with dirt by chance, where other faces hold particles and scratches of chosen
    /// contrast.
    PitsAndFilms,
    /// None: the same marks count in another picture of the face.
    None,
}

impl Counted {
    fn holds(self, kind: Kind) -> bool {
        match self {
            Counted::All => true,
            Counted::PitsAndFilms => matches!(kind, Kind::Pit | Kind::Film),
            Counted::None => false,
        }
    }
}

/// What pictures with known truth have told so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Against {
    /// Isolated marks.
    pub sights: Vec<Sight>,
    /// Marks seen and sized whose kind is right as far as a verdict goes.
    pub sizes: Vec<SizedMark>,
    /// Marks called on each clean fibre.
    pub on_clean: Vec<usize>,
    /// Marks called anywhere that no truth explains, of all called.
    pub unexplained: Share,
    /// Distances of the measured centres of claddings from the true ones, um.
    pub centres: Vec<f64>,
    /// Verdicts on fibres whose true verdict is clear.
    pub verdicts: Confusion,
    /// Fibres whose true verdict hangs on small changes.
    pub unclear: usize,
    /// Positions that must be refused, and were.
    pub refused: Share,
    /// Positions that can be graded, and were refused.
    pub refused_gradable: Share,
    /// Verdicts that are wrong on clear fibres, for a look at them.
    pub wrong: Vec<Wrong>,
}

/// A clear fibre that was given another verdict, or none.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong {
    /// Name of the picture.
    pub picture: String,
    /// The position.
    pub position: u16,
    /// What is true.
    pub truth: Verdict,
    /// What was said.
    pub said: Verdict,
}

/// A mark whose edge is nearer than this to another's is not isolated, um.
const APART: f64 = 4.0;
/// A mark that reaches farther out than this lies at the rim of the glass, um.
const RIM: f64 = 57.0;

impl Against {
    /// Counts one picture; `counted` says which of its isolated marks count for detection.
    pub fn add(
        &mut self,
        name: &str,
        truth: &TrueFace,
        seen: &SeenFace,
        criteria: &Criteria,
        counted: Counted,
    ) {
        for fibre in &truth.fibres {
            let said = seen.verdict(fibre.position);
            if fibre.must_refuse {
                self.refused = self.refused.and(said == Verdict::Ungraded);
                continue;
            }
            self.refused_gradable = self.refused_gradable.and(said == Verdict::Ungraded);
            self.judge(name, fibre, said, criteria);
            match seen.fibre(fibre.position).filter(|s| s.centre_px.is_some()) {
                Some(looked) => self.look(truth, fibre, looked, seen.smallest_gradable, counted),
                None => self.sight(fibre, &Pairs::none(fibre), seen.smallest_gradable, counted),
            }
        }
    }

    fn judge(&mut self, name: &str, fibre: &TrueFibre, said: Verdict, criteria: &Criteria) {
        let Some(truth) = fibre.clear_verdict(criteria) else {
            self.unclear += 1;
            return;
        };
        self.verdicts.add(truth, said);
        if truth != said {
            let wrong = Wrong { picture: name.to_owned(), position: fibre.position, truth, said };
            self.wrong.push(wrong);
        }
    }

    fn look(
        &mut self,
        face: &TrueFace,
        fibre: &TrueFibre,
        seen: &SeenFibre,
        smallest: Option<f64>,
        counted: Counted,
    ) {
        if let Some((x, y)) = seen.centre_px {
            self.centres.push((x - fibre.centre_px.0).hypot(y - fibre.centre_px.1) * face.um_per_px);
        }
        let pairs = pair(&fibre.marks, &seen.marks);
        if fibre.is_clean() {
            self.on_clean.push(seen.marks.len());
        }
        for explained in &pairs.explained {
            self.unexplained = self.unexplained.and(!explained);
        }
        self.size(fibre, seen, &pairs);
        self.sight(fibre, &pairs, smallest, counted);
    }

    fn size(&mut self, fibre: &TrueFibre, seen: &SeenFibre, pairs: &Pairs) {
        for (k, (mark, found)) in fibre.marks.iter().zip(&pairs.of_true).enumerate() {
            let Some(found) = found.map(|j| seen.marks[j]) else { continue };
            let line = mark.kind == Kind::Scratch;
            if line == (found.kind == Kind::Scratch) && (line || mark.reach.1 < RIM) {
                let measured = Measured { truth: mark.size, size: found.size, u: found.u };
                self.sizes.push(SizedMark { kind: mark.kind, isolated: isolated(fibre, k), measured });
            }
        }
    }

    fn sight(&mut self, fibre: &TrueFibre, pairs: &Pairs, smallest: Option<f64>, counted: Counted) {
        for (k, mark) in fibre.marks.iter().enumerate() {
            if counted.holds(mark.kind)
                && isolated(fibre, k)
                && (mark.kind == Kind::Scratch || mark.reach.1 <= RIM)
            {
                let target = Target { size: mark.size, hit: pairs.of_true[k].is_some() };
                self.sights.push(Sight {
                    kind: mark.kind,
                    contrast: mark.contrast.abs(),
                    over_smallest: smallest.map(|s| mark.size / s),
                    target,
                });
            }
        }
    }
}

impl Pairs {
    fn none(fibre: &TrueFibre) -> Pairs {
        Pairs { of_true: vec![None; fibre.marks.len()], explained: Vec::new() }
    }
}

/// Whether no other mark lies near a fibre's mark of that index: 4 um or more lie between their edges.
pub fn isolated(fibre: &TrueFibre, k: usize) -> bool {
    let mut others = fibre.marks.iter().enumerate().filter(|(j, _)| *j != k);
    others.all(|(_, other)| gap(&fibre.marks[k], other) >= APART)
}

/// Distance between the edges of two marks, at least; their lines by their corners.
fn gap(a: &TrueMark, b: &TrueMark) -> f64 {
    let places = |m: &TrueMark| if m.path.len() > 1 { m.path.clone() } else { vec![m.centre] };
    let from = |at: (f64, f64), m: &TrueMark| match m.path.len() {
        0 | 1 => (at.0 - m.centre.0).hypot(at.1 - m.centre.1),
        _ => m.path.windows(2).map(|p| from_piece(at, p[0], p[1])).fold(f64::INFINITY, f64::min),
    };
    let nearest = |a: &TrueMark, b: &TrueMark| {
        places(a).into_iter().map(|at| from(at, b)).fold(f64::INFINITY, f64::min)
    };
    nearest(a, b).min(nearest(b, a)) - 0.5 * (a.size + b.size)
}

/// Detection of one kind of mark in one band of contrasts.
#[derive(Clone, Debug, PartialEq)]
pub struct Class {
    /// What they are.
    pub kind: Kind,
    /// Least and greatest contrast of those that were there, without sign.
    pub contrast: (f64, f64),
    /// Every mark of the class.
    pub targets: Vec<Target>,
    /// What they tell.
    pub detection: Detection,
}

/// Bands of contrast, by their lower ends.
const BANDS: [f64; 6] = [0.0, 0.05, 0.11, 0.21, 0.42, 0.85];
const KINDS: [Kind; 5] = [Kind::Particle, Kind::Pit, Kind::Scratch, Kind::Film, Kind::Chip];
/// Fewer targets than this tell nothing of detection.
const FEWEST: usize = 8;

impl Against {
    /// Detection by kind and band of contrast.
    pub fn classes(&self) -> Vec<Class> {
        let mut classes = Vec::new();
        for kind in KINDS {
            for (k, low) in BANDS.iter().enumerate() {
                let high = BANDS.get(k + 1).copied().unwrap_or(f64::INFINITY);
                let of: Vec<&Sight> = self
                    .sights
                    .iter()
                    .filter(|s| s.kind == kind && (*low..high).contains(&s.contrast))
                    .collect();
                if of.len() >= FEWEST {
                    classes.push(Class::of(kind, &of));
                }
            }
        }
        classes
    }

    /// Of marks that the program says it would see (compact, of the contrast that it speaks of or more, and no
    /// smaller than the smallest that it names for the picture), how many it saw; and those up to a quarter
    /// larger than that smallest one, where a wrong promise would show first.
    pub fn promised(&self, contrast: f64) -> (Share, Share) {
        let meant = |s: &&Sight| s.kind == Kind::Particle && s.contrast >= contrast - 1e-6;
        let seen = |low: f64, high: f64| {
            let of = self.sights.iter().filter(meant);
            let within = of.filter(move |s| s.over_smallest.is_some_and(|r| r >= low && r < high));
            Share::of(within.map(|s| s.target.hit))
        };
        (seen(1.0, f64::INFINITY), seen(1.0, 1.25))
    }

    /// Errors of size of some kinds, from a true size of `low` up to `high`; of isolated marks alone if so wanted.
    pub fn sizing(&self, kinds: &[Kind], low: f64, high: f64, isolated: bool) -> Option<Sizing> {
        let held = |s: &&SizedMark| {
            kinds.contains(&s.kind) && (low..high).contains(&s.measured.truth) && (s.isolated || !isolated)
        };
        sizing(&self.sizes.iter().filter(held).map(|s| s.measured).collect::<Vec<_>>())
    }

    /// Distance of the centres from the truth below which the share `p` lies, um; none without any.
    pub fn centre_error(&self, p: f64) -> Option<f64> {
        let mut sorted = self.centres.clone();
        sorted.sort_by(f64::total_cmp);
        (!sorted.is_empty()).then(|| percentile(&sorted, p))
    }
}

impl Class {
    fn of(kind: Kind, of: &[&Sight]) -> Class {
        let ends = of
            .iter()
            .fold((f64::INFINITY, 0.0f64), |(low, high), s| (low.min(s.contrast), high.max(s.contrast)));
        let targets: Vec<Target> = of.iter().map(|s| s.target).collect();
        Class { kind, contrast: ends, detection: detection(&targets, Axis::Log), targets }
    }
}
