//! One look graded: its pictures read, hashed, looked up, graded as `grade` would, and stored. What goes wrong with one
//! look is told of that look and ends no other.

use super::intake::Look;
use super::place::{self, Place};
use super::table::Refused;
use crate::args::GradeBy;
use crate::failure::Failure;
use crate::inputs;
use crate::pipeline::{self, Job};
use crate::profiles;
use crate::progress::Progress;
use book::{By, Face, Hash, Inspection, Moment, Pictured, Store};
use imaging::door::Limits;
use report::FaceRecord;
use report::record::Verdict;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// By what all looks of a run are graded, and into which book.
pub struct Grader {
    /// The book.
    pub place: Place,
    /// The layout's text.
    pub layout: Vec<u8>,
    /// The criteria's text.
    pub criteria: Vec<u8>,
    by: By,
    job: Job,
}

/// What each worker has of its own.
pub struct Worker {
    known: Store,
    pool: rayon::ThreadPool,
    progress: Progress,
}

/// A graded look that is to be recorded.
pub struct Done {
    /// The record.
    pub look: Inspection,
    /// Its face.json.
    pub document: Vec<u8>,
    /// The positions that do not pass, in words; empty if all do.
    pub open: String,
    /// How long it took.
    pub took: Duration,
}

/// What became of a look.
pub enum Outcome {
    /// It is to be recorded.
    Done(Box<Done>),
    /// The book knows it already.
    Known,
    /// It cannot be used; the face is told where its name is known: it is owed a look then.
    Refused(Refused, Option<Face>),
    /// Nothing can.
    Stop(Failure),
}

/// The bytes of a look's pictures, with their names and hashes.
struct Read {
    pictures: Vec<(PathBuf, Pictured, Vec<u8>)>,
    when: Moment,
}

impl Worker {
    /// What a worker has, made when it is first needed. Looks side by side use the processors better than the parts of
    /// one look, so each has one thread.
    pub fn of<'w>(own: &'w mut Option<Worker>, place: &Place) -> Result<&'w Worker, Failure> {
        if let Some(worker) = own {
            return Ok(worker);
        }
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().map_err(|_| Failure::NoThreads)?;
        Ok(own.insert(Worker { known: place.read()?, pool, progress: Progress::new(true) }))
    }

    /// Grades the face that pictures show, given the names and bytes of their files; with the picture of the whole face
    /// that a stepped run was put together to.
    pub fn look(
        &self,
        pictures: &[(&Path, &[u8])],
        job: &Job,
    ) -> Result<(FaceRecord, Option<Vec<u8>>), Failure> {
        let progress = &self.progress;
        let looked = self.pool.install(|| {
            let sources = inputs::known_sources(pictures)?;
            pipeline::look(sources, job, progress)
        });
        let mut looked = looked?;
        let whole = looked.face_picture()?;
        Ok((looked.record, whole))
    }

    /// The records.
    pub fn store(&self) -> &Store {
        &self.known
    }
}

impl Grader {
    /// Reads the layout and the criteria that are named.
    pub fn new(place: &Place, by: &GradeBy) -> Result<Grader, Failure> {
        let job = Job::new(by)?;
        let (layout, criteria) = profiles::texts(&by.layout, &by.criteria)?;
        let (layout, criteria) = (layout.into_bytes(), criteria.into_bytes());
        let by = By {
            layout: Hash::of(&layout),
            criteria: Hash::of(&criteria),
            key_down: by.key == crate::args::Key::Down,
            mirrored: by.mirrored,
            scale: by.scale.map(|scale| scale.to_string()),
            guard: by.guard.map(|risk| risk.get().to_string()),
        };
        Ok(Grader { place: place.clone(), layout, criteria, by, job })
    }

    /// Grades a look, unless the book knows it.
    pub fn grade(&self, worker: &mut Option<Worker>, look: &Look) -> Outcome {
        let worker = match Worker::of(worker, &self.place) {
            Ok(worker) => worker,
            Err(why) => return Outcome::Stop(why),
        };
        let begun = Instant::now();
        let name = || look.files.first().map(|file| file.display().to_string()).unwrap_or_default();
        // A fault of the program at one picture must not end the work on three hundred.
        let tried = catch_unwind(AssertUnwindSafe(|| self.graded(worker, look)));
        match tried {
            Ok(Ok(Some((look, document, record)))) => {
                let open = open(&record);
                Outcome::Done(Box::new(Done { look, document, open, took: begun.elapsed() }))
            }
            Ok(Ok(None)) => Outcome::Known,
            Ok(Err(why @ (Failure::Write { .. } | Failure::Book { .. }))) => Outcome::Stop(why),
            Ok(Err(why)) => {
                let (name, why) = (name(), why.to_string());
                let rest = why.strip_prefix(&name);
                let own = rest.and_then(|rest| rest.strip_prefix(": ").or_else(|| rest.strip_prefix(", ")));
                let why = own.unwrap_or(&why).to_owned();
                Outcome::Refused((name, why), Some(look.face.clone()))
            }
            Err(_) => {
                let why = "a fault of the program itself; please report it".to_owned();
                Outcome::Refused((name(), why), Some(look.face.clone()))
            }
        }
    }

    fn graded(
        &self,
        worker: &Worker,
        look: &Look,
    ) -> Result<Option<(Inspection, Vec<u8>, FaceRecord)>, Failure> {
        let Read { pictures, when } = read(look)?;
        let told: Vec<Pictured> = pictures.iter().map(|(_, told, _)| told.clone()).collect();
        let key = Inspection::key(&look.face, &told, &self.by)?;
        if worker.known.knows(key).map_err(|why| self.place.failure(why))? {
            return Ok(None);
        }
        let shown: Vec<(&Path, &[u8])> =
            pictures.iter().map(|(p, _, b)| (p.as_path(), b.as_slice())).collect();
        let (record, whole) = worker.look(&shown, &self.job)?;
        let document = record.to_json()?.into_bytes();
        for (_, told, bytes) in &pictures {
            self.place.keep(told.sha256, bytes)?;
        }
        if let Some(whole) = whole {
            self.place.keep(Hash::of(&whole), &whole)?;
        }
        let inspection = Inspection {
            face: look.face.clone(),
            when,
            who: look.who.clone(),
            pictures: told,
            by: self.by.clone(),
            verdict: grade::Verdict::from(record.verdict).into(),
            document: Hash::of(&document),
            tool: env!("CARGO_PKG_VERSION").to_owned(),
        };
        Ok(Some((inspection, document, record)))
    }
}

/// "fail at 2, 5; ungraded at 7 (out of focus)".
fn open(record: &FaceRecord) -> String {
    let failing = report::numbers(record.with_verdict(Verdict::Fail).map(|p| p.position));
    let failing = (!failing.is_empty()).then(|| format!("fail at {failing}"));
    let ungraded = report::ungraded_in_short(record).into_iter().map(|at| format!("ungraded at {at}"));
    failing.into_iter().chain(ungraded).collect::<Vec<_>>().join("; ")
}

fn read(look: &Look) -> Result<Read, Failure> {
    let limits = Limits::default();
    let (mut pictures, mut newest) = (Vec::new(), None);
    for path in &look.files {
        let bytes = inputs::bytes(path, &limits)?;
        let file = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        let told = Pictured { file, sha256: Hash::of(&bytes) };
        newest = newest.max(fs::metadata(path).and_then(|about| about.modified()).ok());
        pictures.push((path.clone(), told, bytes));
    }
    let when = look.when.clone().or_else(|| newest.and_then(place::moment)).ok_or(Failure::NoClock)?;
    Ok(Read { pictures, when })
}
