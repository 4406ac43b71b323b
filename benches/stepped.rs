//! Many stepped runs over made-up faces, surveyed and graded: how many positions are found, and whether one is
//! taken for another. Not among the tests, because hundreds of runs take an hour:
//!
//!     cargo bench -p cli --bench stepped -- [--runs 500] [--first 1] [--layout mpo-12] [--narrow] [--links]
//!     cargo bench -p cli --bench stepped -- --optics [...]   each run with clean and with dirty optics
//!     cargo bench -p cli --bench stepped -- --write DIR      one run of 14 pictures of 1,600 x 1,200, as PNG

#![allow(clippy::unwrap_used, clippy::print_stdout)]

#[path = "../crates/cli/src/picture.rs"]
mod picture;

use std::path::Path;
use synth::{Camera, CoreLook, StepPlan, StepRun};
use terms::{Layout, Look, Survey};

/// The criteria for a run's fibres.
fn criteria(run: &StepRun) -> profile::CriteriaFile {
    let single = run.face.fibres.iter().any(|f| f.core.look == CoreLook::Spot);
    let id = if single { "iec-61300-3-35-ed2-sm-pc-rl26" } else { "iec-61300-3-35-ed2-mm" };
    profile::criteria(id).unwrap()
}

/// A fibre is found in the wrong place if its centre lies farther than this from the truth, pixels.
const WRONG_PX: f64 = 3.0;

/// Pixels about a fibre that a picture must show for it to count as shown.
const MARGIN_PX: f64 = 4.0;

/// Pictures hang together if they have at least this share of their width in common: the least that is drawn.
const LEAST_SHARED: f64 = 0.0999;

fn main() {
    let words: Vec<String> = std::env::args().collect();
    let after = |name: &str| words.iter().position(|w| w == name).and_then(|i| words.get(i + 1)).cloned();
    let number = |name: &str, other: u64| after(name).and_then(|v| v.parse().ok()).unwrap_or(other);
    if let Some(folder) = after("--write") {
        return write(Path::new(&folder), number("--first", 5));
    }
    let layout = profile::layout(&after("--layout").unwrap_or("mpo-12".to_owned())).unwrap();
    let plan = if words.iter().any(|w| w == "--narrow") { StepPlan::narrow() } else { StepPlan::default() };
    let first = number("--first", 1);
    if words.iter().any(|w| w == "--optics") {
        return optics(&layout, &StepPlan { lens_dirt: 1.0, ..plan }, first..first + number("--runs", 500));
    }
    let told = words.iter().any(|w| w == "--links");
    let mut sum = Tally::default();
    for seed in first..first + number("--runs", 500) {
        let run = StepRun::drawn(&layout, &plan, seed);
        let one = tally(&layout, &run);
        if !one.good() {
            println!("seed {seed}: {} pictures, {}", run.cameras.len(), one.told());
            if told && one.lost > 0 {
                links(&layout, &run);
            }
        }
        sum.add(&one);
    }
    println!("{} runs: {}", sum.runs, sum.told());
}

/// What came of runs.
#[derive(Default)]
struct Tally {
    runs: usize,
    /// Positions that a picture shows.
    shown: usize,
    /// Those among them that the pictures cannot tell from others, whoever looks at them.
    unsettled: usize,
    found: usize,
    /// Positions that are shown and settled, and not found.
    lost: usize,
    graded: usize,
    wrong: usize,
    not_shown: usize,
    refused: Vec<String>,
    /// Reasons of shown positions that are not graded, by their codes.
    reasons: Vec<String>,
}

impl Tally {
    fn good(&self) -> bool {
        self.refused.is_empty() && self.wrong == 0 && self.lost == 0 && self.graded == self.found
    }

    fn add(&mut self, one: &Tally) {
        self.runs += one.runs;
        self.shown += one.shown;
        self.unsettled += one.unsettled;
        self.found += one.found;
        self.lost += one.lost;
        self.graded += one.graded;
        self.wrong += one.wrong;
        self.not_shown += one.not_shown;
        self.refused.extend(one.refused.iter().cloned());
        self.reasons.extend(one.reasons.iter().cloned());
    }

    fn told(&self) -> String {
        format!(
            "{} positions shown, {} of them not coverable, {} found, {} lost, {} graded, {} wrong; {} not shown; \
             {} refused{}",
            self.shown,
            self.unsettled,
            self.found,
            self.lost,
            self.graded,
            self.wrong,
            self.not_shown,
            self.refused.len(),
            counted_words(&self.refused, &self.reasons)
        )
    }
}

/// Each different word with its number.
fn counted_words(refused: &[String], reasons: &[String]) -> String {
    let mut all: Vec<&String> = refused.iter().chain(reasons).collect();
    all.sort();
    let runs = all.chunk_by(|a, b| a == b);
    runs.map(|r| format!("; {} x {}", r.len(), r[0])).collect()
}

