//! The survey of a stepped run: put together, numbered, looked at where each fibre is sharpest, told as one
//! face.

use super::agreement::{Common, Doubt, Judged, OTHERS, Other, Shown};
use super::anchor::{Anchored, anchored};
use super::link::Link;
use super::parts::Parts;
use super::rigid::{Rigid, Tie};
use super::run::Run;
use super::sights::{Sight, sights};
use super::stays::Stays;
use super::{apart, gaps, picture};
use crate::error::SurveyError;
use crate::fibre::{self, Edged, Seen};
use crate::register;
use crate::settings::Settings;
use crate::survey::{Source, checks, feature, fibre_of, quality, scale_of};
use imaging::Frame;
use rayon::prelude::*;
use terms::{
    Canvas, Disagreement, Face, FaceMark, Feature, Fibre, Flaw, Guides, Layout, Look, Pixel, Placement,
    Point, Pose, ScaleSource, Site, Stitch, Survey, Um, View,
};

/// Weight of a fibre's centre against that of a block of texture.
const CENTRE_WEIGHT: f64 = 50.0;

/// Surveys several pictures that step along one face.
///
/// # Errors
/// [`SurveyError`] if no row of this layout shows, or a stated scale is more than 2 % off the pictures'.
pub(crate) fn survey(
    frames: &[Frame],
    layout: &Layout,
    view: View,
    stated: Option<f64>,
    settings: &Settings,
) -> Result<Survey, SurveyError> {
    let mut run = Run::new(frames, layout)?;
    let all = anchored(&run, layout, view)?;
    let (known, unknown): (Vec<Anchored>, Vec<Anchored>) =
        all.into_iter().partition(|a| a.lattice.is_numbered());
    if let Some(first) = known.first() {
        // The lattice tells the scale better than the coarse circles did.
        run.radius = layout.cladding.0 / 2.0 / first.lattice.pose.um_per_px();
    }
    let sights = sights(frames, &run, &known, layout);
    tie_centres(&mut run, &known, &sights);
    let registered = registered(&run, &known, &sights, layout, view, stated)?;
    let scale = scale_of(registered.um_per_px, registered.scale_u, stated)?;
    let poses = source_poses(&run, &known, &registered, view);
    let best = match known.is_empty() {
        true => layout.places.iter().map(|_| Err(gaps::unnumbered(&unknown))).collect(),
        false => {
            let contradicted = apart::contradicted(&run, &known, &poses, &sights);
            best(sights, &run, &known, layout, &contradicted)
        }
    };
    let lattices: Vec<_> = known.iter().map(|a| &a.lattice).collect();
    let guides = lattices.iter().map(|l| l.guides).find(|g| *g != Guides::NotInView).unwrap_or_default();
    let spacing = lattices.iter().find_map(|l| l.guide_spacing_px);
    let unplaced = gaps::unplaced(&run, &known);
    let stays = Stays::new(&run.levels, &poses, &unplaced, layout);
    let parts = Parts { frames, poses: &poses, unplaced: &unplaced, radius: run.radius };
    let optics = &mut run.optics;
    let looks = || {
        let measured = measured(best, scale.um_per_px(), settings);
        optics.settle(&stays);
        Common { stays: &stays, parts: &parts, poses: &poses, um_per_px: scale.um_per_px(), settings }
            .judged(measured, optics)
    };
    let (looks, whole) = rayon::join(looks, || whole(frames, &poses, &unplaced, guides, layout));
    let (sites, disagreements) = sites(looks, layout, &poses);
    Ok(Survey {
        layout: layout.id.clone(),
        view,
        scale,
        scale_source: if stated.is_some() { ScaleSource::Stated } else { ScaleSource::Lattice },
        scale_checks: checks(&sites, spacing, layout, scale),
        quality: quality(&sites),
        sites,
        guides,
        stitch: Some(stitch(&run, &unplaced, scale.um_per_px(), disagreements, &whole)),
        face_marks: whole.marks,
        poses,
    })
}

