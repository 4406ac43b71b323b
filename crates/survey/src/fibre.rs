//! One fibre: its patch of the picture in, its edge, its marks and what is wrong with the picture of it out.

use crate::alarm;
use crate::blobs::Field;
use crate::edge::{self, Edge};
use crate::glass::{self, Glass, Looks};
use crate::marks::{self, Around, Mark};
use crate::mend;
use crate::seam::{self, Along, Beside, Proof, Seam};
use crate::settings::Settings;
use crate::shadow;
use crate::sizes;
use crate::solve;
use imaging::{Coding, Frame, Plane};
use rayon::prelude::*;
use std::sync::Arc;
use terms::geometry::point_in_polygon;
use terms::{Flaw, Kind, Pixel, Point, Um};

/// The two sides of a seam fit if what they show of the edge lies no farther apart, um.
const SHIFTED: f64 = 0.4;

/// About a fibre the ferrule begins so far from the edge, um, and is looked at as far as this from the centre.
const RING: f64 = 12.0;
const FERRULE: f64 = 200.0;

/// How often a face with seams is looked at again.
const SEAM_ROUNDS: usize = 3;

/// Marks are looked for out to this far from the centre, um.
const REACH: f64 = 80.0;

/// A clean fibre scatters at most so many times as much as the typical one of its face.
const UNREST: f64 = 1.5;

/// Clean glass scatters as a whole at most so many times as much as small blocks of it do; it is seldom more than 1.1 times.
const EVEN: f64 = 1.25;

/// An edge so many times wider in one direction than in the other was moved during the exposure; so was one that
/// is wider by less while its widest blur alone is too much.
const SMEARED: (f64, f64) = (1.7, 1.3);

/// An edge with a larger blur, um, is too soft to be measured as an edge.
const SOFTEST: f64 = 1.6;

/// Pixels noisier than this, share of the clean level, let no mark stand out.
const NOISIEST: f64 = 1.0 / 8.0;

/// Glass below this level, 0 to 1, is black.
const DARKEST: f32 = 1e-3;

/// Levels from here on, 0 to 1, are the top of the range.
pub const TOP: f32 = 0.996;

/// Pictures with larger pixels, um, are not measured: 1.2 and what the lattice's own error adds.
const COARSEST: f64 = 1.25;

/// Contrast of the mark whose detection `smallest_visible` speaks of; common practice, no source.
pub const REFERENCE_CONTRAST: f64 = 0.3;

/// Marks that reach farther than this, um, explain why a fibre's levels bend as no light does.
const EXPLAINS: f64 = 20.0;

/// Everything measured on one fibre, in pixels of the whole picture.
#[derive(Clone, Debug)]
pub struct Measured {
    /// Centre of the cladding.
    pub centre: Point<Pixel>,
    /// Standard uncertainty of the centre, per axis.
    pub centre_u: f64,
    /// Radius of the cladding.
    pub radius: f64,
    /// How much longer the radius along x is than the mean, over the mean.
    pub widening: f64,
    /// Standard deviation of the blur.
    pub blur: f64,
    /// The smallest mark seen nine times in ten.
    pub smallest_visible: f64,
    /// Height of the faintest compact mark seen nine times in ten, share of the clean level.
    pub faintest_visible: f64,
    /// Level of the core's middle over the clean glass about it, less 1; none if it was not seen.
    pub core_light: Option<f64>,
    /// Diameter of the core where its light is half the middle's; none if it does not stand out.
    pub core_width: Option<f64>,
    /// Marks; their places are about the centre.
    pub marks: Vec<Mark>,
    /// Places, about the centre, and signed heights of what may be marks too faint to be told.
    pub hints: Vec<((f64, f64), f64)>,
    /// Why it cannot be graded.
    pub flaws: Vec<Flaw>,
}

/// The bare picture of a fibre: its patch, its centre there, its radius and its blur, pixels.
#[derive(Clone, Debug)]
pub struct Glimpse {
    /// The patch.
    pub patch: Arc<Plane<f32>>,
    /// Centre of the cladding in it.
    pub centre: (f64, f64),
    /// Radius of the cladding.
    pub radius: f64,
    /// Standard deviation of the blur.
    pub blur: f64,
}

