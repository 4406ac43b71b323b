//! Stepped runs from files to documents: whatever the order, the view and the layout, a position is the one that the
//! renderer drew, and what a run lacks is told by the names of its files.

use crate::run::{self, Run};
use imaging::Frame;
use serde_json::Value;
use std::path::Path;
use synth::{Camera, Face, FacePlan, Form, GuideLook, Mark, On, What};
use terms::{Key, Layout, View};

/// A face with one large particle, and cameras that step along it.
struct Steps {
    layout: Layout,
    face: Face,
    view: View,
    /// Where the row begins and ends to be pictured, um.
    reach_um: f64,
    /// Height of a picture beyond the rows' own, um.
    height_um: f64,
    um_per_px: f64,
    /// Places to leave out, of the pictures in their order along the face.
    without: Vec<usize>,
}

/// The position that fails.
const MARKED: u16 = 3;

impl Steps {
    fn new(layout: &str) -> Steps {
        let layout = profile::layout(layout).unwrap();
        let mut face = Face::new(&layout, &FacePlan { seed: 11, ..FacePlan::default() });
        let what = What::Particle { at: (12.0, 15.0), size_um: 14.0, contrast: -0.6, form: Form::Rounded };
        face.put(Mark { on: On::Fibre(MARKED), what, seed: 4 });
        let reach_um = f64::from(layout.columns - 1) * 125.0 + 120.0;
        Steps {
            layout,
            face,
            view: View::default(),
            reach_um,
            height_um: 320.0,
            um_per_px: 0.7,
            without: vec![],
        }
    }

    /// A picture so wide, um.
    fn camera(&self, width_um: f64) -> Camera {
        let rows = f64::from(self.layout.rows - 1) * self.layout.row_pitch.0;
        Camera {
            width_px: (width_um / self.um_per_px) as usize,
            height_px: ((self.height_um + rows) / self.um_per_px) as usize,
            um_per_px: self.um_per_px,
            view: self.view,
            blur_um: 0.8 * self.um_per_px,
            ..Camera::default()
        }
    }

    /// Along the face from its left.
    fn frames(&self) -> Vec<Frame> {
        let count = (2.0 * self.reach_um / 360.0).ceil() as usize + 1;
        let camera = |i: usize| Camera {
            middle_um: (-self.reach_um + 2.0 * self.reach_um * i as f64 / (count - 1) as f64, (i % 3) as f64),
            seed: i as u64,
            ..self.camera(600.0)
        };
        let all = (0..count).filter(|i| !self.without.contains(i));
        all.map(|i| synth::render_face(&self.face, &camera(i)).unwrap().frame).collect()
    }
}

/// Writes the pictures of a run along a face of 8 fibres; returns how many.
pub fn written(folder: &Path) -> usize {
    let frames = Steps::new("mpo-8").frames();
    write(&frames, folder);
    frames.len()
}

/// Writes pictures in this order as 01.png, 02.png and so on.
fn write(frames: &[Frame], folder: &Path) {
    std::fs::create_dir_all(folder).unwrap();
    for (i, frame) in frames.iter().enumerate() {
        run::write_png(frame, &folder.join(format!("{:02}.png", i + 1)));
    }
}

fn graded(frames: &[Frame], layout: &str, more: &[&str]) -> (Run, Option<Value>) {
    let folder = tempfile::tempdir().unwrap();
    let pictures = folder.path().join("run");
    write(frames, &pictures);
    let out = folder.path().join("out");
    let run = run::grade(&pictures, layout, &out, more);
    let record = out.join("face.json").exists().then(|| run::record(&out));
    (run, record)
}

/// Positions of each verdict.
fn with_verdict(record: &Value, verdict: &str) -> Vec<u64> {
    let positions = record["positions"].as_array().unwrap().iter();
    positions.filter(|p| p["verdict"] == verdict).map(|p| p["position"].as_u64().unwrap()).collect()
}

#[test]
fn order_and_view_of_the_pictures_change_no_position() {
    let views = [(Key::Up, false), (Key::Down, false), (Key::Up, true), (Key::Down, true)];
    for (n, (key, mirrored)) in views.into_iter().enumerate() {
        let mut frames = Steps { view: View { key, mirrored }, ..Steps::new("mpo-8") }.frames();
        match n {
            1 => frames.reverse(),
            2 => frames.swap(1, 5),
            3 => frames.rotate_left(3),
            _ => {}
        }
        let mut more = vec!["--no-map"];
        more.extend(if key == Key::Down { &["--key", "down"][..] } else { &[] });
        more.extend(mirrored.then_some("--mirrored"));
        let (run, record) = graded(&frames, "mpo-8", &more);
        assert_eq!(run.status, 1, "{key:?} {mirrored}: {} {}", run.stdout, run.stderr);
        let record = record.unwrap();
        assert_eq!(with_verdict(&record, "fail"), [u64::from(MARKED)], "{key:?} {mirrored}");
        assert_eq!(with_verdict(&record, "pass").len(), 7, "{key:?} {mirrored}: {}", run.stdout);
        let mark = &record["positions"][2]["features"][0]["centre_um"];
        let (x, y) = (mark[0].as_f64().unwrap(), mark[1].as_f64().unwrap());
        assert!((x - 12.0).abs() < 1.0 && (y - 15.0).abs() < 1.0, "{key:?} {mirrored}: {mark}");
    }
}

