//! Pictures of one run against one another: what the optics or a moved particle brought forth is told, and a real
//! mark is never lost to either. Truth is what the renderer was given.

use crate::common::grid;
use crate::scene::{fibre, told};
use survey::Settings;
use synth::{Camera, Face, FacePlan, Form, LensSpot, Mark, On, Spot, StepRun, What};
use terms::{Layout, Stitch, Survey, View};

/// The picture and the position that the tests are about.
const PICTURE: usize = 6;
const POSITION: u16 = 6;

/// Pictures of a clean face, so far apart, um; number `PICTURE` is the sharpest.
fn run(step_um: f64) -> (Layout, StepRun) {
    let layout = grid("in a row", 1, 12);
    let face = Face::new(&layout, &FacePlan { seed: 5, ..FacePlan::default() });
    let camera = |i: usize| Camera {
        width_px: 860,
        height_px: 480,
        um_per_px: 0.7,
        middle_um: (-1500.0 + step_um * i as f64, 3.0 * (i % 3) as f64),
        blur_um: if i == PICTURE { 0.5 } else { 0.62 },
        seed: i as u64,
        ..Camera::default()
    };
    let count = (3000.0 / step_um).ceil() as usize + 1;
    (layout, StepRun { face, view: View::default(), cameras: (0..count).map(camera).collect(), lens: vec![] })
}

fn particle(at: Spot, size_um: f64) -> Mark {
    let what = What::Particle { at, size_um, contrast: -0.5, form: Form::Rounded };
    Mark { on: On::Fibre(POSITION), what, seed: 9 }
}

/// Dirt on the optics that lies at a place of the fibre in the picture that it is graded in.
fn spot(run: &StepRun, at: Spot) -> LensSpot {
    let centre = run.face.fibre(POSITION).unwrap().centre;
    let p = run.cameras[PICTURE].lens().to_pixel((centre.0 + at.0, centre.1 + at.1));
    LensSpot { at: (p.x, p.y), sigma_px: 6.0, depth: 0.3 }
}

fn surveyed(layout: &Layout, run: &StepRun) -> Survey {
    survey::survey(&run.pictures().unwrap(), layout, run.view, None, &Settings::default()).unwrap()
}

fn stitch(survey: &Survey) -> &Stitch {
    survey.stitch.as_ref().unwrap()
}

/// Sizes of what counts on the fibre near a place.
fn sizes(survey: &Survey, at: Spot) -> Vec<f64> {
    let near = |f: &&terms::Feature| (f.centre.x - at.0).hypot(f.centre.y - at.1) < 4.0;
    fibre(survey, POSITION).features.iter().filter(near).map(|f| f.size.0).collect()
}

#[test]
fn dirt_on_the_optics_is_found_and_left_out_where_another_picture_shows_the_fibre_clean() {
    let (layout, mut run) = run(230.0);
    run.lens = vec![spot(&run, (20.0, 25.0))];
    let survey = surveyed(&layout, &run);
    assert_eq!(fibre(&survey, POSITION).source, PICTURE);
    let optics = &stitch(&survey).optics;
    assert_eq!(optics.len(), 1, "{optics:?}");
    let off = (optics[0].centre.x - run.lens[0].at.0).hypot(optics[0].centre.y - run.lens[0].at.1);
    assert!(off < 3.0 && optics[0].contrast < -0.05, "{optics:?}");
    assert_eq!(sizes(&survey, (20.0, 25.0)), [], "it is not the fibre's");
    let told = stitch(&survey).disagreements.iter().find(|d| d.position == POSITION).unwrap();
    assert!(told.set_aside && told.shown_in == PICTURE && told.absent_in.is_some() && told.optics == Some(0));
    assert!(fibre(&survey, POSITION).at_optics.is_empty());
}

/// Steps of one pitch: the dirt lies at the same place of every fibre.
#[test]
fn dirt_on_the_optics_that_lies_on_every_fibre_is_found_and_left_out() {
    let (layout, mut run) = run(250.0);
    run.lens = vec![spot(&run, (-15.0, 20.0))];
    let survey = surveyed(&layout, &run);
    assert_eq!(stitch(&survey).optics.len(), 1, "{:?}", stitch(&survey).optics);
    let aside: Vec<_> =
        stitch(&survey).disagreements.iter().filter(|d| d.set_aside).map(|d| d.position).collect();
    assert!(aside.contains(&POSITION), "{aside:?}");
    for site in &survey.sites {
        let terms::Look::Found(fibre) = &site.look else { panic!("{}", site.position) };
        let counted = fibre.features.iter().filter(|f| !fibre.at_optics.contains(&f.id));
        let all: Vec<String> = counted.map(told).collect();
        assert_eq!(all, Vec::<String>::new(), "{}", site.position);
    }
}

/// The picture is taken twice: both show the dirt, and a third one shows that it is none of the fibre's.
#[test]
fn a_picture_taken_again_does_not_make_dirt_on_the_optics_a_mark() {
    let (layout, mut run) = run(230.0);
    run.lens = vec![spot(&run, (20.0, 25.0))];
    let again = Camera { seed: 77, blur_um: 0.52, ..run.cameras[PICTURE].clone() };
    run.cameras.insert(PICTURE + 1, again);
    let survey = surveyed(&layout, &run);
    assert_eq!(sizes(&survey, (20.0, 25.0)), [], "it is not the fibre's");
    let told = stitch(&survey).disagreements.iter().find(|d| d.position == POSITION).unwrap();
    assert!(told.set_aside && told.absent_in.is_some_and(|i| i != PICTURE + 1), "{told:?}");
}

