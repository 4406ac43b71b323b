//! Bad input: status 2, one sentence on stderr that helps, nothing on stdout, and nothing left behind.

use crate::handmade;
use crate::run::{self, MM, Run};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// The folder of one test: a picture that can be graded, and a place for the result.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new() -> Bench {
        Bench { folder: tempfile::tempdir().unwrap() }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn file(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.path(name);
        fs::write(&path, bytes).unwrap();
        path
    }

    /// Grades one input and checks that it is refused as it should be.
    fn refused(&self, input: &Path, what: &str) -> String {
        self.refused_with(input, &["--layout", "mpo-12", "--criteria", MM], what)
    }

    fn refused_with(&self, input: &Path, arguments: &[&str], what: &str) -> String {
        let out = self.path("deep/out");
        let mut command = run::program();
        command.arg("grade").arg(input).args(arguments).arg("--out").arg(&out);
        let sentence = one_sentence(&command.output().unwrap().into(), what);
        assert!(!self.path("deep").exists(), "{what}: a folder was left behind");
        sentence
    }
}

/// Checks status and streams; gives the sentence without the program's name.
fn one_sentence(run: &Run, what: &str) -> String {
    assert_eq!(run.status, 2, "{what}: {}{}", run.stdout, run.stderr);
    assert_eq!(run.stdout, "", "{what}");
    assert_eq!(run.stderr.lines().count(), 1, "{what}: {:?}", run.stderr);
    let sentence = run.stderr.strip_prefix("pitchline: ").unwrap_or_else(|| panic!("{what}: {}", run.stderr));
    assert!(sentence.len() > 25 && !sentence.contains("panicked"), "{what}: {sentence}");
    sentence.trim_end().to_owned()
}

fn fixture(name: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/door").join(name)).unwrap()
}

#[test]
fn an_empty_file() {
    let bench = Bench::new();
    let sentence = bench.refused(&bench.file("face.png", b""), "empty");
    assert!(sentence.ends_with("face.png: the file is empty; save or copy the picture again"), "{sentence}");
}

#[test]
fn a_truncated_file_of_each_format() {
    let bench = Bench::new();
    let cases = [
        ("grey8.png", "PNG"),
        ("ycc420.jpg", "JPEG"),
        ("grey8.tif", "TIFF"),
        ("grey8.bmp", "BMP"),
        ("lossless.webp", "WebP"),
    ];
    for (name, format) in cases {
        let whole = fixture(name);
        let sentence = bench.refused(&bench.file(name, &whole[..whole.len() * 2 / 3]), name);
        let wanted = format!("the {format} file is cut off before its end; copy or save the picture again");
        assert!(sentence.ends_with(&wanted), "{sentence}");
    }
}

#[test]
fn another_kind_of_file() {
    let bench = Bench::new();
    for (name, bytes) in
        [("a.png", &b"hello, this is text"[..]), ("b.jpg", b"%PDF-1.7 ..."), ("c.tif", b"GIF89a..")]
    {
        let sentence = bench.refused(&bench.file(name, bytes), name);
        assert!(sentence.contains("give a PNG, JPEG, TIFF, BMP or WebP file"), "{sentence}");
    }
}

/// Folders in it that hold pictures are named, three at most.
#[test]
fn a_folder_of_folders() {
    let bench = Bench::new();
    let folder = bench.path("day");
    for name in ["d", "c", "b", "a", "0"] {
        fs::create_dir_all(folder.join(name)).unwrap();
        if name != "0" {
            fs::write(folder.join(name).join("face.png"), fixture("grey8.png")).unwrap();
        }
    }
    let sentence = bench.refused(&folder, "a folder of folders");
    let named = ["a", "b", "c"].map(|name| folder.join(name).display().to_string()).join(", ");
    assert!(
        sentence.ends_with(&format!("holds no picture itself; name one that does: {named}")),
        "{sentence}"
    );
}

/// A map is no picture of a face: beside one it is passed over, alone it is refused by its name.
#[test]
fn a_map_that_the_program_drew() {
    let bench = Bench::new();
    let folder = bench.path("face");
    fs::create_dir(&folder).unwrap();
    let picture = run::picture(&folder, "face.png", &run::clean("mpo-12", ""));
    assert_eq!(run::grade(&picture, "mpo-12", &bench.path("out"), &[]).status, 0);
    let map = folder.join("map.png");
    fs::copy(bench.path("out/map.png"), &map).unwrap();
    let both = run::grade(&folder, "mpo-12", &bench.path("again"), &["--no-map"]);
    assert_eq!((both.status, both.stderr.as_str()), (0, ""));
    let sentence = bench.refused(&map, "a map");
    assert!(
        sentence.contains("map.png is a map that pitchline drew; give the picture of the face"),
        "{sentence}"
    );
}