/// Ties pictures by the fibres that they share: no texture is measured so finely.
fn tie_centres(run: &mut Run, known: &[Anchored], sights: &[Sight]) {
    for (index, a) in known.iter().enumerate() {
        let component = &mut run.components[a.component];
        let own: Vec<&Sight> = sights.iter().filter(|s| s.anchored == index).collect();
        for (n, p) in own.iter().enumerate() {
            for q in own[n + 1..].iter().filter(|q| q.place == p.place) {
                let (from, to) = if p.source < q.source { (p, q) } else { (q, p) };
                component.tie(from.source, to.source, tie(&from.edged, &to.edged));
            }
        }
        component.readjust();
    }
}

fn tie(from: &Edged, to: &Edged) -> Tie {
    let (p, q) = (from.centre(), to.centre());
    Tie { from: (p.x, p.y), to: (q.x, q.y), weight: CENTRE_WEIGHT }
}

/// The face on the common plane of each anchored component, at one scale.
struct Registered {
    poses: Vec<Pose>,
    um_per_px: f64,
    scale_u: f64,
}

type Pair = (Point<Face>, Point<Pixel>);

fn registered(
    run: &Run,
    known: &[Anchored],
    sights: &[Sight],
    layout: &Layout,
    view: View,
    stated: Option<f64>,
) -> Result<Registered, SurveyError> {
    let pairs: Vec<Vec<Pair>> =
        (0..known.len()).map(|index| pairs(run, known, sights, layout, index)).collect();
    let free = pairs.iter().filter_map(|p| Some((register::register(p, view, None)?, spread(p))));
    let (mut sum, mut total, mut variance) = (0.0, 0.0, 0.0);
    for (r, spread) in free.filter(|(_, spread)| *spread > 0.0) {
        sum += spread * r.pose.um_per_px();
        variance += (spread * r.scale_u).powi(2);
        total += spread;
    }
    let rough = layout.cladding.0 / 2.0 / run.radius;
    let (measured, scale_u) =
        if total > 0.0 { (sum / total, variance.sqrt() / total) } else { (rough, 0.01 * rough) };
    crate::survey::check_stated(stated, measured)?;
    let um_per_px = stated.unwrap_or(measured);
    let pose = |(a, p): (&Anchored, &Vec<Pair>)| {
        register::register(p, view, Some(um_per_px)).map_or(a.lattice.pose, |r| r.pose)
    };
    Ok(Registered { poses: known.iter().zip(&pairs).map(pose).collect(), um_per_px, scale_u })
}

/// Nominal sites of a component with the means of their measured centres on the common plane.
fn pairs(run: &Run, known: &[Anchored], sights: &[Sight], layout: &Layout, index: usize) -> Vec<Pair> {
    let ways = &run.components[known[index].component].ways;
    let own = || sights.iter().filter(|s| s.anchored == index);
    let pair = |(i, place): (usize, &terms::Place)| {
        let here: Vec<(f64, f64)> = own()
            .filter(|s| s.place == i)
            .map(|s| ways[s.member].place((s.edged.centre().x, s.edged.centre().y)))
            .collect();
        let count = here.len() as f64;
        let mean = |f: fn(&(f64, f64)) -> f64| here.iter().map(f).sum::<f64>() / count;
        (!here.is_empty()).then(|| (place.at, Point::new(mean(|p| p.0), mean(|p| p.1))))
    };
    layout.places.iter().enumerate().filter_map(pair).collect()
}

/// Sum of squared distances of the sites from their mean: how much they say of the scale.
fn spread(pairs: &[Pair]) -> f64 {
    let count = pairs.len().max(1) as f64;
    let (x, y) = pairs.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0.x / count, s.1 + p.0.y / count));
    pairs.iter().map(|p| (p.0.x - x).powi(2) + (p.0.y - y).powi(2)).sum()
}