/// A fibre whose edge is fitted.
pub struct Edged {
    wide: Plane<f32>,
    wide_corner: (usize, usize),
    patch: Arc<Plane<f32>>,
    corner: (usize, usize),
    edge: Edge,
    coding: Coding,
    flaws: Vec<Flaw>,
    /// The seams that were taken out of its light.
    seams: Vec<Seam>,
}

/// A fibre whose glass was looked at, before it is compared with its neighbours.
pub struct Seen {
    edged: Edged,
    looks: Looks,
    /// The glass once its looks are agreed upon, and its finest field.
    glass: Option<(Glass, Field)>,
}

/// Fits the edge of the fibre near the circle (centre, radius), pixels, of one picture.
///
/// # Errors
/// The flaw that keeps it from being fitted.
pub fn edged(frame: &Frame, centre: Point<Pixel>, radius: f64, um_per_px: f64) -> Result<Edged, Flaw> {
    if um_per_px > COARSEST {
        return Err(Flaw::TooCoarse { um_per_px });
    }
    let reach = REACH / um_per_px + 2.0;
    let (x0, y0, mut wide) = cut(frame, centre, reach).ok_or(Flaw::NotInView)?;
    let visible = visible_share(frame, centre, radius);
    let start = (centre.x - x0 as f64, centre.y - y0 as f64);
    let fit = |wide: &Plane<f32>, (x, y): (f64, f64)| {
        edge::fit(wide, x, y, radius).map_err(|_| match visible {
            v if v < 0.999 => Flaw::CutByBorder { visible: v },
            _ => Flaw::NotFound,
        })
    };
    let mut edge = fit(&wide, start)?;
    let coding = frame.coding();
    let mended = mend::mend(&mut wide, &edge, coding);
    if !mended.is_empty() {
        edge = fit(&wide, (edge.x, edge.y))?;
    }
    if solve::quantile32(&mut edge.inside.clone(), 0.5) < DARKEST {
        return Err(Flaw::TooDark { signal_to_noise: 0.0 });
    }
    let at = Point::new(edge.x + x0 as f64, edge.y + y0 as f64);
    let flaws = picture_flaws(frame, &edge, at, um_per_px);
    let wide_corner = (x0, y0);
    let (x0, y0, mut patch) = cut(frame, at, edge.radius + 2.0).ok_or(Flaw::NotInView)?;
    mended.iter().for_each(|m| m.put(&mut patch, wide_corner, (x0, y0)));
    let edge = Edge { x: at.x - x0 as f64, y: at.y - y0 as f64, ..edge };
    Ok(Edged {
        wide,
        wide_corner,
        patch: Arc::new(patch),
        corner: (x0, y0),
        edge,
        coding,
        flaws,
        seams: Vec::new(),
    })
}

/// Lets the fibres of one face agree on the light and on what clean glass looks like.
pub fn agree(seen: &mut [Result<Seen, Flaw>]) {
    let at = |s: &Seen| (s.edged.centre().x, s.edged.centre().y);
    let places: Vec<(f64, f64)> = seen.iter().flatten().map(at).collect();
    let mut looks: Vec<&mut Looks> = seen.iter_mut().flatten().map(|s| &mut s.looks).collect();
    glass::agree(&mut looks, &places);
    seen.par_iter_mut().flatten().for_each(|s| s.glass = Some(s.settled()));
    let mut scatters: Vec<f64> =
        seen.iter().flatten().filter_map(|s| Some(s.glass.as_ref()?.1.scatter)).collect();
    // Most fibres of a filthy face are covered: the quieter ones say what clean glass does.
    let typical = solve::quantile(&mut scatters, 0.25);
    seen.par_iter_mut().flatten().for_each(|seen| {
        // A coder leaves next to nothing within many a block, which says nothing of clean glass.
        let tells = seen.looks.is_veiled() || !seen.edged.coding.is_in_blocks();
        if let Some((glass, field)) = &mut seen.glass {
            let clean = if tells { typical.min(EVEN * field.local_scatter(glass)) } else { typical };
            glass.ease = (UNREST * clean / field.scatter).min(1.0);
            field.ease(glass);
        }
    });
}

