//! `pitchline compare`: a face before and after it was cleaned or handled; what became of each mark, from the first
//! look to the last and, where there are more than two, from each look to the next.

use crate::args::CompareArgs;
use crate::commands::grade::status;
use crate::compared;
use crate::failure::Failure;
use crate::finish::finish;
use crate::folder::{self, NamedFile};
use crate::output;
use crate::pair::{self, Pictures};
use crate::pipeline::{Job, Looked};
use crate::progress::Progress;
use crate::stale::stale;
use grade::advice::Cleaned;
use report::compare::{CompareRecord, LookRecord};
use report::{Care, FaceRecord, terminal};
use std::path::{Path, PathBuf};

/// Compares, writes and prints what was found; the exit status is that of the last face.
pub fn run(args: &CompareArgs) -> Result<u8, Failure> {
    let job = Job::new(&args.by)?.behind(&args.behind)?.cared_for(&args.care)?;
    let inputs: Vec<PathBuf> =
        [&args.before, &args.after].into_iter().chain(&args.later).map(PathBuf::clone).collect();
    let last = inputs.len() - 1;
    let steps: Vec<String> = (1..=last).filter(|_| last > 1).map(|n| format!("step-{n}.json")).collect();
    let names: Vec<&str> =
        ["compare.json", "map.svg", "map.png"].into_iter().chain(steps.iter().map(String::as_str)).collect();
    folder::spare(&args.out, &names, &inputs)?;
    let progress = Progress::new(args.tell.print.quiet);
    let with_map = !args.tell.no_map;
    let mut faces = looks(&inputs, &job, with_map, &progress)?;

    progress.step("comparing");
    let told: Vec<Vec<Cleaned>> =
        faces.windows(2).map(|two| compared::cleaned(&two[0].record, &two[1].record)).collect();
    let is_stated = !job.cleaned.is_empty();
    let in_all = if is_stated { job.cleaned.clone() } else { told.concat() };
    let mut record = against(&mut faces, [0, 1], &inputs, &job, &in_all)?;
    for later in 2..=last {
        record = against(&mut faces, [0, later], &inputs, &job, &in_all)?;
    }
    let (mut step_files, mut told_steps): (Vec<NamedFile>, Vec<CompareRecord>) = Default::default();
    if last > 1 {
        record.series.push(LookRecord::first(&faces[0].record));
        for (n, name) in steps.into_iter().enumerate() {
            // What was done in all, if it was said for every step, ends with this one.
            let cleaned = match is_stated {
                true if job.cleaned.len() == last => job.cleaned[..=n].to_vec(),
                true => Vec::new(),
                false => told[..=n].concat(),
            };
            let step = against(&mut faces, [n, n + 1], &inputs, &job, &cleaned)?;
            record.series.push(LookRecord::later(&step, &name));
            step_files.push((name, step.to_json()?.into_bytes()));
            told_steps.push(step);
        }
    }
    let mut files: Vec<NamedFile> = vec![("compare.json".to_owned(), record.to_json()?.into_bytes())];
    files.extend(step_files);
    if with_map {
        progress.step("drawing");
        let steps = if last > 1 { told_steps.iter().collect() } else { vec![&record] };
        let looks: Vec<&FaceRecord> = faces.iter().map(|face| &face.record).collect();
        let map = report::compare::map(&record, &steps, &looks);
        files.extend(pair::drawn(&map, &faces.iter().collect::<Vec<_>>())?);
    }

    let stale = stale(&args.out, &files, &inputs);
    finish(&args.out, &files, &stale, &args.tell.print, progress, |written| {
        terminal::compare(&record, written, output::style())
    })?;
    Ok(status(&faces[last].record))
}

/// Every look, each seen in pictures of its own.
fn looks(inputs: &[PathBuf], job: &Job, with_map: bool, progress: &Progress) -> Result<Vec<Looked>, Failure> {
    let wanted = if with_map { Pictures::Drawn } else { Pictures::Helpful };
    let mut faces: Vec<Looked> = Vec::with_capacity(inputs.len());
    for input in inputs {
        let face = pair::face(input, job, wanted, progress)?;
        for (earlier, known) in inputs.iter().zip(&faces) {
            pair::apart([(earlier, known), (input, &face)])?;
        }
        faces.push(face);
    }
    Ok(faces)
}

/// What became of the marks from one look to a later one; turns the later face where its picture shows it turned
/// against what was stated.
fn against(
    faces: &mut [Looked],
    [from, to]: [usize; 2],
    inputs: &[PathBuf],
    job: &Job,
    cleaned: &[Cleaned],
) -> Result<CompareRecord, Failure> {
    let (earlier, later) = faces.split_at_mut(to);
    let paths = [inputs[from].as_path(), inputs[to].as_path()];
    let care = job.care().map(|care| Care { cleaned, ..care });
    compared(&earlier[from], &mut later[0], paths, job, care)
}

fn compared(
    before: &Looked,
    after: &mut Looked,
    [path, path_after]: [&Path; 2],
    job: &Job,
    care: Option<Care>,
) -> Result<CompareRecord, Failure> {
    compared::compared(before, after, job.cable.as_ref(), care).map_err(|another| Failure::TwoFaces {
        before: path.to_owned(),
        after: path_after.to_owned(),
        why: format!("{}; check which pictures belong together", compared::why(&another)),
    })
}
