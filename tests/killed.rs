//! A run that is killed while it writes: every file is whole, as it was or as it was to be, and the next run leaves
//! nothing behind but its own.

use crate::run::{self, MM};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;
use tempfile::TempDir;

const FILES: [&str; 3] = ["face.json", "map.png", "map.svg"];

struct Bench {
    folder: TempDir,
}

impl Bench {
    /// A picture, and another whose marks differ.
    fn new() -> Bench {
        let folder = tempfile::tempdir().unwrap();
        let mark = "[[marks]]\nkind = \"particle\"\nposition = 3\nat_um = [4, -3]\nsize_um = 14\n";
        run::picture(folder.path(), "old.png", &run::clean("mpo-8", ""));
        run::picture(folder.path(), "new.png", &run::clean("mpo-8", mark));
        Bench { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn grade(&self, picture: &str, out: &str) -> Command {
        let mut command = run::program();
        command.arg("grade").arg(self.path(picture)).args(["--layout", "mpo-8", "--criteria", MM, "--quiet"]);
        command.arg("--out").arg(self.path(out)).stdout(Stdio::null()).stderr(Stdio::null());
        command
    }

    fn files(&self, out: &str) -> Vec<Vec<u8>> {
        FILES.iter().map(|name| fs::read(self.path(out).join(name)).unwrap()).collect()
    }
}

/// Whether a run has begun to write into a folder, told by the hidden files that it writes first.
fn is_writing(folder: &Path) -> bool {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries.into_iter().any(|e| e.file_name().to_string_lossy().starts_with('.'))
}

/// Starts a run, kills it so long after it began to write, if it still runs; whether it was killed.
fn kill(mut command: Command, folder: &Path, after: Duration) -> bool {
    let mut child = command.spawn().unwrap();
    while !is_writing(folder) && child.try_wait().unwrap().is_none() {
        std::thread::sleep(Duration::from_micros(100));
    }
    std::thread::sleep(after);
    // On a system without signals this ends the process just as hard.
    let _ = child.kill();
    child.wait().unwrap().code().is_none()
}

#[test]
fn a_run_that_is_killed_leaves_whole_files_and_the_next_cleans_up() {
    let bench = Bench::new();
    for picture in ["old", "new"] {
        bench.grade(&format!("{picture}.png"), picture).status().unwrap();
    }
    let (old, new) = (bench.files("old"), bench.files("new"));
    assert!(old.iter().zip(&new).all(|(a, b)| a != b));
    let mut killed = 0;
    for after in [0, 100, 300, 600, 1000, 1500, 2000, 3000, 5000, 8000] {
        bench.grade("old.png", "out").status().unwrap();
        assert_eq!(run::names(&bench.path("out")), FILES);
        killed +=
            i32::from(kill(bench.grade("new.png", "out"), &bench.path("out"), Duration::from_micros(after)));
        let found = bench.files("out");
        for (i, file) in found.iter().enumerate() {
            assert!(*file == old[i] || *file == new[i], "{} after {after} us", FILES[i]);
        }
        // The document comes last: it never tells of a face whose maps are not there yet.
        assert!(found[0] == old[0] || found == new, "after {after} us");
    }
    assert!(killed >= 3, "only {killed} runs were killed while they wrote");
    bench.grade("new.png", "out").status().unwrap();
    assert_eq!(run::names(&bench.path("out")), FILES);
    assert_eq!(bench.files("out"), new);
}

/// What a killed run left among pictures is not taken for one of them.
#[test]
fn a_hidden_file_is_no_picture_of_the_run() {
    let bench = Bench::new();
    let pictures = bench.path("pictures");
    fs::create_dir(&pictures).unwrap();
    fs::copy(bench.path("old.png"), pictures.join("1.png")).unwrap();
    fs::copy(bench.path("new.png"), pictures.join(".map.png.7.pitchline-part")).unwrap();
    bench.grade("pictures", "out").status().unwrap();
    let sources = run::record(&bench.path("out"))["sources"].as_array().unwrap().len();
    assert_eq!(sources, 1);
}

/// The pages of a job tell of one job or the other, and `job.html` of none whose other files are not there yet.
#[test]
fn a_hand_over_that_is_killed_leaves_whole_pages() {
    let bench = Bench::new();
    for (cable, picture) in [("TR-1", "old.png"), ("TR-2", "new.png")] {
        let connector = format!("site/{cable}/A");
        bench.grade(picture, &connector).status().unwrap();
        fs::copy(bench.path(picture), bench.path(&connector).join(picture)).unwrap();
    }
    let hand_over = |title: &str, out: &str| {
        let mut command = run::program();
        command.arg("handover").arg(bench.path("site")).args([
            "--date",
            "2026-11-25",
            "--quiet",
            "--title",
            title,
        ]);
        command.arg("--out").arg(bench.path(out)).stdout(Stdio::null()).stderr(Stdio::null());
        command
    };
    for title in ["old", "new"] {
        hand_over(title, title).status().unwrap();
    }
    let names = run::names(&bench.path("old"));
    let bytes =
        |out: &str| names.iter().map(|n| fs::read(bench.path(out).join(n)).unwrap()).collect::<Vec<_>>();
    let (old, new, job) = (bytes("old"), bytes("new"), names.iter().position(|n| n == "job.html").unwrap());
    let mut killed = 0;
    for after in [0, 300, 1000, 2000, 4000, 8000] {
        hand_over("old", "out").status().unwrap();
        let run = hand_over("new", "out");
        killed += i32::from(kill(run, &bench.path("out"), Duration::from_micros(after)));
        let found = bytes("out");
        for (i, file) in found.iter().enumerate() {
            assert!(*file == old[i] || *file == new[i], "{} after {after} us", names[i]);
        }
        assert!(found[job] == old[job] || found == new, "after {after} us");
    }
    assert!(killed >= 2, "only {killed} runs were killed while they wrote");
    hand_over("new", "out").status().unwrap();
    assert_eq!((run::names(&bench.path("out")), bytes("out")), (names.clone(), new));
}
