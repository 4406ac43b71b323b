//! The pipeline: locate the row, measure every fibre, register the face, tell it all without pixels.

use crate::error::SurveyError;
use crate::ferrule;
use crate::fibre::{self, Measured, Seen};
use crate::lit;
use crate::locate::{self, Lattice, Located};
use crate::marks::Mark;
use crate::mosaic;
use crate::register::{self, Registered};
use crate::settings::Settings;
use crate::solve;
use imaging::Frame;
use rayon::prelude::*;
use terms::{
    Feature, FeatureId, Fibre, FibreFrame, Flaw, Hint, Layout, Look, Place, Point, Pose, Quality, Reach,
    Scale, ScaleChecks, ScaleSource, Site, Survey, Um, View,
};

/// Surveys the picture of one face.
///
/// # Errors
/// [`SurveyError`] if no row of this layout shows, or a stated scale is more than 2 % off the picture's.
pub fn survey(
    frames: &[Frame],
    layout: &Layout,
    view: View,
    stated_um_per_px: Option<f64>,
    settings: &Settings,
) -> Result<Survey, SurveyError> {
    let frame = match frames {
        [frame] => frame,
        [] => return Err(SurveyError::Frames),
        _ => return mosaic::survey(frames, layout, view, stated_um_per_px, settings),
    };
    let lattice =
        locate::locate(frame, layout, view).map_err(|why| locate::distorted(frame, layout).unwrap_or(why))?;
    let (looks, face_marks) = rayon::join(
        || measure_all(frame, &lattice, settings),
        || ferrule::face_marks(frame, &lattice, layout),
    );
    undistorted(&looks, frame, layout)?;
    let registered = registered(&looks, &lattice, layout, view, stated_um_per_px)?;
    let pose = registered.pose;
    let scale = scale_of(pose.um_per_px(), registered.scale_u, stated_um_per_px)?;
    let sites = sites(looks, layout, &pose);
    Ok(Survey {
        layout: layout.id.clone(),
        view,
        scale,
        scale_source: if stated_um_per_px.is_some() { ScaleSource::Stated } else { ScaleSource::Lattice },
        scale_checks: checks(&sites, lattice.guide_spacing_px, layout, scale),
        poses: vec![pose],
        quality: quality(&sites),
        sites,
        guides: lattice.guides,
        face_marks,
        stitch: None,
    })
}

/// The scale as it is told: exact if it was stated.
///
/// # Errors
/// `NotAScale`.
pub(crate) fn scale_of(um_per_px: f64, measured_u: f64, stated: Option<f64>) -> Result<Scale, SurveyError> {
    let u = if stated.is_some() { 0.0 } else { measured_u };
    Scale::new(um_per_px, u).map_err(|_| SurveyError::NotAScale(um_per_px))
}

/// Holds a stated scale against the measured one.
///
/// # Errors
/// `NotAScale`, or `Scale` if they are more than 2 % apart.
pub(crate) fn check_stated(stated: Option<f64>, measured: f64) -> Result<(), SurveyError> {
    match stated {
        Some(s) if !(s.is_finite() && s > 0.0) => Err(SurveyError::NotAScale(s)),
        Some(stated) if (stated / measured - 1.0).abs() > 0.02 => {
            Err(SurveyError::Scale { stated, measured })
        }
        _ => Ok(()),
    }
}

/// What was measured at each place of the layout, in order.
fn measure_all(frame: &Frame, lattice: &Lattice, settings: &Settings) -> Vec<Result<Measured, Flaw>> {
    let um_per_px = lattice.pose.um_per_px();
    let mut seen: Vec<Result<Seen, Flaw>> = lattice
        .sites
        .par_iter()
        .map(|site| match site {
            Located::Fibre { centre, radius } => fibre::edged(frame, *centre, *radius, um_per_px)?.look(),
            Located::Missing(flaw) => Err(flaw.clone()),
        })
        .collect();
    fibre::agree(&mut seen);
    let seen = fibre::across_seams(frame, seen, um_per_px);
    seen.into_par_iter().map(|s| s.map(|s| fibre::measure(s, um_per_px, settings))).collect()
}

