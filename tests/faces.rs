//! Whole faces from picture to verdict: where the positions are, what they are graded, which status the program
//! ends with. Made by `synth`, whose truth is the reference.

use crate::run::{self, Run};
use serde_json::Value;
use std::path::Path;
use synth::Truth;
use tempfile::TempDir;

/// A graded face: the program's run, its record, and the truth.
struct Graded {
    run: Run,
    record: Value,
    truth: Truth,
    folder: TempDir,
}

fn graded(scene: &str, layout: &str, more: &[&str]) -> Graded {
    let folder = tempfile::tempdir().unwrap();
    let made = run::rendered(scene);
    let picture = folder.path().join("face.png");
    run::write_png(&made.frame, &picture);
    let out = folder.path().join("out");
    let run = run::grade(&picture, layout, &out, more);
    assert_eq!(run.stderr, "", "{scene}");
    Graded { run, record: run::record(&out), truth: made.truth, folder }
}

impl Graded {
    fn position(&self, number: u64) -> &Value {
        let positions = self.record["positions"].as_array().unwrap();
        positions.iter().find(|p| p["position"].as_u64() == Some(number)).unwrap()
    }

    fn verdicts(&self) -> Vec<(u64, &str)> {
        let positions = self.record["positions"].as_array().unwrap().iter();
        positions.map(|p| (p["position"].as_u64().unwrap(), p["verdict"].as_str().unwrap())).collect()
    }

    /// Every fibre of the truth was found at its position, its centre within a quarter of a pixel: far less
    /// than the pitch, so that no position can be taken for another. Accuracy itself is judged elsewhere.
    fn assert_places(&self, what: &str) {
        for truth in &self.truth.positions {
            let found = self.position(u64::from(truth.position));
            let centre = found["centre_px"].as_array().unwrap_or_else(|| panic!("{what}: {found}"));
            let [dx, dy] = [0, 1].map(|i| centre[i].as_f64().unwrap() - truth.centre_px[i]);
            assert!(dx.hypot(dy) < 0.25, "{what}: position {} is off by {dx}, {dy}", truth.position);
        }
    }
}

const PARTICLE: &str =
    "[[marks]]\nkind = \"particle\"\nposition = 5\nat_um = [4, -3]\nsize_um = 14\ncontrast = -0.7\n";

#[test]
fn a_clean_face_passes_with_status_0() {
    let face = graded(&run::clean("mpo-12", ""), "mpo-12", &[]);
    assert_eq!(face.run.status, 0, "{}", face.run.stdout);
    assert_eq!(face.record["verdict"], "pass");
    face.assert_places("clean");
    assert_eq!(run::names(&face.folder.path().join("out")), ["face.json", "map.png", "map.svg"]);
    assert!(face.run.stdout.contains("(P) PASS"), "{}", face.run.stdout);
}

/// 14 um in zone A: none over 5 um is allowed there (edition 2, multimode).
#[test]
fn a_large_particle_on_a_core_fails_its_position_with_status_1() {
    let face = graded(&(run::clean("mpo-12", "") + PARTICLE), "mpo-12", &[]);
    assert_eq!(face.run.status, 1, "{}", face.run.stdout);
    let failed: Vec<u64> = face.verdicts().iter().filter(|v| v.1 == "fail").map(|v| v.0).collect();
    assert_eq!(failed, [5]);
    let reasons = face.position(5)["reasons"].to_string();
    assert!(reasons.contains("zone A"), "{reasons}");
    assert!(face.run.stdout.contains("[F] FAIL"), "{}", face.run.stdout);
}

/// The picture ends in the middle of position 12.
#[test]
fn a_cut_picture_is_ungraded_with_status_3() {
    let camera = "middle_um = [-150, 0]";
    let face = graded(&run::clean("mpo-12", camera), "mpo-12", &[]);
    assert_eq!(face.run.status, 3, "{}", face.run.stdout);
    assert_eq!(face.record["verdict"], "ungraded");
    assert_eq!(face.position(12)["verdict"], "ungraded");
    assert_ne!(face.position(12)["reasons"].as_array().unwrap().len(), 0);
    assert!(face.verdicts().iter().take(11).all(|v| v.1 == "pass"), "{:?}", face.verdicts());
}

