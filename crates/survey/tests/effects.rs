//! What camera and light do to a picture changes nothing of what is told of the face.

use crate::scene::{JUDGED, Scene, Shot, fibre, told};
use imaging::{Frame, Samples};
use synth::{Form, What};
use terms::{Feature, Kind, Survey};

/// Marks below this size, um, may come and go with the noise: about the blur's own width.
const COUNTS: f64 = 1.6;

/// A pixel's new level from its column, row and level.
type Change<'a> = &'a dyn Fn(usize, usize, u8) -> u8;

/// A face with a mark on every second fibre, the others clean.
fn marked(blur_um: f64) -> Shot {
    let particle = |at, size_um, contrast| What::Particle { at, size_um, contrast, form: Form::Rounded };
    let scratch =
        |from, to, width_um| What::Scratch { path_um: vec![from, to], width_um, contrast: -0.3, broken: 0.0 };
    Scene::new("mpo-12")
        .seen(|c| (c.blur_um, c.seed) = (blur_um, 3))
        .on(1, particle((20.0, 30.0), 4.0, -0.4))
        .on(3, particle((-30.0, 5.0), 2.5, 0.5))
        .on(5, scratch((-40.0, -20.0), (45.0, 30.0), 2.0))
        .on(7, What::Pit { at: (-10.0, -30.0), size_um: 2.0, contrast: -0.7 })
        // Straight up: along a column of pixels.
        .on(9, scratch((5.0, -45.0), (5.0, 45.0), 1.5))
        .on(11, particle((30.0, -25.0), 12.0, -0.6))
        .shot()
}

/// The picture with every level changed.
fn changed(frame: &Frame, change: Change) -> Frame {
    let Samples::Eight(levels) = frame.samples() else { panic!("a picture of 8 bit") };
    let width = frame.width();
    let levels = levels.iter().enumerate().map(|(i, v)| change(i % width, i / width, *v)).collect();
    Frame::new(width, frame.height(), Samples::Eight(levels)).unwrap()
}

fn counting(survey: &Survey, position: u16) -> Vec<&Feature> {
    let counts = |f: &&Feature| f.size.0 > COUNTS && f.centre.radius() < JUDGED;
    fibre(survey, position).features.iter().filter(counts).collect()
}

/// Whether two surveys tell the same marks: each of one has its like in the other.
fn hold_alike(before: &Survey, after: &Survey, name: &str) {
    for position in 1..=12 {
        let (one, other) = (counting(before, position), counting(after, position));
        let all = |marks: &[&Feature]| marks.iter().map(|f| told(f)).collect::<Vec<_>>();
        let alike = |a: &Feature, b: &Feature| {
            a.kind == b.kind
                && (a.centre.x - b.centre.x).hypot(a.centre.y - b.centre.y) < 3.0
                && (a.size.0 - b.size.0).abs() < 2.0 * a.u.0.hypot(b.u.0)
        };
        let same = one.len() == other.len() && one.iter().all(|a| other.iter().any(|b| alike(a, b)));
        assert!(same, "{name}, {position}: {:#?} became {:#?}", all(&one), all(&other));
        let flaws = |s: &Survey| fibre(s, position).flaws.clone();
        assert_eq!(flaws(before), flaws(after), "{name}, {position}");
    }
}

