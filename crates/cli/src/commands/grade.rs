//! `pitchline grade`: one face in, its files and its verdict out.

use crate::args::GradeArgs;
use crate::failure::Failure;
use crate::folder::{self, NamedFile, Staged, stale_maps};
use crate::inputs;
use crate::output;
use crate::pipeline::{self, Job};
use crate::profiles;
use crate::progress::Progress;
use report::record::Verdict;
use report::{FACE_PICTURE, FaceRecord, terminal};
use std::path::Path;

/// Grades, prints, then gives the files their names: if any step fails, nothing is left in the folder.
pub fn run(args: &GradeArgs) -> Result<u8, Failure> {
    let mut job = Job::new(&args.by)?;
    job.lanes = profiles::lanes(&args.carries, &job.layout)?;
    let progress = Progress::new(args.quiet);
    progress.step("reading");
    let pictures = inputs::files(&args.inputs)?;
    folder::spare(&args.out, written(pictures.len()), &pictures)?;
    let sources = inputs::sources(&pictures)?;
    let graded = pipeline::grade_face(sources, &job, !args.no_map, &progress)?;
    progress.step("writing");
    let staged = Staged::new(&args.out, &graded.files)?;
    drop(progress);
    if args.json {
        output::print(&graded.record.to_json()?)?;
    } else if !args.quiet {
        let written = paths(&args.out, &graded.files);
        output::print(&terminal::face(&graded.record, &written, output::style()))?;
    }
    staged.commit(stale_maps(!args.no_map))?;
    Ok(status(&graded.record))
}

/// The names that grading so many pictures may write.
fn written(pictures: usize) -> &'static [&'static str] {
    let all = &["face.json", "map.svg", "map.png", FACE_PICTURE];
    if pictures > 1 { all } else { &all[..3] }
}

/// Each file with its folder, in words for people.
pub fn paths(folder: &Path, files: &[NamedFile]) -> Vec<String> {
    files.iter().map(|(name, _)| folder.join(name).display().to_string()).collect()
}

/// The exit status of a graded face.
pub fn status(record: &FaceRecord) -> u8 {
    match record.verdict {
        Verdict::Pass => 0,
        Verdict::Fail => 1,
        Verdict::Ungraded => 3,
    }
}
