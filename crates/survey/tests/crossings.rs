//! Dirt that a scratch crosses or that lies on a scratch's course is dirt: taking it for the scratch, which most criteria
//! allow, or for two smaller marks would pass a fibre that fails.

use crate::scene::{Scene, fibre, single_mode, told};
use synth::{FacePlan, Form, Spot, What};
use terms::{Feature, Kind};

/// A scratch along x at y = -30.
fn scratch(from: f64, to: f64, width_um: f64, contrast: f64) -> What {
    scratch_at(-30.0, from, to, width_um, contrast)
}

/// A scratch along x.
fn scratch_at(y: f64, from: f64, to: f64, width_um: f64, contrast: f64) -> What {
    What::Scratch { path_um: vec![(from, y), (to, y)], width_um, contrast, broken: 0.0 }
}

fn disc(at: Spot, size_um: f64, contrast: f64) -> What {
    What::Particle { at, size_um, contrast, form: Form::Disc }
}

fn droplet(at: Spot, size_um: f64, contrast: f64) -> What {
    What::Droplet { at, size_um, contrast, rim_um: 1.0 }
}

fn lint(from: Spot, to: Spot, width_um: f64, contrast: f64) -> What {
    What::Lint { path_um: vec![from, to], width_um, contrast }
}

/// What the survey sees on each fibre of one face, a fibre for each list of marks.
fn seen(cases: &[Vec<What>]) -> Vec<Vec<Feature>> {
    let plan = FacePlan { seed: 77, ..single_mode() };
    let scene = cases.iter().zip(1..).fold(Scene::of("mpo-12", plan), |scene, (marks, position)| {
        marks.iter().fold(scene, |scene, what| scene.on(position, what.clone()))
    });
    let survey = scene.seen(|c| c.blur_um = 0.6).shot().survey();
    (1..).take(cases.len()).map(|position| fibre(&survey, position).features.clone()).collect()
}

fn lumps(of: &[Feature]) -> Vec<&Feature> {
    of.iter().filter(|f| f.kind != Kind::Scratch).collect()
}

fn all(of: &[Feature]) -> String {
    of.iter().map(told).collect::<Vec<_>>().join("; ")
}

/// Width and contrast of the scratch, and the mark at (18, -30) that it crosses, with its size.
#[test]
fn what_a_scratch_crosses_is_one_mark_and_no_smaller() {
    let at = (18.0, -30.0);
    let cases = [
        (2.0, -0.35, disc(at, 7.0, -0.4), 7.0),
        (2.6, -0.3, disc(at, 10.8, -0.3), 10.8),
        (2.6, -0.3, disc(at, 10.8, -0.6), 10.8),
        (2.0, -0.25, droplet(at, 10.8, -0.3), 10.8),
        (2.0, -0.3, droplet(at, 12.0, -0.4), 12.0),
    ];
    let marks: Vec<Vec<What>> = cases
        .iter()
        .map(|(width, contrast, mark, _)| vec![scratch(-45.0, 40.0, *width, *contrast), mark.clone()])
        .collect();
    for (seen, (.., size)) in seen(&marks).iter().zip(&cases) {
        let lumps = lumps(seen);
        let right = matches!(&lumps[..], [f] if f.size.0 > size - 0.4);
        assert!(right && seen.iter().any(|f| f.kind == Kind::Scratch), "{size}: {}", all(seen));
    }
}

/// A scratch that is stronger than what it crosses, or of the other sign, hides none of it.
#[test]
fn what_lies_under_a_stronger_scratch_is_seen() {
    let cases = [
        (2.4, -0.5, disc((18.0, -30.0), 6.0, -0.22), 6.0),
        (2.4, -0.5, disc((18.0, -30.0), 7.0, -0.22), 7.0),
        (2.4, -0.5, disc((18.0, -30.0), 11.0, -0.22), 11.0),
        (2.4, 0.4, disc((18.0, -30.0), 7.0, 0.2), 7.0),
        (2.0, 0.35, disc((18.0, -30.0), 6.0, -0.15), 6.0),
        (2.4, -0.3, disc((18.0, -30.0), 6.0, -0.1), 6.0),
        (3.0, -0.4, disc((18.0, -30.0), 6.5, -0.12), 6.5),
        (2.0, -0.3, disc((18.0, -30.0), 6.0, -0.08), 6.0),
        (2.6, -0.37, droplet((5.0, -29.0), 8.1, -0.44), 8.1),
        (1.8, -0.19, droplet((-2.0, -30.0), 7.3, -0.16), 7.3),
        (1.7, -0.38, droplet((12.0, -32.0), 10.7, -0.33), 10.7),
    ];
    let marks: Vec<Vec<What>> = cases
        .iter()
        .map(|(width, contrast, mark, _)| vec![scratch(-45.0, 40.0, *width, *contrast), mark.clone()])
        .collect();
    for (seen, (.., size)) in seen(&marks).iter().zip(&cases) {
        let broad = lumps(seen).iter().any(|f| f.size.0 > size - 0.4);
        assert!(broad && seen.iter().any(|f| f.kind == Kind::Scratch), "{size}: {}", all(seen));
    }
}

