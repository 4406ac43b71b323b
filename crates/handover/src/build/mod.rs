//! From a job to its pages: which parts stand where. The words of faces, measurements and statistics stand in the
//! files beside this one.

mod criteria;
mod faces;
mod figures;
mod measured;

use crate::job::{Cable, Cord, Job};
use crate::page::{Cell, Page, Part, Standing, Table};
use report::record::Verdict;

/// Name of the page of a cable, without its ending: plain letters, and its number among the cables, so that no two
/// are alike.
pub fn file_stem(job: &Job, cable: usize) -> String {
    let identifier = job.cables.get(cable).map_or("", |c| c.identifier.as_str());
    let plain: String = identifier.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    format!("cable-{:03}-{}", cable + 1, plain.chars().take(40).collect::<String>().to_lowercase())
}

/// Whether a file bears the name of a cable's page, of this job or another.
pub fn is_cable_file(name: &str) -> bool {
    let Some((stem, ending)) = name.strip_prefix("cable-").and_then(|rest| rest.rsplit_once('.')) else {
        return false;
    };
    let Some((number, identifier)) = stem.split_once('-') else { return false };
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    number.len() >= 3
        && number.bytes().all(|b| b.is_ascii_digit())
        && identifier.chars().all(plain)
        && matches!(ending, "html" | "pdf")
}

/// Whether bytes are a page that this program wrote: it says so in every one.
pub fn is_own_page(bytes: &[u8]) -> bool {
    let holds = |words: &[u8]| bytes.windows(words.len()).any(|at| at == words);
    (bytes.starts_with(b"<!DOCTYPE html>") && holds(b"<p>Written by pitchline "))
        || (bytes.starts_with(b"%PDF-") && holds(b"<pdf:Producer>pitchline "))
}

/// The page of the whole job.
pub fn job_page(job: &Job) -> Page {
    let mut page = blank(job, job.title.clone());
    page.subtitle = format!("Hand-over of {}, dated {}", of(job.cables.len(), "cable", "cables"), job.date);
    summary(&mut page, job);
    page.parts.push(Part::Table(cables(job)));
    page.section("Gaps and conflicts");
    page.list(troubles(job), "None was found.");
    if !job.cords.is_empty() {
        page.section("Reference cords");
        page.parts.push(Part::Table(cords(job)));
    }
    if !job.taken_back.is_empty() {
        page.section("What was taken back");
        page.list(job.taken_back.clone(), "");
    }
    figures::tell(&mut page, job);
    criteria::tell(&mut page, job.connectors().filter_map(|(_, c)| c.last()).map(|look| &look.face));
    closing(&mut page, job);
    page.section("What this was made from");
    page.text(format!(
        "Written by pitchline {}. The pages of the cables name every record and picture.",
        job.version
    ));
    job.proof.iter().for_each(|proof| page.text(proof.clone()));
    page.list(origins(job), "No tables and traces were given.");
    page.with_signs()
}

/// The page of one cable.
pub fn cable_page(job: &Job, cable: &Cable) -> Page {
    let mut page = blank(job, format!("Cable {}", cable.identifier));
    page.subtitle = format!("{}, hand-over dated {}", job.title, job.date);
    page.section("Summary");
    page.parts.push(Part::Table(ends(job, cable)));
    page.part("What is owed");
    let owed = job.all_owed().filter(|(of, _, _)| std::ptr::eq(*of, cable));
    page.list(
        owed.map(|(_, c, why)| format!("Connector {}: {why}", c.identifier)).collect(),
        "Nothing is owed.",
    );
    page.section("Gaps and conflicts");
    page.list(trouble(cable), "None was found.");
    for connector in &cable.connectors {
        faces::tell(&mut page, connector);
    }
    measured::tell(&mut page, &cable.measured);
    criteria::tell(&mut page, cable.connectors.iter().filter_map(|c| c.last()).map(|look| &look.face));
    closing(&mut page, job);
    page.section("What this was made from");
    page.text(format!("Written by pitchline {}.", job.version));
    page.list(faces::origins(cable), "No face was inspected.");
    page.with_signs()
}

