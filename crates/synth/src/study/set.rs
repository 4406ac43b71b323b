//! The faces of a study: targets for detection, clean ones, dirty ones, some pictured again and again, and
//! pictures that must be refused. Each follows from a seed and its number alone.

use super::{Spread, Wanted, isolated};
use crate::camera::{Bits, Camera, Light};
use crate::face::{Cores, Face, FacePlan, FibreType, GuideLook};
use crate::mark::{DirtLevel, Mark, On, What, strew};
use crate::random::{Stream, Topic};
use crate::shape::{Form, Spot, distance, on_circle};
use std::f64::consts::TAU;
use terms::Layout;

/// What a face of the study is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Isolated marks of known size and contrast, to be seen or missed; two fibres are clean.
    Targets,
    /// Dirt by chance, to be graded.
    Dirty,
    /// Nothing on the glass.
    Clean,
    /// A dirty face, pictured three times twice: three set-ups of the camera, two pictures each.
    Repeated,
    /// A picture that must not be graded, at some positions or at all.
    Unfit,
}

/// A face of the study with the cameras that look at it.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyFace {
    /// What it is for.
    pub role: Role,
    /// The face.
    pub face: Face,
    /// One, or for each set-up its pictures.
    pub cameras: Vec<Vec<Camera>>,
    /// Id of the criteria that it is to be graded by.
    pub criteria: &'static str,
    /// Positions that must not be graded.
    pub must_refuse: Vec<u16>,
}

/// Roles in turn: of ten faces four hold targets, three are dirty.
const ROLES: [Role; 10] = {
    use Role::{Clean, Dirty, Repeated, Targets, Unfit};
    [Targets, Dirty, Repeated, Targets, Clean, Dirty, Targets, Unfit, Dirty, Targets]
};

const SINGLE_MODE: [&str; 3] =
    ["iec-61300-3-35-ed2-sm-pc-rl45", "iec-61300-3-35-ed2-sm-pc-rl26", "iec-61300-3-35-ed2-sm-apc"];

/// Contrasts of particles that are to be seen, and how large they are, um: from what no one sees to what all do.
const PARTICLES: [(f64, f64, f64); 3] = [(-0.15, 0.5, 3.2), (-0.3, 0.35, 2.4), (-0.6, 0.25, 1.7)];
/// Contrast of scratches that are to be seen, and their widths.
const SCRATCH: (f64, f64, f64) = (-0.08, 0.2, 1.6);

/// Face number `number` of the study of that seed: pictures of 0.5 um per pixel and 8 bit, blurred by 0.35 to
/// 0.8 um, with a signal to noise ratio of 30 to 60; multimode and single mode, dark and lit cores in turn.
pub fn face(layout: &Layout, seed: u64, number: usize) -> StudyFace {
    let mut chance = Stream::new(seed, Topic::Study, number as i64, 1);
    let role = ROLES[number % ROLES.len()];
    let round = number / ROLES.len();
    let plan = plan(&mut chance, number + round);
    let single = plan.fibre == FibreType::SingleMode;
    let mut face = Face::new(layout, &plan);
    let camera = camera(layout, &mut chance);
    let marks = match role {
        Role::Targets => targets(&face, &mut chance),
        Role::Clean => Vec::new(),
        Role::Dirty | Role::Repeated | Role::Unfit => {
            let levels = [DirtLevel::Light, DirtLevel::Moderate, DirtLevel::Heavy];
            strew(&face, levels[chance.below(levels.len())], chance.bits())
        }
    };
    face.marks.extend(marks);
    let (cameras, must_refuse) = match role {
        Role::Repeated => (set_ups(&camera, &mut chance), Vec::new()),
        Role::Unfit => unfit(layout, camera, round),
        _ => (vec![vec![camera]], Vec::new()),
    };
    let criteria =
        if single { SINGLE_MODE[(number / 2) % SINGLE_MODE.len()] } else { "iec-61300-3-35-ed2-mm" };
    StudyFace { role, face, cameras, criteria, must_refuse }
}

fn plan(chance: &mut Stream, turn: usize) -> FacePlan {
    let fibres = [
        FibreType::Multimode50,
        FibreType::SingleMode,
        FibreType::Multimode50,
        FibreType::SingleMode,
        FibreType::Multimode62,
        FibreType::SingleMode,
    ];
    FacePlan {
        seed: chance.bits(),
        fibre: fibres[turn % fibres.len()],
        cores: [Cores::Dark, Cores::Lit, Cores::Mixed][chance.below(3)],
        guides: if chance.chance(0.5) { GuideLook::Open } else { GuideLook::Pins },
        ferrule_level: chance.between(0.35, 0.7),
        polish: chance.between(0.6, 1.3),
        ..FacePlan::default()
    }
}