/// Looks again at a face whose picture has seams, with the light levelled on both sides of them.
pub fn across_seams(
    frame: &Frame,
    mut seen: Vec<Result<Seen, Flaw>>,
    um_per_px: f64,
) -> Vec<Result<Seen, Flaw>> {
    let mut proof = Proof::WHOLE;
    let mut along: Vec<Along> = Vec::new();
    for _ in 0..SEAM_ROUNDS {
        let seams = |s: &Result<Seen, Flaw>| s.as_ref().map_or_else(|_| Vec::new(), |s| s.seams(proof));
        let found: Vec<Vec<Seam>> = seen.par_iter().map(seams).collect();
        let shared = |(s, seams): (&Result<Seen, Flaw>, &Vec<Seam>)| {
            s.as_ref().is_ok_and(|s| seams.iter().any(|seam| s.edged.shares(frame, seam, um_per_px)))
        };
        let tiled = || seam::of_tiles(&found) || seen.iter().zip(&found).any(shared);
        if found.iter().all(Vec::is_empty) || !(proof == Proof::KNOWN || tiled()) {
            break;
        }
        along.extend(found.iter().flatten().map(|s| s.along));
        let again =
            |(s, seams): (Result<Seen, Flaw>, Vec<Seam>)| s?.edged.across(frame, seams, um_per_px).look();
        seen = seen.into_par_iter().zip(found).map(again).collect();
        agree(&mut seen);
        proof = Proof::KNOWN;
    }
    for axis in [Along::Columns, Along::Rows].into_iter().filter(|a| along.contains(a)) {
        seen.par_iter_mut().flatten().for_each(|s| s.under_seams(frame, axis, um_per_px));
    }
    seen
}

impl Edged {
    /// Takes seams out of the light; those whose sides do not fit are a flaw.
    fn across(mut self, frame: &Frame, seams: Vec<Seam>, um_per_px: f64) -> Edged {
        let ahead = |a: usize, b: usize| a as f64 - b as f64;
        let back = (ahead(self.wide_corner.0, self.corner.0), ahead(self.wide_corner.1, self.corner.1));
        for seam in seams {
            let known = self.seams.iter().any(|s| s.is(&seam));
            let fits = || seam::shift(&self.edge, &seam).is_some_and(|s| s * um_per_px < SHIFTED);
            if !(known || fits() && self.shares(frame, &seam, um_per_px)) {
                self.spoilt(Flaw::Seam { through: true });
            }
            let mut patch = (*self.patch).clone();
            seam.take_out(&mut patch, (0.0, 0.0));
            self.patch = Arc::new(patch);
            seam.take_out(&mut self.wide, back);
            self.seams.push(seam);
        }
        self
    }

    /// Whether the ferrule beside it shows a seam too.
    fn shares(&self, frame: &Frame, seam: &Seam, um_per_px: f64) -> bool {
        seam::is_shared(&self.beside(frame, um_per_px), seam, self.corner)
    }

    fn beside<'a>(&self, frame: &'a Frame, um_per_px: f64) -> Beside<'a> {
        let clear = self.edge.radius + RING / um_per_px;
        Beside { frame, centre: self.centre(), clear, reach: FERRULE / um_per_px }
    }

    /// Adds a flaw that it does not have yet.
    fn spoilt(&mut self, flaw: Flaw) {
        if !self.flaws.contains(&flaw) {
            self.flaws.push(flaw);
        }
    }

    /// Looks at the glass.
    ///
    /// # Errors
    /// The flaw that keeps it from being seen.
    pub fn look(self) -> Result<Seen, Flaw> {
        let looks = glass::look(&self.patch, &self.edge, self.coding)
            .ok_or(Flaw::TooDark { signal_to_noise: 0.0 })?;
        Ok(Seen { edged: self, looks, glass: None })
    }

    /// Centre of the cladding, pixels of the whole picture.
    pub fn centre(&self) -> Point<Pixel> {
        Point::new(self.edge.x + self.corner.0 as f64, self.edge.y + self.corner.1 as f64)
    }

    /// Standard deviation of the blur, pixels.
    pub fn blur(&self) -> f64 {
        self.edge.blur
    }

    /// The bare picture of it.
    pub fn glimpse(&self) -> Glimpse {
        let edge = &self.edge;
        Glimpse { patch: self.patch.clone(), centre: (edge.x, edge.y), radius: edge.radius, blur: edge.blur }
    }

    /// What of the picture keeps the fibre from being graded, as far as is known yet.
    pub fn flaws(&self) -> &[Flaw] {
        &self.flaws
    }
}