/// Refuses a picture whose pixels are not square, or whose row runs up and down: what is measured in it is wrong,
/// and what is missing in it is not the face's fault.
///
/// # Errors
/// `Stretched` or `Upright`.
fn undistorted(
    looks: &[Result<Measured, Flaw>],
    frame: &Frame,
    layout: &Layout,
) -> Result<(), locate::LocateError> {
    let misfits =
        |m: &Measured| m.flaws.iter().any(|f| matches!(f, Flaw::WrongDiameter { .. } | Flaw::Hidden { .. }));
    let sound: Vec<&Measured> = looks.iter().flatten().filter(|m| !misfits(m)).collect();
    let suspect = 2 * sound.len() < looks.len();
    // An edge that is smeared or cut looks longer one way whatever the pixels are.
    let round = |m: &&Measured| m.flaws.iter().all(|f| matches!(f, Flaw::WrongDiameter { .. }));
    let mut widenings: Vec<f64> = looks.iter().flatten().filter(round).map(|m| m.widening).collect();
    if 2 * widenings.len() < looks.iter().flatten().count() {
        widenings.clear();
    }
    let by_edges = locate::stretched(&mut widenings);
    // Edges that are fitted as circles tell a small stretch well and a large one too small.
    let told = suspect.then(|| locate::distorted(frame, layout)).flatten().or(by_edges);
    told.map_or(Ok(()), Err)
}

/// The face's pose from the fitted centres; from the lattice alone where fewer than two fibres were fitted.
fn registered(
    looks: &[Result<Measured, Flaw>],
    lattice: &Lattice,
    layout: &Layout,
    view: View,
    stated: Option<f64>,
) -> Result<Registered, SurveyError> {
    let pairs: Vec<_> = layout
        .places
        .iter()
        .zip(looks)
        .filter_map(|(place, look)| look.as_ref().ok().map(|m| (place.at, m.centre)))
        .collect();
    let rough = Registered { pose: lattice.pose, scale_u: 0.01 * lattice.pose.um_per_px() };
    let measured = register::register(&pairs, view, None).unwrap_or(rough);
    check_stated(stated, measured.pose.um_per_px())?;
    let Some(stated) = stated else { return Ok(measured) };
    Ok(register::register(&pairs, view, Some(stated)).unwrap_or(rough))
}

fn sites(looks: Vec<Result<Measured, Flaw>>, layout: &Layout, pose: &Pose) -> Vec<Site> {
    let mut next = 1;
    let mut sites = Vec::with_capacity(looks.len());
    for (place, look) in layout.places.iter().zip(looks) {
        let look = match look {
            Ok(measured) => {
                let source = Source { index: 0, pose };
                Look::Found(Box::new(fibre_of(measured, place, source, &mut next)))
            }
            Err(flaw) => Look::Missing(flaw),
        };
        sites.push(Site { position: place.position, row: place.row, column: place.column, look });
    }
    sites
}

/// A source picture and the face's pose in it.
pub(crate) struct Source<'a> {
    pub index: usize,
    pub pose: &'a Pose,
}

