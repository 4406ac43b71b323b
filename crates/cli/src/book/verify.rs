//! `pitchline book verify`: walks the chain, hashes documents and pictures again, grades the stored pictures again by the
//! stored layout and criteria, and says which byte or verdict comes out otherwise, and where.

use super::args::VerifyArgs;
use super::in_order::in_order;
use super::place::Place;
use super::seal;
use super::whole::whole;
use super::work::workers;
use super::worker::Worker;
use crate::failure::Failure;
use crate::inputs;
use crate::output;
use crate::pipeline::Job;
use crate::progress::Count;
use book::{Audit, By, Hash, Inspection, Link, Pictured, Store, audit};
use grade::{Acceptance, Risk};
use imaging::door::Limits;
use report::FaceRecord;
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use terms::{Key, View};

/// Verifies a book; status 1 if anything is not as it was written.
pub fn run(args: &VerifyArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let store = place.read()?;
    let failed = |why| place.failure(why);
    let audit = audit(&store).map_err(failed)?;
    let mut lines: Vec<String> = audit
        .flaws
        .iter()
        .map(|found| format!("record {} ({}): {}", found.place, short(found.link), found.flaw))
        .collect();
    lines.extend(head(args.head, &audit));
    let (sealed, flaws) = seal::verified(&store, &audit, args.owner.as_deref()).map_err(failed)??;
    lines.extend(flaws);
    let looks = looks(&place, &store, &audit, args)?;
    lines.extend(looks.flaws);

    let mut text = String::new();
    // What is wrong comes first, so that no line before it reads as if all were well.
    if !lines.is_empty() {
        text += &output::wrapped(&verdict(lines.len()), 0);
        lines.iter().for_each(|line| text += &output::wrapped(line, 2));
    }
    text += &output::wrapped(&format!("{} records, head {}.", audit.records, audit.head), 0);
    text += &output::wrapped(&looks.told, 0);
    let whole = lines.is_empty();
    sealed.iter().for_each(|seal| text += &output::wrapped(&seal.told(whole), 0));
    if whole {
        text += &output::wrapped(&verdict(0), 0);
    }
    if !args.quiet {
        output::print(&text)?;
    }
    Ok(u8::from(!lines.is_empty()))
}

fn verdict(flaws: usize) -> String {
    match flaws {
        0 => "Everything is as it was written.".to_owned(),
        1 => "1 thing is not as it was written:".to_owned(),
        n => format!("{n} things are not as they were written:"),
    }
}

/// The first signs of a link, enough to find it by.
pub fn short(link: Link) -> String {
    link.to_string().chars().take(12).collect()
}

/// Whether the book's own chain ends where it is said to, or beyond.
fn head(stated: Option<Hash>, audit: &Audit) -> Option<String> {
    let stated = stated.filter(|stated| !audit.reached.contains(stated))?;
    Some(format!("the chain does not lead to the stated head {stated}: records were taken away or changed"))
}

struct Looks {
    told: String,
    flaws: Vec<String>,
}

/// Holds every look to its pictures, and grades them again unless that is not wanted.
fn looks(place: &Place, store: &Store, audit: &Audit, args: &VerifyArgs) -> Result<Looks, Failure> {
    let jobs = if args.no_grading { BTreeMap::new() } else { jobs(store, audit, place)? };
    let count = Count::new(audit.looks.len(), args.quiet);
    let mut looks = Looks { told: String::new(), flaws: Vec::new() };
    let (mut pictures, mut again) = (0, 0);
    let each = |worker: &mut Option<Worker>, (at, link, look): (i64, Link, Inspection)| {
        let named = |flaw: String| format!("record {at} ({}), {}: {flaw}", short(link), look.face);
        let checked = Worker::of(worker, place).map(|worker| check(worker, place, &look, &jobs));
        checked.map(|c| (c.pictures, c.graded, c.flaws.into_iter().map(named).collect::<Vec<_>>()))
    };
    in_order(audit.looks.clone(), workers(args.workers), each, |checked| {
        let (held, graded, flaws) = checked?;
        (pictures, again) = (pictures + held, again + usize::from(graded));
        looks.flaws.extend(flaws);
        count.one(false);
        Ok(())
    })?;
    looks.told = match args.no_grading {
        true => format!("{} looks; {pictures} pictures hashed.", audit.looks.len()),
        false => format!(
            "{} looks; {pictures} pictures hashed, {again} looks graded again by pitchline {}.",
            audit.looks.len(),
            env!("CARGO_PKG_VERSION")
        ),
    };
    Ok(looks)
}

/// What came of one look.
#[derive(Default)]
struct Checked {
    pictures: usize,
    graded: bool,
    flaws: Vec<String>,
}

