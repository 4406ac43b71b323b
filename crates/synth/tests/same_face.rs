//! A face is one thing and a picture of it another: the same bytes from any number of threads, the same face
//! under another camera, every position where the contract puts it.

mod common;

use common::layout;
use common::plain::{camera, face, values};
use imaging::Samples;
use synth::{
    Camera, Cores, Face, FacePlan, FibreType, Form, GuideLook, Mark, On, Rendered, What, parse_scene, render,
    render_face,
};
use terms::{Key, View};

const DIRTY: &str = r#"
layout = "mpo-24"
[face]
seed = 11
cores = "mixed"
[camera]
um_per_px = 0.9
width_px = 700
height_px = 500
middle_um = [-1200, 100]
turn_deg = 2.0
distortion = 0.002
hot_pixels = 40
tilt_um_per_mm = 1.0
smear_um = 1.0
[dirt]
level = "heavy"
seed = 5
[[marks]]
kind = "print"
at_um = [-1100, 100]
size_um = 900
"#;

#[test]
fn the_number_of_threads_changes_no_byte() {
    let scene = parse_scene("dirty", DIRTY).unwrap();
    let made = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| render(&scene, &layout("mpo-24")).unwrap())
    };
    let one = made(1);
    for threads in [2, 3] {
        let many = made(threads);
        assert!(one.frame == many.frame, "{threads} threads");
        assert_eq!(one.truth, many.truth);
    }
}

#[test]
fn another_seed_gives_another_picture() {
    let scene = parse_scene("dirty", DIRTY).unwrap();
    let other = parse_scene("dirty", &DIRTY.replace("seed = 11", "seed = 12")).unwrap();
    let (a, b) = (render(&scene, &layout("mpo-24")).unwrap(), render(&other, &layout("mpo-24")).unwrap());
    assert!(a.frame != b.frame);
    assert!(a.truth.positions[0].offset_um != b.truth.positions[0].offset_um);
}

fn textured() -> Face {
    let plan = FacePlan { seed: 3, fibre: FibreType::SingleMode, cores: Cores::Lit, ..FacePlan::default() };
    Face::new(&layout("mpo-12"), &plan)
}

/// A camera moved by whole pixels sees the same values, moved.
#[test]
fn a_moved_camera_sees_the_same_face() {
    let face = textured();
    let here = camera((-125.0, 20.0), 0.5, 300);
    let there = Camera { middle_um: (-125.0 + 40.0 * 0.5, 20.0 - 25.0 * 0.5), seed: 9, ..here.clone() };
    let (a, b) = (values(&render_face(&face, &here).unwrap()), values(&render_face(&face, &there).unwrap()));
    let mut worst = 0.0f32;
    for y in 25..300 {
        for x in 40..300 {
            worst = worst.max((a.at(x, y) - b.at(x - 40, y - 25)).abs());
        }
    }
    assert!(worst < 2e-3, "{worst}");
}

/// A camera turned by a half turn, or mirrored, sees the same values in the mirrored place.
#[test]
fn a_half_turn_and_a_mirror_show_the_same_face() {
    let face = textured();
    let up = camera((-125.0, 20.0), 0.5, 200);
    let seen = |view: View| values(&render_face(&face, &Camera { view, ..up.clone() }).unwrap());
    let plain = seen(View { key: Key::Up, mirrored: false });
    let down = seen(View { key: Key::Down, mirrored: false });
    let mirror = seen(View { key: Key::Up, mirrored: true });
    for (x, y) in [(20, 30), (100, 90), (150, 7), (60, 180)] {
        assert!((plain.at(x, y) - down.at(199 - x, 199 - y)).abs() < 2e-3);
        assert!((plain.at(x, y) - mirror.at(199 - x, y)).abs() < 2e-3);
    }
}

fn darkest(made: &Rendered) -> [f64; 2] {
    let v = values(made);
    let mut best = (f32::INFINITY, [0.0, 0.0]);
    for y in 0..v.height() {
        for x in 0..v.width() {
            if v.at(x, y) < best.0 {
                best = (v.at(x, y), [x as f64, y as f64]);
            }
        }
    }
    best.1
}

/// Contract: key up, position 1 is the leftmost of the top row; key down shows it at the lower right; a mirror
/// exchanges left and right.
#[test]
fn position_one_lies_where_the_contract_puts_it() {
    let layout = layout("mpo-24");
    let mut face = face(&layout);
    let what = What::Particle { at: (0.0, 0.0), size_um: 60.0, contrast: -0.9, form: Form::Disc };
    face.put(Mark { on: On::Fibre(1), what, seed: 1 });
    let quarters = [
        (Key::Up, false, (false, false)),
        (Key::Down, false, (true, true)),
        (Key::Up, true, (true, false)),
        (Key::Down, true, (false, true)),
    ];
    for (key, mirrored, expected) in quarters {
        let view = Camera { view: View { key, mirrored }, blur_um: 3.0, ..Camera::over(&layout, 3.0, 100.0) };
        let made = render_face(&face, &view).unwrap();
        let at = darkest(&made);
        let quarter = (at[0] > made.frame.width() as f64 / 2.0, at[1] > made.frame.height() as f64 / 2.0);
        assert_eq!(quarter, expected, "{key:?} {mirrored}");
        let truth = made.truth.positions[0].centre_px;
        assert!((at[0] - truth[0]).hypot(at[1] - truth[1]) < 12.0);
        assert_eq!(made.truth.positions[0].position, 1);
    }
}

#[test]
fn truth_of_the_face_is_the_same_under_every_camera() {
    let layout = layout("mpo-12");
    let scene = parse_scene("light", "layout = \"mpo-12\"\n[dirt]\nlevel = \"moderate\"").unwrap();
    let face = scene.face_on(&layout).unwrap();
    let wide = Camera { blur_um: 2.0, ..Camera::over(&layout, 2.0, 200.0) };
    let first = render_face(&face, &wide).unwrap().truth;
    let steps = wide.steps((200, 150), (-1400.0, 1400.0), 5, 8);
    assert_eq!(steps.len(), 5);
    for view in steps {
        let truth = render_face(&face, &view).unwrap().truth;
        for (a, b) in first.positions.iter().zip(&truth.positions) {
            assert_eq!((a.face_um, &a.marks), (b.face_um, &b.marks));
            let inside = b.centre_px[0] > 32.0 && b.centre_px[0] < 167.0;
            assert_eq!(b.visible == 1.0, inside, "{:?}", b.centre_px);
        }
    }
}

#[test]
fn an_empty_bore_is_dark_and_said_to_be_empty() {
    let layout = layout("mpo-12");
    let plan = FacePlan { empty: vec![6], guides: GuideLook::Pins, ..FacePlan::default() };
    let made = render_face(&Face::new(&layout, &plan), &camera((-125.0, 0.0), 0.5, 60)).unwrap();
    assert!(values(&made).data().iter().all(|v| *v < 0.1));
    assert!(!made.truth.positions[5].fibre);
    assert!(made.truth.positions[6].fibre);
    let pin = render_face(&Face::new(&layout, &plan), &camera((2300.0, 0.0), 0.5, 60)).unwrap();
    assert!(values(&pin).data().iter().all(|v| *v > 0.5));
}

#[test]
fn sixteen_bits_are_deep() {
    let made = render_face(&textured(), &camera((-125.0, 0.0), 0.5, 200)).unwrap();
    let Samples::Sixteen(v) = made.frame.samples() else { panic!("16 bit asked for") };
    let mut levels = v.clone();
    levels.sort_unstable();
    levels.dedup();
    assert!(levels.len() > 2000, "{}", levels.len());
}
