//! One face pictured, stored or cut otherwise is graded alike; and dirt that comes on top never helps. Faces of four
//! fibres from fixed seeds, each verdict far from any limit.

use crate::run::{self, MM, Run};
use imaging::{Frame, Samples};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const LAYOUT: &str = "id = \"four\"\ntitle = \"Four fibres in a row\"\ngrid = [[1, 2, 3, 4]]\npitch = 250\n\
                      cladding = 125\n[guides]\nspacing = 4600\ndiameter = 700\n";

/// A large particle on a core, a wide scratch through the next; the others clean but for a speck far out.
const MARKS: &str = "
[[marks]]
kind = \"particle\"
position = 2
at_um = [4, -3]
size_um = 15
contrast = -0.7
[[marks]]
kind = \"scratch\"
position = 3
path_um = [[-70, -18], [70, 14]]
width_um = 6
contrast = -0.5
[[marks]]
kind = \"particle\"
position = 4
at_um = [-35, 30]
size_um = 3
contrast = -0.6
";

/// What the marks come to by the criteria of most tests.
const VERDICTS: [&str; 4] = ["pass", "fail", "fail", "pass"];

struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new() -> Bench {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("four.toml"), LAYOUT).unwrap();
        Bench { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, input: &Path, out: &str, more: &[&str], threads: &str) -> Run {
        let mut command = run::program();
        command.arg("grade").arg(input).arg("--layout").arg(self.path("four.toml"));
        command.args(["--criteria", MM, "--out"]).arg(self.path(out)).args(more);
        command.env("RAYON_NUM_THREADS", threads).output().unwrap().into()
    }

    /// Verdicts of a picture, by position.
    fn verdicts(&self, frame: &Frame, more: &[&str]) -> Vec<String> {
        let picture = self.path("face.png");
        run::write_png(frame, &picture);
        let run = self.run(&picture, "out", &[&["--no-map"], more].concat(), "2");
        assert_eq!(run.stderr, "");
        verdicts(&run::record(&self.path("out")))
    }
}

fn verdicts(record: &Value) -> Vec<String> {
    let positions = record["positions"].as_array().unwrap().iter();
    positions.map(|p| p["verdict"].as_str().unwrap().to_owned()).collect()
}

fn pictured(um_per_px: f64, camera: &str, marks: &str) -> Frame {
    let scene = format!(
        "layout = \"four\"\n[face]\nseed = 11\n[camera]\num_per_px = {um_per_px}\nmargin_um = [150, 140]\nblur_um = 0.55\n\
         signal_to_noise = 60\n{camera}\n{marks}"
    );
    let layout = profile::parse_layout("four.toml", LAYOUT).unwrap();
    synth::render(&synth::parse_scene("scene", &scene).unwrap(), &layout).unwrap().frame
}

/// The pixels of 8 bit, row by row.
fn rows(frame: &Frame) -> Vec<Vec<u8>> {
    let Samples::Eight(v) = frame.samples() else { panic!("8 bit") };
    v.chunks_exact(frame.width()).map(<[u8]>::to_vec).collect()
}

fn frame(rows: &[Vec<u8>]) -> Frame {
    Frame::new(rows[0].len(), rows.len(), Samples::Eight(rows.concat())).unwrap()
}

/// The part of a picture from (x, y) on.
fn cut(rows: &[Vec<u8>], x: usize, y: usize, width: usize, height: usize) -> Frame {
    let part: Vec<Vec<u8>> = rows[y..y + height].iter().map(|row| row[x..x + width].to_vec()).collect();
    frame(&part)
}

#[test]
fn a_face_turned_or_mirrored_and_said_to_be_is_graded_alike() {
    let bench = Bench::new();
    let upright = rows(&pictured(0.6, "", MARKS));
    let mirrored = |rows: &[Vec<u8>]| -> Vec<Vec<u8>> {
        rows.iter().map(|row| row.iter().rev().copied().collect()).collect()
    };
    let upside_down: Vec<Vec<u8>> = upright.iter().rev().cloned().collect();
    for (picture, options) in [
        (upright.clone(), &[][..]),
        (mirrored(&upright), &["--mirrored"]),
        (mirrored(&upside_down), &["--key", "down"]),
        (upside_down, &["--key", "down", "--mirrored"]),
    ] {
        assert_eq!(bench.verdicts(&frame(&picture), options), VERDICTS, "{options:?}");
    }
}

