//! Grading many looks into a book: workers grade, one writer commits in the order of the inputs, so that a run that was
//! cut off and run again ends with the same records as one that was not.

use super::args::AddArgs;
use super::intake::{self, Look};
use super::place::{Held, Place, noted};
use super::table::Refused;
use super::worker::{Done, Grader, Outcome};
use crate::failure::Failure;
use crate::output;
use crate::progress::Count;
use book::{Added, Found, Role};
use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::sync::mpsc::{self, Receiver, Sender};
use std::sync::{Mutex, PoisonError};
use std::thread;

/// What became of the inputs.
#[derive(Default)]
pub struct Tally {
    all: usize,
    pass: usize,
    fail: usize,
    ungraded: usize,
    known: usize,
    refused: Vec<Refused>,
}

/// Grades what the arguments name.
pub fn add(args: &AddArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let looks = intake::looks(args)?;
    let grader = Grader::new(&place, &args.by)?;
    let mut held = place.hold()?;
    let role = if args.cord { Role::Cord } else { Role::Connector };
    let workers = args.work.workers.or_else(|| thread::available_parallelism().ok());
    let workers = workers.unwrap_or(NonZeroUsize::MIN);
    let tally = all(looks, &grader, &mut held, role, (workers, args.quiet))?;
    if !args.quiet {
        output::print(&tally.text())?;
    }
    Ok(tally.status())
}

/// Work for a worker: the place in the order, and the look.
type Job = (usize, Look);

/// Grades every look and commits each in its turn.
pub fn all(
    looks: Vec<Result<Look, Refused>>,
    grader: &Grader,
    held: &mut Held,
    role: Role,
    (workers, quiet): (NonZeroUsize, bool),
) -> Result<Tally, Failure> {
    let (give, take) = mpsc::channel::<Job>();
    let (tell, hear) = mpsc::channel::<(usize, Outcome)>();
    let take = Mutex::new(take);
    let count = Count::new(looks.len(), quiet);
    thread::scope(|scope| {
        for _ in 0..workers.get() {
            let (take, tell) = (&take, tell.clone());
            scope.spawn(move || work(take, &tell, grader));
        }
        drop(tell);
        let mut writer = Writer { grader, held, role, count, tally: Tally::default() };
        // A window of work given out and not yet committed: a slow picture holds up no worker, and what waits behind
        // it stays few. It waits as its record, never as its picture.
        writer.write(looks, give, &hear, 4 * workers.get())?;
        Ok(writer.tally)
    })
}

/// One worker: a look at a time, with one thread of its own.
fn work(take: &Mutex<Receiver<Job>>, tell: &Sender<(usize, Outcome)>, grader: &Grader) {
    let mut worker = None;
    loop {
        let next = take.lock().unwrap_or_else(PoisonError::into_inner).recv();
        let Ok((turn, look)) = next else { return };
        let outcome = match &worker {
            Some(worker) => grader.grade(worker, &look),
            None => match grader.worker() {
                Ok(new) => grader.grade(worker.insert(new), &look),
                Err(why) => Outcome::Stop(why),
            },
        };
        if tell.send((turn, outcome)).is_err() {
            return;
        }
    }
}

struct Writer<'w> {
    grader: &'w Grader,
    held: &'w mut Held,
    role: Role,
    count: Count,
    tally: Tally,
}

impl Writer<'_> {
    fn write(
        &mut self,
        looks: Vec<Result<Look, Refused>>,
        give: Sender<Job>,
        hear: &Receiver<(usize, Outcome)>,
        window: usize,
    ) -> Result<(), Failure> {
        let all = looks.len();
        let mut looks = looks.into_iter().enumerate();
        let mut waiting = BTreeMap::new();
        let (mut given, mut turn) = (0, 0);
        while turn < all {
            while given < all && given - turn < window {
                match looks.next() {
                    Some((n, Ok(look))) => drop(give.send((n, look))),
                    Some((n, Err(why))) => drop(waiting.insert(n, Outcome::Refused(why))),
                    None => break,
                }
                given += 1;
            }
            while let Some(outcome) = waiting.remove(&turn) {
                self.commit(outcome)?;
                turn += 1;
            }
            if turn < given && !waiting.contains_key(&turn) {
                let Ok((n, outcome)) = hear.recv() else { break };
                waiting.insert(n, outcome);
            }
        }
        Ok(())
    }

    fn commit(&mut self, outcome: Outcome) -> Result<(), Failure> {
        self.tally.all += 1;
        let mut known = false;
        match outcome {
            Outcome::Stop(why) => return Err(why),
            Outcome::Refused(why) => self.tally.refused.push(why),
            Outcome::Known => known = true,
            Outcome::Done(done) => known = self.enter(&done)?,
        }
        self.tally.known += usize::from(known);
        self.count.one(known);
        Ok(())
    }

    /// Whether the book knew it before.
    fn enter(&mut self, done: &Done) -> Result<bool, Failure> {
        let documents = [self.grader.layout.as_slice(), &self.grader.criteria, &done.document];
        let added = self.held.store.inspect(&done.look, self.role, &documents, &noted(done.took));
        match (added.map_err(|why| self.grader.place.failure(why))?, done.look.verdict) {
            (Added::Known, _) => return Ok(true),
            (Added::New, Found::Pass) => self.tally.pass += 1,
            (Added::New, Found::Fail) => self.tally.fail += 1,
            (Added::New, Found::Ungraded) => self.tally.ungraded += 1,
        }
        Ok(false)
    }
}

impl Tally {
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
        for (what, why) in &self.refused {
            text += &output::wrapped(&format!("{what}: {why}"), 2);
        }
        text
    }
}