#[test]
fn a_face_out_of_focus_passes_nowhere() {
    let face = graded(&run::clean("mpo-12", "").replace("blur_um = 0.55", "blur_um = 4"), "mpo-12", &[]);
    assert_eq!(face.run.status, 3, "{}", face.run.stdout);
    assert!(face.verdicts().iter().all(|v| v.1 == "ungraded"), "{:?}", face.verdicts());
}

/// Key up and down, mirrored and not, one row and two: the position that is dirty is always found as what it is.
#[test]
fn all_eight_views_are_numbered_as_the_key_says() {
    for layout in ["mpo-12", "mpo-24"] {
        for key in ["up", "down"] {
            for mirrored in [false, true] {
                let camera = format!("key = \"{key}\"\nmirrored = {mirrored}\nturn_deg = 2");
                let mut view = vec!["--key", key, "--no-map"];
                if mirrored {
                    view.push("--mirrored");
                }
                let what = format!("{layout} {view:?}");
                let face = graded(&(run::clean(layout, &camera) + PARTICLE), layout, &view);
                face.assert_places(&what);
                let failed: Vec<u64> =
                    face.verdicts().iter().filter(|v| v.1 == "fail").map(|v| v.0).collect();
                assert_eq!(failed, [5], "{what}");
                assert_eq!(face.record["view"]["key"], key);
                assert_eq!(face.record["view"]["mirrored"], mirrored);
            }
        }
    }
}

#[test]
fn every_layout_is_graded() {
    for layout in ["mpo-8", "mpo-16", "mpo-32"] {
        let face = graded(&run::clean(layout, ""), layout, &["--no-map"]);
        face.assert_places(layout);
        assert_eq!(face.run.status, 0, "{layout}: {}", face.run.stdout);
    }
}

/// The same picture in 16 bit, in other formats and under a wrong name: the verdicts do not change.
#[test]
fn the_way_of_storing_changes_no_verdict() {
    let scene = run::clean("mpo-12", "bits = 16") + PARTICLE;
    let made = run::rendered(&scene);
    let folder = tempfile::tempdir().unwrap();
    let deep = folder.path().join("deep.png");
    run::write_png(&made.frame, &deep);
    let eight = image::open(&deep).unwrap().to_luma8();
    let colour = image::DynamicImage::ImageLuma8(eight.clone()).to_rgb8();
    eight.save(folder.path().join("eight.bmp")).unwrap();
    eight.save(folder.path().join("eight.tif")).unwrap();
    colour.save(folder.path().join("colour.webp")).unwrap();
    colour.save(folder.path().join("colour.png")).unwrap();
    std::fs::copy(folder.path().join("eight.tif"), folder.path().join("misnamed.jpg")).unwrap();
    for name in ["deep.png", "eight.bmp", "eight.tif", "colour.webp", "colour.png", "misnamed.jpg"] {
        let out = folder.path().join("out").join(name);
        let run = run::grade(&folder.path().join(name), "mpo-12", &out, &["--no-map"]);
        assert_eq!(run.status, 1, "{name}: {}{}", run.stdout, run.stderr);
        let positions = run::record(&out)["positions"].clone();
        let failed = positions.as_array().unwrap().iter().filter(|p| p["verdict"] == "fail");
        assert_eq!(failed.map(|p| p["position"].as_u64().unwrap()).collect::<Vec<_>>(), [5], "{name}");
    }
}

/// A scale within 2 % of the picture's is taken, and said to be stated.
#[test]
fn a_stated_scale_is_taken() {
    let face = graded(&run::clean("mpo-12", ""), "mpo-12", &["--scale", "0.603", "--no-map"]);
    assert_eq!(face.record["scale"]["method"], "stated");
    assert_eq!(face.record["scale"]["um_per_px"], 0.603);
}

