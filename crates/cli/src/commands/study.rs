//! `pitchline study`: how well the program sees, on made-up faces or on pictures of the user's own.

use crate::args::StudyArgs;
use crate::failure::Failure;
use crate::finish::finish;
use crate::folder::NamedFile;
use crate::progress::Progress;
use crate::study::{Face, against, folder, made_up, repeated};
use report::study::{SetRecord, StudyInputs, StudyRecord};
use study::repeats::repeatability;

/// Files that an earlier run may have left and that a run without such a part does not write.
const PLOTS: [&str; 2] = ["detection.svg", "repeats.svg"];

/// Looks, counts, writes and prints what was found.
pub fn run(args: &StudyArgs) -> Result<u8, Failure> {
    let progress = Progress::new(args.print.quiet);
    let faces = match &args.folder {
        Some(folder) => folder::faces(folder, args, &progress)?,
        None => made_up::faces(args.faces, args.seed, &progress)?,
    };
    progress.step("counting");
    let record = record(&faces, args);
    let mut files: Vec<NamedFile> = vec![("study.json".to_owned(), record.to_json()?.into_bytes())];
    let plots = report::study::plots(&record)?;
    let gone = PLOTS.into_iter().filter(|name| plots.iter().all(|(n, _)| n != name));
    let stale: Vec<String> = gone.map(str::to_owned).collect();
    files.extend(plots.into_iter().map(|(name, svg)| (name.to_owned(), svg.into_bytes())));
    finish(&args.out, &files, &stale, &args.print, progress, |written| {
        format!("{}\nWrote: {}\n", report::study::text(&record), written.join(", "))
    })?;
    Ok(0)
}

fn record(faces: &[Face], args: &StudyArgs) -> StudyRecord {
    let pictures = || faces.iter().flat_map(|f| f.looks.iter().flatten());
    let source = args.folder.as_ref().map(|folder| folder.display().to_string());
    StudyRecord::new(&StudyInputs {
        tool_version: env!("CARGO_PKG_VERSION"),
        set: SetRecord {
            seed: source.is_none().then_some(args.seed),
            source: source.unwrap_or_else(|| "made-up".to_owned()),
            faces: faces.len(),
            pictures: pictures().count(),
            without_row: pictures().filter(|p| p.seen.fibres.is_empty()).count(),
        },
        promised_contrast: survey::REFERENCE_CONTRAST,
        against: against(faces).as_ref(),
        repeats: repeatability(&repeated(faces)).as_ref(),
    })
}
