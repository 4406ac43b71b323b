//! Scene files: what good ones give and what is said about bad ones.

mod common;

use common::layout;
use synth::{Bits, CoreLook, Framing, GuideLook, SceneError, What, demo, parse_scene, render};
use terms::Key;

const EVERY_MARK: &str = include_str!("../scenes/every-mark.toml");

#[test]
fn a_scene_with_every_key_is_read_as_it_stands() {
    let text = r#"
title = "all keys"
layout = "mpo-16"
criteria = "own"
[face]
seed = 0x10
fibre = "mm62.5"
cores = "lit"
lit = [2, 5]
guides = "pins"
ferrule_level = 0.4
ferrule_contrast = 0
polish = 2.0
eccentricity_um = 2.5
gap_um = 0.5
empty = [3, 4]
[camera]
um_per_px = 0.8
width_px = 1_000
height_px = 200
middle_um = [10, -20.5]
turn_deg = -3
key = "down"
mirrored = true
blur_um = 1.5
tilt_um_per_mm = 2
tilt_deg = 80
focus_line_um = -30
smear_um = 4
smear_deg = 45
distortion = -0.003
slope = 0.1
slope_deg = 10
vignette = 0.3
exposure = 0.7
signal_to_noise = 30
shot_share = 0.5
hot_pixels = 7
bits = 16
seed = 99
[dirt]
level = "filthy"
seed = 6
"#;
    let scene = parse_scene("all", text).unwrap();
    assert_eq!((scene.title.as_str(), scene.layout.as_str()), ("all keys", "mpo-16"));
    assert_eq!(scene.face.lit, [2, 5]);
    assert_eq!((scene.face.eccentricity_um, scene.face.gap_um), (2.5, 0.5));
    assert_eq!(
        (scene.face.seed, scene.face.guides, &scene.face.empty[..]),
        (16, GuideLook::Pins, &[3, 4][..])
    );
    let c = &scene.camera;
    assert_eq!((c.um_per_px, c.middle_um, c.turn_deg, c.view.key), (0.8, (10.0, -20.5), -3.0, Key::Down));
    assert_eq!((c.view.mirrored, c.blur_um, c.tilt.unwrap().line_um, c.smear_um), (true, 1.5, -30.0, 4.0));
    assert_eq!((c.exposure, c.hot_pixels, c.bits, c.seed), (0.7, 7, Bits::Sixteen, 99));
    assert_eq!(scene.framing, Framing::Pixels { width: 1000, height: 200 });
    assert_eq!(scene.dirt.unwrap().seed, 6);
}

#[test]
fn the_least_scene_shows_every_fibre() {
    let scene = parse_scene("least", "layout = \"mpo-8\"\n[camera]\num_per_px = 2.0\nblur_um = 2").unwrap();
    let made = render(&scene, &layout("mpo-8")).unwrap();
    assert_eq!(made.truth.positions.len(), 8);
    assert!(made.truth.positions.iter().all(|p| p.visible == 1.0 && p.fibre && p.marks.is_empty()));
    assert_eq!((made.truth.layout.as_str(), made.truth.criteria), ("mpo-8", None));
}

#[test]
fn every_kind_of_mark_comes_out_in_the_truth() {
    let scene = parse_scene("every-mark", EVERY_MARK).unwrap();
    let small = synth::Scene {
        camera: synth::Camera { um_per_px: 2.0, blur_um: 2.0, ..scene.camera.clone() },
        ..scene.clone()
    };
    let truth = render(&small, &layout("mpo-12")).unwrap().truth;
    let on_glass: Vec<&synth::MarkTruth> = truth.positions.iter().flat_map(|p| &p.marks).collect();
    for stated in &scene.marks {
        let word = stated.mark.what.word();
        let expected = match &stated.mark.what {
            What::Scratch { width_um, .. } => *width_um,
            // Its two ends are its farthest points; its own width is added.
            What::Lint { width_um, .. } => 260.0_f64.hypot(190.0) + width_um,
            What::Particle { size_um, .. }
            | What::Droplet { size_um, .. }
            | What::Pit { size_um, .. }
            | What::Smear { size_um, .. }
            | What::Oil { size_um, .. }
            | What::Print { size_um, .. }
            | What::Chip { size_um, .. } => *size_um,
        };
        let found = on_glass.iter().any(|m| m.shape == word && (m.size_um / expected - 1.0).abs() < 0.01);
        assert!(found, "{word} of {expected} um");
    }
    assert!(on_glass.iter().all(|m| m.r_min_um <= 63.0 && m.r_max_um > m.r_min_um && m.contrast != 0.0));
    let kinds = ["scratch", "particle", "pit", "film", "chip"];
    assert!(kinds.iter().all(|k| on_glass.iter().any(|m| m.kind == *k)));
}

