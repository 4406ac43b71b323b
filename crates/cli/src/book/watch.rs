//! `pitchline book watch`: grades pictures as they arrive in a folder, by looking at it again and again.

use super::args::WatchArgs;
use super::intake::{self, Look};
use super::place::Place;
use super::table::Refused;
use super::work;
use super::worker::Grader;
use crate::failure::Failure;
use crate::output;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use std::thread;
use std::time::{Duration, Instant, SystemTime};

/// What a file was like at one look at the folder.
type State = Option<(u64, SystemTime)>;

/// A look and what its files were like.
type Seen = Vec<(PathBuf, State)>;

/// Watches a folder until the program is ended, or nothing came for as long as was stated.
pub fn run(args: &WatchArgs) -> Result<u8, Failure> {
    let inputs = &args.inputs;
    let place = Place::new(&inputs.book);
    let grader = Grader::new(&place, &inputs.by)?;
    let mut held = place.hold()?;
    let mut watch = Watch::default();
    let mut last = Instant::now();
    loop {
        let ready = watch.ready(intake::looks(inputs, None))?;
        if !ready.is_empty() {
            let tally = work::all(ready, &grader, &mut held, inputs)?;
            if !inputs.quiet {
                output::print(&tally.text())?;
            }
            last = Instant::now();
        }
        if args.idle.is_some_and(|idle| last.elapsed() >= Duration::from_secs_f64(idle)) {
            return Ok(0);
        }
        thread::sleep(Duration::from_secs_f64(args.every));
    }
}

/// What was seen so far.
#[derive(Default)]
struct Watch {
    /// The files of each look as they were at the last look at the folder.
    before: BTreeSet<Seen>,
    /// What was graded or refused as it is.
    taken: BTreeSet<Seen>,
    /// Names that cannot be used and were told.
    told: BTreeMap<String, String>,
}

impl Watch {
    /// The looks whose files have not changed since the last look at the folder, each once. An empty folder is none.
    fn ready(
        &mut self,
        looks: Result<Vec<Result<Look, Refused>>, Failure>,
    ) -> Result<Vec<Result<Look, Refused>>, Failure> {
        let looks = match looks {
            Err(Failure::NoPictures { .. }) => return Ok(Vec::new()),
            looks => looks?,
        };
        let mut now = BTreeSet::new();
        let mut ready = Vec::new();
        for look in looks {
            match look {
                Err((what, why)) => {
                    if self.told.insert(what.clone(), why.clone()).as_ref() != Some(&why) {
                        ready.push(Err((what, why)));
                    }
                }
                Ok(look) => {
                    let seen: Seen = look.files.iter().map(|file| (file.clone(), state(file))).collect();
                    if self.before.contains(&seen) && !self.taken.contains(&seen) {
                        self.taken.insert(seen.clone());
                        ready.push(Ok(look));
                    }
                    now.insert(seen);
                }
            }
        }
        self.before = now;
        Ok(ready)
    }
}

fn state(file: &PathBuf) -> State {
    let about = fs::metadata(file).ok()?;
    Some((about.len(), about.modified().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_taken_when_two_looks_find_it_the_same_and_again_when_it_changes() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.png");
        let mut watch = Watch::default();
        let mut ready = |bytes: Option<&str>| {
            bytes.iter().for_each(|bytes| fs::write(&path, bytes).unwrap());
            let look = Look { face: "a".parse().unwrap(), files: vec![path.clone()], when: None, who: None };
            watch.ready(Ok(vec![Ok(look)])).unwrap().len()
        };
        assert_eq!([ready(Some("a")), ready(Some("ab")), ready(Some("abc"))], [0, 0, 0], "it still grows");
        assert_eq!([ready(None), ready(None), ready(None)], [1, 0, 0]);
        assert_eq!([ready(Some("other")), ready(None), ready(None)], [0, 1, 0]);
    }

    #[test]
    fn a_name_that_cannot_be_used_is_told_once_and_an_empty_folder_is_waited_for() {
        let mut watch = Watch::default();
        let mut ready = || watch.ready(Ok(vec![Err(("x".into(), "no".into()))])).unwrap().len();
        assert_eq!([ready(), ready()], [1, 0]);
        assert_eq!(watch.ready(Err(Failure::NoPictures { path: PathBuf::new() })).unwrap().len(), 0);
        assert!(watch.ready(Err(Failure::NoClock)).is_err());
    }
}
