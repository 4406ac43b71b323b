//! Grading many looks into a book: workers grade, one writer commits in the order of the inputs, so that a run that was
//! cut off and run again ends with the same records as one that was not.

use super::args::{AddArgs, Inputs};
use super::in_order::in_order;
use super::intake::{self, Look};
use super::place::{Held, Place, noted};
use super::table::Refused;
use super::worker::{Done, Grader, Outcome};
use crate::failure::Failure;
use crate::output;
use crate::progress::Count;
use book::{Added, BookError, Face, Found, Register, Role, shared, strangers};
use std::collections::BTreeSet;
use std::num::NonZeroUsize;
use std::thread;
use std::time::Duration;

/// What became of the inputs.
#[derive(Default)]
pub struct Tally {
    all: usize,
    pass: usize,
    fail: usize,
    ungraded: usize,
    known: usize,
    refused: Vec<Refused>,
    /// Faces that do not pass, with their positions.
    open: Vec<(Face, String)>,
    /// Faces of this run whose last look differs from the one before, or shares its picture with another face, and how.
    mind: Vec<(Face, String)>,
}

/// Grades what the arguments name.
pub fn add(args: &AddArgs) -> Result<u8, Failure> {
    let inputs = &args.inputs;
    let place = Place::new(&inputs.book);
    let looks = intake::looks(inputs, args.shard)?;
    let grader = Grader::new(&place, &inputs.by)?;
    let mut held = place.hold()?;
    let tally = all(looks, &grader, &mut held, inputs)?;
    if !inputs.quiet {
        output::print(&tally.text())?;
    }
    Ok(tally.status())
}

/// As many as were asked for, else one for each processor.
pub fn workers(asked: Option<NonZeroUsize>) -> NonZeroUsize {
    asked.or_else(|| thread::available_parallelism().ok()).unwrap_or(NonZeroUsize::MIN)
}

/// Grades every look and commits each in its turn. What waits for its turn is a record, never a picture.
pub fn all(
    looks: Vec<Result<Look, Refused>>,
    grader: &Grader,
    held: &mut Held,
    inputs: &Inputs,
) -> Result<Tally, Failure> {
    let count = Count::new(looks.len(), inputs.quiet);
    let role = if inputs.cord { Role::Cord } else { Role::Connector };
    let mut tally = Tally::default();
    let mut faces: BTreeSet<Face> = BTreeSet::new();
    in_order(
        looks,
        workers(inputs.workers),
        |worker, look| {
            look.map_or_else(|why| Outcome::Refused(why, None), |look| grader.grade(worker, &look))
        },
        |outcome| {
            let known = tally.known;
            match &outcome {
                Outcome::Done(done) => drop(faces.insert(done.look.face.clone())),
                // Its face was to be looked at, and was not.
                Outcome::Refused(_, Some(face)) => {
                    let new = held.store.know(face, role, &noted(Duration::ZERO));
                    new.map_err(|why| grader.place.failure(why))?;
                }
                Outcome::Known | Outcome::Refused(_, None) | Outcome::Stop(_) => {}
            }
            tally.take(outcome, |done| enter(done, grader, held, role))?;
            count.one(tally.known > known);
            Ok(())
        },
    )?;
    if !faces.is_empty() {
        tally.mind = to_mind(held, &faces).map_err(|why| grader.place.failure(why))?;
    }
    Ok(tally)
}

/// What the new looks at some faces do not agree with. A picture of many faces is told once.
fn to_mind(held: &Held, faces: &BTreeSet<Face>) -> Result<Vec<(Face, String)>, BookError> {
    let register = Register::read(&held.store)?;
    let differ = strangers(&held.store, &register)?.into_iter().map(|stranger| (stranger.face, stranger.why));
    let twice = shared(&register).into_iter().filter_map(|picture| {
        let face = picture.faces.iter().rev().find(|face| faces.contains(face))?;
        Some((face.clone(), picture.beside(face)))
    });
    Ok(differ.filter(|(face, _)| faces.contains(face)).chain(twice).collect())
}

fn enter(done: &Done, grader: &Grader, held: &mut Held, role: Role) -> Result<Added, Failure> {
    let documents = [grader.layout.as_slice(), &grader.criteria, &done.document];
    let added = held.store.inspect(&done.look, role, &documents, &noted(done.took));
    added.map_err(|why| grader.place.failure(why))
}

impl Tally {
    /// Counts an outcome; `enter` records it.
    fn take(
        &mut self,
        outcome: Outcome,
        enter: impl FnOnce(&Done) -> Result<Added, Failure>,
    ) -> Result<(), Failure> {
        self.all += 1;
        match outcome {
            Outcome::Stop(why) => return Err(why),
            Outcome::Refused(why, _) => self.refused.push(why),
            Outcome::Known => self.known += 1,
            Outcome::Done(done) => {
                match (enter(&done)?, done.look.verdict) {
                    (Added::Known, _) => self.known += 1,
                    (Added::New, Found::Pass) => self.pass += 1,
                    (Added::New, Found::Fail) => self.fail += 1,
                    (Added::New, Found::Ungraded) => self.ungraded += 1,
                }
                if !done.open.is_empty() {
                    self.open.push((done.look.face, done.open));
                }
            }
        }
        Ok(())
    }

    /// 1 if an input could not be used.
    pub fn status(&self) -> u8 {
        u8::from(!self.refused.is_empty())
    }

    /// What became of the inputs, the refused ones by name.
    pub fn text(&self) -> String {
        let graded = self.pass + self.fail + self.ungraded;
        let mut text = output::wrapped(
            &format!(
                "{} {}: {graded} graded ({} pass, {} fail, {} ungraded), {} in the book already, {} refused.",
                self.all,
                if self.all == 1 { "input" } else { "inputs" },
                self.pass,
                self.fail,
                self.ungraded,
                self.known,
                self.refused.len()
            ),
            0,
        );
        for (face, open) in &self.open {
            text += &output::wrapped(&format!("{face}: {open}"), 2);
        }
        for (face, why) in &self.mind {
            text += &output::wrapped(&format!("{face}: mind: {why}"), 2);
        }
        for (what, why) in &self.refused {
            text += &output::wrapped(&format!("{what}: {why}"), 2);
        }
        text
    }
}