fn blank(job: &Job, title: String) -> Page {
    let foot = format!("{}, {}, pitchline {}", job.title, job.date, job.version);
    let (date, version) = (job.date.clone(), job.version.clone());
    Page { title, subtitle: String::new(), foot, date, version, parts: Vec::new() }
}

/// `1 cable`, `3 cables`.
pub fn of(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// What failed and what is owed, before anything else.
fn summary(page: &mut Page, job: &Job) {
    page.section("Summary");
    let with = |standing| job.connectors().filter(|(_, c)| Standing::of(c.verdict()) == standing).count();
    let all = job.connectors().count();
    page.text(format!(
        "Of {}, {} pass, {} fail, {} could not be graded and {} were not inspected. Each counts by its last inspection.",
        of(all, "connector", "connectors"),
        with(Standing::Graded(Verdict::Pass)),
        with(Standing::Graded(Verdict::Fail)),
        with(Standing::Graded(Verdict::Ungraded)),
        with(Standing::Unseen),
    ));
    if !job.taken_back.is_empty() {
        page.text(format!(
            "{} not counted here; see \"What was taken back\".",
            of(job.taken_back.len(), "entry was taken back and is", "entries were taken back and are")
        ));
    }
    page.part("What failed");
    let failed = job.connectors().filter(|(_, c)| c.verdict() == Some(Verdict::Fail));
    let line = |(cable, c): (&Cable, &crate::Connector)| {
        let positions = c.last().map(|look| faces::positions(&look.face, Verdict::Fail)).unwrap_or_default();
        format!("Cable {}, connector {}: {positions}", cable.identifier, c.identifier)
    };
    page.list(failed.map(line).collect(), "No connector fails.");
    page.part("What is owed");
    let owed = job.all_owed();
    let owed =
        owed.map(|(cable, c, why)| format!("Cable {}, connector {}: {why}", cable.identifier, c.identifier));
    page.list(owed.collect(), "Nothing is owed.");
}

/// Every cable in a line.
fn cables(job: &Job) -> Table {
    let row = |(k, cable): (usize, &Cable)| {
        let end = |(n, c): (usize, &crate::Connector)| {
            let word = Standing::of(c.verdict()).word();
            match owed_though_passed(job, (k, n), c) {
                "" => format!("{} {word}", c.identifier),
                owed => format!("{} {word}, {owed}", c.identifier),
            }
        };
        let ends: Vec<String> = cable.connectors.iter().enumerate().map(end).collect();
        vec![
            Cell::Link(cable.identifier.clone(), file_stem(job, k)),
            worst(cable),
            ends.join(", ").into(),
            measured::tier_1(&cable.measured),
            measured::tier_2(&cable.measured).into(),
            trouble(cable).len().to_string().into(),
        ]
    };
    Table {
        caption: "Every cable of the job".to_owned(),
        head: ["Cable", "Faces", "Connectors", "Loss (tier 1)", "Trace (tier 2)", "Gaps, conflicts"]
            .map(str::to_owned)
            .to_vec(),
        rows: job.cables.iter().enumerate().map(row).collect(),
        widths: vec![1.2, 1.4, 2.4, 1.8, 1.8, 1.0],
    }
}

/// Every reference cord in a line.
fn cords(job: &Job) -> Table {
    let row = |cord: &Cord| {
        let (when, standing) = match &cord.last {
            Some((when, verdict)) => (when.as_str(), Standing::Graded(*verdict)),
            None => ("", Standing::Unseen),
        };
        let owed = if cord.owed.is_empty() { "nothing" } else { &cord.owed };
        vec![
            cord.identifier.clone().into(),
            Cell::Mark(standing, when.to_owned()),
            of(cord.met, "face", "faces").into(),
            owed.into(),
        ]
    };
    Table {
        caption: "Reference cords, by their last inspection".to_owned(),
        head: ["Cord", "Last inspection", "Met", "Owed before it is used again"].map(str::to_owned).to_vec(),
        rows: job.cords.iter().map(row).collect(),
        widths: vec![1.2, 2.2, 0.8, 3.2],
    }
}

/// The connectors of a cable counted under the verdict that asks for most: a cable as such is not graded.
fn worst(cable: &Cable) -> Cell {
    const ASKS: [Standing; 4] = [
        Standing::Graded(Verdict::Fail),
        Standing::Graded(Verdict::Ungraded),
        Standing::Unseen,
        Standing::Graded(Verdict::Pass),
    ];
    let count = |s: Standing| cable.connectors.iter().filter(|c| Standing::of(c.verdict()) == s).count();
    let found = ASKS.into_iter().find(|s| count(*s) > 0);
    match found {
        Some(standing) => Cell::Mark(standing, format!("{} of {}", count(standing), cable.connectors.len())),
        None => "no connectors".into(),
    }
}

/// What stands beside a pass that does not hold any more.
fn owed_though_passed(job: &Job, (cable, connector): (usize, usize), c: &crate::Connector) -> &'static str {
    let passed = c.verdict() == Some(Verdict::Pass);
    if passed && job.owed(cable, connector).is_some() { "owed a look" } else { "" }
}