impl Seen {
    /// The bare picture of it.
    pub fn glimpse(&self) -> Glimpse {
        self.edged.glimpse()
    }

    /// The seams that show on it.
    fn seams(&self, proof: Proof) -> Vec<Seam> {
        self.glass.as_ref().map_or_else(Vec::new, |(glass, _)| seam::find(glass, proof))
    }

    /// Says what seams along such lines elsewhere in the picture leave unknown here.
    fn under_seams(&mut self, frame: &Frame, along: Along, um_per_px: f64) {
        let edged = &mut self.edged;
        if edged.seams.is_empty() && seam::cuts_rim(&edged.beside(frame, um_per_px), along, edged.edge.radius)
        {
            edged.spoilt(Flaw::Seam { through: true });
        }
        // Neighbours lie in other tiles and say nothing of the light here.
        if self.looks.is_borrowed() {
            edged.spoilt(Flaw::Seam { through: false });
        }
    }

    /// The glass by the looks as they are now, and its finest field.
    fn settled(&self) -> (Glass, Field) {
        let Edged { patch, edge, .. } = &self.edged;
        let glass = glass::model(patch, edge, &self.looks);
        let field = marks::finest(&glass, edge);
        (glass, field)
    }
}

/// Finds and sizes the marks of a fibre.
pub fn measure(mut seen: Seen, um_per_px: f64, settings: &Settings) -> Measured {
    let (glass, finest) = seen.glass.take().unwrap_or_else(|| seen.settled());
    let Edged { wide, wide_corner, patch, corner, edge, mut flaws, .. } = seen.edged;
    let dark = glass.noise > NOISIEST;
    if dark {
        flaws.push(Flaw::TooDark { signal_to_noise: 1.0 / glass.noise });
    }
    let back = (wide_corner.0 as f64 - corner.0 as f64, wide_corner.1 as f64 - corner.1 as f64);
    let around = Around { patch: &wide, corner: back };
    let (marks, hints) = match dark {
        true => (Vec::new(), Vec::new()),
        false => {
            let found = marks::find(&glass, &finest, &edge, &around, 1.0 / um_per_px, settings);
            (shadow::without(found.marks, 1.0 / um_per_px), found.hints)
        }
    };
    let faintest = faintest_visible(&finest, &glass, settings);
    let explains = |m: &Mark| m.kind != Kind::Scratch && m.size * um_per_px > EXPLAINS;
    if seen.looks.is_veiled() && !dark && !marks.iter().any(explains) {
        flaws.push(Flaw::Veiled);
    }
    let share = saturated_share(&patch, &edge, &marks);
    if share > 0.01 {
        flaws.push(Flaw::Saturated { share });
    } else if glass.core_clipped {
        flaws.push(Flaw::CoreSaturated);
    }
    Measured {
        centre: Point::new(edge.x + corner.0 as f64, edge.y + corner.1 as f64),
        centre_u: edge.centre_u,
        radius: edge.radius,
        widening: edge.widening / edge.radius,
        blur: edge.blur,
        smallest_visible: smallest_visible(faintest, finest.blur, edge.blur),
        faintest_visible: faintest,
        core_light: glass.core_light,
        core_width: glass.core_width,
        marks: marks.into_iter().map(|m| m.moved(-edge.x, -edge.y)).collect(),
        hints: hints.into_iter().map(|((x, y), height)| ((x - edge.x, y - edge.y), height)).collect(),
        flaws,
    }
}

