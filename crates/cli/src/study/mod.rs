//! What a study looks at: every picture surveyed and graded as `grade` would, with the truth where it is known,
//! and the pictures of one face kept together.

pub mod folder;
pub mod made_up;
mod truth;

use grade::Criteria;
use imaging::Frame;
use profile::CriteriaFile;
use std::sync::atomic::{AtomicUsize, Ordering};
use study::against::{Against, Counted};
use study::repeats::Repeated;
use study::seen::SeenFace;
use study::truth::TrueFace;
use terms::{Layout, View};

use crate::progress::Progress;

/// One picture of a face.
pub struct Picture {
    /// Its name.
    pub name: String,
    /// What is true, where it is known.
    pub truth: Option<TrueFace>,
    /// What was seen.
    pub seen: SeenFace,
}

/// One face of a study.
pub struct Face {
    /// By what it was graded.
    pub criteria: Criteria,
    /// Which of its isolated marks count for detection.
    pub counted: Counted,
    /// By set-up of the camera, then in order of the pictures.
    pub looks: Vec<Vec<Picture>>,
}

/// Surveys and grades one picture; a picture in which no row is found shows nothing.
fn look(frame: Frame, layout: &Layout, view: View, criteria: &CriteriaFile) -> SeenFace {
    match survey::survey(&[frame], layout, view, None, &criteria.settings) {
        Ok(survey) => SeenFace::new(&survey, &grade::grade(&survey, &criteria.criteria)),
        Err(_) => SeenFace::default(),
    }
}

/// Tells on a terminal how many of the faces are done.
struct Done<'a> {
    progress: &'a Progress,
    count: AtomicUsize,
    of: usize,
}

impl<'a> Done<'a> {
    fn new(progress: &'a Progress, of: usize) -> Done<'a> {
        progress.step(&format!("0 of {of} faces"));
        Done { progress, count: AtomicUsize::new(0), of }
    }

    fn one(&self) {
        let done = 1 + self.count.fetch_add(1, Ordering::Relaxed);
        self.progress.step(&format!("{done} of {} faces", self.of));
    }
}

/// Counts every picture whose truth is known; none if there is no such picture.
pub fn against(faces: &[Face]) -> Option<Against> {
    let mut against = Against::default();
    let mut any = false;
    for face in faces {
        for picture in face.looks.iter().flatten() {
            if let Some(truth) = &picture.truth {
                against.add(&picture.name, truth, &picture.seen, &face.criteria, face.counted);
                any = true;
            }
        }
    }
    any.then_some(against)
}

/// The faces that were looked at more than once, each cut to as many pictures as every one of them has.
pub fn repeated(faces: &[Face]) -> Vec<Repeated> {
    let again: Vec<&Face> =
        faces.iter().filter(|f| f.looks.iter().map(Vec::len).sum::<usize>() > 1).collect();
    let set_ups = again.iter().map(|f| f.looks.len()).min().unwrap_or(0);
    let trials = again.iter().flat_map(|f| f.looks.iter().map(Vec::len)).min().unwrap_or(0);
    again.into_iter().map(|face| repeats(face, set_ups, trials)).collect()
}

fn repeats(face: &Face, set_ups: usize, trials: usize) -> Repeated {
    let looks = || face.looks[..set_ups].iter().map(|set_up| &set_up[..trials]);
    let truths: Option<Vec<&TrueFace>> = looks().flatten().map(|p| p.truth.as_ref()).collect();
    let positions = |holds: &dyn Fn(u16, &TrueFace) -> bool| -> Vec<u16> {
        let known = truths.iter().flatten().next().map(|t| t.fibres.iter().map(|f| f.position));
        let all = known.into_iter().flatten();
        all.filter(|p| truths.iter().flatten().all(|truth| holds(*p, truth))).collect()
    };
    let fibre = |p: u16, truth: &TrueFace| truth.fibres.iter().find(|f| f.position == p).cloned();
    let fit = positions(&|p, truth| fibre(p, truth).is_some_and(|f| !f.must_refuse));
    let clear =
        positions(&|p, truth| fibre(p, truth).is_some_and(|f| f.clear_verdict(&face.criteria).is_some()));
    let all = positions(&|_, _| true);
    Repeated {
        looks: looks().map(|set_up| set_up.iter().map(|p| p.seen.clone()).collect()).collect(),
        left_out: all.into_iter().filter(|p| !fit.contains(p)).collect(),
        clear: truths.is_some().then_some(clear),
    }
}