fn camera(layout: &Layout, chance: &mut Stream) -> Camera {
    let camera = Camera {
        um_per_px: 0.5,
        turn_deg: chance.between(-3.0, 3.0),
        blur_um: chance.between(0.35, 0.8),
        distortion: [0.0, 0.0, 0.001, 0.003][chance.below(4)],
        light: Light {
            slope: chance.between(0.0, 0.15),
            slope_deg: chance.between(0.0, 360.0),
            vignette: chance.between(0.0, 0.35),
        },
        // A lit core, two fifths brighter, stays below the top of the range on the bright side of a sloping light.
        exposure: chance.between(0.38, 0.58),
        signal_to_noise: chance.between(30.0, 60.0),
        bits: Bits::Eight,
        seed: chance.bits(),
        ..Camera::default()
    };
    sized(layout, camera)
}

/// The camera with a picture just large enough for the row.
fn sized(layout: &Layout, camera: Camera) -> Camera {
    let (width_px, height_px) = camera.size_around(layout, 130.0, 120.0);
    Camera { width_px, height_px, ..camera }
}

/// Three set-ups that differ in place, turn, light, focus and noise, with two pictures of each, between which the
/// face moves a little.
fn set_ups(camera: &Camera, chance: &mut Stream) -> Vec<Vec<Camera>> {
    (0..3)
        .map(|_| {
            let set_up = Camera {
                turn_deg: camera.turn_deg + chance.between(-1.0, 1.0),
                middle_um: chance.in_disc(20.0),
                blur_um: (camera.blur_um * chance.between(0.85, 1.2)).clamp(0.35, 0.8),
                exposure: camera.exposure * chance.between(0.8, 1.04),
                signal_to_noise: chance.between(30.0, 60.0),
                light: Light { slope_deg: chance.between(0.0, 360.0), ..camera.light },
                ..camera.clone()
            };
            (0..2).map(|_| again(&set_up, chance)).collect()
        })
        .collect()
}

fn again(set_up: &Camera, chance: &mut Stream) -> Camera {
    let (dx, dy) = chance.in_disc(3.0);
    Camera {
        middle_um: (set_up.middle_um.0 + dx, set_up.middle_um.1 + dy),
        seed: chance.bits(),
        ..set_up.clone()
    }
}

/// A camera that must be refused in one of seven ways, with the positions that it spoils.
fn unfit(layout: &Layout, camera: Camera, way: usize) -> (Vec<Vec<Camera>>, Vec<u16>) {
    let all: Vec<u16> = layout.places.iter().map(|p| p.position).collect();
    let spoilt = match way % 7 {
        0 => Camera { blur_um: 4.0, ..camera },
        1 => Camera { exposure: 1.6, light: Light { vignette: 0.0, ..camera.light }, ..camera },
        2 => Camera { smear_um: 8.0, smear_deg: 20.0, ..camera },
        3 => return cut(layout, camera),
        4 => Camera { exposure: 0.03, signal_to_noise: 4.0, ..camera },
        5 => sized(layout, Camera { um_per_px: 2.5, blur_um: 1.5, ..camera }),
        _ => Camera { middle_um: (0.0, 190.0), ..camera },
    };
    (vec![vec![spoilt]], all)
}

/// The row straight, and its last column cut through by the border.
fn cut(layout: &Layout, camera: Camera) -> (Vec<Vec<Camera>>, Vec<u16>) {
    let last = layout.places.iter().map(|p| p.at.x).fold(f64::MIN, f64::max);
    let straight = sized(layout, Camera { turn_deg: 0.0, distortion: 0.0, ..camera });
    let half = 0.5 * straight.width_px as f64 * straight.um_per_px;
    let moved = Camera { middle_um: (last + 25.0 - half, 0.0), ..straight };
    let spoilt = layout.places.iter().filter(|p| p.at.x == last).map(|p| p.position).collect();
    (vec![vec![moved]], spoilt)
}

/// Particles on the odd positions, scratches on the even ones; two fibres of each face stay clean.
fn targets(face: &Face, chance: &mut Stream) -> Vec<Mark> {
    let clean = [chance.below(face.fibres.len()), chance.below(face.fibres.len())];
    let kept = |odd: bool| {
        let free = face.fibres.iter().enumerate().filter(|(k, f)| !clean.contains(k) && !f.empty);
        free.filter(move |(_, f)| (f.position % 2 == 1) == odd).map(|(_, f)| f.clone()).collect::<Vec<_>>()
    };
    let odd = Face { fibres: kept(true), marks: Vec::new(), ..face.clone() };
    let wanted: Vec<Wanted> = (0..6 * odd.fibres.len())
        .map(|k| {
            let (contrast, low, high) = PARTICLES[k % PARTICLES.len()];
            Wanted { size_um: chance.log_between(low, high), contrast, form: Form::Disc }
        })
        .collect();
    let spread = Spread { inner_um: 0.0, outer_um: 56.0, apart_um: 10.0 };
    let mut marks = isolated(&odd, &wanted, spread, chance.bits());
    for fibre in kept(false) {
        marks.extend(scratches(fibre.position, chance));
    }
    marks
}

