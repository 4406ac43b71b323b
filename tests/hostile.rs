//! Names and texts that came from others: nothing in them writes outside the folder named by `--out`, breaks a document
//! or commands a terminal; numbers beyond sense are refused.

use crate::run::{self, MM};
use std::fs;
use std::path::Path;

/// A name that would end an element, an attribute, a line and a terminal's patience.
const NAME: &str = "a\"><script>alert(1)<!--&amp;'\u{1b}[2J\n.png";

fn grade(input: &Path, layout: &Path, criteria: &str, out: &Path) -> run::Run {
    let mut command = run::program();
    command.arg("grade").arg(input).arg("--layout").arg(layout).args(["--criteria", criteria, "--out"]);
    command.arg(out).output().unwrap().into()
}

#[test]
#[cfg(unix)]
fn a_hostile_name_stays_a_text() {
    let folder = tempfile::tempdir().unwrap();
    let picture = run::picture(folder.path(), NAME, &run::clean("mpo-8", ""));
    let out = folder.path().join("out\u{1b}[2J");
    let run = grade(&picture, Path::new("mpo-8"), MM, &out);
    assert_eq!(run.status, 0, "{}", run.stderr);
    assert!(!run.stdout.contains('\u{1b}'), "{:?}", run.stdout);
    // Words of the map are drawn, not written, but for what is read aloud.
    let svg = fs::read_to_string(out.join("map.svg")).unwrap();
    assert!(roxmltree::Document::parse(&svg).is_ok() && !svg.contains("<script"));
    assert_eq!(run::record(&out)["sources"][0]["file"], NAME);
    let mut names = run::names(folder.path());
    names.retain(|name| name != NAME);
    assert_eq!(names, ["out\u{1b}[2J"]);
    let gone = grade(&folder.path().join("no\u{1b}]0;x\u{7}.png"), Path::new("mpo-8"), MM, &out);
    assert_eq!((gone.status, gone.stderr.lines().count()), (2, 1));
    assert!(!gone.stderr.trim_end().contains(char::is_control), "{:?}", gone.stderr);
}

/// A title stands in what is read aloud of a map.
#[test]
fn a_hostile_title_is_escaped() {
    const TITLE: &str = "</desc><script>alert(1)</script> & 'mine'";
    let folder = tempfile::tempdir().unwrap();
    let picture = run::picture(folder.path(), "face.png", &run::clean("mpo-8", ""));
    let (criteria, out) = (folder.path().join("mine.toml"), folder.path().join("out"));
    let built_in = profile::criteria_text(MM).unwrap();
    let title = built_in.lines().find(|line| line.starts_with("title")).unwrap();
    fs::write(&criteria, built_in.replace(title, &format!("title = \"{TITLE}\""))).unwrap();
    let run = grade(&picture, Path::new("mpo-8"), criteria.to_str().unwrap(), &out);
    assert_eq!(run.status, 0, "{}", run.stderr);
    let svg = fs::read_to_string(out.join("map.svg")).unwrap();
    let document = roxmltree::Document::parse(&svg).unwrap();
    assert!(document.descendants().all(|node| node.tag_name().name() != "script"));
    assert!(document.descendants().any(|node| node.text().is_some_and(|text| text.contains(TITLE))));
}

/// Bytes that are no text in any language.
#[test]
#[cfg(target_os = "linux")]
fn a_name_that_is_no_text_is_read_all_the_same() {
    use std::os::unix::ffi::OsStrExt;
    let folder = tempfile::tempdir().unwrap();
    let odd = folder.path().join(std::ffi::OsStr::from_bytes(b"f\xff\xfe.png"));
    fs::rename(run::picture(folder.path(), "a.png", &run::clean("mpo-8", "")), &odd).unwrap();
    let run = grade(&odd, Path::new("mpo-8"), MM, &folder.path().join("out"));
    assert_eq!(run.status, 0, "{}", run.stderr);
    let file = run::record(&folder.path().join("out"))["sources"][0]["file"].clone();
    assert_eq!(file, "f\u{fffd}\u{fffd}.png");
}

/// Scenes are the one input whose name the result takes on.
#[test]
fn the_name_of_a_scene_does_not_lead_out_of_the_folder() {
    let folder = tempfile::tempdir().unwrap();
    for (n, name) in ["..toml", "...toml", ".toml", "a..toml"].iter().enumerate() {
        let scene = folder.path().join(name);
        fs::write(&scene, run::clean("mpo-8", "")).unwrap();
        let out = folder.path().join(format!("deep/{n}"));
        let run =
            run::program().arg("synth").arg(&scene).arg("--quiet").arg("--out").arg(&out).output().unwrap();
        assert!(run.status.success(), "{name}: {}", String::from_utf8_lossy(&run.stderr));
        assert_eq!(run::names(&out).len(), 2, "{name}");
    }
    assert_eq!(run::names(&folder.path().join("deep")), ["0", "1", "2", "3"]);
    assert_eq!(run::names(folder.path()), ["...toml", "..toml", ".toml", "a..toml", "deep"]);
}

