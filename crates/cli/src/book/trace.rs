//! `pitchline book trace` and `pitchline book owed`: what a failing face touched, and what is owed before hand-over.

use super::args::{OwedArgs, TraceArgs};
use super::place::Place;
use crate::failure::Failure;
use crate::folder::Staged;
use crate::output;
use book::{
    Adapter, Evidence, Exposure, ExposureRecord, Face, FaceOwed, Found, Inspection, OwedRecord, Past,
    Register, Store, TraceRecord, trace_svg,
};
use grade::Acceptance;
use grade::mated::{self, Adapter as Meets};
use report::FaceRecord;
use std::path::Path;

/// Traces a face; status 1 if another face is exposed and was not found to pass since.
pub fn run(args: &TraceArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let (store, _) = place.read_whole()?;
    let register = Register::read(&store).map_err(|why| place.failure(why))?;
    if !register.knows(&args.face) {
        return Err(Failure::UnknownFace { face: args.face.to_string(), path: args.book.clone() });
    }
    let name = args.face.to_string();
    let evidence = |exposure: &Exposure| evidence(&store, &register, exposure).unwrap_or_default();
    let Some(trace) = TraceRecord::new(&register, &name, evidence) else {
        output::print(&output::wrapped(&untraced(&register, &args.face), 0))?;
        return Ok(0);
    };
    if let Some(path) = &args.svg {
        written(path, trace_svg(&trace))?;
    }
    output::print(&if args.json { trace.to_json()? } else { text(&trace) })?;
    Ok(u8::from(trace.exposures.iter().any(|e| e.finding != "passes")))
}

/// Why there is nothing to trace, and what the face itself was exposed to.
fn untraced(register: &Register, face: &Face) -> String {
    let name = face.to_string();
    let looked = match register.looks(face).next_back().map(|look| look.verdict) {
        None => "nobody looked at it yet",
        Some(Found::Pass) => "its last look passes",
        Some(Found::Fail | Found::Ungraded) => "its last look could not be graded",
    };
    let own: Vec<String> = book::exposed_to(register, &name).into_iter().map(|reason| reason.text).collect();
    let own = if own.is_empty() { String::new() } else { format!(" Mind: {}.", own.join("; ")) };
    format!("{name} never failed, so that there is nothing to trace from it; {looked}.{own}")
}

/// Tells what is owed; status 1 if the job is not done.
pub fn owed(args: &OwedArgs) -> Result<u8, Failure> {
    let place = Place::new(&args.book);
    let store = place.read_whole()?.0;
    let (register, mut owed) = owed_by(&place, &store)?;
    for face in owed.owed.iter_mut().chain(&mut owed.cords) {
        let open = face.reasons.iter_mut().filter(|reason| reason.code == "ungraded");
        open.for_each(|reason| reason.text += &ungraded(&store, &register, &face.face));
    }
    output::print(&if args.json { owed.to_json()? } else { owed_text(&owed) })?;
    Ok(u8::from(!owed.done))
}

/// Why the last look at a face gave no verdict, by its document.
fn ungraded(store: &Store, register: &Register, name: &str) -> String {
    let mut looks = register.past.iter().rev();
    let record = look(&mut looks, name).and_then(|look| face(store, look));
    let why: Vec<String> = record.iter().flat_map(report::ungraded_in_short).collect();
    if why.is_empty() { String::new() } else { format!(": {}", why.join("; ")) }
}

/// A book read whole, and what is owed by it.
pub fn owed_by(place: &Place, store: &Store) -> Result<(Register, OwedRecord), Failure> {
    let register = Register::read(store).map_err(|why| place.failure(why))?;
    let mut strangers = book::strangers(store, &register).map_err(|why| place.failure(why))?;
    strangers.extend(book::sharing(&register));
    let owed = OwedRecord::new(&register, &strangers);
    Ok((register, owed))
}

fn written(path: &Path, text: String) -> Result<(), Failure> {
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    let folder = path.parent().unwrap_or(Path::new(""));
    Staged::new(folder, &[(name, text.into_bytes())])?.commit(&[])
}

