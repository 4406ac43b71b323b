//! Many made-up faces before and after cleaning, compared by the program: how many marks that went, stayed and came are
//! told as such. Not among the tests, because a hundred faces take several minutes:
//!
//!     cargo bench -p cli --bench pairs -- [--faces 100] [--first 1] [--misses] [--keep FOLDER]
//!
//! Half of a face's loose marks go, others come, what belongs to the glass stays; light, focus, place and turn of the two
//! pictures differ. Marks of 2 um and more that show with a contrast of 0.08 and lie on the glass count as
//! missed; a mark that is told counts as false only if nothing of that fate lies there, however small.

#![allow(clippy::unwrap_used, clippy::print_stdout)]

#[path = "../crates/cli/src/picture.rs"]
mod picture;
#[path = "../crates/cli/src/study/truth.rs"]
#[allow(dead_code)]
mod truth;

use serde_json::Value;
use std::path::Path;
use std::process::Command;
use study::against::isolated;
use study::pairing::pair;
use study::seen::SeenMark;
use study::truth::{TrueFibre, TrueMark};
use synth::{Camera, Face, Mark, MarkTruth, On, PositionTruth, Rendered, What, render_face};
use terms::{Kind, Layout};

/// What becomes of a mark, in the words of compare.json.
const FATES: [&str; 3] = ["removed", "remaining", "new"];
const REMOVED: usize = 0;
const REMAINING: usize = 1;
const NEW: usize = 2;

/// Loose marks that go, and of another dirty face's those that come.
const GO: f64 = 0.5;
const COME: f64 = 0.3;

/// What must be told: size and middle's distance from the cladding's, um, and contrast in the picture.
const LEAST_UM: f64 = 2.0;
const WITHIN_UM: f64 = 55.0;
const LEAST_CONTRAST: f64 = 0.08;

fn main() {
    let words: Vec<String> = std::env::args().collect();
    let after = |name: &str| words.iter().position(|w| w == name).and_then(|i| words.get(i + 1));
    let number = |name: &str, other: u64| after(name).and_then(|v| v.parse().ok()).unwrap_or(other);
    let misses = words.iter().any(|w| w == "--misses");
    let keep = after("--keep");
    let layout = profile::layout("mpo-12").unwrap();
    let first = number("--first", 1);
    let mut sum = Tally::default();
    for seed in first..first + number("--faces", 100) {
        let one = Cleaned::new(&layout, seed);
        let kept = keep.map(|folder| Path::new(folder).join(seed.to_string()));
        for line in sum.add(&one.told(kept.as_deref()), &one.truths()) {
            if misses {
                println!("face {seed}: {line}");
            }
        }
    }
    for (k, fate) in FATES.into_iter().enumerate() {
        let share = |part: usize, whole: usize| {
            format!("{:.1} % ({part} of {whole})", 100.0 * part as f64 / whole.max(1) as f64)
        };
        let recall = |alone: usize| share(sum.found[k][alone], sum.there[k][alone]);
        let precision = share(sum.right[k], sum.told[k]);
        println!("{fate}: precision {precision}, recall {}; of marks alone {}", recall(0), recall(1));
    }
}

/// A face before and after.
struct Cleaned {
    criteria: &'static str,
    before: Rendered,
    after: Rendered,
    /// Marks that stay come first on both faces.
    staying: usize,
}

impl Cleaned {
    fn new(layout: &Layout, seed: u64) -> Cleaned {
        // Faces that are pictured in several set-ups are the third of each ten, dirty ones the sixth.
        let round = 10 * (seed % 12) as usize;
        let base = synth::study::face(layout, seed, round + 2);
        let other = synth::study::face(layout, seed, round + 5);
        let chance = |mark: &Mark| (mark.seed >> 11) as f64 / (1u64 << 53) as f64;
        let (going, staying): (Vec<Mark>, Vec<Mark>) =
            base.face.marks.iter().cloned().partition(|m| is_loose(m) && chance(m) < GO);
        let coming = other.face.marks.into_iter().filter(|m| is_loose(m) && chance(m) < COME);
        let with = |more: Vec<Mark>, camera: &Camera| {
            let marks = [staying.clone(), more].concat();
            render_face(&Face { marks, ..base.face.clone() }, camera).unwrap()
        };
        let (before, after) = (&base.cameras[0][0], &base.cameras[1][0]);
        Cleaned {
            criteria: base.criteria,
            before: with(going, before),
            after: with(coming.collect(), after),
            staying: staying.len(),
        }
    }

    /// What the program says of the two: position, fate and mark. Pictures, truth and answer stay in a folder, if one
    /// is given.
    fn told(&self, keep: Option<&Path>) -> Vec<(u16, usize, SeenMark)> {
        let passing = tempfile::tempdir().unwrap();
        let folder = keep.unwrap_or(passing.path());
        std::fs::create_dir_all(folder).unwrap();
        let write = |name: &str, face: &Rendered| {
            let path = folder.join(name);
            std::fs::write(&path, picture::encoded(&face.frame).unwrap()).unwrap();
            std::fs::write(path.with_extension("truth.json"), serde_json::to_string(&face.truth).unwrap())
                .unwrap();
            path
        };
        let pictures = [write("before.png", &self.before), write("after.png", &self.after)];
        let out = folder.join("out");
        let mut program = Command::new(env!("CARGO_BIN_EXE_pitchline"));
        program.arg("compare").args(pictures).args(["--layout", "mpo-12", "--criteria", self.criteria]);
        let ended = program.arg("--out").arg(&out).args(["--no-map", "--quiet"]).output().unwrap();
        match document(&out) {
            Some(document) => marks(&document),
            None => {
                println!("not compared: {}", String::from_utf8_lossy(&ended.stderr).trim());
                Vec::new()
            }
        }
    }