/// Ids stand in documents and arguments: letters, digits and a few signs.
#[test]
fn an_id_that_is_a_path_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let picture = run::picture(folder.path(), "face.png", &run::clean("mpo-8", ""));
    let built_in = include_str!("../profiles/layouts/mpo-8.toml");
    for id in ["../up", "/etc/x", "a\\u0000b", "a<b"] {
        let layout = folder.path().join("mine.toml");
        fs::write(&layout, built_in.replace("id = \"mpo-8\"", &format!("id = \"{id}\""))).unwrap();
        let run = grade(&picture, &layout, MM, &folder.path().join("out"));
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{id}: {}", run.stderr);
    }
    assert!(!folder.path().join("out").exists());
}

/// A record names its picture by a bare name; a path in its place is not followed.
#[test]
fn a_record_does_not_lead_to_other_folders() {
    let folder = tempfile::tempdir().unwrap();
    let picture = run::picture(folder.path(), "face.png", &run::clean("mpo-8", ""));
    let out = folder.path().join("out");
    assert_eq!(grade(&picture, Path::new("mpo-8"), MM, &out).status, 0);
    let text = fs::read_to_string(out.join("face.json")).unwrap();
    let moved = folder.path().join("moved.json");
    for file in ["../face.png", "/etc/passwd", "..", ".", "", "./face.png"] {
        let other = text.replace("\"file\": \"face.png\"", &format!("\"file\": {file:?}"));
        assert_ne!(other, text);
        fs::write(&moved, other).unwrap();
        let mut command = run::program();
        command.arg("compare").args([&moved, &picture]).args([
            "--layout",
            "mpo-8",
            "--criteria",
            MM,
            "--out",
        ]);
        let run: run::Run = command.arg(folder.path().join("compared")).output().unwrap().into();
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{file}: {}", run.stderr);
    }
    assert!(!folder.path().join("compared").exists());
}

#[test]
fn a_record_without_end_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("long.json");
    let zeros = fs::File::create(&record).unwrap();
    zeros.set_len((32 << 20) + 1).unwrap();
    let mut command = run::program();
    command.arg("compare").args([&record, &record]).args(["--layout", "mpo-8", "--criteria", MM, "--out"]);
    let run: run::Run = command.arg(folder.path().join("out")).output().unwrap().into();
    assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
    assert!(run.stderr.contains("is larger than the 32 MiB that are read"), "{}", run.stderr);
}

/// Nesting that would exhaust the stack, and lists that would exhaust the memory of a careless reader.
#[test]
fn deep_and_long_documents_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let picture = run::picture(folder.path(), "face.png", &run::clean("mpo-8", ""));
    let deep = |open: &str, close: &str, n: usize| open.repeat(n) + &close.repeat(n);
    let record = folder.path().join("deep.json");
    for text in [
        deep("[", "]", 200_000),
        deep("{\"schema\":", "}", 200_000),
        format!("{{\"schema\": \"pitchline.face/1\", \"tool\": {}}}", deep("[", "]", 100_000)),
    ] {
        fs::write(&record, text).unwrap();
        let mut command = run::program();
        command.arg("compare").args([&record, &picture]).args([
            "--layout",
            "mpo-8",
            "--criteria",
            MM,
            "--out",
        ]);
        let run: run::Run = command.arg(folder.path().join("out")).output().unwrap().into();
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
        assert!(run.stderr.contains("it is no JSON or is cut short"), "{}", run.stderr);
    }
    let file = folder.path().join("deep.toml");
    for text in [
        format!("grid = {}", deep("[", "]", 100_000)),
        format!("a = {}1{}", "{ b = ".repeat(30_000), " }".repeat(30_000)),
        format!("[{}]\n", vec!["a"; 100_000].join(".")),
        format!("grid = [[{}]]", "1, ".repeat(80_000)),
    ] {
        fs::write(&file, text).unwrap();
        for command in [
            &["grade", "face.png", "--layout", "deep.toml", "--criteria", MM, "--out", "out"][..],
            &["grade", "face.png", "--layout", "mpo-8", "--criteria", "deep.toml", "--out", "out"],
            &[
                "grade",
                "face.png",
                "--layout",
                "mpo-8",
                "--criteria",
                MM,
                "--cable",
                "deep.toml",
                "--out",
                "out",
            ],
            &["synth", "deep.toml", "--out", "out"],
        ] {
            let run: run::Run =
                run::program().args(command).current_dir(folder.path()).output().unwrap().into();
            assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{command:?} {}", run.stderr);
            assert!(!run.stderr.contains("fault of the program"), "{}", run.stderr);
            assert!(run.stderr.len() < 20_000, "{} bytes", run.stderr.len());
        }
    }
    assert!(!folder.path().join("out").exists());
}

