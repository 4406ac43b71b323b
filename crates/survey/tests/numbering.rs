//! Which position is which: every layout in every view.

use crate::scene::{JUDGED, Scene, fibre, inner_marks, told};
use synth::{Form, What};
use terms::{Key, Kind, View};

/// Key up and down, mirrored or not, leaning to either side.
fn orientations() -> Vec<(View, f64)> {
    let mut all = Vec::new();
    for key in [Key::Up, Key::Down] {
        for mirrored in [false, true] {
            all.extend([-3.0, 4.0].map(|turn_deg| (View { key, mirrored }, turn_deg)));
        }
    }
    all
}

/// A speck off the axes on the second fibre and a scratch on the last but one.
fn marked(id: &str) -> (Scene, u16, u16) {
    let scene = Scene::new(id).at(1.0);
    let places = &scene.layout.places;
    let (speck, scratch) = (places[1].position, places[places.len() - 2].position);
    let particle = What::Particle { at: (38.0, 14.0), size_um: 9.0, contrast: -0.6, form: Form::Rounded };
    let path_um = vec![(-45.0, 5.0), (20.0, 42.0)];
    let line = What::Scratch { path_um, width_um: 3.0, contrast: -0.4, broken: 0.0 };
    (scene.on(speck, particle).on(scratch, line), speck, scratch)
}

fn one_face_in_every_view(id: &str) {
    let mut first: Option<Vec<(f64, f64)>> = None;
    for (view, turn_deg) in orientations() {
        let at = format!("{id}, {view:?}, {turn_deg} degrees");
        let (scene, speck, scratch) = marked(id);
        let shot = scene.seen(|c| (c.view, c.turn_deg) = (view, turn_deg)).strip(105.0, 90.0).shot();
        let survey = shot.survey();
        for truth in &shot.truth.positions {
            let centre = fibre(&survey, truth.position).centre_px;
            let off = (centre.x - truth.centre_px[0]).hypot(centre.y - truth.centre_px[1]);
            assert!(off < 0.2, "{at}: position {} is {off} um off", truth.position);
        }
        // Specks that noise brings forth now and then on so many fibres are the matter of other tests.
        let mut marks = inner_marks(&survey, JUDGED);
        marks.retain(|(_, mark)| mark.size.0 > 2.0);
        let [(a, particle), (b, line)] = marks[..] else {
            panic!("{at}: {:?}", marks.iter().map(|(p, m)| (p, told(m))).collect::<Vec<_>>());
        };
        assert_eq!((a, b), (speck, scratch), "{at}");
        assert_eq!((particle.kind, line.kind), (Kind::Particle, Kind::Scratch), "{at}");
        assert!((particle.centre.x - 38.0).hypot(particle.centre.y - 14.0) < 0.5, "{at}: {particle:?}");
        assert!((line.centre.x + 12.5).hypot(line.centre.y - 23.5) < 2.0, "{at}: {line:?}");
        let offsets: Vec<(f64, f64)> = survey
            .sites
            .iter()
            .map(|s| fibre(&survey, s.position))
            .map(|f| (f.offset.x, f.offset.y))
            .collect();
        let reference = first.get_or_insert_with(|| offsets.clone());
        for (p, q) in offsets.iter().zip(reference) {
            assert!((p.0 - q.0).hypot(p.1 - q.1) < 0.1, "{at}: {p:?} and {q:?}");
        }
    }
}

#[test]
fn eight_in_every_view() {
    one_face_in_every_view("mpo-8");
}

#[test]
fn twelve_in_every_view() {
    one_face_in_every_view("mpo-12");
}

#[test]
fn sixteen_in_every_view() {
    one_face_in_every_view("mpo-16");
}

#[test]
fn twenty_four_in_every_view() {
    one_face_in_every_view("mpo-24");
}

#[test]
fn thirty_two_in_every_view() {
    one_face_in_every_view("mpo-32");
}