/// The connectors of one cable, before and after.
fn ends(job: &Job, cable: &Cable) -> Table {
    let number = job.cables.iter().position(|c| std::ptr::eq(c, cable)).unwrap_or(job.cables.len());
    let row = |(n, c): (usize, &crate::Connector)| {
        let looks: Vec<&str> = c.inspections.iter().map(|look| look.face.verdict.word()).collect();
        vec![
            c.identifier.clone().into(),
            Cell::Mark(Standing::of(c.verdict()), owed_though_passed(job, (number, n), c).to_owned()),
            c.last().map(|look| faces::summary(&look.face)).unwrap_or_default().into(),
            looks.join(", then ").into(),
        ]
    };
    Table {
        caption: "Connectors of this cable".to_owned(),
        head: ["Connector", "Verdict", "Positions", "Inspections"].map(str::to_owned).to_vec(),
        rows: cable.connectors.iter().enumerate().map(row).collect(),
        widths: vec![1.4, 1.2, 2.4, 2.0],
    }
}

fn trouble(cable: &Cable) -> Vec<String> {
    let conflicts = cable.measured.conflicts.iter().chain(&cable.doubts).map(|t| format!("Conflict: {t}"));
    let gaps = cable.measured.gaps.iter().map(|t| format!("Gap: {t}"));
    let past = cable.connectors.iter().flat_map(|c| c.past.iter().map(move |happening| (c, happening)));
    let withdrawn = past.filter_map(|(c, happening)| {
        let how = happening.withdrawn.as_ref()?;
        let (name, when, what) = (&c.identifier, &happening.when, &happening.what);
        Some(format!("Withdrawn: connector {name}, {when} {what}; withdrawn {how}"))
    });
    conflicts.chain(gaps).chain(withdrawn).collect()
}

fn troubles(job: &Job) -> Vec<String> {
    let nowhere = job.unjoined.iter().map(|t| format!("Not joined: {t}"));
    let within = job.cables.iter().flat_map(|c| {
        let named = |t: String| format!("Cable {}: {t}", c.identifier);
        trouble(c).into_iter().map(named).collect::<Vec<_>>()
    });
    nowhere.chain(within).collect()
}

fn closing(page: &mut Page, job: &Job) {
    page.section("Cautions");
    page.list(job.cautions.clone(), "None were given.");
}

fn origins(job: &Job) -> Vec<String> {
    job.origins.iter().map(|o| format!("{}: SHA-256 {}", o.file, o.sha256)).collect()
}
