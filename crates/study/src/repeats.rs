//! Repeated looks at the same faces: whether verdicts and sizes come out the same.

use crate::agreement::{Kappa, fleiss, pairwise};
use crate::binomial::Share;
use crate::confusion::class;
use crate::gauge::{Anova, Readings, Spread, by_anova, by_ranges};
use crate::pairing::{Sightings, gather};
use crate::seen::SeenFace;
use grade::Verdict;
use terms::Kind;

/// One face, pictured again and again: by set-up of the camera, then by trial.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeated {
    /// `looks[set_up][trial]`; every set-up holds equally many.
    pub looks: Vec<Vec<SeenFace>>,
    /// Positions that do not count: those that cannot be graded in some picture, where the truth is known.
    pub left_out: Vec<u16>,
    /// Positions whose true verdict is clear in every picture; none where the truth is not known.
    pub clear: Option<Vec<u16>>,
}

/// How far verdicts agree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdicts {
    /// Fibres given the same verdict in every picture.
    pub always_same: Share,
    /// Mean over the fibres of the share of pictures that have its most frequent verdict.
    pub modal_share: f64,
    /// Over all pairs of pictures.
    pub cohen: Option<Kappa>,
    /// Over all pictures.
    pub fleiss: Option<Kappa>,
}

/// Which sizes are analysed together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    /// Widths of scratches.
    Scratches,
    /// Other marks up to 10 um on average.
    Small,
    /// Other marks over 10 um.
    Large,
}

/// Where the spread of sizes comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    /// Of which marks.
    pub sort: Sort,
    /// How many marks were seen in every picture.
    pub marks: usize,
    /// By ranges.
    pub ranges: Spread,
    /// By analysis of variance.
    pub anova: Anova,
}

/// What repeated looks tell.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeatability {
    /// Faces.
    pub faces: usize,
    /// Set-ups of each.
    pub set_ups: usize,
    /// Pictures of each under each set-up.
    pub trials: usize,
    /// Verdicts on all fibres.
    pub all: Verdicts,
    /// Verdicts on fibres whose true verdict is clear, where that is known.
    pub clear: Option<Verdicts>,
    /// Marks seen in every picture of their fibre, of all seen in any.
    pub always_seen: Share,
    /// Sizes, for each sort with two marks or more.
    pub gauges: Vec<Gauge>,
    /// Of each mark seen in every picture: its mean size and the standard deviation of its sizes, um.
    pub scatter: Vec<(Sort, f64, f64)>,
}

/// Sums up faces that all have the same numbers of set-ups and trials; none without two looks at a fibre.
pub fn repeatability(faces: &[Repeated]) -> Option<Repeatability> {
    let (set_ups, trials) = faces.first().map(|f| (f.looks.len(), f.looks.first().map_or(0, Vec::len)))?;
    let fibres: Vec<Fibre> = faces.iter().flat_map(fibres).collect();
    let all = verdicts(fibres.iter())?;
    let known = faces.iter().all(|f| f.clear.is_some());
    let marks: Vec<&Sightings> = fibres.iter().flat_map(|f| &f.marks).collect();
    let always: Vec<Vec<f64>> = Vec::from_iter(marks.iter().filter_map(|m| sizes(m)));
    let sorts: Vec<Sort> = marks.iter().filter(|m| sizes(m).is_some()).map(|m| sort(m)).collect();
    let of = |sort: Sort| always.iter().zip(&sorts).filter(move |(_, s)| **s == sort).map(|(sizes, _)| sizes);
    let gauge = |sort: Sort| {
        let values = of(sort).map(|sizes| sizes.chunks(trials).map(<[f64]>::to_vec).collect()).collect();
        let readings = Readings::new(values)?;
        let (ranges, anova) = (by_ranges(&readings), by_anova(&readings));
        Some(Gauge { sort, marks: readings.parts(), ranges, anova })
    };
    Some(Repeatability {
        faces: faces.len(),
        set_ups,
        trials,
        all,
        clear: if known { verdicts(fibres.iter().filter(|f| f.clear)) } else { None },
        always_seen: Share { count: always.len(), of: marks.len() },
        gauges: [Sort::Scratches, Sort::Small, Sort::Large].into_iter().filter_map(gauge).collect(),
        scatter: always.iter().zip(&sorts).map(|(sizes, sort)| scatter(*sort, sizes)).collect(),
    })
}

/// One position in all its looks.
struct Fibre {
    verdicts: Vec<Verdict>,
    marks: Vec<Sightings>,
    clear: bool,
}

fn fibres(face: &Repeated) -> Vec<Fibre> {
    let looks: Vec<&SeenFace> = face.looks.iter().flatten().collect();
    let mut positions: Vec<u16> = looks.iter().flat_map(|l| l.fibres.iter().map(|f| f.position)).collect();
    positions.sort_unstable();
    positions.dedup();
    positions.retain(|p| !face.left_out.contains(p));
    let marks = |p: u16| {
        let of = |look: &&SeenFace| look.fibre(p).map_or_else(Vec::new, |f| f.marks.clone());
        gather(&looks.iter().map(of).collect::<Vec<_>>())
    };
    positions
        .into_iter()
        .map(|p| Fibre {
            verdicts: looks.iter().map(|look| look.verdict(p)).collect(),
            marks: marks(p),
            clear: face.clear.as_ref().is_some_and(|clear| clear.contains(&p)),
        })
        .collect()
}

fn verdicts<'a>(fibres: impl Iterator<Item = &'a Fibre>) -> Option<Verdicts> {
    let judged: Vec<Vec<usize>> = fibres
        .map(|f| f.verdicts.iter().map(|v| class(*v)).collect())
        .filter(|v: &Vec<usize>| v.len() > 1)
        .collect();
    if judged.is_empty() {
        return None;
    }
    let counts: Vec<Vec<usize>> =
        judged.iter().map(|j| (0..3).map(|c| j.iter().filter(|v| **v == c).count()).collect()).collect();
    let modal =
        |(c, j): (&Vec<usize>, &Vec<usize>)| c.iter().max().map_or(0.0, |m| *m as f64 / j.len() as f64);
    Some(Verdicts {
        always_same: Share::of(judged.iter().map(|j| j.iter().all(|v| *v == j[0]))),
        modal_share: counts.iter().zip(&judged).map(modal).sum::<f64>() / judged.len() as f64,
        cohen: pairwise(&judged, 3),
        fleiss: fleiss(&counts),
    })
}

/// The sizes of a mark that was seen in every look.
fn sizes(mark: &Sightings) -> Option<Vec<f64>> {
    mark.iter().map(|seen| seen.map(|s| s.size)).collect()
}

fn sort(mark: &Sightings) -> Sort {
    let seen = || mark.iter().flatten();
    let mean = seen().map(|s| s.size).sum::<f64>() / seen().count().max(1) as f64;
    match seen().next() {
        Some(first) if first.kind == Kind::Scratch => Sort::Scratches,
        _ if mean <= 10.0 => Sort::Small,
        _ => Sort::Large,
    }
}

fn scatter(sort: Sort, sizes: &[f64]) -> (Sort, f64, f64) {
    let n = sizes.len() as f64;
    let mean = sizes.iter().sum::<f64>() / n;
    let square: f64 = sizes.iter().map(|s| (s - mean).powi(2)).sum();
    (sort, mean, (square / (n - 1.0).max(1.0)).sqrt())
}