/// What was measured in one picture as the fibre at a place; `next` is the next feature's number.
pub(crate) fn fibre_of(measured: Measured, place: &Place, source: Source, next: &mut u32) -> Fibre {
    let pose = source.pose;
    let um_per_px = pose.um_per_px();
    let at = pose.to_face(measured.centre);
    let mut features: Vec<Feature> = measured.marks.iter().map(|m| feature(m, pose)).collect();
    features.sort_by(|a, b| {
        let key = |f: &Feature| (f.centre.y, f.centre.x);
        let ((ay, ax), (by, bx)) = (key(a), key(b));
        by.total_cmp(&ay).then(ax.total_cmp(&bx))
    });
    for f in &mut features {
        f.id = FeatureId(*next);
        *next += 1;
    }
    Fibre {
        source: source.index,
        centre_px: measured.centre,
        centre_u: Um(measured.centre_u * um_per_px),
        diameter: Um(2.0 * measured.radius * um_per_px),
        offset: Point::new(at.x - place.at.x, at.y - place.at.y),
        blur: Um(measured.blur * um_per_px),
        smallest_visible: Um(measured.smallest_visible * um_per_px),
        faintest_visible: measured.faintest_visible,
        core: lit::look(measured.core_light, &features),
        core_light: measured.core_light,
        core_width: measured.core_width.map(|w| Um(w * um_per_px)),
        features,
        hints: measured.hints.iter().map(|&(p, height)| Hint { at: turned(p, pose), height }).collect(),
        at_optics: Vec::new(),
        flaws: measured.flaws,
    }
}

/// A mark of the picture as a feature of the fibre: pixels become micrometres with the key up.
pub(crate) fn feature(mark: &Mark, pose: &Pose) -> Feature {
    let um_per_px = pose.um_per_px();
    let outline: Vec<_> = mark.outline.iter().map(|p| turned(*p, pose)).collect();
    Feature {
        id: FeatureId(0),
        kind: mark.kind,
        size: Um(mark.size * um_per_px),
        u: Um(mark.u * um_per_px),
        length: Um(mark.length * um_per_px),
        centre: turned(mark.centre, pose),
        contrast: mark.contrast,
        reach: Reach::of(&outline),
        outline,
    }
}

/// A place about a fibre's centre, pixels, in its frame.
fn turned((x, y): (f64, f64), pose: &Pose) -> Point<FibreFrame> {
    let (x, y) = pose.vector_back(x, y);
    Point::new(x, y)
}

/// What else says of the scale.
pub(crate) fn checks(
    sites: &[Site],
    guide_spacing_px: Option<f64>,
    layout: &Layout,
    scale: Scale,
) -> ScaleChecks {
    let mut diameters: Vec<f64> = sites
        .iter()
        .filter_map(|s| match &s.look {
            Look::Found(fibre) => Some(fibre.diameter.0),
            Look::Missing(_) => None,
        })
        .collect();
    ScaleChecks {
        cladding: (!diameters.is_empty()).then(|| solve::median(&mut diameters) / layout.cladding.0),
        guides: guide_spacing_px.map(|px| scale.um(px).0 / layout.guides.spacing.0),
    }
}

/// How well the pictures as a whole show the face.
pub(crate) fn quality(sites: &[Site]) -> Quality {
    let fibres: Vec<&Fibre> = sites
        .iter()
        .filter_map(|s| match &s.look {
            Look::Found(fibre) => Some(fibre.as_ref()),
            Look::Missing(_) => None,
        })
        .collect();
    let mut blurs: Vec<f64> = fibres.iter().map(|f| f.blur.0).collect();
    let gradable: Vec<&&Fibre> = fibres.iter().filter(|f| f.flaws.is_empty()).collect();
    let flaws = if gradable.is_empty() { common_flaws(sites) } else { Vec::new() };
    Quality {
        blur: (!blurs.is_empty()).then(|| Um(solve::median(&mut blurs))),
        smallest_visible: gradable.iter().map(|f| f.smallest_visible).max_by(|a, b| a.0.total_cmp(&b.0)),
        flaws,
    }
}

/// The first position's flaw of each kind.
fn common_flaws(sites: &[Site]) -> Vec<Flaw> {
    let mut flaws: Vec<Flaw> = Vec::new();
    for site in sites {
        let here = match &site.look {
            Look::Found(fibre) => fibre.flaws.clone(),
            Look::Missing(flaw) => vec![flaw.clone()],
        };
        for flaw in here {
            if flaws.iter().all(|f| f.code() != flaw.code()) {
                flaws.push(flaw);
            }
        }
    }
    flaws
}