/// What a camera saved twice counts once, wherever it stands.
#[test]
fn a_picture_that_a_run_holds_twice_changes_nothing() {
    let frames = Steps::new("mpo-8").frames();
    let (_, once) = graded(&frames, "mpo-8", &["--no-map"]);
    for at in [4, frames.len()] {
        let mut twice = frames.clone();
        twice.insert(at, frames[3].clone());
        let (run, record) = graded(&twice, "mpo-8", &["--no-map"]);
        assert_eq!(run.status, 1, "{}", run.stderr);
        let (record, once) = (record.unwrap(), once.clone().unwrap());
        assert_eq!(record["sources"].as_array().unwrap().len(), frames.len());
        for (one, other) in
            record["positions"].as_array().unwrap().iter().zip(once["positions"].as_array().unwrap())
        {
            assert_eq!(one["features"], other["features"], "{at}");
            assert_eq!(one["verdict"], other["verdict"], "{at}");
        }
    }
}

#[test]
fn a_picture_that_is_lacking_is_asked_for_by_its_neighbours_and_by_what_it_must_show() {
    let frames = Steps { without: vec![4, 5], ..Steps::new("mpo-12") }.frames();
    let (run, record) = graded(&frames, "mpo-12", &["--no-map"]);
    assert_eq!(run.status, 1, "{}", run.stderr);
    let record = record.unwrap();
    let open = with_verdict(&record, "ungraded");
    assert!(!open.is_empty() && !open.contains(&1) && !open.contains(&12), "{open:?}");
    let one_line = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(one_line.contains("take one more between 04.png and 05.png, showing position"), "{}", run.stdout);
    assert!(!one_line.contains("whole row"), "{}", run.stdout);
    assert!(one_line.contains("take the picture that its reason asks for"), "{}", run.stdout);
    let named: Vec<String> = open.iter().map(u64::to_string).collect();
    let [first @ .., last] = &named[..] else { panic!("no gap") };
    let listed = if first.is_empty() { last.clone() } else { format!("{} and {last}", first.join(", ")) };
    assert!(one_line.contains(&format!("{listed} whole")), "{listed}: {}", run.stdout);
}

#[test]
fn the_wrong_layout_is_refused_by_what_the_pictures_show() {
    let twelve = Steps::new("mpo-12").frames();
    let two_rows = Steps::new("mpo-24").frames();
    let cases = [
        (&twelve, "mpo-16", "layout mpo-16 has 16"),
        (&twelve, "mpo-8", "layout mpo-8"),
        (&two_rows, "mpo-12", "layout mpo-12"),
    ];
    for (frames, layout, said) in cases {
        let (run, record) = graded(frames, layout, &["--no-map"]);
        assert_eq!((run.status, record), (2, None), "{layout}: {} {}", run.stdout, run.stderr);
        let together = format!("01.png and {} more put together: ", frames.len() - 1);
        assert!(run.stderr.contains(&together), "{layout}: {}", run.stderr);
        assert!(run.stderr.contains(said) && run.stderr.contains("--layout"), "{layout}: {}", run.stderr);
    }
    // Pictures that do not reach where the second row would lie cannot tell which of the two this one is.
    let (run, record) = graded(&twelve, "mpo-24", &["--no-map"]);
    let text = record.unwrap()["positions"][0]["reasons"][0]["text"].to_string();
    assert_eq!(run.status, 3, "{}", run.stdout);
    let said = "the picture shows 1 row of fibres and the layout has 2: if the connector has one row, name its layout";
    assert!(text.contains(said), "{text}");
}

/// Pictures in which both guide holes show wholly, and one of all at once, read by a layout that differs by its guide holes
/// alone.
#[test]
fn guide_holes_that_are_not_the_layouts_are_an_error_that_says_how_far_apart_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("wide.toml");
    let row: Vec<String> = (1..=12).map(|p| p.to_string()).collect();
    let layout = format!(
        "id = \"wide\"\ntitle = \"Twelve with wide guides\"\ngrid = [[{}]]\npitch = 250\ncladding = 125\n\
         [guides]\nspacing = 5300\ndiameter = 550\n",
        row.join(", ")
    );
    std::fs::write(&file, layout).unwrap();
    let face = Steps::new("mpo-12").face;
    let picture = |width_px: usize, x: f64| {
        let (middle_um, seed) = ((x, 0.0), (x + 9000.0) as u64);
        let shot = Camera {
            width_px,
            height_px: 900,
            um_per_px: 1.0,
            blur_um: 0.8,
            middle_um,
            seed,
            ..Camera::default()
        };
        synth::render_face(&face, &shot).unwrap().frame
    };
    let parts = [-1850.0, 0.0, 1850.0].map(|x| picture(2400, x)).to_vec();
    for frames in [parts, vec![picture(5800, 0.0)]] {
        let (run, record) = graded(&frames, file.to_str().unwrap(), &["--no-map"]);
        assert_eq!((run.status, record), (2, None), "{} {}", run.stdout, run.stderr);
        let one_line = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        let says = "guide holes 18.4 times the fibres' pitch apart, those of layout wide are 21.2 times";
        assert!(one_line.contains(says) && one_line.contains("--layout"), "{one_line}");
    }
}

