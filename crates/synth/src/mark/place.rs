//! From a mark as stated to what lies on the face: outlines and lines in the face frame, and the layers that
//! paint them.

use super::film::{Film, Texture};
use super::{Mark, On, What};
use crate::face::{Face, FibreBody};
use crate::path::Path;
use crate::random::{Stream, Topic};
use crate::shape::{Form, Outline, Spot, on_circle, rounded};
use terms::Kind;
use terms::geometry::enclosing_circle;

/// What a layer does to the reflectance beneath it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Paint {
    /// Covers it with this reflectance.
    Cover(f64),
    /// Multiplies it by one plus this.
    Gain(f64),
}

/// How strong a line is along its length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Strength {
    /// Length at each end over which it fades in, um.
    pub(crate) fade: f64,
    /// Share of the length over which it is gone.
    pub(crate) broken: f64,
    /// Seed of the breaks.
    pub(crate) seed: u64,
}

/// One thing to be painted, places in the face frame.
#[derive(Clone, Debug)]
pub(crate) enum Layer {
    /// An area, perhaps with a hole in it.
    Fill { outline: Outline, hole: Option<Outline>, paint: Paint },
    /// A line of even width.
    Stroke { path: Path, width: f64, paint: Paint, strength: Strength },
    /// A film.
    Film(Film),
}

/// The ideal shape of a mark, face frame.
#[derive(Clone, Debug)]
pub(crate) enum Trace {
    /// A covered area.
    Area(Outline),
    /// A line of even width.
    Line { path: Path, width: f64 },
}

/// A mark that lies on the face.
#[derive(Clone, Debug)]
pub(crate) struct Placed {
    pub(crate) kind: Kind,
    pub(crate) word: &'static str,
    /// A scratch's width, anything else's smallest enclosing circle, um.
    pub(crate) size: f64,
    /// Centre of that circle; a scratch's middle.
    pub(crate) centre: Spot,
    pub(crate) contrast: f64,
    pub(crate) trace: Trace,
    pub(crate) layers: Vec<Layer>,
}

/// Lays a mark on the face.
///
/// # Errors
/// One sentence if the mark names a position that the face has no fibre at, or cannot be as stated.
pub(crate) fn place(face: &Face, mark: &Mark) -> Result<Placed, String> {
    if let Some(wrong) = mark.what.check().first() {
        return Err(wrong.text.clone());
    }
    let fibre = fibre_of(face, mark.on)?;
    let origin = fibre.map_or((0.0, 0.0), |f| f.centre);
    let to_face = |(x, y): Spot| (origin.0 + x, origin.1 + y);
    let chance = Stream::new(mark.seed, Topic::Shape, 0, 0);
    let word = mark.what.word();
    let laid = match &mark.what {
        What::Particle { at, size_um, contrast, form } => {
            lump(face, Kind::Particle, *form, to_face(*at), *size_um, *contrast, chance)
        }
        What::Pit { at, size_um, contrast } => {
            lump(face, Kind::Pit, Form::Disc, to_face(*at), *size_um, *contrast, chance)
        }
        What::Droplet { at, size_um, contrast, rim_um } => {
            droplet(to_face(*at), *size_um, *contrast, *rim_um, chance)
        }
        What::Scratch { path_um, width_um, contrast, broken } => {
            let strength = Strength { fade: *width_um, broken: *broken, seed: mark.seed };
            scratch(smooth(path_um)?.mapped(to_face), *width_um, *contrast, strength)
        }
        What::Lint { path_um, width_um, contrast } => {
            lint(face, smooth(path_um)?.mapped(to_face), *width_um, *contrast)
        }
        What::Smear { at, size_um, contrast, rim_um } => {
            film(to_face(*at), *size_um, *contrast, *rim_um, Texture::Smear, mark.seed, chance)
        }
        What::Oil { at, size_um, contrast, fringes } => {
            film(to_face(*at), *size_um, *contrast, 0.0, Texture::Oil(*fringes), mark.seed, chance)
        }
        What::Print { at, size_um, contrast, pitch_um } => {
            let rim = 0.02 * size_um;
            film(to_face(*at), *size_um, *contrast, rim, Texture::Print(*pitch_um), mark.seed, chance)
        }
        What::Chip { at_deg, size_um, depth_um, contrast } => {
            let fibre = fibre.ok_or("a chip lies on a fibre; give its `position`")?;
            chip(fibre, at_deg.to_radians(), *size_um, *depth_um, *contrast, chance)
        }
    };
    Ok(Placed { word, ..laid })
}

fn fibre_of(face: &Face, on: On) -> Result<Option<&FibreBody>, String> {
    let On::Fibre(position) = on else { return Ok(None) };
    match face.fibre(position) {
        Some(fibre) => Ok(Some(fibre)),
        None => Err(format!("the layout has no position {position}")),
    }
}

fn smooth(points: &[Spot]) -> Result<Path, String> {
    Path::smooth(points, 2.0).ok_or_else(|| "`path_um` must be two or more points that differ".into())
}

fn area(kind: Kind, outline: Outline, contrast: f64, layers: Vec<Layer>) -> Placed {
    let (centre, size) = circle_of(&outline.0);
    Placed { kind, word: "", size, centre, contrast, trace: Trace::Area(outline), layers }
}

fn circle_of(points: &[Spot]) -> (Spot, f64) {
    enclosing_circle(points).map_or(((0.0, 0.0), 0.0), |c| ((c.x, c.y), c.diameter()))
}

