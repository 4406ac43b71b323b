//! Stepped runs over made-up faces: no position may be taken for its neighbour, whatever the steps, their
//! order and direction, the light and the focus. Truth is where the renderer put each fibre.

use crate::common::grid;
use imaging::{Frame, Samples};
use survey::Settings;
use synth::{Camera, StepPlan, StepRun};
use terms::{Flaw, Layout, Look, Site, Survey};

/// A run drawn by chance over 12 or 8 in a row.
fn drawn(seed: u64) -> (Layout, StepRun) {
    let layout = grid("in a row", 1, if seed % 10 < 7 { 12 } else { 8 });
    let run = StepRun::drawn(&layout, &StepPlan::default(), seed);
    (layout, run)
}

/// How many positions were found, of how many that some picture shows wholly; panics at a wrong place.
fn tally(run: &StepRun, survey: &Survey) -> (usize, usize) {
    let (mut found, mut shown) = (0, 0);
    for (site, body) in survey.sites.iter().zip(&run.face.fibres) {
        shown += usize::from(run.cameras.iter().any(|c| run.shows(c, site.position, 4.0)));
        if let Look::Found(fibre) = &site.look {
            let truth = run.cameras[fibre.source].lens().to_pixel(body.centre);
            let off = fibre.centre_px.distance(truth);
            assert!(off < 3.0, "position {} lies {off} pixels from where it is", site.position);
            found += 1;
        }
    }
    (found, shown)
}

fn surveyed(layout: &Layout, run: &StepRun) -> Result<Survey, survey::SurveyError> {
    survey::survey(&run.pictures().unwrap(), layout, run.view, None, &Settings::default())
}

#[test]
fn a_run_is_graded_as_one_face_and_its_scale_is_the_faces() {
    let (layout, run) = drawn(4);
    let survey = surveyed(&layout, &run).unwrap();
    let (found, shown) = tally(&run, &survey);
    assert_eq!(found, shown);
    assert_eq!(survey.poses.len(), run.cameras.len());
    assert_eq!(survey.stitch.unwrap().placements.len(), run.cameras.len());
    assert!((survey.scale.um_per_px() / run.cameras[0].um_per_px - 1.0).abs() < 0.001);
}

/// A run of pictures that hardly show one of 12 fibres.
fn narrow(seed: u64) -> (Layout, StepRun) {
    let layout = grid("in a row", 1, 12);
    let run = StepRun::drawn(&layout, &StepPlan::narrow(), seed);
    (layout, run)
}

/// In 125002 claddings of 106 pixels' radius in pictures of 400 by 340: no coarse plane votes for that radius but one of
/// 25 by 21 pixels, and in no picture do two neighbours show. In 128016 neighbours share 33 um, less than what a shift
/// among all needs to stand out: the lattices leave two shifts, and the grain tells which.
#[test]
fn a_row_of_which_each_picture_hardly_shows_a_fibre_is_found_whole() {
    for (seed, least) in [(125_002, 6), (128_016, 10)] {
        let (layout, run) = narrow(seed);
        let (found, shown) = tally(&run, &surveyed(&layout, &run).unwrap());
        assert!(shown >= least && found >= shown, "{seed}: {found} of {shown}");
    }
}

/// `RUNS` gives their number (3 if it is not set; hundreds want --release), `FIRST` the first seed.
#[test]
fn no_run_of_many_takes_a_position_for_its_neighbour() {
    let number =
        |name: &str, other: u64| std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(other);
    let (mut found, mut shown, mut refused) = (0, 0, 0);
    let first = number("FIRST", 1000);
    for seed in first..first + number("RUNS", 3) {
        let (layout, run) = drawn(seed);
        match surveyed(&layout, &run) {
            Ok(survey) => {
                let (f, s) = tally(&run, &survey);
                if f < s {
                    println!("seed {seed}: {f} of {s} in {} pictures", run.cameras.len());
                }
                (found, shown) = (found + f, shown + s);
            }
            Err(why) => {
                refused += 1;
                println!("seed {seed}: {why}");
            }
        }
    }
    println!("{found} of {shown} positions found, {refused} runs refused");
    assert_eq!(refused, 0);
    assert!(100 * found >= 98 * shown);
}

/// A row of 16 under a layout of 12, and a row of 12 of which two pictures are joined a pitch too far apart (seed 2050):
/// neither is graded, and the sentence leaves both open.
#[test]
fn a_row_that_is_too_long_is_refused_with_both_ways_out() {
    let twelve = grid("in a row", 1, 12);
    let sixteen = StepRun::drawn(&grid("sixteen", 1, 16), &StepPlan::default(), 4);
    for run in [sixteen, StepRun::drawn(&twelve, &StepPlan::default(), 2050)] {
        let why = surveyed(&twelve, &run).unwrap_err().to_string();
        assert!(why.contains("put together, the pictures show a row of at least"), "{why}");
        assert!(why.contains("--layout") && why.contains("more overlap"), "{why}");
    }
}

/// The left half of one connector and the right half of another, each numbered by its own end of the row: they passed
/// together as one face.
#[test]
fn halves_of_two_connectors_are_not_graded_as_one() {
    for seed in [4, 12, 23] {
        let (layout, run) = drawn(seed);
        let other = StepRun { face: drawn(seed + 1).1.face, ..run.clone() };
        // Where neighbours share most, so that they would be joined if they showed one face.
        let mut middles: Vec<f64> = run.cameras.iter().map(|c| c.middle_um.0).collect();
        middles.sort_by(f64::total_cmp);
        let inner = &middles[middles.len() / 4..middles.len() - middles.len() / 4];
        let closest = inner.windows(2).min_by(|p, q| (p[1] - p[0]).total_cmp(&(q[1] - q[0]))).unwrap();
        let is_left = |c: &Camera| c.middle_um.0 <= closest[0];
        let both = run.pictures().unwrap().into_iter().zip(other.pictures().unwrap());
        let mixed: Vec<Frame> =
            both.zip(&run.cameras).map(|((one, other), c)| if is_left(c) { one } else { other }).collect();
        let survey = survey::survey(&mixed, &layout, run.view, None, &Settings::default()).unwrap();
        let found = survey.sites.iter().filter(|s| matches!(s.look, Look::Found(_))).count();
        let told = |s: &Site| matches!(s.look, Look::Missing(Flaw::Unjoined { .. }));
        assert!(found == 0 && survey.sites.iter().any(told), "{seed}: {found} found");
    }
}

/// It was said of the first picture that it shows none.
#[test]
fn pictures_without_a_row_are_refused_together() {
    let (layout, run) = drawn(4);
    let blank = |level| Frame::new(500, 400, Samples::Eight(vec![level; 200_000])).unwrap();
    let why = survey::survey(&[90, 91, 92].map(blank), &layout, run.view, None, &Settings::default());
    let text = why.unwrap_err().to_string();
    assert!(text.starts_with("no row of fibres was found in these pictures"), "{text}");
}
