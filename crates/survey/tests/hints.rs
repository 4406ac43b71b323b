//! Hints: what is too faint to be told leaves one in its place and of its sign; clean glass, and the glass about what is
//! told, leave hardly any.

use crate::scene::{Scene, fibre};
use synth::{Form, What};
use terms::{Feature, FibreFrame, Hint, Point, Survey};

/// Where the faint marks lie, um.
const AT: (f64, f64) = (-28.0, 21.0);

fn particle(at: (f64, f64), size_um: f64, contrast: f64) -> What {
    What::Particle { at, size_um, contrast, form: Form::Rounded }
}

/// A face with the same faint marks on each of its twelve fibres.
fn seen(marks: &[What]) -> Survey {
    let scene = (1..=12).fold(Scene::new("mpo-12"), |scene, position| {
        marks.iter().fold(scene, |scene, mark| scene.on(position, mark.clone()))
    });
    scene.shot().survey()
}

fn at((x, y): (f64, f64)) -> Point<FibreFrame> {
    Point::new(x, y)
}

/// What is told and what is hinted at within 1 um of a place, fibre by fibre.
fn about(survey: &Survey, place: (f64, f64)) -> Vec<(Vec<Feature>, Vec<Hint>)> {
    let near = |p: Point<FibreFrame>| p.distance(at(place)) < 1.0;
    (1..=12)
        .map(|position| {
            let fibre = fibre(survey, position);
            let told = fibre.features.iter().filter(|f| near(f.centre)).cloned().collect();
            (told, fibre.hints.iter().filter(|h| near(h.at)).copied().collect())
        })
        .collect()
}

#[test]
fn what_is_too_faint_to_be_told_is_hinted_at() {
    for contrast in [-0.075, 0.075] {
        let all = about(&seen(&[particle(AT, 2.0, contrast)]), AT);
        let untold: Vec<&Vec<Hint>> =
            all.iter().filter(|(told, _)| told.is_empty()).map(|(_, hints)| hints).collect();
        let hinted = untold.iter().filter(|hints| hints.iter().any(|h| h.height * contrast > 0.0)).count();
        assert!(untold.len() >= 4, "{contrast}: {} are too faint", untold.len());
        assert!(4 * hinted >= 3 * untold.len(), "{contrast}: {hinted} of {}", untold.len());
    }
}

#[test]
fn clean_glass_hints_at_little() {
    let clean = seen(&[]);
    let there = about(&clean, AT).iter().filter(|(_, hints)| !hints.is_empty()).count();
    let all: Vec<usize> = (1..=12).map(|position| fibre(&clean, position).hints.len()).collect();
    assert!(there <= 1, "{there} of 12");
    assert!(all.iter().all(|n| (1..60).contains(n)), "{all:?}");
}

#[test]
fn what_is_told_is_no_hint() {
    let path = vec![(-40.0, -30.0), (40.0, -26.0)];
    let scratch = What::Scratch { path_um: path, width_um: 2.0, contrast: -0.4, broken: 0.0 };
    let survey = seen(&[particle((25.0, 20.0), 6.0, -0.5), scratch]);
    for position in 1..=12 {
        let fibre = fibre(&survey, position);
        assert!(fibre.features.len() >= 2, "{position}");
        let on_line = |p: Point<FibreFrame>| (p.y + 28.0 - 0.05 * p.x).abs() < 1.5 && p.x.abs() < 38.0;
        let on = |h: &&Hint| h.at.distance(at((25.0, 20.0))) < 3.5 || on_line(h.at);
        assert_eq!(fibre.hints.iter().filter(on).count(), 0, "{position} {:?}", fibre.hints);
    }
}
