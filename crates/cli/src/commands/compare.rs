//! `pitchline compare`: a face before and after it was cleaned or handled; what became of each mark.

use crate::args::CompareArgs;
use crate::commands::grade::status;
use crate::failure::Failure;
use crate::finish::finish;
use crate::folder::{self, NamedFile, stale_maps};
use crate::output;
use crate::pair;
use crate::pipeline::{Job, Looked};
use crate::progress::Progress;
use grade::compare::{Another, Comparison};
use report::compare::{CompareInputs, CompareRecord};
use report::terminal;

/// Compares, writes and prints what was found; the exit status is that of the face after.
pub fn run(args: &CompareArgs) -> Result<u8, Failure> {
    let job = Job::new(&args.by)?.cared_for(&args.care)?;
    let inputs = [args.before.clone(), args.after.clone()];
    folder::spare(&args.out, &["compare.json", "map.svg", "map.png"], &inputs)?;
    let progress = Progress::new(args.tell.print.quiet);
    let with_map = !args.tell.no_map;
    let before = pair::face(&args.before, &job, with_map, &progress)?;
    let mut after = pair::face(&args.after, &job, with_map, &progress)?;
    pair::apart([(&args.before, &before), (&args.after, &after)])?;

    progress.step("comparing");
    let comparison = compared(&before, &mut after, args)?;
    let record = CompareRecord::new(CompareInputs {
        before: &before.record,
        after: &after.record,
        comparison: &comparison,
        tool_version: env!("CARGO_PKG_VERSION"),
        cable: job.cable.as_ref(),
        care: job.care(),
    });
    let mut files: Vec<NamedFile> = vec![("compare.json".to_owned(), record.to_json()?.into_bytes())];
    if with_map {
        progress.step("drawing");
        let map = report::compare::map(&record, &before.record, &after.record);
        files.extend(pair::drawn(&map, &before, &after)?);
    }

    finish(&args.out, &files, stale_maps(with_map), &args.tell.print, progress, |written| {
        terminal::compare(&record, written, output::style())
    })?;
    Ok(status(&after.record))
}

/// What became of the marks; turns the second face where the picture shows it turned against what was stated.
fn compared(before: &Looked, after: &mut Looked, args: &CompareArgs) -> Result<Comparison, Failure> {
    let comparison =
        grade::compare::compare(&before.record.seen(), &after.record.seen()).map_err(|another| {
            Failure::TwoFaces { before: args.before.clone(), after: args.after.clone(), why: why(&another) }
        })?;
    if let Some(turned) = after.record.flipped(comparison.sameness.flip) {
        after.record = turned;
    }
    Ok(comparison)
}

fn why(another: &Another) -> String {
    format!(
        "the {} fibres that both show lie {:.2} um elsewhere in their holes (median), where one face would agree \
         to a few hundredths; check which pictures belong together",
        another.fibres, another.apart
    )
}