/// The face in each source picture. One whose place is not known is given a place of its own far off, at the
/// run's scale.
fn source_poses(run: &Run, known: &[Anchored], registered: &Registered, view: View) -> Vec<Pose> {
    let place = |source: usize| {
        let found = known.iter().zip(&registered.poses).find_map(|(a, pose)| {
            let component = &run.components[a.component];
            let member = component.members.iter().position(|&m| m == source)?;
            Some(moved(pose, component.ways[member].back()))
        });
        let middle = Point::new(run.sizes[source].0 / 2.0, run.sizes[source].1 / 2.0);
        found.unwrap_or_else(|| Pose::new(view, registered.um_per_px, 0.0, middle))
    };
    (0..run.sizes.len()).map(place).collect()
}

/// A pose carried on by a turn and shift of the picture.
fn moved(pose: &Pose, way: Rigid) -> Pose {
    let (sin, cos) = way.turn.sin_cos();
    let [[a, b], [c, d]] = pose.matrix;
    let origin = way.place((pose.origin.x, pose.origin.y));
    Pose {
        origin: Point::new(origin.0, origin.1),
        matrix: [[cos * a - sin * c, cos * b - sin * d], [sin * a + cos * c, sin * b + cos * d]],
    }
}

/// The sights of one place, the best first; or why it has none.
type Best = Result<(Sight, Vec<Sight>), Flaw>;

/// The sights of each place, or why it has none; `contradicted` tells of each part why it cannot be right.
fn best(
    sights: Vec<Sight>,
    run: &Run,
    known: &[Anchored],
    layout: &Layout,
    contradicted: &[Option<Flaw>],
) -> Vec<Best> {
    let mut all: Vec<Vec<Sight>> = layout.places.iter().map(|_| Vec::new()).collect();
    sights.into_iter().for_each(|s| all[s.place].push(s));
    let one = |(i, mut here): (usize, Vec<Sight>)| {
        if here.is_empty() {
            return Err(gaps::flaw(run, known, layout, i));
        }
        if let Some(flaw) = here.iter().find_map(|s| contradicted[s.anchored].clone()) {
            return Err(flaw);
        }
        let first = here.remove(0);
        here.retain(|s| s.edged.flaws().is_empty());
        Ok((first, here))
    };
    all.into_iter().enumerate().map(one).collect()
}

/// What was measured at each place in the picture that shows it best.
fn measured(best: Vec<Best>, um_per_px: f64, settings: &Settings) -> Vec<Result<Shown, Flaw>> {
    let looked = |place: Best| match place {
        Ok((first, more)) => (first.edged.look(), (first.source, more)),
        Err(flaw) => (Err(flaw), (0, Vec::new())),
    };
    let (mut seen, others): (Vec<Result<Seen, Flaw>>, Vec<_>) = best.into_par_iter().map(looked).unzip();
    fibre::agree(&mut seen);
    let measure = |(seen, (source, others)): (Result<Seen, Flaw>, (usize, Vec<Sight>))| {
        let seen = seen?;
        let glimpse = seen.glimpse();
        let others = others.into_iter().take(OTHERS).map(Other::from).collect();
        Ok(Shown { source, measured: fibre::measure(seen, um_per_px, settings), glimpse, others })
    };
    seen.into_par_iter().zip(others).map(measure).collect()
}

fn sites(
    looks: Vec<Result<Judged, Flaw>>,
    layout: &Layout,
    poses: &[Pose],
) -> (Vec<Site>, Vec<Disagreement>) {
    let mut next = 1;
    let mut disagreements = Vec::new();
    let mut site = |(place, look): (&terms::Place, Result<Judged, Flaw>)| {
        let look = match look {
            Ok(judged) => {
                let source = Source { index: judged.source, pose: &poses[judged.source] };
                let mut fibre = fibre_of(judged.measured, place, source, &mut next);
                let pose = &poses[judged.source];
                let told: Vec<Disagreement> =
                    judged.doubts.iter().map(|d| disagreement(d, place.position, &fibre, pose)).collect();
                let at_optics = told.iter().filter(|d| d.optics.is_some() && !d.set_aside);
                fibre.at_optics = at_optics.map(|d| d.mark.id).collect();
                disagreements.extend(told);
                Look::Found(Box::new(fibre))
            }
            Err(flaw) => Look::Missing(flaw),
        };
        Site { position: place.position, row: place.row, column: place.column, look }
    };
    let sites = layout.places.iter().zip(looks).map(&mut site).collect();
    (sites, disagreements)
}

