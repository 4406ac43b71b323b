//! The truth as it follows from face and camera, without a look at any pixel.

use super::{FaceMarkTruth, MarkTruth, PositionTruth, SCHEMA, Truth, ViewTruth};
use crate::camera::{Camera, Lens};
use crate::face::{Face, FibreBody, GuideLook};
use crate::mark::{Layer, Placed, Trace};
use crate::shape::{Spot, distance, spread_in_disc};
use terms::{Key, Kind, Pixel, Point};

/// A mark nearer than this to a guide hole's edge is said to lie at it, um.
const AT_GUIDE: f64 = 40.0;

/// The truth of a picture, without the names of layout and criteria.
pub(crate) fn tell(face: &Face, marks: &[Placed], camera: &Camera) -> Truth {
    let lens = camera.lens();
    let on_fibres: Vec<(usize, &Placed)> = marks.iter().enumerate().map(|(k, m)| (k + 1, m)).collect();
    let on_none = |m: &Placed| !face.fibres.iter().any(|f| touches(f, m));
    Truth {
        schema: SCHEMA.into(),
        layout: String::new(),
        criteria: None,
        view: ViewTruth {
            key: if camera.view.key == Key::Up { "up" } else { "down" }.into(),
            mirrored: camera.view.mirrored,
        },
        um_per_px: camera.um_per_px,
        turn_deg: camera.turn_deg,
        blur_um: camera.blur_um,
        smear_um: camera.smear_um,
        distortion: camera.distortion,
        exposure: camera.exposure,
        signal_to_noise: camera.signal_to_noise,
        width_px: camera.width_px,
        height_px: camera.height_px,
        guides: if face.guides == GuideLook::Pins { "pins" } else { "open" }.into(),
        guides_px: face.guide_centres().map(|at| px(lens.to_pixel(at))),
        positions: face.fibres.iter().map(|f| position(f, &on_fibres, camera, &lens)).collect(),
        face_marks: on_fibres
            .iter()
            .filter(|(_, m)| on_none(m))
            .map(|(id, m)| face_mark(face, *id, m, &lens))
            .collect(),
    }
}

fn pair(p: Spot) -> [f64; 2] {
    [p.0, p.1]
}

fn less(p: Spot, origin: Spot) -> [f64; 2] {
    [p.0 - origin.0, p.1 - origin.1]
}

fn px(p: Point<Pixel>) -> [f64; 2] {
    [p.x, p.y]
}

fn reach(mark: &Placed, from: Spot) -> (f64, f64) {
    match &mark.trace {
        Trace::Area(outline) => outline.reach(from),
        Trace::Line { path, width } => {
            let (inner, outer) = path.reach(from);
            ((inner - 0.5 * width).max(0.0), outer + 0.5 * width)
        }
    }
}

fn touches(fibre: &FibreBody, mark: &Placed) -> bool {
    let radius = 0.5 * fibre.diameter;
    let shows = |layer: &Layer| match layer {
        Layer::Film(film) => film.shows_in(fibre.centre, radius),
        _ => true,
    };
    !fibre.empty && reach(mark, fibre.centre).0 <= radius && mark.layers.iter().any(shows)
}

fn position(fibre: &FibreBody, marks: &[(usize, &Placed)], camera: &Camera, lens: &Lens) -> PositionTruth {
    let centre = if fibre.empty {
        (fibre.centre.0 + fibre.bore.offset.0, fibre.centre.1 + fibre.bore.offset.1)
    } else {
        fibre.centre
    };
    PositionTruth {
        position: fibre.position,
        row: fibre.row,
        column: fibre.column,
        fibre: !fibre.empty,
        face_um: pair(centre),
        offset_um: less(centre, fibre.nominal),
        centre_px: px(lens.to_pixel(centre)),
        cladding_um: fibre.diameter,
        core_um: fibre.core.diameter,
        core_offset_um: pair(fibre.core.offset),
        lit: fibre.core.lit,
        blur_um: camera.blur_at(centre),
        visible: visible(fibre, camera, lens),
        marks: marks
            .iter()
            .filter(|(_, m)| touches(fibre, m))
            .map(|(id, m)| on_fibre(fibre, *id, m))
            .collect(),
    }
}

fn visible(fibre: &FibreBody, camera: &Camera, lens: &Lens) -> f64 {
    let inside = spread_in_disc(fibre.centre, 0.5 * fibre.diameter, 400)
        .filter(|at| {
            let p = lens.to_pixel(*at);
            let within = |v: f64, count: usize| v > -0.5 && v < count as f64 - 0.5;
            within(p.x, camera.width_px) && within(p.y, camera.height_px)
        })
        .count();
    inside as f64 / 400.0
}

fn on_fibre(fibre: &FibreBody, id: usize, mark: &Placed) -> MarkTruth {
    let (r_min, r_max) = reach(mark, fibre.centre);
    let mut truth = MarkTruth {
        id,
        kind: mark.kind.word().into(),
        shape: mark.word.into(),
        size_um: mark.size,
        length_um: mark.size,
        centre_um: less(mark.centre, fibre.centre),
        contrast: mark.contrast,
        r_min_um: r_min,
        r_max_um: r_max,
        area_um2: None,
        paths_um: Vec::new(),
        outline_um: Vec::new(),
    };
    match &mark.trace {
        Trace::Area(outline) => {
            truth.area_um2 = Some(outline.area());
            truth.outline_um = outline.0.iter().map(|p| less(*p, fibre.centre)).collect();
        }
        Trace::Line { path, width } => {
            let parts = path.inside(fibre.centre, 0.5 * fibre.diameter);
            truth.paths_um =
                parts.iter().map(|p| p.points().iter().map(|q| less(*q, fibre.centre)).collect()).collect();
            if mark.kind == Kind::Scratch {
                truth.length_um = parts.iter().map(|p| p.length()).sum();
                if let Some(longest) = parts.first() {
                    truth.centre_um = less(longest.at(0.5 * longest.length()), fibre.centre);
                }
            } else {
                truth.area_um2 = Some(path.length() * width);
            }
        }
    }
    truth
}

fn face_mark(face: &Face, id: usize, mark: &Placed, lens: &Lens) -> FaceMarkTruth {
    let edge = 0.5 * face.guide_diameter.0;
    let near = |g: Spot| {
        let (inner, outer) = reach(mark, g);
        inner <= edge + AT_GUIDE && outer >= edge - AT_GUIDE || distance(mark.centre, g) <= edge
    };
    FaceMarkTruth {
        id,
        kind: mark.kind.word().into(),
        shape: mark.word.into(),
        size_um: mark.size,
        centre_face_um: pair(mark.centre),
        centre_px: px(lens.to_pixel(mark.centre)),
        contrast: mark.contrast,
        at_guide: face.guide_centres().into_iter().any(near),
    }
}
