//! `pitchline mated`: two faces that were mated, or are to be; what went over and what would.

use crate::args::{MatedArgs, Meets};
use crate::commands::grade::status;
use crate::failure::Failure;
use crate::finish::finish;
use crate::folder::{self, NamedFile};
use crate::output;
use crate::pair::{self, Pictures};
use crate::pipeline::{Job, Looked};
use crate::progress::Progress;
use crate::stale::stale;
use grade::mated::{self, Adapter, Mated};
use report::mated::{MatedInputs, MatedRecord};
use report::terminal;

/// Matches, writes and prints what was found; the exit status is the worse of the two faces'.
pub fn run(args: &MatedArgs) -> Result<u8, Failure> {
    let job = Job::new(&args.by)?.behind(&args.behind)?;
    let inputs = [args.face_a.clone(), args.face_b.clone()];
    folder::spare(&args.out, &["mated.json", "map.svg", "map.png"], &inputs)?;
    let progress = Progress::new(args.tell.print.quiet);
    let with_map = !args.tell.no_map;
    let wanted = if with_map { Pictures::Drawn } else { Pictures::Unused };
    let a = pair::face(&args.face_a, &job, wanted, &progress)?;
    let b = pair::face(&args.face_b, &job, wanted, &progress)?;

    pair::apart([(&args.face_a, &a), (&args.face_b, &b)])?;
    progress.step("matching");
    let (adapter, mated) = matched(&a, &b, &job, args)?;
    let record = MatedRecord::new(MatedInputs {
        a: &a.record,
        b: &b.record,
        adapter,
        adapter_stated: args.adapter.is_some(),
        mated: &mated,
        tool_version: env!("CARGO_PKG_VERSION"),
        cable: job.cable.as_ref(),
        cautions: job.cautions_about("light"),
        defers: job.counsel.as_ref().map(|counsel| counsel.defers.clone()).unwrap_or_default(),
    });
    let mut files: Vec<NamedFile> = vec![("mated.json".to_owned(), record.to_json()?.into_bytes())];
    if with_map {
        progress.step("drawing");
        files.extend(pair::drawn(&report::mated::map(&record, &a.record, &b.record), &[&a, &b])?);
    }

    let stale = stale(&args.out, &files, &inputs);
    finish(&args.out, &files, &stale, &args.tell.print, progress, |written| {
        terminal::mated(&record, written, output::style())
    })?;
    Ok(worse(status(&a.record), status(&b.record)))
}

/// What the marks tell under the stated adapter; where none is stated, under the one that they tell of.
fn matched(a: &Looked, b: &Looked, job: &Job, args: &MatedArgs) -> Result<(Adapter, Mated), Failure> {
    let (face_a, face_b) = (a.record.to_mate(), b.record.to_mate());
    if mated::one_ferrule(&face_a, &face_b) {
        return Err(Failure::OneFerrule { a: args.face_a.clone(), b: args.face_b.clone() });
    }
    let adapter = match args.adapter {
        Some(Meets::TypeA) => Adapter::Opposed,
        Some(Meets::TypeB) => Adapter::Aligned,
        None => mated::adapter_by_marks(&face_a, &face_b).ok_or(Failure::NoAdapter)?,
    };
    let found = mated::mate(&face_a, &face_b, adapter, &job.criteria.criteria, job.acceptance);
    let why = |why| Failure::NotMated { a: args.face_a.clone(), b: args.face_b.clone(), why };
    found.map(|found| (adapter, found)).map_err(why)
}

/// A fail is worse than an ungraded face, and that worse than a pass.
fn worse(a: u8, b: u8) -> u8 {
    match (a, b) {
        (1, _) | (_, 1) => 1,
        _ => a.max(b),
    }
}