/// A doubt told on the face; its mark bears the number of the fibre's feature that it is.
fn disagreement(doubt: &Doubt, position: u16, fibre: &Fibre, pose: &Pose) -> Disagreement {
    let mut mark = feature(&doubt.mark, pose);
    let same = |f: &&Feature| f.centre == mark.centre && f.size == mark.size && f.kind == mark.kind;
    if let Some(counted) = fibre.features.iter().find(same).filter(|_| !doubt.set_aside) {
        mark.id = counted.id;
    }
    Disagreement {
        position,
        mark,
        shown_in: doubt.shown_in,
        absent_in: doubt.absent_in,
        optics: doubt.optics,
        set_aside: doubt.set_aside,
    }
}

fn stitch(
    run: &Run,
    unplaced: &[usize],
    um_per_px: f64,
    disagreements: Vec<Disagreement>,
    whole: &Whole,
) -> Stitch {
    let placement = |source: usize| {
        let component = run.components.iter().find(|c| c.members.contains(&source));
        let links: Vec<(&Link, f64)> = component
            .map(|c| c.links.iter().zip(c.misses.iter().copied()).collect::<Vec<_>>())
            .unwrap_or_default()
            .into_iter()
            .filter(|(l, _)| l.a == source || l.b == source)
            .collect();
        let mut linked: Vec<usize> =
            links.iter().map(|(l, _)| if l.a == source { l.b } else { l.a }).collect();
        linked.sort_unstable();
        let squares: f64 = links.iter().map(|(_, m)| m * m).sum();
        let residual = (!links.is_empty()).then(|| Um((squares / links.len() as f64).sqrt() * um_per_px));
        let gain = whole.gains[source];
        Placement { placed: !unplaced.contains(&source), linked, residual, gain }
    };
    Stitch {
        placements: (0..run.sizes.len()).map(placement).collect(),
        canvas: whole.canvas,
        covered: whole.covered,
        optics: run.optics.spots.clone(),
        disagreements,
    }
}

/// What the pictures show together.
struct Whole {
    canvas: Option<Canvas>,
    covered: f64,
    /// What the levels of each picture are multiplied by.
    gains: Vec<f32>,
    /// Marks off the fibres.
    marks: Vec<FaceMark>,
}

/// Lays out the picture of the whole face and finds the marks off the fibres on it.
fn whole(frames: &[Frame], poses: &[Pose], unplaced: &[usize], guides: Guides, layout: &Layout) -> Whole {
    let mut new = Whole { canvas: None, covered: 0.0, gains: vec![1.0; frames.len()], marks: Vec::new() };
    let sources: Vec<usize> = (0..frames.len()).filter(|i| !unplaced.contains(i)).collect();
    let placed: Vec<(&Frame, &Pose)> = sources.iter().map(|&i| (&frames[i], &poses[i])).collect();
    let Some((_, first)) = placed.first() else { return new };
    let Some(canvas) = picture::canvas(&placed, first.um_per_px()) else { return new };
    let Some(coarse) = picture::Coarse::new(&placed, canvas) else { return new };
    let gains = coarse.gains();
    (new.marks, new.covered) = coarse.ferrule(&gains, guides, layout);
    new.canvas = Some(canvas);
    sources.iter().zip(gains).for_each(|(&i, gain)| new.gains[i] = gain);
    for mark in &mut new.marks {
        let inside = |i: usize| {
            let p = poses[i].to_pixel(mark.centre);
            let (w, h) = (frames[i].width() as f64, frames[i].height() as f64);
            p.x.min(w - p.x).min(p.y).min(h - p.y)
        };
        let best = sources.iter().copied().max_by(|&a, &b| inside(a).total_cmp(&inside(b)));
        mark.source = best.unwrap_or(0);
    }
    new
}