/// Every one of them was told, each with the line that had to be counted for it: quarter of a minute, and megabytes.
#[test]
fn a_file_of_nothing_but_faults_is_refused_in_a_few_lines() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("faults.toml");
    let faults: String = (0..25_000).map(|n| format!("k{n}=1\n")).collect();
    fs::write(&file, &faults).unwrap();
    let checked = run::run(&[Path::new("criteria"), &file]);
    assert_eq!((checked.status, checked.stderr.lines().count()), (2, 1), "{}", checked.stderr);
    assert!((200..220).contains(&checked.stdout.lines().count()), "{} lines", checked.stdout.lines().count());
    assert!(checked.stdout.contains("there are more faults than these"));
    let scene = run::run(&[Path::new("synth"), &file, Path::new("--out"), &folder.path().join("out")]);
    assert_eq!((scene.status, scene.stderr.lines().count()), (2, 1));
    assert!(scene.stderr.len() < 20_000 && scene.stderr.trim_end().ends_with("more"), "{}", scene.stderr);
    assert!(!folder.path().join("out").exists());
}

#[test]
fn numbers_beyond_sense_are_refused() {
    let huge = "9".repeat(400);
    for number in ["NaN", "inf", "-inf", "-1", "0", "1e308", "99999999999999999999", &huge] {
        for option in ["scale", "guard"] {
            let stated = format!("--{option}={number}");
            let run =
                run::run(&["grade", "x.png", "--layout", "mpo-8", "--criteria", MM, "--out", "o", &stated]);
            assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{stated}: {}", run.stderr);
            assert!(run.stderr.contains("invalid value"), "{}", run.stderr);
        }
    }
    for number in ["NaN", "-1", "0", "100001", "1e3", &huge] {
        let run = run::run(&["study", "--out", "o", &format!("--faces={number}")]);
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{number}: {}", run.stderr);
    }
    for sight in ["", "=", "1=", "70000=x.png", "-1=x.png", "0=x.png", "1,=x.png", "1"] {
        let run = run::run(&["polarity", sight, "--layout", "mpo-8"]);
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{sight}: {}", run.stderr);
    }
}

/// Folders name cables and connectors; a title is a free text.
#[test]
#[cfg(unix)]
fn a_hostile_name_of_a_cable_stays_a_text() {
    let folder = tempfile::tempdir().unwrap();
    let picture = run::picture(folder.path(), "face.png", &run::clean("mpo-8", ""));
    let connector = folder.path().join("site").join(format!("={NAME}")).join(NAME);
    assert_eq!(grade(&picture, Path::new("mpo-8"), MM, &connector).status, 0);
    fs::copy(&picture, connector.join("face.png")).unwrap();
    let (site, out) = (folder.path().join("site"), folder.path().join("out"));
    let mut command = run::program();
    command.arg("handover").arg(&site).args(["--date", "2026-11-25", "--title", NAME, "--out"]).arg(&out);
    let run: run::Run = command.output().unwrap().into();
    assert_eq!((run.status, run.stderr.as_str()), (0, ""));
    assert!(!run.stdout.contains('\u{1b}'), "{:?}", run.stdout);
    assert_eq!(run::names(folder.path()), ["face.png", "out", "site"]);
    for name in run::names(&out) {
        let bytes = fs::read(out.join(&name)).unwrap();
        if name.ends_with(".html") {
            let text = String::from_utf8(bytes).unwrap();
            let page = roxmltree::Document::parse(text.strip_prefix("<!DOCTYPE html>\n").unwrap()).unwrap();
            assert!(page.descendants().all(|node| node.tag_name().name() != "script"), "{name}");
        } else if name.ends_with(".csv") {
            assert!(!String::from_utf8(bytes).unwrap().lines().any(|line| line.starts_with(['=', '"'])
                && line.trim_start_matches('"').starts_with('=')), "{name}");
        }
    }
}
