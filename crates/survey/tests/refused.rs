//! What is no array, or not the layout's, is refused with a sentence that says so.

use crate::scene::{Scene, layout, missing};
use imaging::{Frame, Samples};
use survey::Settings;
use terms::{Flaw, View};

fn frame(width: usize, height: usize, at: impl Fn(usize, usize) -> u8) -> Frame {
    let samples = (0..width * height).map(|i| at(i % width, i / width)).collect();
    Frame::new(width, height, Samples::Eight(samples)).unwrap()
}

/// Pictures that show no face at all.
#[test]
fn no_row_is_seen_in_other_pictures() {
    let steps = |x: usize, y: usize| if (x / 60 + y / 60).is_multiple_of(2) { 60 } else { 190 };
    let hills = |x: usize, y: usize| {
        let (x, y) = (x as f64, y as f64);
        (128.0 + 60.0 * (x / 41.0).sin() * (y / 53.0).cos() + 50.0 * (x * y / 90_000.0).sin()) as u8
    };
    let grain = |x: usize, y: usize| (x.wrapping_mul(2_654_435_761) ^ y.wrapping_mul(40_503)) as u8;
    let cases = [
        ("grey", frame(2000, 400, |_, _| 128)),
        ("black", frame(2000, 400, |_, _| 0)),
        ("a chessboard", frame(1600, 600, steps)),
        ("hills", frame(1600, 600, hills)),
        ("grain", frame(1200, 300, grain)),
        ("one pixel", frame(1, 1, |_, _| 9)),
    ];
    for (name, frame) in cases {
        let read = survey::survey(&[frame], &layout("mpo-12"), View::default(), None, &Settings::default());
        let why = read.map(|s| missing(&s)).unwrap_err().to_string();
        // The squares of a chessboard lie in rows, and are refused as too many of them.
        let says =
            if name == "a chessboard" { "the picture shows more rows" } else { "no row of fibres was found" };
        assert!(why.starts_with(says), "{name}: {why}");
    }
    let none = survey::survey(&[], &layout("mpo-12"), View::default(), None, &Settings::default());
    assert!(none.unwrap_err().to_string().starts_with("no picture was given"));
}

/// Parts of a face that hold no row.
#[test]
fn a_part_of_a_face_without_a_row_is_refused() {
    let cases = [
        ("bare ferrule", (0.0, 700.0), 1500, "no row of fibres"),
        ("a guide hole", (2300.0, 0.0), 1600, "a single circle"),
        ("one fibre", (-1375.0, 0.0), 600, "a single circle"),
    ];
    for (name, middle_um, size, says) in cases {
        let shot = Scene::new("mpo-12")
            .seen(|c| (c.middle_um, c.width_px, c.height_px) = (middle_um, size, size.min(1000)))
            .shot();
        let why = shot.read(&shot.layout, None).map(|s| missing(&s)).unwrap_err().to_string();
        assert!(why.contains(says), "{name}: {why}");
    }
}

#[test]
fn another_layouts_face_is_refused_and_both_are_named() {
    let cases = [
        ("mpo-12", "mpo-16", "one row of 12 between bare ferrule, layout mpo-16 has 16"),
        ("mpo-16", "mpo-12", "a row of at least 16 fibres, layout mpo-12 has 12"),
        ("mpo-12", "mpo-8", "at sites that layout mpo-8 leaves empty"),
        ("mpo-24", "mpo-12", "more rows of fibres than layout mpo-12 has (1)"),
        ("mpo-12", "mpo-24", "bare ferrule where layout mpo-24 has a row"),
    ];
    for (face, read, says) in cases {
        let shot = Scene::new(face).at(1.0).strip(300.0, 620.0).shot();
        let why = shot.read(&layout(read), None).map(|s| missing(&s)).unwrap_err().to_string();
        assert!(why.contains(says), "{face} as {read}: {why}");
    }
}

/// Off the middle of the picture, one way to lay the longer row hides more of its sites beyond the border than any other:
/// that way was taken, and fibres 1 to 12 were told as 5 to 16.
#[test]
fn a_shorter_row_is_refused_off_the_middle_of_the_picture_too() {
    for off_um in [-180.0, 60.0, 140.0] {
        let scene = Scene::new("mpo-12").at(1.0).strip(515.0, 620.0).seen(|c| c.middle_um.0 = off_um);
        let why = scene.shot().read(&layout("mpo-16"), None).map(|s| missing(&s)).unwrap_err().to_string();
        assert!(why.contains("one row of 12 between bare ferrule, layout mpo-16 has 16"), "{off_um}: {why}");
    }
}

/// A face of 8 in a 12 ferrule lacks four fibres; it is read and never passes.
#[test]
fn eight_read_as_twelve_lack_four() {
    let shot = Scene::new("mpo-8").at(1.0).strip(300.0, 200.0).shot();
    let lost = missing(&shot.read(&layout("mpo-12"), None).unwrap());
    assert_eq!(lost, [5, 6, 7, 8].map(|p| (p, Flaw::NotFound)));
}