/// Debris 75 um beyond the rim of the left guide hole, in pictures as high as the hole or that do not reach it.
#[test]
fn guide_holes_pins_and_what_lies_at_them_are_told() {
    let graded = |look: GuideLook, reach_um: f64| {
        let mut steps = Steps { height_um: 1000.0, um_per_px: 1.0, reach_um, ..Steps::new("mpo-12") };
        steps.face.guides = look;
        let at = (-2300.0 + 60.0, 350.0 + 75.0);
        let what = What::Particle { at, size_um: 60.0, contrast: -0.9, form: Form::Rounded };
        steps.face.put(Mark { on: On::Face, what, seed: 8 });
        graded(&steps.frames(), "mpo-12", &["--no-map"]).1.unwrap()
    };
    let at_guide = |record: &Value| {
        let marks = record["face_marks"].as_array().unwrap().iter();
        let there: Vec<Value> =
            marks.filter(|m| m["at_guide"] == true).map(|m| m["centre_um"].clone()).collect();
        there
    };
    assert_eq!(graded(GuideLook::Open, 1500.0)["guides"], "not-in-view");
    for (look, word) in [(GuideLook::Open, "holes"), (GuideLook::Pins, "pins")] {
        let record = graded(look, 2500.0);
        assert_eq!(record["guides"], word);
        let marks = at_guide(&record);
        assert_eq!(marks.len(), 1, "{word}: {marks:?}");
        let (x, y) = (marks[0][0].as_f64().unwrap(), marks[0][1].as_f64().unwrap());
        assert!((x + 2240.0).abs() < 6.0 && (y - 425.0).abs() < 6.0, "{word}: {marks:?}");
    }
}

/// The composed picture of an earlier run goes with its document; any other file of its name is the user's.
#[test]
fn a_composed_picture_is_taken_away_with_the_document_that_names_it() {
    let folder = tempfile::tempdir().unwrap();
    let (out, face) = (folder.path().join("out"), folder.path().join("out/face.png"));
    let pictures = folder.path().join("run");
    write(&Steps::new("mpo-8").frames(), &pictures);
    let single = run::picture(folder.path(), "one.png", &run::clean("mpo-8", ""));
    let stepped = || run::grade(&pictures, "mpo-8", &out, &["--no-map"]);
    assert_eq!(stepped().status, 1);
    let bytes = std::fs::read(&face).unwrap();
    let digest = <sha2::Sha256 as sha2::Digest>::digest(&bytes);
    let sha256: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(run::record(&out)["stitch"]["picture_sha256"], sha256);
    // Graded in its place it stays: it is the picture of the new document.
    assert_eq!(run::grade(&face, "mpo-8", &out, &["--no-map"]).status, 1);
    assert!(face.exists());
    assert_eq!(stepped().status, 1);
    assert_eq!(run::grade(&single, "mpo-8", &out, &["--no-map"]).status, 0);
    assert!(!face.exists(), "it told of another face than face.json");
    assert_eq!(stepped().status, 1);
    std::fs::write(&face, b"my own").unwrap();
    assert_eq!(run::grade(&single, "mpo-8", &out, &["--no-map"]).status, 0);
    assert_eq!(std::fs::read(&face).unwrap(), b"my own");
}

/// Two looks at a whole face are no run, nor is one among steps: what only the one shows would not count.
#[test]
fn a_picture_of_the_whole_face_is_no_step() {
    let scene = run::clean("mpo-8", "");
    let frames = [scene.clone(), scene.replace("[camera]\n", "[camera]\nturn_deg = 0.5\nseed = 9\n")];
    let looks = frames.map(|scene| run::rendered(&scene).frame);
    let steps = Steps::new("mpo-8");
    let whole = Camera { middle_um: (0.0, 0.0), ..steps.camera(2.0 * steps.reach_um) };
    let whole = synth::render_face(&steps.face, &whole).unwrap().frame;
    let among = steps.frames().into_iter().chain([whole]).collect::<Vec<_>>();
    for frames in [looks.to_vec(), among] {
        let (refused, record) = graded(&frames, "mpo-8", &[]);
        assert_eq!(
            (refused.status, refused.stderr.lines().count(), record),
            (2, 1, None),
            "{}",
            refused.stdout
        );
        assert!(
            refused.stderr.contains("shows the whole face and is no step along it"),
            "{}",
            refused.stderr
        );
    }
}
