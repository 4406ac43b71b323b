//! `pitchline study`: made-up faces, pictures of the user's own, and what it refuses.

use crate::run::{MM, Run, clean, names, picture, program, rendered, run, write_png};
use serde_json::Value;
use std::fs;
use std::path::Path;

fn document(folder: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(folder.join("study.json")).unwrap()).unwrap()
}

fn schema_faults(document: &Value) -> Vec<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles/schema/study.schema.json");
    let schema: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    validator.iter_errors(document).map(|e| format!("{} {e}", e.instance_path())).collect()
}

/// One made-up face holds dozens of targets; its pictures and so its figures are the same for any number of threads.
#[test]
fn made_up_faces_give_the_same_figures_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let made = |threads: &str| -> (Run, std::path::PathBuf) {
        let out = folder.path().join(threads);
        let mut command = program();
        command.args(["study", "--faces", "1", "--seed", "3", "--out"]).arg(&out);
        (command.env("RAYON_NUM_THREADS", threads).output().unwrap().into(), out)
    };
    let ((one, out), (two, other)) = (made("1"), made("2"));
    assert_eq!((one.status, one.stderr.as_str(), two.status), (0, "", 0));
    assert_eq!(names(&out), ["detection.svg", "study.json"]);
    for name in names(&out) {
        assert_eq!(fs::read(out.join(&name)).unwrap(), fs::read(other.join(&name)).unwrap(), "{name}");
    }
    let document = document(&out);
    assert_eq!(schema_faults(&document), [""; 0]);
    let classes = document["truth"]["detection"].as_array().unwrap();
    let targets: u64 = classes.iter().map(|c| c["seen"]["of"].as_u64().unwrap()).sum();
    assert!(targets > 30, "{targets}");
    assert!(document["repeats"].is_null());
    assert!(one.stdout.contains("Detection (um)") && one.stdout.lines().all(|l| l.chars().count() <= 96));
}

const MARK: &str = "\n[[marks]]\nkind = \"particle\"\nposition = 2\nat_um = [5, 5]\nsize_um = 7\ncontrast = -0.5\n\
                    [[marks]]\nkind = \"particle\"\nposition = 3\nat_um = [-8, 2]\nsize_um = 12\ncontrast = -0.5\n";

/// Two faces, each twice, without truth: as one has them from one's own camera.
fn own_pictures(folder: &Path) {
    for (face, seed) in [("a", 1), ("b", 2)] {
        fs::create_dir(folder.join(face)).unwrap();
        for noise in [5, 6] {
            let scene = clean("mpo-8", &format!("seed = {noise}")) + MARK;
            let scene = scene.replacen("seed = 7", &format!("seed = {seed}"), 1);
            picture(&folder.join(face), &format!("{noise}.png"), &scene);
        }
    }
}

fn study(folder: &Path, out: &Path, more: &[&str]) -> Run {
    let mut command = program();
    command.arg("study").arg(folder).arg("--out").arg(out).args(more);
    command.output().unwrap().into()
}

#[test]
fn pictures_of_ones_own_give_the_repeatability_alone() {
    let folder = tempfile::tempdir().unwrap();
    let (pictures, out) = (folder.path().join("pictures"), folder.path().join("out"));
    fs::create_dir(&pictures).unwrap();
    own_pictures(&pictures);
    let run = study(&pictures, &out, &["--layout", "mpo-8", "--criteria", MM]);
    assert_eq!((run.status, run.stderr.as_str()), (0, ""));
    let document = document(&out);
    assert_eq!(schema_faults(&document), [""; 0]);
    assert!(document["truth"].is_null());
    let repeats = &document["repeats"];
    assert_eq!((&repeats["faces"], &repeats["pictures_each"]), (&2.into(), &2.into()));
    assert_eq!(repeats["verdicts"]["always_same"]["count"], 16);
    assert_eq!(repeats["marks_always_seen"]["count"], 4);
    // Sizes of two particles under other noise: nearly the same, and far apart from each other.
    let gauge = &repeats["gauges"][0];
    assert!(gauge["anova"]["repeatability_um"].as_f64().unwrap() < 0.3, "{gauge}");
    assert!(run.stdout.contains("Repeated looks at 2 faces: 1 set-up, 2 pictures each"), "{}", run.stdout);
    assert!(!run.stdout.contains("Detection"));
}

/// A picture with its truth beside it names its own layout and criteria, and is held to what is true.
#[test]
fn pictures_with_truth_are_held_to_it() {
    let folder = tempfile::tempdir().unwrap();
    let (pictures, out) = (folder.path().join("pictures"), folder.path().join("out"));
    fs::create_dir(&pictures).unwrap();
    let made = rendered(&(clean("mpo-8", "") + MARK));
    write_png(&made.frame, &pictures.join("x.png"));
    let truth = synth::Truth { criteria: Some(MM.to_owned()), ..made.truth };
    fs::write(pictures.join("x.truth.json"), serde_json::to_string(&truth).unwrap()).unwrap();
    let run = study(&pictures, &out, &["--json"]);
    assert_eq!((run.status, run.stderr.as_str()), (0, ""));
    let document = document(&out);
    assert_eq!(document, serde_json::from_str::<Value>(&run.stdout).unwrap());
    let truth = &document["truth"];
    // Seven and twelve um in zone A fail two fibres; the other six are clean and pass.
    assert_eq!(truth["verdicts"]["agree"]["count"], 8, "{}", truth["verdicts"]);
    assert_eq!(truth["false_calls"]["clean_fibres"], 6);
    assert_eq!(truth["refused_gradable"]["count"], 0);
}

fn refused(run: &Run, words: &str) {
    assert_eq!(run.status, 2, "{}", run.stderr);
    assert_eq!(run.stderr.lines().count(), 1, "{}", run.stderr);
    assert!(run.stderr.contains(words), "{}", run.stderr);
}

#[test]
fn what_cannot_be_studied_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (pictures, out) = (folder.path().join("pictures"), folder.path().join("out"));
    fs::create_dir_all(pictures.join("a")).unwrap();
    refused(&study(&pictures, &out, &[]), "holds nothing to study");
    refused(&study(&folder.path().join("none"), &out, &[]), "there is no such file");
    let small = image::GrayImage::from_pixel(64, 64, image::Luma([128]));
    small.save(pictures.join("a/1.png")).unwrap();
    refused(&study(&pictures, &out, &[]), "two or more pictures of that face");
    small.save(pictures.join("a/2.png")).unwrap();
    refused(&study(&pictures, &out, &[]), "state it with --layout");
    refused(&study(&pictures, &out, &["--layout", "mpo-8"]), "state it with --criteria");
    fs::write(pictures.join("a/2.truth.json"), "{}").unwrap();
    refused(&study(&pictures, &out, &["--layout", "mpo-8", "--criteria", MM]), "is no truth of a picture");
    assert!(!out.exists());
    let out = out.display().to_string();
    for wrong in [["--faces", "0"], ["--faces", "many"], ["--seed", "-1"], ["--layout", "mpo-8"]] {
        assert_eq!(run(&[["study", "--out", &out].as_slice(), &wrong].concat()).status, 2, "{wrong:?}");
    }
    let both = [["study", "pictures", "--faces"], ["3", "--out", &out]].concat();
    assert_eq!(run(&both).status, 2);
}