fn tally(layout: &Layout, run: &StepRun) -> Tally {
    let frames = run.pictures().unwrap();
    let file = criteria(run);
    match survey::survey(&frames, layout, run.view, None, &file.settings) {
        Ok(survey) => counted(layout, run, &survey, &grade::grade(&survey, &file.criteria)),
        Err(why) => {
            let settled = settled(layout, run);
            let count = |cameras: &[&Camera]| {
                let seen = |position| cameras.iter().any(|c| run.shows(c, position, MARGIN_PX));
                layout.places.iter().filter(|p| seen(p.position)).count()
            };
            let (shown, lost) = (count(&run.cameras.iter().collect::<Vec<_>>()), count(&settled));
            let refused = vec![why.to_string()];
            Tally { runs: 1, shown, unsettled: shown - lost, lost, refused, ..Tally::default() }
        }
    }
}

/// The pictures that hang together with others so that what they show all together fits one place of the layout alone.
fn settled<'a>(layout: &Layout, run: &'a StepRun) -> Vec<&'a Camera> {
    let mut order: Vec<&Camera> = run.cameras.iter().collect();
    order.sort_by(|a, b| left(a).total_cmp(&left(b)));
    let linked = |a: &&Camera, b: &&Camera| left(a) + (1.0 - LEAST_SHARED) * width(a) >= left(b);
    let groups = order.chunk_by(linked).filter(|group| fits_once(layout, group));
    groups.flatten().copied().collect()
}

fn width(c: &Camera) -> f64 {
    c.width_px as f64 * c.um_per_px
}

/// Where a picture begins on the face, um.
fn left(c: &Camera) -> f64 {
    c.middle_um.0 - 0.5 * width(c)
}

/// Whether the fibres and the bare sites between the ends of a group of pictures lie so nowhere else in the layout.
fn fits_once(layout: &Layout, group: &[&Camera]) -> bool {
    let (Some(first), Some(last)) = (group.first(), group.last()) else { return false };
    let column = |x: f64| x / layout.pitch.0 + 0.5 * f64::from(layout.columns + 1);
    // Half a site tells whether it holds a fibre.
    let from = column(left(first)).ceil() as i32;
    let to = column(left(last) + width(last)).floor() as i32;
    let populated = |column: i32| layout.places.iter().any(|p| i32::from(p.column) == column);
    let most = i32::from(layout.columns) + to - from + 1;
    let elsewhere = (-most..=most).filter(|by| *by != 0);
    let fits = |by: &i32| (from..=to).all(|c| populated(c) == populated(c + by));
    elsewhere.filter(fits).count() == 0
}

fn counted(layout: &Layout, run: &StepRun, survey: &Survey, grade: &grade::ArrayGrade) -> Tally {
    let mut tally = Tally { runs: 1, ..Tally::default() };
    let settled = settled(layout, run);
    for ((site, body), graded) in survey.sites.iter().zip(&run.face.fibres).zip(&grade.positions) {
        let shown = run.cameras.iter().any(|c| run.shows(c, site.position, MARGIN_PX));
        let coverable = settled.iter().any(|c| run.shows(c, site.position, MARGIN_PX));
        tally.shown += usize::from(shown);
        tally.unsettled += usize::from(shown && !coverable);
        tally.lost += usize::from(coverable && !matches!(site.look, Look::Found(_)));
        tally.not_shown += usize::from(!shown);
        if shown && graded.verdict == grade::Verdict::Ungraded {
            tally.reasons.extend(graded.reasons.first().map(|r| r.code.to_string()));
        }
        let Look::Found(fibre) = &site.look else { continue };
        let truth = run.cameras[fibre.source].lens().to_pixel(body.centre);
        tally.wrong += usize::from(fibre.centre_px.distance(truth) > WRONG_PX);
        tally.found += usize::from(shown);
        tally.graded += usize::from(shown && graded.verdict != grade::Verdict::Ungraded);
    }
    tally
}

/// Tells for each picture, along the face, what it has in common with the next and whether they were linked.
fn links(layout: &Layout, run: &StepRun) {
    let Some((survey, _)) = graded(layout, run) else { return };
    let Some(stitch) = &survey.stitch else { return };
    let mut order: Vec<usize> = (0..run.cameras.len()).collect();
    order.sort_by(|a, b| run.cameras[*a].middle_um.0.total_cmp(&run.cameras[*b].middle_um.0));
    for pair in order.windows(2) {
        let (a, b) = (&run.cameras[pair[0]], &run.cameras[pair[1]]);
        let width = a.width_px as f64 * a.um_per_px;
        let common = width - (b.middle_um.0 - a.middle_um.0);
        println!(
            "    {:>2} and {:>2} share {common:4.0} um of {width:.0}: {}; blur {:.2} and {:.2}, placed {} {}",
            pair[0] + 1,
            pair[1] + 1,
            if stitch.placements[pair[0]].linked.contains(&pair[1]) { "linked" } else { "not linked" },
            a.blur_um,
            b.blur_um,
            stitch.placements[pair[0]].placed,
            stitch.placements[pair[1]].placed,
        );
    }
}