fn lump(
    face: &Face,
    kind: Kind,
    form: Form,
    at: Spot,
    size: f64,
    contrast: f64,
    mut chance: Stream,
) -> Placed {
    let outline = Outline::lump(form, at, size, &mut chance);
    let paint = Paint::Cover(face.clean_at(at) * (1.0 + contrast));
    let layers = vec![Layer::Fill { outline: outline.clone(), hole: None, paint }];
    area(kind, outline, contrast, layers)
}

/// A rim of the stated contrast, an inside a little brighter than clean, and a small glint of the lamp.
fn droplet(at: Spot, size: f64, contrast: f64, rim: f64, mut chance: Stream) -> Placed {
    let mut chance_of_shape = chance.clone();
    let outline = Outline(rounded(&mut chance_of_shape, 0.25));
    let outline = outline.fitted(at, size);
    let inner = outline.shrunk(1.0 - 2.0 * rim / size);
    let glint_at = (at.0 - 0.13 * size, at.1 + 0.15 * size);
    let glint = Outline::lump(Form::Rounded, glint_at, 0.16 * size, &mut chance);
    let fill = |outline: &Outline, hole: Option<&Outline>, gain| Layer::Fill {
        outline: outline.clone(),
        hole: hole.cloned(),
        paint: Paint::Gain(gain),
    };
    let bright = if size > 3.0 { 0.3 * contrast.abs() } else { 0.0 };
    let layers = vec![
        fill(&outline, Some(&inner), contrast),
        fill(&inner, None, 0.06 * contrast.abs()),
        fill(&glint, None, bright),
    ];
    area(Kind::Particle, outline, contrast, layers)
}

fn scratch(path: Path, width: f64, contrast: f64, strength: Strength) -> Placed {
    let layer = Layer::Stroke { path: path.clone(), width, paint: Paint::Gain(contrast), strength };
    Placed {
        kind: Kind::Scratch,
        word: "",
        size: width,
        centre: path.at(0.5 * path.length()),
        contrast,
        trace: Trace::Line { path, width },
        layers: vec![layer],
    }
}

/// Lint covers with one reflectance along its whole length, that of the place at its middle; being round and
/// half clear, it is brighter along its axis.
fn lint(face: &Face, path: Path, width: f64, contrast: f64) -> Placed {
    let (centre, size) = circle_of(path.points());
    let clean = face.clean_at(path.at(0.5 * path.length()));
    let stroke = |width: f64, contrast: f64| Layer::Stroke {
        path: path.clone(),
        width,
        paint: Paint::Cover(clean * (1.0 + contrast)),
        strength: Strength { fade: 0.0, broken: 0.0, seed: 0 },
    };
    let layers = vec![stroke(width, contrast), stroke(0.35 * width, 0.55 * contrast)];
    Placed {
        kind: Kind::Particle,
        word: "",
        size: size + width,
        centre,
        contrast,
        trace: Trace::Line { path, width },
        layers,
    }
}

fn film(
    at: Spot,
    size: f64,
    contrast: f64,
    rim: f64,
    texture: Texture,
    seed: u64,
    mut chance: Stream,
) -> Placed {
    let outline = Outline(rounded(&mut chance, 0.8)).fitted(at, size);
    let turn = chance.between(0.0, std::f64::consts::PI);
    let layer = Layer::Film(Film::new(&outline, contrast, rim, texture, turn, seed));
    area(Kind::Film, outline, contrast, vec![layer])
}

/// A shell broken out of the rim: a scalloped hollow between two points of the edge, with a brighter facet.
fn chip(fibre: &FibreBody, at: f64, size: f64, depth: f64, contrast: f64, chance: Stream) -> Placed {
    let radius = 0.5 * fibre.diameter;
    let outline = chip_outline(fibre.centre, radius, 0.0, at, size, depth, chance.clone());
    let beyond = chip_outline(fibre.centre, radius, 0.6, at, size, depth, chance.clone());
    let facet = outline.shrunk(0.45);
    let clean = fibre.brightness;
    let fill = |outline, reflectance| Layer::Fill { outline, hole: None, paint: Paint::Cover(reflectance) };
    let layers = vec![fill(beyond, clean * (1.0 + contrast)), fill(facet, clean * (1.0 + 0.75 * contrast))];
    area(Kind::Chip, outline, contrast, layers)
}

/// The outline of a chip whose part inside the edge has an enclosing circle of diameter `size`; it extends
/// `beyond` um outside the edge, so that no sliver of glass is left there.
fn chip_outline(
    centre: Spot,
    radius: f64,
    beyond: f64,
    at: f64,
    size: f64,
    depth: f64,
    mut chance: Stream,
) -> Outline {
    // The widest part is the chord between the two ends: a chip is never deeper than half its chord.
    let half = (0.5 * size / radius).clamp(-1.0, 1.0).asin();
    let teeth: Vec<f64> = (0..23).map(|_| chance.between(0.78, 1.0)).collect();
    let mut points: Vec<Spot> = (0..=16)
        .map(|i| on_circle(centre, radius + beyond, at + half * (f64::from(i) / 8.0 - 1.0)))
        .collect();
    for (i, tooth) in teeth.iter().enumerate() {
        let t = 1.0 - 2.0 * (i as f64 + 1.0) / 24.0;
        let hollow = depth * (1.0 - t * t).sqrt() * if i == 11 { 1.0 } else { *tooth };
        points.push(on_circle(centre, radius - hollow, at + half * t));
    }
    Outline(points)
}