    /// What is true of them, by position.
    fn truths(&self) -> Vec<(u16, Vec<There>)> {
        let of = |face: &Rendered| truth::true_face(&face.truth, &[]).fibres;
        let both = of(&self.before).into_iter().zip(of(&self.after));
        let told = self.before.truth.positions.iter().zip(&self.after.truth.positions);
        let position = |((before, after), (ids_before, ids_after)): (
            (TrueFibre, TrueFibre),
            (&PositionTruth, &PositionTruth),
        )| {
            let blurs = [before.blur, before.blur.max(after.blur), after.blur];
            let fate = |id: usize, other: usize| if id <= self.staying { REMAINING } else { other };
            let first =
                before.marks.iter().zip(&ids_before.marks).map(|(m, told)| (m, told, fate(told.id, REMOVED)));
            let second =
                after.marks.iter().zip(&ids_after.marks).map(|(m, told)| (m, told, fate(told.id, NEW)));
            let all: Vec<_> = first.chain(second.filter(|(.., fate)| *fate == NEW)).collect();
            let marks = all.iter().map(|(m, ..)| (*m).clone()).collect();
            let together = TrueFibre { marks, ..before.clone() };
            let there = |(k, (mark, told, fate)): (usize, &(&TrueMark, &MarkTruth, usize))| There {
                mark: (*mark).clone(),
                fate: *fate,
                counts: counts(mark, &told.shape, blurs[*fate]),
                alone: isolated(&together, k),
            };
            (before.position, all.iter().enumerate().map(there).collect())
        };
        both.zip(told).map(position).collect()
    }
}

/// One mark that is there.
struct There {
    mark: TrueMark,
    fate: usize,
    /// Whether it must be told.
    counts: bool,
    /// Whether no other mark lies near it, before or after.
    alone: bool,
}

fn is_loose(mark: &Mark) -> bool {
    let fixed = matches!(mark.what, What::Scratch { .. } | What::Pit { .. } | What::Chip { .. });
    !fixed && matches!(mark.on, On::Fibre(_))
}

fn document(out: &Path) -> Option<Value> {
    std::fs::read_to_string(out.join("compare.json")).ok()?.parse().ok()
}

/// The marks of a compare.json that are held to a zone.
fn marks(document: &Value) -> Vec<(u16, usize, SeenMark)> {
    let number = |v: &Value| v.as_f64().unwrap();
    let mark = |m: &Value| SeenMark {
        kind: [Kind::Scratch, Kind::Particle, Kind::Pit, Kind::Film, Kind::Chip]
            .into_iter()
            .find(|k| m["kind"] == k.word())
            .unwrap(),
        size: number(&m["size_um"]),
        u: number(&m["u_um"]),
        centre: (number(&m["centre_um"][0]), number(&m["centre_um"][1])),
    };
    let mut all = Vec::new();
    for position in document["positions"].as_array().unwrap() {
        for (k, fate) in FATES.into_iter().enumerate() {
            let held = position[fate].as_array().unwrap().iter().filter(|m| !m["zone"].is_null());
            all.extend(held.map(|m| (position["position"].as_u64().unwrap() as u16, k, mark(m))));
        }
    }
    all
}

/// By fate: marks told and those of them that are right; marks that are there and those of them that are found, all and
/// those alone.
#[derive(Default)]
struct Tally {
    told: [usize; 3],
    right: [usize; 3],
    there: [[usize; 2]; 3],
    found: [[usize; 2]; 3],
}

impl Tally {
    /// Counts a face; tells what is wrong.
    fn add(&mut self, told: &[(u16, usize, SeenMark)], truths: &[(u16, Vec<There>)]) -> Vec<String> {
        let mut wrong = Vec::new();
        for (position, there) in truths {
            for k in [REMOVED, REMAINING, NEW] {
                let truth: Vec<&There> = there.iter().filter(|t| t.fate == k).collect();
                let at = |t: &&(u16, usize, SeenMark)| t.0 == *position && t.1 == k;
                let seen: Vec<SeenMark> = told.iter().filter(at).map(|t| t.2).collect();
                let pairs = pair(&truth.iter().map(|t| t.mark.clone()).collect::<Vec<_>>(), &seen);
                for (mark, explained) in seen.iter().zip(&pairs.explained) {
                    self.told[k] += 1;
                    self.right[k] += usize::from(*explained);
                    if !explained {
                        wrong.push(format!("{position} falsely {}: {mark:?}", FATES[k]));
                    }
                }
                for (mark, found) in truth.iter().zip(&pairs.of_true).filter(|(t, _)| t.counts) {
                    for alone in 0..=usize::from(mark.alone) {
                        self.there[k][alone] += 1;
                        self.found[k][alone] += usize::from(found.is_some());
                    }
                    if found.is_none() {
                        let alone = if mark.alone { "alone" } else { "among others" };
                        wrong.push(format!("{position} missed {} {alone}: {:?}", FATES[k], mark.mark));
                    }
                }
            }
        }
        wrong
    }
}

/// Whether a mark of this truth must be told: size, place, and contrast that the blur leaves, of a droplet by its rim.
fn counts(mark: &TrueMark, shape: &str, blur: f64) -> bool {
    let on_glass = !mark.path.is_empty() || mark.centre.0.hypot(mark.centre.1) < WITHIN_UM;
    let rim = (0.12 * mark.size).clamp(0.3, 1.2);
    let height = match shape {
        "droplet" => mark.contrast.abs() * (rim / (2.5 * blur)).min(1.0),
        _ => mark.height(blur),
    };
    mark.size >= LEAST_UM && height >= LEAST_CONTRAST && on_glass
}