/// A scratch over several fibres is told under each of them, with the same number and width.
#[test]
fn a_scratch_over_three_fibres_is_told_three_times() {
    let text = r#"
layout = "mpo-12"
[camera]
um_per_px = 2.0
blur_um = 2.0
[[marks]]
kind = "scratch"
path_um = [[-500, -30], [250, 30]]
width_um = 2
contrast = -0.3
"#;
    let truth = render(&parse_scene("three", text).unwrap(), &layout("mpo-12")).unwrap().truth;
    let told: Vec<(u16, usize)> =
        truth.positions.iter().flat_map(|p| p.marks.iter().map(|m| (p.position, m.id))).collect();
    assert_eq!(told, [(5, 1), (6, 1), (7, 1)]);
    let mark = &truth.positions[5].marks[0];
    assert!((mark.length_um - 125.0).abs() < 2.0 && mark.centre_um[0].hypot(mark.centre_um[1]) < 4.0);
    assert!(truth.face_marks.is_empty());
}

/// One row for each fault: the file, the line, and words that the sentence must hold.
const FAULTS: &[(&str, usize, &[&str])] = &[
    ("", 1, &["lacks `layout`"]),
    ("layout = \"a\"\nlayuot = 3", 2, &["no key `layuot`", "did you mean `layout`"]),
    ("layout = 12", 1, &["`layout` must be a text in quotes", "an integer"]),
    ("layout = \"a\"\n[camera\num_per_px = 1", 2, &["not valid TOML"]),
    ("layout = \"a\"\n[camera]\num_per_px = 0", 3, &["`um_per_px` must be from 0.1 to 4, not 0"]),
    ("layout = \"a\"\n[camera]\num_per_px = nan", 3, &["`um_per_px` must be from 0.1 to 4"]),
    ("layout = \"a\"\n[camera]\nblur_um = \"soft\"", 3, &["`blur_um` must be a number, not a string"]),
    ("layout = \"a\"\n[camera]\nbits = 12", 3, &["`bits` must be 8 or 16, not 12"]),
    ("layout = \"a\"\n[camera]\nkey = \"left\"", 3, &["`key` must be one of \"up\", \"down\", not \"left\""]),
    ("layout = \"a\"\n[camera]\nmirrored = 1", 3, &["`mirrored` must be true or false"]),
    (
        "layout = \"a\"\n[camera]\nwidth_px = 500",
        3,
        &["either by `width_px` and `height_px` or by `margin_um`"],
    ),
    ("layout = \"a\"\n[camera]\nmiddle_um = [1]", 3, &["`middle_um` must be two numbers [x, y]"]),
    ("layout = \"a\"\n[camera]\ntilt_deg = 3", 2, &["lacks `tilt_um_per_mm`"]),
    ("layout = \"a\"\n[camera]\nhot_pixels = -1", 3, &["`hot_pixels` must be a whole number from 0"]),
    ("layout = \"a\"\n[face]\nfibre = \"mm\"", 3, &["one of \"mm50\", \"mm62.5\", \"sm\""]),
    ("layout = \"a\"\n[face]\nempty = [1, -2]", 3, &["`empty` must be a list of position numbers"]),
    ("layout = \"a\"\n[face]\nseed = 1.5", 3, &["`seed` must be a whole number"]),
    ("layout = \"a\"\n[dirt]\nlevel = \"some\"", 3, &["\"light\", \"moderate\", \"heavy\", \"filthy\""]),
    ("layout = \"a\"\nface = 3", 2, &["`face` must be a table"]),
    (
        "layout = \"a\"\n[marks]\nkind = \"pit\"",
        2,
        &["`marks` must be a list of tables, each headed [[marks]]"],
    ),
    ("layout = \"a\"\n[[marks]]\nposition = 1", 2, &["lacks `kind`"]),
    ("layout = \"a\"\n[[marks]]\nkind = \"dent\"", 3, &["`kind` must be one of", "\"chip\""]),
    ("layout = \"a\"\n[[marks]]\nkind = \"pit\"\nsize_um = 2", 2, &["lacks `at_um`"]),
    ("layout = \"a\"\n[[marks]]\nkind = \"pit\"\nat_um = [0, 0]", 2, &["lacks `size_um`"]),
    (
        "layout = \"a\"\n[[marks]]\nkind = \"pit\"\nat_um = [0, 0]\nsize_um = 2\nwidth_um = 1",
        6,
        &["no key `width_um`", "known here are"],
    ),
    (
        "layout = \"a\"\n[[marks]]\nkind = \"particle\"\nat_um = [0, 0]\nsize_um = 2\ncontrast = 0",
        6,
        &["`contrast` must be at least 0.005 away from zero"],
    ),
    (
        "layout = \"a\"\n[[marks]]\nkind = \"scratch\"\nwidth_um = 1\npath_um = [[0, 0]]",
        5,
        &["two or more points"],
    ),
    (
        "layout = \"a\"\n[[marks]]\nkind = \"scratch\"\nwidth_um = 1\npath_um = [[0, 0], 3]",
        5,
        &["`path_um` must be a list of points, each [x, y]"],
    ),
    ("layout = \"a\"\n[[marks]]\nkind = \"chip\"\nat_deg = 3\nsize_um = 5", 2, &["lacks `position`"]),
];