#[test]
fn a_cable_tells_the_verdict_by_channel() {
    let face = graded(&(run::clean("mpo-12", "") + PARTICLE), "mpo-12", &["--cable", "type-b", "--no-map"]);
    let channels = face.record["polarity"]["channels"].as_array().unwrap();
    let dirty = channels.iter().find(|c| c["near"] == 5).unwrap();
    // Type B: position 1 reaches 12 (TIA-568.3), so 5 reaches 8.
    assert_eq!((dirty["far"].as_u64(), dirty["verdict"].as_str()), (Some(8), Some("fail")));
}

/// A folder that holds one picture, and notes beside it, is that picture.
#[test]
fn a_folder_of_one_picture_is_that_picture() {
    let folder = tempfile::tempdir().unwrap();
    let pictures = folder.path().join("pictures");
    std::fs::create_dir(&pictures).unwrap();
    run::picture(&pictures, "face.png", &run::clean("mpo-12", ""));
    std::fs::write(pictures.join("notes.txt"), "from the store room").unwrap();
    let run = run::grade(&pictures, "mpo-12", &folder.path().join("out"), &["--no-map"]);
    assert_eq!(run.status, 0, "{}{}", run.stdout, run.stderr);
    assert_eq!(run::record(&folder.path().join("out"))["sources"][0]["file"], "face.png");
}

/// FIPS 180-4 by another program: `sha256sum` of coreutils.
#[test]
fn the_source_is_named_with_its_hash_and_size() {
    let face = graded(&run::clean("mpo-12", ""), "mpo-12", &["--no-map"]);
    let source = &face.record["sources"][0];
    let picture: &Path = &face.folder.path().join("face.png");
    let sum = std::process::Command::new("sha256sum").arg(picture).output().unwrap();
    let sum = String::from_utf8(sum.stdout).unwrap();
    assert_eq!(source["sha256"].as_str(), sum.split_whitespace().next());
    assert_eq!(source["width_px"].as_u64(), Some(face.truth.width_px as u64));
    assert_eq!(source["height_px"].as_u64(), Some(face.truth.height_px as u64));
}

/// A pass rests on every limit: where all are recalled, the text says so.
#[test]
fn a_pass_by_limits_from_memory_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let picture = run::picture(folder.path(), "face.png", &run::clean("mpo-12", ""));
    let out = folder.path().join("out");
    let mut command = run::program();
    command.arg("grade").arg(&picture).args(["--layout", "mpo-12", "--criteria", "iec-61300-3-35-ed1-mm"]);
    let told: run::Run = command.arg("--no-map").arg("--out").arg(&out).output().unwrap().into();
    assert_eq!(told.status, 0, "{}", told.stdout);
    let said = "All limits of these criteria are from memory: check them against the standard.";
    assert_eq!(told.stdout.lines().nth(1), Some(said), "{}", told.stdout);
}

/// Limits of one kind of fibres say nothing of an application that runs on the other.
#[test]
fn an_application_on_other_fibres_than_the_criteria_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let picture = run::picture(folder.path(), "face.png", &run::clean("mpo-12", ""));
    let with = |criteria: &str| -> run::Run {
        let mut command = run::program();
        command.arg("grade").arg(&picture).args(["--layout", "mpo-12", "--criteria", criteria, "--no-map"]);
        let out = folder.path().join("out");
        command.args(["--application", "40gbase-sr4", "--out"]).arg(out).output().unwrap().into()
    };
    let refused = with("iec-61300-3-35-ed2-sm-pc-rl45");
    assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stderr);
    let said = "runs on multimode fibres, which criteria iec-61300-3-35-ed2-sm-pc-rl45 are not for; name criteria for \
                multimode fibres";
    assert!(refused.stderr.contains(said), "{}", refused.stderr);
    assert_ne!(with(run::MM).status, 2);
}