fn check(worker: &Worker, place: &Place, look: &Inspection, jobs: &BTreeMap<Vec<u8>, Again>) -> Checked {
    let mut checked = Checked::default();
    let mut pictures = Vec::new();
    for told in &look.pictures {
        match held(place, told) {
            Ok(bytes) => pictures.push((Path::new(&told.file), bytes)),
            Err(flaw) => checked.flaws.push(flaw),
        }
    }
    checked.pictures = pictures.len();
    if let Some(whole) = whole(worker.store(), look) {
        match held(place, &whole) {
            Ok(_) => checked.pictures += 1,
            Err(flaw) => checked.flaws.push(flaw),
        }
    }
    let again =
        key(&look.by).and_then(|key| jobs.get(&key)).filter(|_| pictures.len() == look.pictures.len());
    if let Some(Err(why)) = again {
        checked.flaws.push(format!("it cannot be graded again: {why}"));
    }
    if let Some(Ok(job)) = again {
        let shown: Vec<(&Path, &[u8])> = pictures.iter().map(|(p, b)| (*p, b.as_slice())).collect();
        let again = catch_unwind(AssertUnwindSafe(|| worker.look(&shown, job)));
        checked.graded = true;
        checked.flaws.extend(match again {
            Ok(Ok((record, _))) => differs(worker.store(), look, &record),
            Ok(Err(why)) => Some(format!("graded again, it is refused: {why}")),
            Err(_) => Some("grading it again is a fault of the program itself; please report it".to_owned()),
        });
    }
    checked
}

/// The bytes of a stored picture, if they are those that the record names.
fn held(place: &Place, told: &Pictured) -> Result<Vec<u8>, String> {
    let (path, file) = (place.picture(told.sha256), &told.file);
    match inputs::bytes(&path, &Limits::default()) {
        Err(_) if !path.exists() => Err(gone(file, &path)),
        Err(why) => Err(format!("its picture {file}: {why}")),
        Ok(bytes) if Hash::of(&bytes) != told.sha256 => Err(format!(
            "its picture {file} was changed: the bytes of {} are not those that were stored",
            path.display()
        )),
        Ok(bytes) => Ok(bytes),
    }
}

/// A stored picture that is not there any more.
pub fn gone(file: &str, path: &Path) -> String {
    format!("its picture {file} is gone from the book: fetch {} from a copy of it", path.display())
}

/// How a face that was graded again differs from its document.
fn differs(store: &Store, look: &Inspection, record: &FaceRecord) -> Option<String> {
    let (new, old) = (record.to_json().ok()?, store.document(look.document).ok()??);
    let old = String::from_utf8_lossy(&old);
    let verdict = book::Found::from(grade::Verdict::from(record.verdict));
    let told = |found: book::Found| grade::Verdict::from(found).word();
    if verdict != look.verdict {
        return Some(format!("graded again, it is {} and not {}", told(verdict), told(look.verdict)));
    }
    let line = old.lines().zip(new.lines()).position(|(a, b)| a != b);
    let at = line.or_else(|| (old != new).then(|| old.lines().count().min(new.lines().count())))?;
    let by = match look.tool == env!("CARGO_PKG_VERSION") {
        true => String::new(),
        false => format!(" (it was graded by pitchline {})", look.tool),
    };
    Some(format!("graded again, the verdict is the same and face.json differs from line {} on{by}", at + 1))
}

fn key(by: &By) -> Option<Vec<u8>> {
    serde_json::to_vec(by).ok()
}

/// By what a look is graded again, or why it cannot be.
type Again = Result<Job, String>;

/// The jobs of all looks, each once, from the stored texts.
fn jobs(store: &Store, audit: &Audit, place: &Place) -> Result<BTreeMap<Vec<u8>, Again>, Failure> {
    let mut jobs = BTreeMap::new();
    for (_, _, look) in &audit.looks {
        let Some(key) = key(&look.by).filter(|key| !jobs.contains_key(key)) else { continue };
        jobs.insert(key, job(store, &look.by).map_err(|why| place.failure(why))?);
    }
    Ok(jobs)
}

/// The job of a look, read as strictly as anything from outside: a forged record must not slip by unread.
fn job(store: &Store, by: &By) -> Result<Again, book::BookError> {
    let text = |what: &str, sha256: Hash| -> Result<Result<String, String>, book::BookError> {
        let bytes = store.document(sha256)?.ok_or_else(|| format!("its {what} is not in the book"));
        Ok(bytes.and_then(|bytes| String::from_utf8(bytes).map_err(|_| format!("its {what} is not a text"))))
    };
    let texts = (text("layout", by.layout)?, text("criteria", by.criteria)?);
    Ok(again(by, texts))
}

fn again(by: &By, (layout, criteria): (Result<String, String>, Result<String, String>)) -> Again {
    let layout = profile::parse_layout("the stored layout", &layout?).map_err(|why| why.to_string())?;
    let criteria =
        profile::parse_criteria("the stored criteria", &criteria?).map_err(|why| why.to_string())?;
    let number = |what: &str, text: &Option<String>| match text.as_deref().map(str::parse::<f64>).transpose()
    {
        Ok(number) => Ok(number),
        Err(_) => Err(format!("its {what} is not a number")),
    };
    let guard = number("guard", &by.guard)?
        .map(|risk| Risk::new(risk).ok_or("its guard is not a risk"))
        .transpose()?;
    let key = if by.key_down { Key::Down } else { Key::Up };
    Ok(Job {
        scale: number("scale", &by.scale)?,
        acceptance: guard.map_or(Acceptance::Simple, Acceptance::Guarded),
        ..Job::plain(layout, criteria, View { key, mirrored: by.mirrored })
    })
}