#[test]
fn a_picture_in_the_colours_of_print() {
    let bench = Bench::new();
    for name in ["cmyk.tif", "cmyk.jpg"] {
        let sentence = bench.refused(&bench.file(name, &fixture(name)), name);
        assert!(sentence.ends_with("save it in grey or RGB"), "{sentence}");
    }
}

#[test]
fn a_picture_of_no_size() {
    let bench = Bench::new();
    for (name, bytes) in [
        ("zero.png", handmade::png(0, 9)),
        ("zero.jpg", handmade::jpeg(0, 9)),
        ("zero.tif", handmade::tiff(9, 0)),
        ("zero.bmp", handmade::bmp(0, 9)),
    ] {
        bench.refused(&bench.file(name, &bytes), name);
    }
}

#[test]
fn a_picture_of_one_pixel_and_one_without_a_row() {
    let bench = Bench::new();
    for (name, side) in [("one.png", 1u32), ("flat.png", 700)] {
        let path = bench.path(name);
        image::save_buffer(&path, &vec![90u8; (side * side) as usize], side, side, image::ColorType::L8)
            .unwrap();
        bench.refused(&path, name);
    }
    bench.refused(&bench.file("tiny.png", &fixture("grey8.png")), "23 x 17");
}

#[test]
fn a_header_of_60000_by_60000() {
    let bench = Bench::new();
    for (name, bytes) in [
        ("bomb.png", handmade::png(60_000, 60_000)),
        ("bomb.jpg", handmade::jpeg(60_000, 60_000)),
        ("bomb.tif", handmade::tiff(60_000, 60_000)),
        ("bomb.bmp", handmade::bmp(60_000, 60_000)),
    ] {
        let sentence = bench.refused(&bench.file(name, &bytes), name);
        assert!(sentence.contains("60000 x 60000 pixels, more than the 400 million"), "{sentence}");
    }
}

#[test]
fn an_input_without_end() {
    let bench = Bench::new();
    let sentence = bench.refused(Path::new("/dev/zero"), "/dev/zero");
    assert_eq!(
        sentence,
        "/dev/zero is a pipe or a device and no file; save what it holds as a file and give that"
    );
}

/// A pipe that nobody writes into, and a device without end, in the place of every file that is read.
#[test]
#[cfg(target_os = "linux")]
fn a_pipe_or_a_device_in_the_place_of_a_file() {
    let bench = Bench::new();
    let pipe = bench.path("pipe");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let picture = bench.file("face.png", &fixture("grey8.png"));
    bench.refused(&pipe, "a pipe as picture");
    for thing in [pipe.to_str().unwrap(), "/dev/zero"] {
        for arguments in [
            ["--layout", thing, "--criteria", MM].to_vec(),
            ["--layout", "mpo-12", "--criteria", thing].to_vec(),
            ["--layout", "mpo-12", "--criteria", MM, "--cable", thing].to_vec(),
        ] {
            let sentence = bench.refused_with(&picture, &arguments, thing);
            assert!(sentence.starts_with(&format!("{thing} is a pipe or a device")), "{sentence}");
        }
        for command in [["criteria", thing].to_vec(), ["synth", thing, "--out", "x"].to_vec()] {
            assert!(one_sentence(&run::run(&command), thing).contains("is a pipe or a device"));
        }
        let two = [thing, thing, "--layout", "mpo-12", "--criteria", MM, "--out", "x"];
        let sentence = one_sentence(&run::run(&[&["compare"][..], &two].concat()), thing);
        assert!(sentence.contains("is a pipe or a device"), "{sentence}");
    }
}

#[test]
fn a_text_without_end() {
    let bench = Bench::new();
    let picture = bench.file("face.png", &fixture("grey8.png"));
    let long = bench.file("long.toml", &vec![b'#'; (256 << 10) + 1]);
    let arguments = ["--layout", "mpo-12", "--criteria", long.to_str().unwrap()];
    let sentence = bench.refused_with(&picture, &arguments, "a long text");
    assert!(
        sentence.ends_with(
            "is larger than the 256 KiB that are read of such a text; check that it is the right file"
        ),
        "{sentence}"
    );
}