/// The square of half side `reach` about a point, as far as the picture goes, with its top left corner.
fn cut(frame: &Frame, centre: Point<Pixel>, reach: f64) -> Option<(usize, usize, Plane<f32>)> {
    let span = |c: f64, size: usize| {
        let from = (c - reach).floor().max(0.0) as usize;
        let to = (c + reach).ceil().clamp(0.0, size as f64) as usize;
        (from < to).then_some((from, to - from))
    };
    let ((x0, w), (y0, h)) = (span(centre.x, frame.width())?, span(centre.y, frame.height())?);
    Some((x0, y0, frame.patch(x0, y0, w, h)?))
}

/// Share of the cladding's disc that lies in the picture, by lines across it.
fn visible_share(frame: &Frame, centre: Point<Pixel>, radius: f64) -> f64 {
    let (w, h) = (frame.width() as f64 - 0.5, frame.height() as f64 - 0.5);
    let (mut seen, mut all) = (0.0, 0.0);
    for k in 0..101 {
        let dy = radius * (f64::from(k) / 50.0 - 1.0);
        let half = (radius * radius - dy * dy).max(0.0).sqrt();
        all += 2.0 * half;
        if (-0.5..=h).contains(&(centre.y + dy)) {
            seen += ((centre.x + half).min(w) - (centre.x - half).max(-0.5)).max(0.0);
        }
    }
    seen / all
}

/// What of the picture itself keeps this fibre from being graded.
fn picture_flaws(frame: &Frame, edge: &Edge, at: Point<Pixel>, um_per_px: f64) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    let visible = visible_share(frame, at, edge.radius);
    if visible < 0.999 {
        flaws.push(Flaw::CutByBorder { visible });
    }
    if edge.seen < 0.5 {
        flaws.push(Flaw::Hidden { edge_seen: edge.seen });
    }
    let blur = Um(edge.blur * um_per_px);
    let widest = blur.0 * 2.0 * edge.smear / (1.0 + edge.smear);
    if edge.smear > SMEARED.0 || edge.smear > SMEARED.1 && widest > SOFTEST {
        flaws.push(Flaw::Smeared { ratio: edge.smear });
    }
    if blur.0 > SOFTEST {
        flaws.push(Flaw::Blurred { blur });
    }
    let diameter = Um(2.0 * edge.radius * um_per_px);
    if (diameter.0 - 125.0).abs() > 5.0 {
        flaws.push(Flaw::WrongDiameter { diameter });
    }
    flaws
}

/// Share of the glass at the top of the range, without what bright marks fill.
fn saturated_share(patch: &Plane<f32>, edge: &Edge, marks: &[Mark]) -> f64 {
    let bright: Vec<&Mark> = marks.iter().filter(|m| m.contrast > 0.0).collect();
    let (mut top, mut all) = (0usize, 0usize);
    for y in (0..patch.height()).step_by(2) {
        for (x, v) in patch.row(y).iter().enumerate().step_by(2) {
            let at = (x as f64, y as f64);
            if (at.0 - edge.x).powi(2) + (at.1 - edge.y).powi(2) < edge.radius * edge.radius {
                all += 1;
                let marked = *v >= TOP && bright.iter().any(|m| point_in_polygon(at, &m.outline));
                top += usize::from(*v >= TOP && !marked);
            }
        }
    }
    top as f64 / all.max(1) as f64
}

/// The diameter, pixels, of a mark of the reference contrast whose peak stands above the threshold nine
/// times in ten, but no less than the blur's own width: a mark below that is seen and not told from another.
fn smallest_visible(faintest: f64, field_blur: f64, blur: f64) -> f64 {
    sizes::disc_of_height(faintest / REFERENCE_CONTRAST, field_blur).max(2.3548 * blur).max(1.6)
}

/// The height that passes the threshold nine times in ten.
fn faintest_visible(finest: &Field, glass: &Glass, settings: &Settings) -> f64 {
    let threshold = alarm::threshold(settings.false_calls_per_fibre, glass.radius, finest.blur);
    (threshold + 1.2816) * finest.scatter
}