/// A spot is found if it lies within so many of its own widths of where it is.
const SPOT_OFF: f64 = 2.0;

/// What dirty optics do to many runs: each is graded as it is and with clean optics.
fn optics(layout: &Layout, plan: &StepPlan, seeds: std::ops::Range<u64>) {
    let [mut runs, mut drawn, mut found, mut on_fibres, mut found_there, mut invented] = [0; 6];
    let [mut aside, mut doubted] = [0; 2];
    let [mut same, mut passed, mut failed, mut ungraded] = [0; 4];
    for seed in seeds {
        let dirty = StepRun::drawn(layout, plan, seed);
        let clean = StepRun { lens: Vec::new(), ..dirty.clone() };
        let (Some(a), Some(b)) = (graded(layout, &clean), graded(layout, &dirty)) else { continue };
        let spots = b.0.stitch.as_ref().map_or(&[][..], |s| &s.optics);
        let near = |s: &terms::OpticsSpot, t: &synth::LensSpot| {
            (s.centre.x - t.at.0).hypot(s.centre.y - t.at.1) < SPOT_OFF * t.sigma_px
        };
        runs += 1;
        drawn += dirty.lens.len();
        let seen = |t: &&synth::LensSpot| spots.iter().any(|s| near(s, t));
        let there = |t: &&synth::LensSpot| on_a_fibre(&dirty, t);
        found += dirty.lens.iter().filter(seen).count();
        on_fibres += dirty.lens.iter().filter(there).count();
        found_there += dirty.lens.iter().filter(there).filter(seen).count();
        invented += spots.iter().filter(|s| !dirty.lens.iter().any(|t| near(s, t))).count();
        invented += a.0.stitch.as_ref().map_or(0, |s| s.optics.len());
        aside += b.0.stitch.as_ref().map_or(0, |s| s.disagreements.iter().filter(|d| d.set_aside).count());
        doubted += a.0.stitch.as_ref().map_or(0, |s| s.disagreements.len());
        for (p, q) in a.1.positions.iter().zip(&b.1.positions) {
            match (p.verdict, q.verdict) {
                (p, q) if p == q => same += 1,
                (grade::Verdict::Fail, grade::Verdict::Pass) => {
                    println!("seed {seed}: position {} fails and passes through dirty optics", q.position);
                    passed += 1;
                }
                (grade::Verdict::Pass, grade::Verdict::Fail) => failed += 1,
                _ => ungraded += 1,
            }
        }
    }
    println!(
        "{runs} runs: {drawn} spots drawn, {found} found, {found_there} of {on_fibres} on whole fibres, {invented} \
         found where none is; {aside} marks set aside; {doubted} disagreements with clean optics; through dirty optics {same} positions graded alike, {passed} \
         that fail pass, {failed} that pass fail, {ungraded} graded in one only"
    );
}

/// Whether some picture shows a spot on the glass of a fibre that it shows wholly: where it can do harm.
fn on_a_fibre(run: &StepRun, spot: &synth::LensSpot) -> bool {
    run.cameras.iter().any(|c| {
        let at = c.lens().to_face(terms::Point::new(spot.at.0, spot.at.1));
        run.face.fibres.iter().any(|f| {
            let off = (at.0 - f.centre.0).hypot(at.1 - f.centre.1);
            off < 0.5 * f.diameter && run.shows(c, f.position, MARGIN_PX)
        })
    })
}

fn graded(layout: &Layout, run: &StepRun) -> Option<(Survey, grade::ArrayGrade)> {
    let file = criteria(run);
    let survey = survey::survey(&run.pictures().unwrap(), layout, run.view, None, &file.settings).ok()?;
    let grade = grade::grade(&survey, &file.criteria);
    Some((survey, grade))
}

/// Writes a run of 14 pictures, as a microscope of 0.3 um per pixel takes them.
fn write(folder: &Path, seed: u64) {
    let layout = profile::layout("mpo-12").unwrap();
    let plan = StepPlan {
        width_um: (480.0, 480.1),
        height_um: (360.0, 360.1),
        um_per_px: (0.3, 0.3),
        overlap: (0.53, 0.56),
        disturbed: 0.0,
        lens_dirt: 0.0,
        ..StepPlan::default()
    };
    let run = StepRun::drawn(&layout, &plan, seed);
    std::fs::create_dir_all(folder).unwrap();
    for (i, frame) in run.pictures().unwrap().iter().enumerate() {
        std::fs::write(folder.join(format!("step-{}.png", i + 1)), picture::encoded(frame).unwrap()).unwrap();
    }
    println!("{} pictures, key {:?}, mirrored {}", run.cameras.len(), run.view.key, run.view.mirrored);
}