#[test]
fn the_same_picture_twice() {
    let bench = Bench::new();
    let (one, other) =
        (bench.file("a.png", &fixture("grey8.png")), bench.file("b.png", &fixture("grey8.png")));
    for (first, second) in [(&one, &one), (&one, &other)] {
        let arguments = [second.to_str().unwrap(), "--layout", "mpo-12", "--criteria", MM];
        let sentence = bench.refused_with(first, &arguments, "twice");
        let wanted = format!(
            "{} is the same picture as {}; give each picture once",
            second.display(),
            first.display()
        );
        assert_eq!(sentence, wanted);
    }
}

/// An input must not be lost to the output, by whatever way its place is written.
#[test]
fn an_input_in_the_place_of_an_output() {
    let bench = Bench::new();
    fs::create_dir(bench.path("run")).unwrap();
    let bytes = fixture("grey8.png");
    let picture = bench.file("run/map.png", &bytes);
    let round = bench.path("run/../run/map.png");
    for input in [&picture, &round, &bench.path("run")] {
        for more in [&[][..], &["--no-map"]] {
            let out = bench.path("run");
            let mut command = run::program();
            command.arg("grade").arg(input).args(["--layout", "mpo-12", "--criteria", MM]).args(more);
            let sentence =
                one_sentence(&command.arg("--out").arg(&out).output().unwrap().into(), "over the input");
            assert!(sentence.contains("the result would be written over the input"), "{sentence}");
        }
    }
    let mut command = run::program();
    command.arg("compare").args([&picture, &picture]).args(["--layout", "mpo-12", "--criteria", MM]);
    let run = command.arg("--out").arg(bench.path("run")).output().unwrap().into();
    assert!(one_sentence(&run, "compare").contains("over the input"));
    let scene = bench.file("run/scene.png", b"layout = \"mpo-12\"");
    let run = run::program().arg("synth").arg(&scene).arg("--out").arg(bench.path("run")).output().unwrap();
    assert!(one_sentence(&run.into(), "synth").contains("over the input"));
    assert_eq!(fs::read(&picture).unwrap(), bytes);
    assert_eq!(run::names(&bench.path("run")), ["map.png", "scene.png"]);
}

#[test]
fn folders_that_do_not_serve() {
    let bench = Bench::new();
    fs::create_dir(bench.path("empty")).unwrap();
    assert!(bench.refused(&bench.path("empty"), "empty folder").contains("holds no picture"));
    fs::create_dir(bench.path("notes")).unwrap();
    bench.file("notes/readme.txt", b"no picture");
    assert!(bench.refused(&bench.path("notes"), "folder of notes").contains("holds no picture"));
    let picture = bench.file("face.png", &fixture("grey8.png"));
    let mixed = run::program()
        .args(["grade", "--layout", "mpo-12", "--criteria", MM, "--out"])
        .arg(bench.path("deep/out"))
        .arg(bench.path("notes"))
        .arg(&picture)
        .output()
        .unwrap();
    assert!(one_sentence(&mixed.into(), "folder and file").contains("is a folder among other inputs"));
}

#[test]
fn files_that_cannot_be_read() {
    let bench = Bench::new();
    assert!(bench.refused(&bench.path("none.png"), "missing").contains("there is no such file"));
    let picture = bench.file("face.png", &fixture("grey8.png"));
    let below = picture.join("face.png");
    assert!(bench.refused(&below, "below a file").contains("a part of its path is no folder"));
    #[cfg(unix)]
    {
        let dangling = bench.path("dangling.png");
        std::os::unix::fs::symlink(bench.path("gone.png"), &dangling).unwrap();
        assert!(bench.refused(&dangling, "dangling link").contains("there is no such file"));
        let circle = bench.path("circle.png");
        std::os::unix::fs::symlink(&circle, &circle).unwrap();
        bench.refused(&circle, "a link to itself");
    }
}

/// Memory of a process of its own cannot be read at its start: the one file that root, too, opens and cannot
/// read.
#[test]
#[cfg(target_os = "linux")]
fn a_file_that_opens_and_does_not_read() {
    let bench = Bench::new();
    let sentence = bench.refused(Path::new("/proc/self/mem"), "/proc/self/mem");
    assert!(sentence.starts_with("cannot read /proc/self/mem: "), "{sentence}");
}