/// Marks, and where a lump of at least such a size lies among them.
#[test]
fn dirt_on_the_course_of_a_scratch_is_no_part_of_it() {
    let cases: Vec<(&str, Vec<What>, Spot, f64)> = vec![
        (
            "the first of two long particles in a row",
            vec![
                lint((-17.0, -30.0), (-10.0, -30.0), 2.6, -0.45),
                lint((8.0, -30.0), (15.0, -30.0), 2.6, -0.45),
            ],
            (-13.5, -30.0),
            7.0,
        ),
        (
            "a broader long particle ahead",
            vec![scratch(-45.0, -10.0, 2.0, -0.35), lint((10.0, -28.0), (16.5, -27.5), 3.0, -0.45)],
            (13.2, -27.8),
            6.5,
        ),
        (
            "a long particle across the course",
            vec![scratch(-45.0, -10.0, 2.0, -0.35), lint((12.0, -33.0), (12.0, -26.5), 3.0, -0.45)],
            (12.0, -29.8),
            6.5,
        ),
        (
            "a disc on the second of two parts",
            vec![
                scratch(-45.0, -8.0, 2.6, -0.3),
                scratch(0.0, 40.0, 2.6, -0.3),
                disc((20.0, -30.0), 5.6, -0.6),
            ],
            (20.0, -30.0),
            5.6,
        ),
        (
            "a disc on the gap before a part",
            vec![
                scratch(-45.0, -12.0, 2.6, -0.35),
                lint((10.0, -30.0), (18.0, -30.0), 2.6, -0.35),
                disc((-1.0, -29.7), 5.4, -0.4),
            ],
            (-1.0, -29.7),
            5.2,
        ),
        (
            "a disc behind the end",
            vec![scratch(-45.0, -12.0, 2.6, -0.35), disc((-1.0, -29.7), 5.4, -0.4)],
            (-1.0, -29.7),
            5.2,
        ),
    ];
    let marks: Vec<Vec<What>> = cases.iter().map(|c| c.1.clone()).collect();
    for (seen, (name, _, at, size)) in seen(&marks).iter().zip(&cases) {
        let there =
            |f: &&Feature| (f.centre.x - at.0).hypot(f.centre.y - at.1) < 1.5 && f.size.0 > size - 0.3;
        assert!(lumps(seen).into_iter().any(|f| there(&f)), "{name}: {}", all(seen));
    }
}

/// Discs in a row behind the end of a scratch are no scratch, however evenly they lie.
#[test]
fn a_row_of_discs_stays_a_row_of_discs() {
    let row = |xs: [f64; 5]| xs.map(|x| disc((x, -30.0), 3.4, -0.45)).to_vec();
    let behind = [vec![scratch(-45.0, -25.0, 2.2, -0.35)], row([-16.0, -7.0, 2.0, 11.0, 20.0])].concat();
    for seen in seen(&[row([-20.0, -11.0, -2.0, 7.0, 16.0]), behind]) {
        let told = lumps(&seen).iter().filter(|f| f.size.0 > 3.0).count();
        assert_eq!(told, 5, "{}", all(&seen));
    }
}

/// Two scratches of 1.6 um beside one another are no film, and no scratch of 3 um, which single-mode criteria limit.
#[test]
fn scratches_side_by_side_are_two() {
    let apart = [3.5, 4.0, 4.5, 6.0, 10.0];
    let at = |y: f64| scratch_at(y, -45.0, 40.0, 1.6, -0.3);
    let marks: Vec<Vec<What>> = apart.iter().map(|off| vec![at(-30.0), at(-30.0 - off)]).collect();
    for (seen, off) in seen(&marks).iter().zip(apart) {
        let two =
            matches!(&seen[..], [a, b] if [a, b].iter().all(|f| f.kind == Kind::Scratch && f.size.0 < 3.0));
        assert!(two, "{off} um apart: {}", all(seen));
    }
}

/// The one in the middle has another on either side.
#[test]
fn three_scratches_side_by_side_are_three() {
    let apart = [4.0, 4.5, 6.0];
    let at = |y: f64| scratch_at(y, -45.0, 40.0, 1.6, -0.3);
    let marks: Vec<Vec<What>> =
        apart.iter().map(|off| [-1.0, 0.0, 1.0].map(|k| at(-30.0 + k * off)).to_vec()).collect();
    for (seen, off) in seen(&marks).iter().zip(apart) {
        let dark: Vec<&Feature> = seen.iter().filter(|f| f.contrast < 0.0).collect();
        let three = dark.len() == 3 && dark.iter().all(|f| f.kind == Kind::Scratch && f.size.0 < 3.0);
        assert!(three, "{off} um apart: {}", all(seen));
    }
}
