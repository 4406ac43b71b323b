//! From the truth as it is written beside a made-up picture to what a study counts.

use study::truth::{TrueFace, TrueFibre, TrueMark};
use synth::{MarkTruth, PositionTruth, Truth};
use terms::{Key, Kind, View};

/// Less of a cladding in view than this is a cut fibre.
const WHOLE: f64 = 0.995;

/// The truth of a picture; `must_refuse` names positions beyond those that are empty or cut.
pub fn true_face(truth: &Truth, must_refuse: &[u16]) -> TrueFace {
    let fibres = truth.positions.iter().map(|p| fibre(p, must_refuse)).collect();
    TrueFace { um_per_px: truth.um_per_px, fibres }
}

/// How the camera showed the face.
pub fn view(truth: &Truth) -> View {
    View { key: if truth.view.key == "down" { Key::Down } else { Key::Up }, mirrored: truth.view.mirrored }
}

fn fibre(position: &PositionTruth, must_refuse: &[u16]) -> TrueFibre {
    let spoilt = must_refuse.contains(&position.position);
    TrueFibre {
        position: position.position,
        must_refuse: spoilt || !position.fibre || position.visible < WHOLE,
        centre_px: position.centre_px.into(),
        blur: position.blur_um,
        marks: position.marks.iter().map(mark).collect(),
    }
}

fn mark(mark: &MarkTruth) -> TrueMark {
    let longest = mark.paths_um.first();
    TrueMark {
        kind: kind(&mark.kind),
        size: mark.size_um,
        length: mark.length_um,
        contrast: mark.contrast,
        reach: (mark.r_min_um, mark.r_max_um),
        centre: mark.centre_um.into(),
        path: longest.map_or_else(Vec::new, |path| path.iter().map(|at| (*at).into()).collect()),
    }
}

/// The kind of that name; a particle if it is none of the others.
fn kind(word: &str) -> Kind {
    [Kind::Scratch, Kind::Pit, Kind::Film, Kind::Chip]
        .into_iter()
        .find(|k| k.word() == word)
        .unwrap_or(Kind::Particle)
}
