//! Results that cannot be written: status 2, one sentence, and nothing half written.

use crate::run::{self, MM, Run};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use tempfile::TempDir;

/// A picture that can be graded, rendered once.
fn face() -> &'static Path {
    static FACE: OnceLock<(TempDir, PathBuf)> = OnceLock::new();
    let (_, path) = FACE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let path = run::picture(folder.path(), "face.png", &run::clean("mpo-12", ""));
        (folder, path)
    });
    path
}

fn refused(out: &Path) -> String {
    sentence(&run::grade(face(), "mpo-12", out, &[]))
}

fn sentence(run: &Run) -> String {
    assert_eq!(run.status, 2, "{}{}", run.stdout, run.stderr);
    assert_eq!(run.stderr.lines().count(), 1, "{:?}", run.stderr);
    run.stderr.trim_end().to_owned()
}

#[test]
fn below_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("notes.txt");
    fs::write(&file, "notes").unwrap();
    for out in [file.clone(), file.join("out"), file.join("deep/out")] {
        assert!(refused(&out).contains("choose another folder with --out"));
    }
    assert_eq!(fs::read_to_string(&file).unwrap(), "notes");
    assert_eq!(run::names(folder.path()), ["notes.txt"]);
}

/// A file system that makes no folders says so as if something were missing.
#[test]
#[cfg(target_os = "linux")]
fn in_a_file_system_of_the_system() {
    let said = refused(Path::new("/proc/pitchline"));
    assert!(said.ends_with("nothing can be made there; choose another folder with --out"), "{said}");
}

#[test]
fn a_folder_in_the_way_of_a_file() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("map.png")).unwrap();
    assert!(refused(folder.path()).contains("a folder of that name is in the way"));
    assert_eq!(run::names(folder.path()), ["map.png"]);
}

/// The files of an earlier run stay as they were.
#[test]
fn an_earlier_result_survives_a_failure() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("map.png")).unwrap();
    fs::write(folder.path().join("face.json"), "earlier").unwrap();
    refused(folder.path());
    assert_eq!(fs::read_to_string(folder.path().join("face.json")).unwrap(), "earlier");
    assert_eq!(run::names(folder.path()), ["face.json", "map.png"]);
}

/// /proc takes no folder from anyone, root included.
#[test]
#[cfg(target_os = "linux")]
fn where_nobody_may_write() {
    assert!(refused(Path::new("/proc/pitchline")).starts_with("pitchline: cannot write /proc/pitchline"));
}

/// A terminal or disk that takes nothing: what was to be printed is not, and then nothing is written either.
#[test]
#[cfg(target_os = "linux")]
fn a_full_standard_output() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    for option in ["--json", "--no-map"] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let mut command = run::program();
        command
            .arg("grade")
            .arg(face())
            .args(["--layout", "mpo-12", "--criteria", MM, option, "--out"])
            .arg(&out);
        let run = command.stdout(full).output().unwrap().into();
        assert!(sentence(&run).contains("cannot print: no space left on device"), "{option}");
        assert!(!out.exists());
    }
}

/// Shell commands that end in a disk at `$disk` with `$room` bytes: a file system of that size, mounted in a name space
/// of its own; where that is not allowed, as in many containers, the shared memory of at most 1 GiB that they have,
/// filled up.
#[cfg(target_os = "linux")]
const FULL_DISKS: [(&[&str], &str); 3] = [
    (&["unshare", "--mount"], "mount -t tmpfs -o size=$room tmpfs $disk"),
    (&["unshare", "--user", "--map-root-user", "--mount"], "mount -t tmpfs -o size=$room tmpfs $disk"),
    (
        &["env"],
        "disk=$(mktemp -d /dev/shm/pitchline.XXXXXX) && trap 'rm -rf $disk' EXIT && \
         [ $(df --output=size /dev/shm | tail -1) -le 1048576 ] && \
         ! cat /dev/zero 2>/dev/null >$disk/filling && truncate -s -$room $disk/filling",
    ),
];

