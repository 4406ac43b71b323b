//! One `[[marks]]` table of a scene file.

use super::StatedMark;
use super::reader::Section;
use crate::error::Fault;
use crate::mark::{Mark, On, What};
use crate::shape::{Form, Spot};

/// The kinds, each with the keys that it has beside `kind`, `position`, `contrast` and `seed`.
const KINDS: &[(&str, &[&str])] = &[
    ("particle", &["at_um", "size_um", "form"]),
    ("droplet", &["at_um", "size_um", "rim_um"]),
    ("pit", &["at_um", "size_um"]),
    ("scratch", &["path_um", "width_um", "broken"]),
    ("smear", &["at_um", "size_um", "rim_um"]),
    ("oil", &["at_um", "size_um", "fringes"]),
    ("print", &["at_um", "size_um", "pitch_um"]),
    ("lint", &["path_um", "width_um"]),
    ("chip", &["at_deg", "size_um", "depth_um"]),
];

/// Reads one mark; none if it has a fault, which is noted.
pub(super) fn read_mark(mut s: Section, number: u64, faults: &mut Vec<Fault>) -> Option<StatedMark> {
    let line = s.line();
    let words: Vec<(&str, usize)> = KINDS.iter().enumerate().map(|(i, k)| (k.0, i)).collect();
    let mut kind = usize::MAX;
    s.word("kind", &words, &mut kind);
    let Some((word, keys)) = KINDS.get(kind) else {
        if !s.has("kind") {
            s.missing("kind", "what it is: particle, droplet, pit, scratch, smear, oil, print, lint or chip");
        }
        faults.append(&mut s.faults);
        return None;
    };
    let on = s.whole("position", 1, 999).map_or(On::Face, |n| On::Fibre(n as u16));
    if *word == "chip" && !s.has("position") {
        s.missing("position", "the fibre that the glass is missing from");
    }
    let seed = s.whole("seed", 0, i64::MAX as u64).unwrap_or(number + 1);
    let what = read_what(&mut s, word);
    s.note(what.check());
    let known: Vec<&str> =
        ["kind", "position", "contrast", "seed"].into_iter().chain(keys.iter().copied()).collect();
    let found = s.finish(&known);
    let sound = found.is_empty();
    faults.extend(found);
    sound.then_some(StatedMark { mark: Mark { on, what, seed }, line: Some(line) })
}

fn read_what(s: &mut Section, word: &str) -> What {
    let mut contrast = match word {
        "smear" | "oil" | "print" => -0.12,
        "chip" => -0.6,
        _ => -0.4,
    };
    s.number("contrast", &mut contrast);
    match word {
        "scratch" => {
            let (path_um, width_um) = read_line(s);
            let mut broken = 0.0;
            s.number("broken", &mut broken);
            What::Scratch { path_um, width_um, contrast, broken }
        }
        "lint" => {
            let (path_um, width_um) = read_line(s);
            What::Lint { path_um, width_um, contrast }
        }
        "chip" => {
            let at_deg = needed(s, "at_deg", "where on the cladding's edge, in degrees", 0.0);
            let size_um = needed(s, "size_um", "the diameter of its smallest enclosing circle", 1.0);
            let mut depth_um = 0.35 * size_um;
            s.number("depth_um", &mut depth_um);
            What::Chip { at_deg, size_um, depth_um, contrast }
        }
        _ => read_lump(s, word, contrast),
    }
}

fn read_lump(s: &mut Section, word: &str, contrast: f64) -> What {
    let mut at = (0.0, 0.0);
    if !s.place("at_um", &mut at) {
        s.missing("at_um", "its centre [x, y]");
    }
    let size_um = needed(s, "size_um", "the diameter of its smallest enclosing circle", 1.0);
    let mut extra = |key: &str, mut value: f64| {
        s.number(key, &mut value);
        value
    };
    match word {
        "droplet" => What::Droplet { at, size_um, contrast, rim_um: extra("rim_um", 0.12 * size_um) },
        "pit" => What::Pit { at, size_um, contrast },
        "smear" => What::Smear { at, size_um, contrast, rim_um: extra("rim_um", 0.05 * size_um) },
        "oil" => What::Oil { at, size_um, contrast, fringes: extra("fringes", 3.0) },
        "print" => What::Print { at, size_um, contrast, pitch_um: extra("pitch_um", 450.0) },
        _ => {
            let mut form = Form::Rounded;
            let forms = [("disc", Form::Disc), ("rounded", Form::Rounded), ("angular", Form::Angular)];
            s.word("form", &forms, &mut form);
            What::Particle { at, size_um, contrast, form }
        }
    }
}

fn read_line(s: &mut Section) -> (Vec<Spot>, f64) {
    let path = s.places("path_um");
    if path.is_none() && !s.has("path_um") {
        s.missing("path_um", "the points [x, y] that it runs through");
    }
    let width = needed(s, "width_um", "its width", 1.0);
    // Any sound line: a missing or broken one is a fault already.
    (path.unwrap_or_else(|| vec![(0.0, 0.0), (1.0, 0.0)]), width)
}

fn needed(s: &mut Section, key: &str, what: &str, otherwise: f64) -> f64 {
    let mut value = otherwise;
    if !s.number(key, &mut value) {
        s.missing(key, what);
    }
    value
}