/// Steps after which fibres come to lie at the same pixels again: in every picture, every second and every third one.
#[test]
fn fibres_that_come_back_to_the_same_pixels_are_no_dirt_on_the_optics() {
    let spots = |(step_um, seed): (f64, u64)| {
        let (layout, mut run) = run(step_um);
        run.face = Face::new(&layout, &FacePlan { seed, ..FacePlan::default() });
        (step_um, seed, stitch(&surveyed(&layout, &run)).optics.clone())
    };
    let cases = [(250.0, 5), (375.0, 5), (332.0, 5), (332.0, 6), (332.0, 7)];
    let invented: Vec<_> = cases.map(spots).into_iter().filter(|found| !found.2.is_empty()).collect();
    assert_eq!(invented, []);
}

#[test]
fn pictures_through_clean_optics_agree() {
    let (layout, mut run) = run(230.0);
    run.face.put(particle((20.0, 25.0), 8.0));
    let survey = surveyed(&layout, &run);
    assert_eq!((&stitch(&survey).optics[..], &stitch(&survey).disagreements[..]), (&[][..], &[][..]));
    assert_eq!(sizes(&survey, (20.0, 25.0)).len(), 1);
}

/// A particle smaller than the dirt, and one as large.
#[test]
fn a_real_mark_under_dirt_on_the_optics_is_not_lost() {
    for size in [4.0, 9.0] {
        let (layout, mut run) = run(230.0);
        run.lens = vec![spot(&run, (20.0, 25.0))];
        run.face.put(particle((20.0, 25.0), size));
        let survey = surveyed(&layout, &run);
        let found = sizes(&survey, (20.0, 25.0));
        let all: Vec<String> = fibre(&survey, POSITION).features.iter().map(told).collect();
        assert!(found.iter().any(|s| *s > size - 1.0), "{size}: {all:?}");
    }
}

/// Of the pictures that show it wholly only one is left, and one more shows the half of it with the dirt.
#[test]
fn a_picture_of_a_part_of_the_fibre_tells_dirt_on_the_optics_from_a_mark() {
    for real in [false, true] {
        let (layout, mut run) = run(230.0);
        let whole = |c: &Camera| run.shows(c, POSITION, 0.0);
        let kept: Vec<Camera> = run.cameras.iter().filter(|c| !whole(c)).cloned().collect();
        let alone = run.cameras[PICTURE].clone();
        // Its left border cuts the fibre, a little beyond the middle.
        let part = Camera { middle_um: (alone.middle_um.0 + 280.0, 0.0), seed: 78, ..alone.clone() };
        run.lens = vec![spot(&run, (20.0, 25.0))];
        if real {
            run.face.put(particle((20.0, 25.0), 9.0));
        }
        run.cameras = kept.into_iter().chain([alone, part]).collect();
        let survey = surveyed(&layout, &run);
        let told: Vec<_> = stitch(&survey).disagreements.iter().filter(|d| d.position == POSITION).collect();
        if real {
            assert!(sizes(&survey, (20.0, 25.0)).iter().any(|s| *s > 8.0), "{told:?}");
        } else {
            assert_eq!(sizes(&survey, (20.0, 25.0)), [], "{told:?}");
            assert!(told[0].set_aside && told[0].absent_in == Some(run.cameras.len() - 1), "{told:?}");
        }
    }
}

/// The other pictures that show it wholly are left away.
#[test]
fn where_one_picture_alone_shows_a_fibre_the_mark_stays_and_is_doubted() {
    let (layout, mut run) = run(230.0);
    let whole = |c: &Camera| run.shows(c, POSITION, 0.0);
    let others: Vec<bool> = run.cameras.iter().enumerate().map(|(i, c)| i == PICTURE || !whole(c)).collect();
    run.lens = vec![spot(&run, (20.0, 25.0))];
    let mut kept = others.iter();
    run.cameras.retain(|_| *kept.next().unwrap());
    let survey = surveyed(&layout, &run);
    let fibre = fibre(&survey, POSITION);
    assert_eq!(sizes(&survey, (20.0, 25.0)).len(), 1);
    assert_eq!(fibre.at_optics.len(), 1);
    let told = stitch(&survey).disagreements.iter().find(|d| d.position == POSITION).unwrap();
    assert!(!told.set_aside && told.absent_in.is_none() && told.optics.is_some());
    assert_eq!(told.mark.id, fibre.at_optics[0]);
}

/// The particle lies there in the pictures after the one that the fibre is graded in, or until then.
#[test]
fn a_particle_that_comes_or_goes_between_pictures_is_told_and_counts() {
    let (layout, clean) = run(230.0);
    let mut dirty = clean.clone();
    dirty.face.put(particle((-30.0, 10.0), 9.0));
    let (before, after) = (clean.pictures().unwrap(), dirty.pictures().unwrap());
    for shown_first in [false, true] {
        let of = |i: usize| if (i <= PICTURE) == shown_first { &after[i] } else { &before[i] };
        let frames: Vec<_> = (0..before.len()).map(|i| of(i).clone()).collect();
        let survey = survey::survey(&frames, &layout, clean.view, None, &Settings::default()).unwrap();
        let found = sizes(&survey, (-30.0, 10.0));
        assert_eq!(found.len(), 1, "{shown_first}: {found:?}");
        assert!((found[0] - 9.0).abs() < 1.5, "{shown_first}: {found:?}");
        let told = &stitch(&survey).disagreements;
        assert_eq!(told.len(), 1, "{shown_first}: {told:?}");
        assert!(told[0].optics.is_none() && !told[0].set_aside && told[0].absent_in.is_some());
        assert_eq!(told[0].position, POSITION);
        assert!(fibre(&survey, POSITION).features.iter().any(|f| f.id == told[0].mark.id));
    }
}