fn faults_of(text: &str) -> SceneError {
    parse_scene("bad.toml", text).expect_err(text)
}

#[test]
fn every_fault_has_its_line_and_its_sentence() {
    for (text, line, words) in FAULTS {
        let error = faults_of(text);
        assert_eq!(error.faults.len(), 1, "{text}: {error}");
        let fault = &error.faults[0];
        assert_eq!(fault.line, Some(*line), "{text}: {error}");
        for word in *words {
            assert!(fault.text.contains(word), "{text}: \"{}\" lacks \"{word}\"", fault.text);
        }
        assert!(!error.to_string().contains('\n'), "{error}");
    }
}

#[test]
fn all_faults_are_told_at_once_in_order_of_line() {
    let text =
        "layuot = 1\n[face]\npolish = 9\n[camera]\nblur_um = 0\nbits = 9\n[[marks]]\nkind = \"dent\"\n";
    let lines: Vec<Option<usize>> = faults_of(text).faults.iter().map(|f| f.line).collect();
    assert_eq!(lines, [Some(1), Some(1), Some(3), Some(5), Some(6), Some(8)]);
}

#[test]
fn positions_that_the_layout_lacks_are_told_when_it_is_rendered() {
    let text = "layout = \"mpo-8\"\n[face]\nempty = [40]\n[[marks]]\nkind = \"pit\"\nposition = 6\nat_um = [0, 0]\nsize_um = 2";
    let scene = parse_scene("far.toml", text).unwrap();
    let error = render(&scene, &layout("mpo-12")).map(|_| ()).expect_err("position 40");
    assert_eq!(error.faults.len(), 1);
    assert!(error.to_string().contains("position 40, which layout mpo-12 does not have"), "{error}");
    let error = render(&scene, &layout("mpo-8")).map(|_| ()).expect_err("positions 6 and 40");
    assert_eq!(error.faults[1].line, Some(4));
    assert!(error.faults[1].text.contains("position 6"), "{error}");
}

#[test]
fn a_picture_too_large_is_refused_before_any_memory_is_taken() {
    let text = "layout = \"mpo-8\"\n[camera]\nwidth_px = 30000\nheight_px = 30000";
    let error = render(&parse_scene("huge", text).unwrap(), &layout("mpo-8")).map(|_| ()).expect_err("huge");
    assert!(error.to_string().contains("make it smaller"), "{error}");
}

/// The stories of the demo against the truth of its scenes.
#[test]
fn the_demo_is_what_its_stories_say() {
    let scenario = demo::scenario();
    assert_eq!(scenario.faces.len(), 4);
    for face in &scenario.faces {
        let scene = face.scene().unwrap();
        assert_eq!(scene.layout, face.layout);
        assert_eq!(scene.criteria.as_deref(), Some(face.criteria));
        let layout = layout(face.layout);
        let physical = scene.face_on(&layout).unwrap();
        let camera = scene.camera_on(&layout);
        assert!(camera.check().is_empty(), "{}", face.name);
        let single_mode = face.criteria.contains("-sm-");
        assert!(physical.fibres.iter().all(|f| (f.core.look == CoreLook::Spot) == single_mode));
        let quick = synth::Camera { width_px: 64, height_px: 64, blur_um: 1.0, ..camera.clone() };
        let truth = synth::render_face(&physical, &quick).unwrap().truth;
        let marked: Vec<u16> =
            truth.positions.iter().filter(|p| !p.marks.is_empty()).map(|p| p.position).collect();
        match face.name {
            "trunk-1-store" => assert_eq!(marked, [2, 5, 7, 11]),
            "reference-cord" => assert_eq!(marked, [3, 6, 8, 10]),
            "trunk-2-floor" => assert!(marked.len() > 8, "{marked:?}"),
            _ => {
                let lens = camera.lens();
                let last = lens.to_pixel(physical.fibre(12).unwrap().centre);
                let past = camera.width_px as f64 - last.x;
                assert!(past > 0.0 && past < 100.0, "the border cuts position 12: {past}");
            }
        }
    }
}
