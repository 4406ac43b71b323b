//! `pitchline handover`: from a folder of graded faces, a table and traces to the pages and tables for the owner.

use crate::args::HandoverArgs;
use crate::book::place::Place;
use crate::failure::Failure;
use crate::folder::{NamedFile, Staged, spare};
use crate::handover::{folder, from_book, measured};
use crate::output;
use crate::progress::Progress;
use crate::read;
use handover::{
    Job, Page, cable_page, columns, file_stem, html, is_cable_file, is_own_page, job_page, of, pdf, tables,
};
use report::record::Verdict;
use std::fs;
use std::path::{Path, PathBuf};

/// Most bytes of a page that is looked at for whose it is: one with hundreds of pictures is smaller.
const MOST: u64 = 256 << 20;

/// Writes the hand-over; the status is that of its connectors.
pub fn run(args: &HandoverArgs) -> Result<u8, Failure> {
    let progress = Progress::new(args.quiet);
    let mut job = match Place::new(&args.site).is_there() {
        true => from_book::job(args, &progress)?,
        false => folder::job(args, &progress)?,
    };
    progress.step("joining");
    measured::add(&mut job, args)?;
    progress.step("writing");
    if Place::new(&args.out).is_there() {
        return Err(Failure::IntoBook { path: args.out.clone() });
    }
    let files = files(&job)?;
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    let inputs: Vec<PathBuf> = args.losses.iter().chain(&args.mapping).cloned().collect();
    spare(&args.out, &names, &inputs)?;
    let strange = |(name, new): &&NamedFile| {
        let path = args.out.join(name);
        let own = || if is_page(&path) { is_own(&path) } else { is_like(&path, new) };
        path.is_file() && !own()
    };
    if let Some((name, _)) = files.iter().find(strange) {
        return Err(Failure::OverStranger { path: args.out.join(name) });
    }
    let stale = stale(&args.out, &names);
    let staged = Staged::new(&args.out, &files)?;
    drop(progress);
    if !args.quiet {
        output::print(&told(&job, args, &files))?;
    }
    staged.commit(&stale)?;
    Ok(status(&job))
}

fn files(job: &Job) -> Result<Vec<NamedFile>, Failure> {
    let mut files = Vec::from(page("job", &job_page(job)));
    for (k, cable) in job.cables.iter().enumerate() {
        files.extend(page(&file_stem(job, k), &cable_page(job, cable)));
    }
    files.push(("positions.csv".to_owned(), tables::csv(&tables::positions(job))?));
    files.push(("losses.csv".to_owned(), tables::csv(&tables::losses(job))?));
    files.push(("events.csv".to_owned(), tables::csv(&tables::events(job))?));
    files.push(("happenings.csv".to_owned(), tables::csv(&tables::happenings(job))?));
    files.push(("cords.csv".to_owned(), tables::csv(&tables::cords(job))?));
    files.push(("taken-back.csv".to_owned(), tables::csv(&tables::taken_back(job))?));
    files.push(("handover.jsonl".to_owned(), tables::json_lines(job)?.into_bytes()));
    files.push(("positions.parquet".to_owned(), columns::positions(job)?));
    files.push(("features.parquet".to_owned(), columns::features(job)?));
    Ok(files)
}

/// A page for screens and for paper.
fn page(stem: &str, page: &Page) -> [NamedFile; 2] {
    let html = html::document(page).into_bytes();
    [(format!("{stem}.html"), html), (format!("{stem}.pdf"), pdf::document(page))]
}

fn is_page(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "html" || ending == "pdf")
}

/// Whether a page is there that this program wrote: no other may be replaced or taken away.
fn is_own(path: &Path) -> bool {
    read::bytes(path, MOST, || Failure::LongFile { path: path.to_owned(), mib: MOST >> 20 })
        .is_ok_and(|bytes| is_own_page(&bytes))
}

/// Whether a table begins as the new one of its name does: with the same headings, or with the format of its rows.
fn is_like(path: &Path, new: &[u8]) -> bool {
    let too_long = || Failure::LongFile { path: path.to_owned(), mib: MOST >> 20 };
    let Ok(old) = read::bytes(path, MOST, too_long) else { return false };
    let holds = |words: &[u8]| old.windows(words.len()).any(|at| at == words);
    let headings = new.split_inclusive(|b| *b == b'\n').next().unwrap_or_default();
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("csv") => old.starts_with(headings),
        _ => old.is_empty() || holds(tables::FORMAT.as_bytes()),
    }
}

/// Pages of cables that an earlier hand-over into this folder had and this one has not: they would tell of another job.
fn stale(out: &Path, names: &[&str]) -> Vec<String> {
    let entries = fs::read_dir(out).into_iter().flatten().flatten();
    let there = entries.filter_map(|entry| entry.file_name().into_string().ok());
    let mut stale: Vec<String> =
        there.filter(|name| is_cable_file(name) && !names.contains(&name.as_str())).collect();
    stale.retain(|name| is_own(&out.join(name)));
    stale.sort();
    stale
}

fn told(job: &Job, args: &HandoverArgs, files: &[NamedFile]) -> String {
    let count = |verdict| job.connectors().filter(|(_, c)| c.verdict() == verdict).count();
    let mut text = output::wrapped(
        &format!(
            "{}: {} of {}; {} pass, {} fail, {} ungraded, {} not inspected; {} owed a look.",
            job.title,
            of(job.connectors().count(), "connector", "connectors"),
            of(job.cables.len(), "cable", "cables"),
            count(Some(Verdict::Pass)),
            count(Some(Verdict::Fail)),
            count(Some(Verdict::Ungraded)),
            count(None),
            job.all_owed().count()
        ),
        0,
    );
    text += &troubles(job);
    let first = files.first().map_or("", |(name, _)| name.as_str());
    text += &format!("Open {} ({} files).\n", args.out.join(first).display(), files.len());
    text
}

/// What could not be joined and what contradicts the evidence of faces, so that nobody must open a page to learn of it.
fn troubles(job: &Job) -> String {
    /// As many as leave the rest in sight; the page of the job has all.
    const SHOWN: usize = 10;
    let nowhere = job.unjoined.iter().map(|what| format!("Not joined: {what}."));
    let doubts = job.cables.iter().flat_map(|cable| {
        let conflicts = cable.doubts.iter().chain(&cable.measured.conflicts);
        conflicts.map(|what| format!("Conflict: cable {}: {what}.", cable.identifier))
    });
    let all: Vec<String> = nowhere.chain(doubts).collect();
    let mut text: String = all.iter().take(SHOWN).map(|what| output::wrapped(what, 0)).collect();
    if all.len() > SHOWN {
        text += &format!("And {} more, see the page of the job.\n", all.len() - SHOWN);
    }
    text
}

/// As for one face: a fail is worse than what has no verdict, or one that no longer holds.
fn status(job: &Job) -> u8 {
    let has = |verdict| job.connectors().any(|(_, c)| c.verdict() == verdict);
    match (has(Some(Verdict::Fail)), job.all_owed().next().is_some()) {
        (true, _) => 1,
        (false, true) => 3,
        (false, false) => 0,
    }
}
