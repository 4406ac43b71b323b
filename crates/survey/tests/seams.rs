//! Pictures that were put together from tiles: what a seam does to the light is no mark, and a fibre whose two sides do
//! not fit is not graded.

use crate::scene::{JUDGED, Scene, Shot, fibre, told};
use imaging::{Frame, Samples};
use synth::{Form, What};
use terms::{Flaw, Kind, Survey};

/// Fibres stand 500 pixels apart, the first one 240 from the left border.
const FIRST: f64 = 240.0;
const PITCH: f64 = 500.0;

/// Half of a cladding, pixels.
const RADIUS: f64 = 125.0;

/// A face with a mark on every fourth fibre, the others clean.
fn marked() -> Shot {
    let particle = |at, size_um| What::Particle { at, size_um, contrast: -0.4, form: Form::Rounded };
    Scene::new("mpo-12")
        .seen(|c| c.seed = 5)
        .on(1, particle((20.0, 30.0), 4.0))
        .on(5, particle((-30.0, 25.0), 6.0))
        .on(9, particle((10.0, -40.0), 5.0))
        .shot()
}

/// The picture as tiles with borders at these columns: every second one brighter by `step` and moved down by so many
/// pixels, all of them darker at their borders by `fall`, side by side or blended over `width` pixels.
fn tiled(frame: &Frame, borders: &[f64], step: f64, fall: f64, (width, down): (f64, usize)) -> Frame {
    let Samples::Eight(levels) = frame.samples() else { panic!("a picture of 8 bit") };
    let (columns, rows) = (frame.width(), frame.height());
    let level = |x: usize, y: usize| f64::from(levels[y.min(rows - 1) * columns + x]);
    let light = |x: usize| {
        let near = borders.iter().map(|b| (x as f64 - b).abs()).fold(f64::INFINITY, f64::min);
        1.0 - fall * (1.0 - near / 450.0).max(0.0).powi(2)
    };
    let odd = |x: usize| {
        let behind = |b: &f64| ((x as f64 - b) / width + 0.5).clamp(0.0, 1.0);
        borders.iter().enumerate().map(|(k, b)| behind(b) * if k % 2 == 0 { 1.0 } else { -1.0 }).sum::<f64>()
    };
    let tile = |i: usize| {
        let (x, y) = (i % columns, i / columns);
        let share = odd(x);
        let both = (1.0 - share) * level(x, y) + share * (1.0 + step) * level(x, y + down);
        (both * light(x)).round().clamp(0.0, 255.0) as u8
    };
    Frame::new(columns, rows, Samples::Eight((0..levels.len()).map(tile).collect())).unwrap()
}

/// Positions with a mark that counts, inside where marks are judged.
fn with_marks(survey: &Survey) -> Vec<u16> {
    let counts = |p: &u16| {
        let features = &fibre(survey, *p).features;
        features.iter().any(|f| f.centre.radius() < JUDGED && (f.size.0 > 3.0 || f.kind == Kind::Film))
    };
    (1..=12).filter(counts).collect()
}

/// Positions that are not graded because of a seam.
fn with_seams(survey: &Survey) -> Vec<u16> {
    let seam = |p: &u16| fibre(survey, *p).flaws.iter().any(|f| matches!(f, Flaw::Seam { .. }));
    (1..=12).filter(seam).collect()
}

fn all_told(survey: &Survey) -> Vec<String> {
    (1..=12)
        .flat_map(|p| fibre(survey, p).features.iter().map(move |f| format!("{p}: {}", told(f))))
        .collect()
}

/// A column at that share of the radius right of a position's centre.
fn column(position: u16, share: f64) -> f64 {
    FIRST + PITCH * f64::from(position - 1) + (RADIUS * share).round() + 0.5
}

/// Holds that only fibres at a border are left ungraded, and that all others tell their marks and nothing else.
fn hold_true(survey: &Survey, at_border: &[u16], name: &str) {
    let ungraded = with_seams(survey);
    assert!(ungraded.iter().all(|p| at_border.contains(p)), "{name}: {ungraded:?}");
    let marked: Vec<u16> = with_marks(survey).into_iter().filter(|p| !ungraded.contains(p)).collect();
    assert_eq!(marked, [1, 5, 9], "{name}: {:#?}", all_told(survey));
}

/// Sharp steps of light through a fibre are levelled: all fibres are graded where the light of the tiles is even.
#[test]
fn steps_of_light_between_tiles_are_no_marks() {
    let sound = marked();
    assert_eq!(with_marks(&sound.survey()), [1, 5, 9]);
    let borders = [column(2, 0.3), column(4, -0.5), column(6, 0.1), column(8, 0.6), column(11, -0.2)];
    for (step, fall) in [(0.06, 0.0), (0.05, 0.1), (-0.06, 0.1)] {
        let frame = tiled(&sound.frame, &borders, step, fall, (1e-9, 0));
        let survey = Shot { frame, ..marked() }.survey();
        hold_true(&survey, &[2, 4, 6, 8, 11], &format!("{step}, {fall}"));
        assert!(fall > 0.0 || with_seams(&survey).is_empty(), "{:?}", with_seams(&survey));
    }
}

/// The ferrule's grain does not tell a blended step from a film, so that no fibre with one is failed.
#[test]
fn blended_tiles_are_no_films() {
    let borders = [column(2, 0.3), column(6, -0.4), column(11, 0.1)];
    let frame = tiled(&marked().frame, &borders, 0.06, 0.0, (25.0, 0));
    hold_true(&Shot { frame, ..marked() }.survey(), &[2, 6, 11], "blended");
}

/// A tile that lies off by three pixels leaves the fibre at its border ungraded.
#[test]
fn sides_that_do_not_fit_are_a_flaw() {
    let borders = [column(2, 0.3), column(6, -0.4), column(11, 0.1)];
    let frame = tiled(&marked().frame, &borders, 0.06, 0.0, (1e-9, 3));
    assert!(with_seams(&Shot { frame, ..marked() }.survey()).contains(&6));
}