#[test]
fn unknown_names() {
    let bench = Bench::new();
    let picture = bench.file("face.png", &fixture("grey8.png"));
    let layout = bench.refused_with(&picture, &["--layout", "mpo-13", "--criteria", MM], "layout");
    assert_eq!(
        layout,
        "there is no layout mpo-13; give mpo-8, mpo-12, mpo-16, mpo-24, mpo-32, or the path of a layout file"
    );
    let criteria = bench.refused_with(&picture, &["--layout", "mpo-12", "--criteria", "iec"], "criteria");
    assert!(
        criteria.starts_with("there are no criteria iec; give an id that `pitchline criteria` lists"),
        "{criteria}"
    );
    let mm = ["--layout", "mpo-12", "--criteria", MM, "--cable"];
    let cable = bench.refused_with(&picture, &[&mm[..], &["type-z"]].concat(), "cable");
    assert!(cable.starts_with("there is no cable type-z; give type-a, type-b"), "{cable}");
}

#[test]
fn broken_files_of_criteria_layout_and_cable() {
    let bench = Bench::new();
    let picture = bench.file("face.png", &fixture("grey8.png"));
    let broken = bench.file("mine.toml", b"id = \"mine\"\nzones = 3\ncolour = \"red\"\n");
    let binary = bench.file("binary.toml", &[0xff, 0xfe, 0x00, 0x80]);
    for file in [&broken, &binary] {
        let file = file.to_str().unwrap();
        let whole = [["--layout", "mpo-12"], ["--criteria", MM]];
        for (option, others) in [
            ("--criteria", [whole[0]].concat()),
            ("--layout", [whole[1]].concat()),
            ("--cable", whole.concat()),
        ] {
            let sentence = bench.refused_with(&picture, &[&others[..], &[option, file]].concat(), option);
            assert!(sentence.contains(file), "{option}: {sentence}");
        }
    }
    let folder = bench.folder.path().to_str().unwrap();
    let sentence =
        bench.refused_with(&picture, &["--layout", folder, "--criteria", MM], "a folder as layout");
    assert!(sentence.contains("it is a folder; give a file"), "{sentence}");
}

#[test]
fn a_scale_that_cannot_be() {
    let bench = Bench::new();
    let picture = bench.path("face.png");
    run::write_png(&run::rendered(&run::clean("mpo-12", "")).frame, &picture);
    let mm = ["--layout", "mpo-12", "--criteria", MM, "--scale"];
    for wrong in ["0", "-1", "NaN", "inf", "half", "1e-7", "60", "0.63"] {
        // Before the picture is read at all.
        let input = if wrong == "0.63" { picture.clone() } else { bench.path("no-such.png") };
        let sentence = bench.refused_with(&input, &[&mm[..], &[wrong]].concat(), wrong);
        if wrong != "0.63" {
            assert!(
                sentence.contains("write a number of micrometres per pixel from 0.01 to 10"),
                "{sentence}"
            );
        } else {
            let both = sentence.contains("0.63 um per pixel")
                && ["0.599", "0.600"].iter().any(|true_scale| sentence.contains(true_scale));
            assert!(both, "{sentence}");
        }
    }
}

/// A wrong layout for what the picture shows.
#[test]
fn a_layout_of_another_connector() {
    let bench = Bench::new();
    let picture = run::picture(bench.folder.path(), "face.png", &run::clean("mpo-16", ""));
    let sentence = bench.refused(&picture, "16 fibres as 12");
    assert!(sentence.contains("layout"), "{sentence}");
}

#[test]
fn misuse_of_the_command_line() {
    for line in [
        "",
        "grade",
        "grade a.png",
        "grade a.png --layout mpo-12 --criteria x --out y --key sideways",
        "grade a.png --layout mpo-12 --criteria x --out y --quiet --json",
        "grade a.png --layout mpo-12 --layout mpo-24 --criteria x --out y",
        "grad a.png",
        "--colour",
        "criteria --toml",
        "criteria nothing",
        "synth",
        "synth no-such-scene.toml --out x",
        "demo",
        "completions klingon",
        "man nothing",
    ] {
        let arguments: Vec<&str> = line.split_whitespace().collect();
        one_sentence(&run::run(&arguments), line);
    }
}

#[test]
fn a_scene_with_faults() {
    let bench = Bench::new();
    let scene = bench
        .file("scene.toml", b"layout = \"mpo-12\"\n[camera]\num_per_px = -1\n[[marks]]\nkind = \"blob\"\n");
    let out = bench.path("deep/out");
    let run = run::program().arg("synth").arg(&scene).arg("--out").arg(&out).output().unwrap().into();
    let sentence = one_sentence(&run, "scene");
    assert!(sentence.contains("line 3") && sentence.contains("line "), "{sentence}");
    assert!(!bench.path("deep").exists());
}
