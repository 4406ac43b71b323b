//! `pitchline grade`: one face in, its files and its verdict out.

use crate::args::GradeArgs;
use crate::failure::Failure;
use crate::finish::finish;
use crate::folder;
use crate::inputs;
use crate::output;
use crate::pipeline::{self, Job};
use crate::profiles;
use crate::progress::Progress;
use crate::stale::stale;
use report::record::Verdict;
use report::{FACE_PICTURE, FaceRecord, terminal};

/// Grades one face, writes and prints what was found; the exit status is the face's.
pub fn run(args: &GradeArgs) -> Result<u8, Failure> {
    let mut job = Job::new(&args.by)?.behind(&args.behind)?.cared_for(&args.care)?;
    job.lanes = profiles::lanes(&args.carries, &job.layout, &job.criteria.criteria)?;
    let progress = Progress::new(args.tell.print.quiet);
    progress.step("reading");
    let pictures = inputs::files(&args.inputs)?;
    let sources = inputs::sources(&pictures)?;
    folder::spare(&args.out, written(sources.len()), &pictures)?;
    let with_map = !args.tell.no_map;
    let graded = pipeline::grade_face(sources, &job, with_map, &progress)?;
    let stale = stale(&args.out, &graded.files, &pictures);
    finish(&args.out, &graded.files, &stale, &args.tell.print, progress, |written| {
        terminal::face(&graded.record, written, output::style())
    })?;
    Ok(status(&graded.record))
}

/// The names that grading so many pictures may write.
fn written(pictures: usize) -> &'static [&'static str] {
    let all = &["face.json", "map.svg", "map.png", FACE_PICTURE];
    if pictures > 1 { all } else { &all[..3] }
}

/// The exit status of a graded face.
pub fn status(record: &FaceRecord) -> u8 {
    match record.verdict {
        Verdict::Pass => 0,
        Verdict::Fail => 1,
        Verdict::Ungraded => 3,
    }
}