#[test]
fn a_brighter_a_shifted_and_a_rescaled_picture_is_graded_alike() {
    let bench = Bench::new();
    let plain = rows(&pictured(0.6, "", MARKS));
    let (width, height) = (plain[0].len(), plain.len());
    for (times, plus) in [(1.4, 0.0), (0.6, 0.0), (0.8, 30.0)] {
        let level = |v: u8| (f64::from(v) * times + plus).round().clamp(0.0, 255.0) as u8;
        let other: Vec<Vec<u8>> = plain.iter().map(|row| row.iter().map(|&v| level(v)).collect()).collect();
        assert_eq!(bench.verdicts(&frame(&other), &[]), VERDICTS, "times {times} plus {plus}");
    }
    for (x, y) in [(1, 0), (13, 7), (60, 41)] {
        let other = cut(&plain, x, y, width - x, height - y);
        assert_eq!(bench.verdicts(&other, &[]), VERDICTS, "from {x}, {y} on");
    }
    for um_per_px in [0.5, 0.75] {
        let scaled = |n: usize| (n as f64 * 0.6 / um_per_px) as u32;
        let picture = image::GrayImage::from_vec(width as u32, height as u32, plain.concat()).unwrap();
        let filter = image::imageops::FilterType::CatmullRom;
        let other = image::imageops::resize(&picture, scaled(width), scaled(height), filter);
        let other =
            Frame::new(other.width() as usize, other.height() as usize, Samples::Eight(other.into_raw()));
        assert_eq!(bench.verdicts(&other.unwrap(), &[]), VERDICTS, "resampled to {um_per_px}");
        assert_eq!(bench.verdicts(&pictured(um_per_px, "", MARKS), &[]), VERDICTS, "taken at {um_per_px}");
    }
}

#[test]
fn more_dirt_never_turns_a_fail_into_a_pass() {
    let bench = Bench::new();
    for (level, seed) in [("light", 1), ("light", 2), ("moderate", 3), ("heavy", 4), ("filthy", 5)] {
        let dirt = format!("[dirt]\nlevel = \"{level}\"\nseed = {seed}\n");
        let found = bench.verdicts(&pictured(0.6, "", &(dirt + MARKS)), &[]);
        for position in [1, 2] {
            assert_ne!(found[position], "pass", "{level} {seed}: {found:?}");
        }
    }
}

/// Pictures that step along the face, cut from one.
#[test]
fn the_direction_of_travel_changes_nothing() {
    let bench = Bench::new();
    let whole = rows(&pictured(0.6, "", MARKS));
    let (width, height) = (whole[0].len(), whole.len());
    let wide = 900;
    let steps: Vec<usize> = (0..4).map(|i| i * (width - wide) / 3).collect();
    let taken = |folder: &str, steps: &mut dyn Iterator<Item = &usize>| {
        let path = bench.path(folder);
        fs::create_dir(&path).unwrap();
        for (n, &x) in (1..).zip(steps) {
            run::write_png(&cut(&whole, x, 0, wide, height), &path.join(format!("{n}.png")));
        }
        let run = bench.run(&path, &format!("{folder}-out"), &["--no-map"], "2");
        assert_eq!(run.stderr, "");
        run::record(&bench.path(&format!("{folder}-out")))
    };
    let (there, back) = (taken("there", &mut steps.iter()), taken("back", &mut steps.iter().rev()));
    assert_eq!(verdicts(&there), VERDICTS);
    assert_eq!(verdicts(&back), VERDICTS);
}

#[test]
fn every_file_is_the_same_on_any_number_of_threads() {
    let bench = Bench::new();
    let picture = bench.path("face.png");
    run::write_png(&pictured(0.6, "", MARKS), &picture);
    let files = |threads: &str| {
        let run = bench.run(&picture, threads, &[], threads);
        assert_eq!(run.status, 1, "{}", run.stderr);
        ["face.json", "map.svg", "map.png"].map(|name| fs::read(bench.path(threads).join(name)).unwrap())
    };
    let one = files("1");
    for threads in ["2", "5"] {
        assert!(files(threads) == one, "{threads} threads");
    }
}