/// A number from 0 to 999 that a pixel has by chance.
fn chance(x: usize, y: usize) -> usize {
    let mixed =
        (x as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ (y as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F);
    ((mixed ^ (mixed >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9) >> 40) as usize % 1000
}

/// Dead and stuck pixels of a camera are no marks, and a mark that they lie on stays one.
#[test]
fn defects_of_the_camera_are_no_marks() {
    for blur_um in [0.5, 0.75] {
        let mut shot = marked(blur_um);
        let (sound, before) = (shot.frame.clone(), shot.survey());
        assert!((1..=12).step_by(2).all(|p| !counting(&before, p).is_empty()), "{blur_um}");
        let salt = |x, y, v| match chance(x, y) {
            0 | 1 => 255,
            2 | 3 => 0,
            _ => v,
        };
        let cases: [(&str, Change); 3] = [
            ("dead columns", &|x, _, v| if x % 97 == 13 { 0 } else { v }),
            ("a dead row", &|_, y, v| if y % 101 == 40 { 0 } else { v }),
            ("salt", &salt),
        ];
        for (name, change) in cases {
            shot.frame = changed(&sound, change);
            hold_alike(&before, &shot.survey(), &format!("{name}, {blur_um}"));
        }
    }
}

/// A level under a wave of light so high, whose crests lie `period_px` apart in that direction.
fn waved(at: (usize, usize), level: u8, (period_px, degrees): (f64, f64), height: f64) -> u8 {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let turn = std::f64::consts::TAU * (at.0 as f64 * cos + at.1 as f64 * sin) / period_px;
    (f64::from(level) * (1.0 + height * (turn + 1.0).sin())).round().clamp(0.0, 255.0) as u8
}

/// Fringes and bands of a lamp over the whole picture are light. Periods of 40 to 80 um at 0.5 um per pixel.
#[test]
fn waves_of_light_are_no_marks() {
    let mut shot = marked(0.65);
    let (sound, before) = (shot.frame.clone(), shot.survey());
    let cases: [(&str, Change); 4] = [
        ("fringes of 40 um", &|x, y, v| waved((x, y), v, (80.0, 35.0), 0.03)),
        ("fringes of 80 um", &|x, y, v| waved((x, y), v, (160.0, 0.0), 0.03)),
        ("bands of a lamp", &|x, y, v| waved((x, y), v, (160.0, 90.0), 0.03)),
        ("two at once", &|x, y, v| waved((x, y), waved((x, y), v, (130.0, 70.0), 0.02), (90.0, 10.0), 0.02)),
    ];
    for (name, change) in cases {
        shot.frame = changed(&sound, change);
        hold_alike(&before, &shot.survey(), name);
    }
}

/// What is taken away is what all fibres share: the film of one stays as high as it was.
#[test]
fn a_film_under_waves_of_light_stays_a_film() {
    let smear = What::Smear { at: (10.0, 10.0), size_um: 40.0, contrast: -0.15, rim_um: 1.0 };
    let mut shot = Scene::new("mpo-12").on(4, smear).shot();
    let darkest = |survey: &Survey| {
        let films = fibre(survey, 4).features.iter().filter(|f| f.kind == Kind::Film);
        films.min_by(|a, b| a.contrast.total_cmp(&b.contrast)).cloned().unwrap()
    };
    let before = darkest(&shot.survey());
    shot.frame = changed(&shot.frame, &|x, y, v| waved((x, y), v, (160.0, 35.0), 0.03));
    let after = darkest(&shot.survey());
    let same = (after.size.0 - before.size.0).abs() < 2.0 && (after.contrast - before.contrast).abs() < 0.015;
    assert!(same, "{} became {}", told(&before), told(&after));
}

/// A coder rounds away so much of the noise that a long support cannot be trusted; a scratch that is then seen as a long
/// thin mark is a scratch all the same, and no particle or film of that length.
#[test]
fn a_faint_scratch_in_a_coded_picture_is_a_scratch() {
    let scratch = |y: f64, contrast| What::Scratch {
        path_um: vec![(-20.0, y), (8.0, y + 9.0)],
        width_um: 1.3,
        contrast,
        broken: 0.0,
    };
    let scene = (1..=12).fold(Scene::new("mpo-12"), |scene, position| {
        let step = f64::from(position - 1) / 11.0;
        scene.on(position, scratch(30.0 + 10.0 * step, -0.12 - 0.16 * step))
    });
    let survey = scene.seen(|c| (c.blur_um, c.exposure) = (0.7, 0.33)).shot().coded(60).survey();
    for position in 1..=12 {
        let long: Vec<&Feature> =
            fibre(&survey, position).features.iter().filter(|f| f.length.0 > 8.0).collect();
        assert!(
            long.iter().all(|f| f.kind == Kind::Scratch),
            "{position}: {:#?}",
            long.iter().map(|f| told(f)).collect::<Vec<_>>()
        );
    }
    assert!((1..=12).filter(|p| !fibre(&survey, *p).features.is_empty()).count() > 8);
}

/// What is as thick and as dark as a thread of cloth and was found as a mark may be one: it is not made a scratch, which
/// may pass.
#[test]
fn lint_in_a_coded_picture_does_not_become_a_scratch() {
    let lint =
        |y: f64, contrast| What::Lint { path_um: vec![(-14.0, y), (12.0, y - 8.0)], width_um: 4.0, contrast };
    let scene = (1..=12).fold(Scene::new("mpo-12"), |scene, position| {
        let step = f64::from(position - 1) / 11.0;
        scene.on(position, lint(40.0 - 5.0 * step, -0.22 - 0.18 * step))
    });
    let survey = scene.seen(|c| (c.blur_um, c.exposure) = (0.6, 0.33)).shot().coded(60).survey();
    let with = |counts: &dyn Fn(&Feature) -> bool| {
        (1..=12).filter(|p| fibre(&survey, *p).features.iter().any(counts)).collect::<Vec<u16>>()
    };
    assert_eq!(with(&|f| f.kind == Kind::Scratch), []);
    assert_eq!(with(&|f| f.size.0 > 20.0), (1..=12).collect::<Vec<_>>());
}