/// Two straight scratches of 25 to 60 um that lie apart.
fn scratches(position: u16, chance: &mut Stream) -> Vec<Mark> {
    let (contrast, low, high) = SCRATCH;
    let angle = chance.between(0.0, TAU);
    [-1.0, 1.0]
        .map(|side| {
            let middle = on_circle((0.0, 0.0), side * chance.between(10.0, 38.0), angle + 0.25 * TAU);
            let half = 0.5 * chance.between(25.0, 60.0);
            let ends = [on_circle(middle, half, angle), on_circle(middle, -half, angle)];
            let path_um: Vec<Spot> = ends.map(|end| inside(middle, end)).to_vec();
            let width_um = chance.log_between(low, high);
            let what = What::Scratch { path_um, width_um, contrast, broken: 0.0 };
            Mark { on: On::Fibre(position), what, seed: chance.bits() }
        })
        .to_vec()
}

/// The end of a line, drawn in until it lies on the glass.
fn inside(middle: Spot, end: Spot) -> Spot {
    let mut at = end;
    while distance(at, (0.0, 0.0)) > 58.0 {
        at = (middle.0 + 0.9 * (at.0 - middle.0), middle.1 + 0.9 * (at.1 - middle.1));
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::{GuidePair, Place, Point, Um};

    fn layout() -> Layout {
        let place = |k: u16| Place {
            position: k,
            row: 1,
            column: k,
            at: Point::new(250.0 * f64::from(k) - 1625.0, 0.0),
        };
        Layout {
            id: "row".into(),
            title: String::new(),
            pitch: Um(250.0),
            row_pitch: Um(250.0),
            rows: 1,
            columns: 12,
            cladding: Um(125.0),
            places: (1..=12).map(place).collect(),
            guides: GuidePair { spacing: Um(4600.0), diameter: Um(700.0) },
        }
    }

    #[test]
    fn ten_faces_hold_every_role_and_both_kinds_of_fibre() {
        let faces: Vec<StudyFace> = (0..10).map(|n| face(&layout(), 1, n)).collect();
        let count = |role| faces.iter().filter(|f| f.role == role).count();
        let roles = [Role::Targets, Role::Dirty, Role::Clean, Role::Repeated, Role::Unfit];
        assert_eq!(roles.map(count), [4, 3, 1, 1, 1]);
        assert!(faces.iter().any(|f| f.criteria.ends_with("mm")));
        assert!(faces.iter().any(|f| f.criteria.contains("-sm-")));
        for f in &faces {
            assert_eq!(f.role == Role::Unfit, !f.must_refuse.is_empty());
            assert_eq!(f.role == Role::Clean, f.face.marks.is_empty());
            let pictures: usize = f.cameras.iter().map(Vec::len).sum();
            assert_eq!(pictures, if f.role == Role::Repeated { 6 } else { 1 });
            assert!(f.cameras.iter().flatten().all(|c| c.check().is_empty()));
        }
    }

    #[test]
    fn a_face_follows_from_seed_and_number_alone() {
        assert_eq!(face(&layout(), 5, 13), face(&layout(), 5, 13));
        assert_ne!(face(&layout(), 5, 13).face, face(&layout(), 6, 13).face);
        assert_ne!(face(&layout(), 5, 13).face.marks, face(&layout(), 5, 3).face.marks);
    }

    #[test]
    fn targets_of_one_face_are_many_and_leave_clean_fibres() {
        let made = face(&layout(), 2, 0);
        let on = |p: u16| made.face.marks.iter().filter(|m| m.on == On::Fibre(p)).count();
        assert!(made.face.marks.len() > 25, "{}", made.face.marks.len());
        assert!((1..=12).any(|p| on(p) == 0) && (1..=12).all(|p| on(p) <= 8));
    }

    #[test]
    fn a_cut_picture_spoils_its_last_column_alone() {
        let (cameras, spoilt) =
            unfit(&layout(), camera(&layout(), &mut Stream::new(1, Topic::Study, 0, 0)), 3);
        assert_eq!(spoilt, [12]);
        let camera = &cameras[0][0];
        let lens = camera.lens();
        let edge = |x: f64| lens.to_pixel((x, 0.0)).x;
        assert!(edge(1375.0) < camera.width_px as f64 && edge(1375.0 + 62.5) > camera.width_px as f64);
        assert!(edge(-1375.0 - 62.5) > 0.0);
    }
}