/// Every command that writes; those that draw a map have room for their document and not for it.
#[test]
#[cfg(target_os = "linux")]
fn a_full_disk() {
    let folder = tempfile::tempdir().unwrap();
    let disk = folder.path().join("disk");
    fs::create_dir(&disk).unwrap();
    let other = run::picture(folder.path(), "other.png", &run::clean("mpo-12", "seed = 3"));
    let opposite = run::clean("mpo-12", "").replace("seed = 7", "seed = 8");
    let opposite = run::picture(folder.path(), "opposite.png", &opposite);
    let scene = folder.path().join("scene.toml");
    fs::write(&scene, run::clean("mpo-8", "")).unwrap();
    let connector = folder.path().join("site/TR-1/A");
    assert!(run::grade(face(), "mpo-12", &connector, &["--no-map"]).status < 2);
    fs::copy(face(), connector.join("face.png")).unwrap();
    let site = folder.path().join("site").display().to_string();
    let opposite = opposite.to_str().unwrap();
    let (face, other, scene) = (face().to_str().unwrap(), other.to_str().unwrap(), scene.to_str().unwrap());
    let by = ["--layout", "mpo-12", "--criteria", MM];
    let commands: [(&str, &[&str], &str); 7] = [
        ("grade", &[&[face][..], &by].concat(), "65536"),
        ("compare", &[&[face, other][..], &by].concat(), "65536"),
        ("mated", &[&[face, opposite][..], &by, &["--adapter", "type-b"]].concat(), "65536"),
        ("study", &["--faces", "1"], "8192"),
        ("synth", &[scene], "8192"),
        ("demo", &[], "8192"),
        ("handover", &[&site, "--date", "2026-11-25"], "8192"),
    ];
    for (command, arguments, room) in commands {
        let run = FULL_DISKS
            .iter()
            .map(|(wrapper, fill)| on_a_full_disk(&disk, wrapper, fill, room, command, arguments))
            .find(|run| run.status != 99)
            .expect("no way to have a full disk: neither a name space to mount one in nor a small /dev/shm");
        let sentence = sentence(&run);
        assert!(sentence.contains("the disk is full; free some space"), "{command}: {sentence}");
        assert_eq!(run.stdout, "", "{command} left something behind");
    }
}

/// Runs a command where the disk fills up and prints what is left in the folder; status 99 if there is no such place.
#[cfg(target_os = "linux")]
fn on_a_full_disk(
    disk: &Path,
    wrapper: &[&str],
    fill: &str,
    room: &str,
    command: &str,
    arguments: &[&str],
) -> Run {
    let script = format!(
        "{fill} || exit 99; $program \"$@\" --quiet --out $disk/deep/out
         status=$?; find $disk/deep 2>/dev/null; exit $status"
    );
    let mut shell = Command::new(wrapper[0]);
    shell.args(&wrapper[1..]).args(["sh", "-c", &script, "sh", command]).args(arguments);
    shell.env("disk", disk).env("room", room).env("program", env!("CARGO_BIN_EXE_pitchline"));
    shell.output().unwrap().into()
}

/// A limit on the size of files, as a quota would be: the second file does not fit, the first is taken back.
#[test]
#[cfg(unix)]
fn a_file_size_limit() {
    let folder = tempfile::tempdir().unwrap();
    let script = format!(
        "trap '' XFSZ; ulimit -f 100; exec $program grade $face --layout mpo-12 --criteria {MM} --quiet --out $out"
    );
    let mut command = Command::new("sh");
    command.args(["-c", &script]).env("face", face()).env("program", env!("CARGO_BIN_EXE_pitchline"));
    let run: Run = command.env("out", folder.path().join("deep/out")).output().unwrap().into();
    assert!(sentence(&run).contains("cannot write"), "{}", run.stderr);
    assert_eq!(run::names(folder.path()), [""; 0]);
}
