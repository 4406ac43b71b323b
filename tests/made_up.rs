//! `pitchline demo` and `pitchline synth`: what they write can be graded, and is what they say.

use crate::run::{self, run};
use std::fs;

#[test]
fn the_demo_runs_and_its_last_command_grades_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("demo");
    let demo = run(&["demo", "--out", out.to_str().unwrap()]);
    assert_eq!((demo.status, demo.stderr.as_str()), (0, ""), "{}", demo.stdout);
    assert!(demo.stdout.lines().count() <= 14, "{}", demo.stdout);
    for face in synth::demo::scenario().faces {
        let mut wanted: Vec<String> = ["face.json", "map.png", "map.svg"].map(str::to_owned).to_vec();
        wanted.extend(["png", "toml", "truth.json"].map(|kind| format!("{}.{kind}", face.name)));
        wanted.sort();
        assert_eq!(run::names(&out.join(face.name)), wanted);
    }
    let line = demo.stdout.lines().find(|l| l.starts_with("  pitchline grade ")).unwrap();
    let arguments: Vec<&str> = line.split_whitespace().skip(1).collect();
    let again = run(&arguments);
    assert_eq!(again.stderr, "");
    let picture = std::path::Path::new(arguments[1]);
    let demo_record = fs::read(picture.with_file_name("face.json")).unwrap();
    assert_eq!(fs::read(out.join("again/face.json")).unwrap(), demo_record);
    // It writes again over its own files, and not over another's.
    assert_eq!(run(&["demo", "--quiet", "--out", out.to_str().unwrap()]).status, 0);
    for name in ["face.json", "map.png"] {
        let mine = picture.with_file_name(name);
        let own = fs::read(&mine).unwrap();
        fs::write(&mine, "mine").unwrap();
        let refused = run(&["demo", "--quiet", "--out", out.to_str().unwrap()]);
        assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stderr);
        assert!(refused.stderr.contains("does not show that pitchline wrote it"), "{}", refused.stderr);
        assert_eq!(fs::read(&mine).unwrap(), b"mine");
        fs::write(&mine, own).unwrap();
    }
}

/// A picture or a truth of one's own under the name of a scene's is not written over.
#[test]
fn a_rendered_scene_spares_what_is_another_s() {
    let folder = tempfile::tempdir().unwrap();
    let (scene, out) = (folder.path().join("a.toml"), folder.path().join("out"));
    fs::write(&scene, run::clean("mpo-8", "")).unwrap();
    let made = || run(&["synth", scene.to_str().unwrap(), "--quiet", "--out", out.to_str().unwrap()]);
    assert_eq!(made().status, 0);
    fs::write(&scene, run::clean("mpo-8", "seed = 3")).unwrap();
    assert_eq!(made().stderr, "");
    for (name, mine) in [("a.png", "mine"), ("a.truth.json", "{\"schema\": \"mine\"}")] {
        let path = out.join(name);
        let own = fs::read(&path).unwrap();
        fs::write(&path, mine).unwrap();
        let refused = made();
        assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stderr);
        assert_eq!(fs::read_to_string(&path).unwrap(), mine);
        fs::write(&path, own).unwrap();
    }
    assert_eq!(made().stderr, "");
}

#[test]
fn a_rendered_scene_can_be_graded_as_it_says() {
    let folder = tempfile::tempdir().unwrap();
    let scene = folder.path().join("my face.toml");
    let text = run::clean("mpo-12", "key = \"down\"\nmirrored = true");
    fs::write(&scene, format!("criteria = \"{}\"\n{text}", run::MM)).unwrap();
    let out = folder.path().join("faces");
    let made = run(&["synth", scene.to_str().unwrap(), "--out", out.to_str().unwrap()]);
    assert_eq!((made.status, made.stderr.as_str()), (0, ""));
    assert_eq!(run::names(&out), ["my face.png", "my face.truth.json"]);
    let line = made.stdout.lines().find(|l| l.starts_with("  pitchline grade ")).unwrap();
    let command = line.replacen("pitchline", env!("CARGO_BIN_EXE_pitchline"), 1);
    let status = std::process::Command::new("sh").args(["-c", &command]).output().unwrap().status;
    assert_eq!(status.code(), Some(0), "{command}");
}

#[test]
fn the_same_scene_gives_the_same_bytes_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let scene = folder.path().join("scene.toml");
    fs::write(&scene, run::clean("mpo-8", "bits = 16")).unwrap();
    let pictures = ["1", "3"].map(|threads| {
        let out = folder.path().join(threads);
        let mut command = run::program();
        command
            .env("RAYON_NUM_THREADS", threads)
            .arg("synth")
            .arg(&scene)
            .arg("--quiet")
            .arg("--out")
            .arg(&out);
        assert_eq!(command.output().unwrap().stdout, b"");
        fs::read(out.join("scene.png")).unwrap()
    });
    assert!(pictures[0] == pictures[1]);
}