/// What the pictures of the two faces of a mating tell: of the one that carried, the first look after it, or else the last
/// before; of the other, the first look after it. None where there are none, or they cannot meet.
fn evidence(store: &Store, register: &Register, exposure: &Exposure) -> Option<Evidence> {
    let (_, _, Past::Met(mating)) = register.past.get(exposure.at)? else { return None };
    let after = |name: &str| look(register.past.get(exposure.at + 1..)?.iter(), name);
    let before = |name: &str| look(register.past.get(..exposure.at)?.iter().rev(), name);
    let carried = after(&exposure.by).or_else(|| before(&exposure.by))?;
    let exposed = after(&exposure.face)?;
    let (a, b) = (face(store, carried)?.to_mate(), face(store, exposed)?.to_mate());
    let adapter = match mating.adapter {
        Some(Adapter::TypeA) => Meets::Opposed,
        Some(Adapter::TypeB) => Meets::Aligned,
        None => mated::adapter_by_marks(&a, &b)?,
    };
    let criteria = String::from_utf8(store.document(exposed.by.criteria).ok()??).ok()?;
    let criteria = profile::parse_criteria("the stored criteria", &criteria).ok()?.criteria;
    let found = mated::mate(&a, &b, adapter, &criteria, Acceptance::Simple).ok()?;
    let none: f64 = found.transfers.iter().map(|t| 1.0 - t.likelihood).product();
    Some(Evidence { likelihood: Some(1.0 - none), shared_marks: found.transfers.len() })
}

fn look<'r>(
    mut past: impl Iterator<Item = &'r (book::Moment, book::Link, Past)>,
    name: &str,
) -> Option<&'r Inspection> {
    past.find_map(|(_, _, past)| match past {
        Past::Look(look) if look.face.to_string() == name => Some(look),
        _ => None,
    })
}

fn face(store: &Store, look: &Inspection) -> Option<FaceRecord> {
    let bytes = store.document(look.document).ok()??;
    FaceRecord::parse(&String::from_utf8_lossy(&bytes)).ok()
}

fn text(trace: &TraceRecord) -> String {
    let passed = match &trace.passed {
        Some(when) => format!("it last passed {when}"),
        None => "it never passed before".to_owned(),
    };
    let failed = match trace.first_failed == trace.failed {
        true => trace.failed.to_string(),
        false => format!("{} and last {}", trace.first_failed, trace.failed),
    };
    let count = trace.exposures.len();
    let touched = match count {
        0 => "It touched nothing since.".to_owned(),
        1 => "1 face was exposed to it:".to_owned(),
        n => format!("{n} faces were exposed to it, by risk:"),
    };
    let mut out = output::wrapped(&format!("{} failed {failed}; {passed}. {touched}", trace.source), 0);
    for (n, exposure) in (1..).zip(&trace.exposures) {
        out += &output::wrapped(&format!("{n}. {}", line(exposure)), 2);
    }
    out
}

fn line(exposure: &ExposureRecord) -> String {
    let found = |found: Option<Found>| match found {
        None => "not looked at",
        Some(found) => grade::Verdict::from(found).word(),
    };
    let marks = match (exposure.likelihood, exposure.shared_marks) {
        (None, _) => String::new(),
        (Some(_), 0) => "; no mark lies on both".to_owned(),
        (Some(likely), n) => {
            let likely = report::percent(likely);
            format!("; {n} {} on both ({likely} likely)", if n == 1 { "mark lies" } else { "marks lie" })
        }
    };
    let generation = match exposure.generation {
        1 => String::new(),
        n => format!(", {} matings from the source", n),
    };
    format!(
        "{}, by {} {}{generation}: before {}, since {}{marks}",
        exposure.face,
        exposure.by,
        exposure.when,
        found(exposure.before),
        found(exposure.after)
    )
}

fn owed_text(owed: &OwedRecord) -> String {
    let first = match (owed.faces, owed.owed.len()) {
        (0, _) => "The job is not done: the book knows no face to hand over.".to_owned(),
        (all, 0) => {
            format!("The job is done: nothing is owed for {all} {}.", if all == 1 { "face" } else { "faces" })
        }
        (all, n) => format!(
            "The job is not done: {n} of {all} faces {} owed a look.",
            if n == 1 { "is" } else { "are" }
        ),
    };
    let mut out = output::wrapped(&first, 0);
    let line = |face: &FaceOwed| {
        let why: Vec<&str> = face.reasons.iter().map(|r| r.text.as_str()).collect();
        output::wrapped(&format!("{}: {}", face.face, why.join("; ")), 2)
    };
    out.extend(owed.owed.iter().map(line));
    if !owed.cords.is_empty() {
        out += "Reference cords to look at before they touch anything more:\n";
        out.extend(owed.cords.iter().map(line));
    }
    out
}
