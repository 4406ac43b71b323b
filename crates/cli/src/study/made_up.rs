//! A study of made-up faces: rendered, looked at and forgotten, one after the other.

use super::{Done, Face, Picture, look, truth};
use crate::failure::Failure;
use crate::profiles;
use crate::progress::Progress;
use profile::CriteriaFile;
use rayon::prelude::*;
use study::against::Counted;
use synth::study::{Role, StudyFace};
use terms::{Layout, View};

/// Layout of the made-up faces.
const LAYOUT: &str = "mpo-12";

/// Looks at so many made-up faces of that seed, in order of their numbers.
pub fn faces(count: usize, seed: u64, progress: &Progress) -> Result<Vec<Face>, Failure> {
    let layout = profiles::layout(LAYOUT)?;
    let done = Done::new(progress, count);
    let looked: Vec<Result<Face, Failure>> = (0..count)
        .into_par_iter()
        .map(|number| {
            let face = face(&layout, seed, number);
            done.one();
            face
        })
        .collect();
    looked.into_iter().collect()
}

fn face(layout: &Layout, seed: u64, number: usize) -> Result<Face, Failure> {
    let made = synth::study::face(layout, seed, number);
    let criteria = profiles::criteria(made.criteria)?;
    let mut looks = Vec::new();
    for set_up in 0..made.cameras.len() {
        looks.push(pictures(&made, set_up, number, layout, &criteria)?);
    }
    let counted = match made.role {
        Role::Targets => Counted::All,
        Role::Dirty => Counted::PitsAndFilms,
        Role::Clean | Role::Repeated | Role::Unfit => Counted::None,
    };
    Ok(Face { criteria: criteria.criteria, counted, looks })
}

fn pictures(
    made: &StudyFace,
    set_up: usize,
    number: usize,
    layout: &Layout,
    criteria: &CriteriaFile,
) -> Result<Vec<Picture>, Failure> {
    let cameras = made.cameras[set_up].iter().enumerate();
    cameras
        .map(|(trial, camera)| {
            let rendered = synth::render_face(&made.face, camera)?;
            let seen = look(rendered.frame, layout, View::default(), criteria);
            let name = match made.role {
                Role::Repeated => format!("face {number}, picture {}.{}", set_up + 1, trial + 1),
                _ => format!("face {number}"),
            };
            let truth = truth::true_face(&rendered.truth, &made.must_refuse);
            Ok(Picture { name, truth: Some(truth), seen })
        })
        .collect()
}
