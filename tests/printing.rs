//! What goes where: text, `--json`, `--quiet`, colour, threads, and the documents' schema.

use crate::run::{self, MM, Run};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use tempfile::TempDir;

/// A picture with a few marks, rendered once.
fn face() -> &'static Path {
    static FACE: OnceLock<(TempDir, PathBuf)> = OnceLock::new();
    let (_, path) = FACE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let scene = run::clean("mpo-12", "turn_deg = 1") + "[dirt]\nlevel = \"moderate\"\nseed = 4\n";
        let path = run::picture(folder.path(), "face.png", &scene);
        (folder, path)
    });
    path
}

fn graded(out: &Path, more: &[&str]) -> Run {
    let run = run::grade(face(), "mpo-12", out, more);
    assert_eq!(run.stderr, "");
    run
}

#[test]
fn json_prints_the_document_that_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let run = graded(folder.path(), &["--json"]);
    assert_eq!(run.stdout, fs::read_to_string(folder.path().join("face.json")).unwrap());
    assert_eq!(run.stdout.parse::<Value>().unwrap()["schema"], "pitchline.face/1");
}

#[test]
fn quiet_prints_nothing_and_writes_the_same() {
    let (loud, quiet) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (a, b) = (graded(loud.path(), &[]), graded(quiet.path(), &["--quiet"]));
    assert_eq!(b.stdout, "");
    assert_eq!(a.status, b.status);
    for name in ["face.json", "map.svg", "map.png"] {
        assert_eq!(fs::read(loud.path().join(name)).unwrap(), fs::read(quiet.path().join(name)).unwrap());
    }
}

/// A map of an earlier face beside a new record would be wrong evidence.
#[test]
fn no_map_takes_an_earlier_runs_maps_away() {
    let folder = tempfile::tempdir().unwrap();
    graded(folder.path(), &[]);
    assert!(folder.path().join("map.png").is_file());
    graded(folder.path(), &["--no-map"]);
    assert!(!folder.path().join("map.png").exists() && !folder.path().join("map.svg").exists());
    assert!(folder.path().join("face.json").is_file());
}

#[test]
fn no_map_leaves_the_maps_out() {
    let folder = tempfile::tempdir().unwrap();
    graded(folder.path(), &["--no-map"]);
    assert_eq!(run::names(folder.path()), ["face.json"]);
}

#[test]
fn text_in_a_pipe_has_no_colours_and_80_columns() {
    let folder = tempfile::tempdir().unwrap();
    let text = graded(&folder.path().join("o"), &["--no-map"]).stdout;
    assert!(!text.contains('\u{1b}'));
    let long = text.lines().find(|l| l.chars().count() > 80 && !l.contains("/o/"));
    assert_eq!(long, None);
}

/// `script` of util-linux gives the program a terminal.
#[test]
#[cfg(target_os = "linux")]
fn a_terminal_gets_colours_unless_it_wants_none() {
    let folder = tempfile::tempdir().unwrap();
    let on_terminal = |settings: &str| {
        let line = format!(
            "env {settings} {} grade {} --layout mpo-12 --criteria {MM} --no-map --out {}",
            env!("CARGO_BIN_EXE_pitchline"),
            face().display(),
            folder.path().join("out").display()
        );
        let mut command = std::process::Command::new("script");
        command.args(["--quiet", "--return", "--command", &line, "/dev/null"]);
        let output = command.env_remove("NO_COLOR").env("TERM", "xterm").output().unwrap();
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    let verdict = |text: &str| text.contains("\u{1b}[1;38;5;166m") || text.contains("\u{1b}[38;5;3");
    assert!(verdict(&on_terminal("LC_ALL=C")));
    assert!(!verdict(&on_terminal("NO_COLOR=1")));
    assert!(!verdict(&on_terminal("TERM=dumb")));
}

#[test]
fn a_reader_that_goes_away_changes_no_status() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let status = graded(&out, &[]).status;
    let script = format!(
        "set -o pipefail; {} grade {} --layout mpo-12 --criteria {MM} --json --out {} | head -c 1 >/dev/null",
        env!("CARGO_BIN_EXE_pitchline"),
        face().display(),
        out.display()
    );
    let run: Run = std::process::Command::new("bash").args(["-c", &script]).output().unwrap().into();
    assert_eq!((run.status, run.stderr.as_str()), (status, ""));
}

#[test]
fn the_number_of_threads_changes_no_byte() {
    let folder = tempfile::tempdir().unwrap();
    let outs = ["1", "2", "5"].map(|threads| {
        let out = folder.path().join(threads);
        let mut command = run::program();
        command.env("RAYON_NUM_THREADS", threads).arg("grade").arg(face());
        let run: Run = command
            .args(["--layout", "mpo-12", "--criteria", MM, "--out"])
            .arg(&out)
            .output()
            .unwrap()
            .into();
        assert_eq!(run.stderr, "");
        ["face.json", "map.svg", "map.png"].map(|name| fs::read(out.join(name)).unwrap())
    });
    assert!(outs[0] == outs[1] && outs[1] == outs[2]);
}

/// The committed schema (JSON Schema 2020-12) by the `jsonschema` package.
#[test]
fn the_document_holds_to_its_schema() {
    let folder = tempfile::tempdir().unwrap();
    let document: Value =
        graded(folder.path(), &["--json", "--no-map", "--cable", "type-a"]).stdout.parse().unwrap();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../profiles/schema/face.schema.json");
    let schema: Value = fs::read_to_string(path).unwrap().parse().unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator.iter_errors(&document).map(|e| e.to_string()).collect();
    assert_eq!(faults, Vec::<String>::new());
    let mut wrong = document.clone();
    wrong["positions"][0]["verdict"] = "maybe".into();
    assert!(!validator.is_valid(&wrong));
}
