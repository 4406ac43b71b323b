//! A job from a book: every face that is handed over, with each look and its pictures, what it met, what is owed.

use super::since::{LastTwo, since};
use super::{modes, pictures};
use crate::args::HandoverArgs;
use crate::book::place::Place;
use crate::book::{owed_by, whole};
use crate::failure::Failure;
use crate::progress::Progress;
use book::{
    End, Face, How, Known, Moment, OwedRecord, Past, Record, Recorded, Register, Role, Shared, Store,
    Withdrawal,
};
use grade::advice::Cleaned;
use handover::{Cable, Connector, Cord, Happening, Inspection, Job, Mating, Origin, Owed};
use links::Measured;
use report::FaceRecord;
use std::collections::{BTreeMap, BTreeSet};

/// The job without what was measured.
pub fn job(args: &HandoverArgs, progress: &Progress) -> Result<Job, Failure> {
    let place = Place::new(&args.site);
    let (store, _) = place.read_whole()?;
    let head = store.head().map_err(|why| place.failure(why))?;
    let proof = format!(
        "Whoever has a copy of the book can prove this: `pitchline book verify BOOK --head {head}` walks the chain of \
         records to this head, hashes every picture and grades it again; --owner with the crew's public key holds it to \
         the crew's seal, too."
    );
    let head = Origin {
        file: format!("the book in {}, the head of its chain", args.site.display()),
        sha256: head.to_string(),
    };
    let (register, owed) = owed_by(&place, &store)?;
    let shared = book::shared(&register);
    let mut cables: Vec<Cable> = Vec::new();
    let mut numbers: BTreeMap<&Face, (usize, usize)> = BTreeMap::new();
    for Known { face, .. } in register.faces.iter().filter(|known| known.role == Role::Connector) {
        progress.step(&face.to_string());
        let known = cables.iter().position(|cable| cable.identifier == face.connector());
        let cable = known.unwrap_or_else(|| {
            let (identifier, measured) = (face.connector().to_owned(), Measured::default());
            cables.push(Cable { identifier, connectors: Vec::new(), measured, doubts: Vec::new() });
            cables.len() - 1
        });
        numbers.insert(face, (cable, cables[cable].connectors.len()));
        let connector = connector(&place, &store, (&register, &shared), face, &mut cables[cable].doubts)?;
        cables[cable].connectors.push(connector);
    }
    if cables.is_empty() {
        return Err(Failure::NothingToHandOver { path: args.site.clone() });
    }
    for cable in &mut cables {
        cable.doubts.extend(modes::differ(&cable.connectors));
    }
    let matings = matings(&register, &numbers);
    let cautions = profile::counsel().map(|c| c.to_mind()).unwrap_or_default();
    Ok(Job {
        title: args.title.clone().unwrap_or_else(|| register.name.clone()),
        date: args.date.clone(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        cables,
        cords: cords(&register, &owed, &matings),
        matings,
        proof: Some(proof),
        owed: owed_of(owed, &numbers),
        unjoined: Vec::new(),
        taken_back: taken_back(&store.records().map_err(|why| place.failure(why))?, &register),
        cautions,
        origins: vec![head],
    })
}

fn connector(
    place: &Place,
    store: &Store,
    (register, shared): (&Register, &[Shared]),
    face: &Face,
    doubts: &mut Vec<String>,
) -> Result<Connector, Failure> {
    let identifier = match face.end() {
        Some(End::A) => "A",
        Some(End::B) => "B",
        None => face.connector(),
    };
    let twice = shared.iter().filter(|picture| picture.faces.contains(face));
    doubts.extend(twice.map(|picture| format!("connector {identifier}: {}", picture.beside(face))));
    let (mut inspections, mut last_two, mut whens) = (Vec::new(), LastTwo::default(), Vec::new());
    for look in register.looks(face) {
        let document = store.document(look.document).map_err(|why| place.failure(why))?;
        let record = document.and_then(|bytes| FaceRecord::parse(&String::from_utf8_lossy(&bytes)).ok());
        let Some(record) = record else {
            doubts.push(format!("connector {identifier} {}: its face.json is missing or damaged", look.when));
            continue;
        };
        let find = |source: &report::SourceInfo| source.sha256.parse().ok().map(|hash| place.picture(hash));
        let shown = pictures::of(&record, find, whole::of(&record).map(|told| place.picture(told.sha256)))?;
        let gone = "its last look is not proven, as its picture is not in the book any more; look again";
        let unproven = shown.unproven().or(shown.lost.then(|| gone.to_owned()));
        let doubt = |doubt: String| format!("connector {identifier} {}: {doubt}", look.when);
        doubts.extend(shown.doubts.into_iter().map(doubt));
        last_two.push(shown.frames);
        whens.push(&look.when);
        inspections.push(Inspection {
            when: look.when.to_string(),
            sha256: look.document.to_string(),
            row: shown.row,
            fibres: shown.fibres,
            face: record,
            unproven,
        });
    }
    let between = match whens[..] {
        [.., before, last] => cleaned(register, face, before, last),
        _ => Vec::new(),
    };
    let since = since(&inspections, last_two, &between);
    doubts
        .extend(since.iter().filter_map(|s| Some(format!("connector {identifier}: {}", s.as_ref().err()?))));
    let (identifier, since) = (identifier.to_owned(), since.and_then(Result::ok));
    Ok(Connector { identifier, inspections, past: past(register, face), since })
}

/// How a face was cleaned between two looks, in order of time; not where that was not told.
fn cleaned(register: &Register, face: &Face, before: &Moment, last: &Moment) -> Vec<Cleaned> {
    let between = register.past.iter().filter(|(when, ..)| before <= when && when <= last);
    let how = |(_, _, past): &(Moment, _, Past)| match past {
        Past::Cleaned(cleaning) if cleaning.face == *face => cleaning.how.map(|how| match how {
            How::Dry => Cleaned::Dry,
            How::Wet => Cleaned::Wet,
        }),
        _ => None,
    };
    between.filter_map(how).collect()
}

/// What happened to a face, withdrawn or not, in order of time.
fn past(register: &Register, face: &Face) -> Vec<Happening> {
    let happening = |when: &Moment, past: &Past, withdrawn| Happening {
        when: when.to_string(),
        what: past.words(),
        who: past.who().map(str::to_owned),
        withdrawn,
    };
    let counts = register.past.iter().map(|(when, _, past)| (when, past, None));
    let withdrawn = register.withdrawn.iter().map(|told| (&told.when, &told.past, Some(&told.by)));
    let mut all: Vec<_> =
        counts.chain(withdrawn).filter(|(_, past, _)| past.faces().contains(&face)).collect();
    all.sort_by_key(|(when, ..)| *when);
    let how = |by: &Withdrawal| {
        let who = by.who.as_ref().map_or_else(String::new, |who| format!(" by {who}"));
        format!("{}{who}: {}", by.when, by.why)
    };
    all.into_iter().map(|(when, past, by)| happening(when, past, by.map(how))).collect()
}

/// Every record that was withdrawn, of whatever face, and every face that was to be handed over and became a cord: no
/// failing look leaves the hand-over unseen.
fn taken_back(records: &[Recorded], register: &Register) -> Vec<String> {
    let withdrawn = records.iter().filter(|told| told.withdrawn.is_some()).map(Recorded::words);
    let mut roles: BTreeMap<&Face, (bool, Role)> = BTreeMap::new();
    for told in records.iter().filter(|told| told.withdrawn.is_none()) {
        if let Record::Connector { face, role } = &told.record {
            let (handed_over, last) = roles.entry(face).or_insert((false, *role));
            *handed_over |= *role == Role::Connector;
            *last = *role;
        }
    }
    let changed = roles.iter().filter(|(_, (handed_over, last))| *handed_over && *last == Role::Cord);
    let last = |face: &Face| {
        let last = register.looks(face).next_back();
        last.map_or("never looked at", |look| grade::Verdict::from(look.verdict).word())
    };
    let changed = changed.map(|(face, _)| {
        format!("{face} was to be handed over and was made a reference cord; its last look: {}", last(face))
    });
    withdrawn.chain(changed).collect()
}

/// The reference cords, as the book knows them.
fn cords(register: &Register, owed: &OwedRecord, matings: &[Mating]) -> Vec<Cord> {
    let one = |Known { face, .. }: &Known| {
        let identifier = face.to_string();
        let met = matings.iter().filter(|mating| mating.cord == identifier).map(|mating| mating.connector);
        let reasons = owed.cords.iter().filter(|owed| owed.face == identifier).flat_map(|owed| &owed.reasons);
        let reasons: Vec<&str> = reasons.map(|reason| reason.text.as_str()).collect();
        let last = register.looks(face).next_back();
        Cord {
            last: last.map(|look| (look.when.to_string(), grade::Verdict::from(look.verdict).into())),
            met: met.collect::<BTreeSet<_>>().len(),
            owed: reasons.join("; "),
            identifier,
        }
    };
    register.faces.iter().filter(|known| known.role == Role::Cord).map(one).collect()
}

/// What met a face that is handed over, in order of time.
fn matings(register: &Register, numbers: &BTreeMap<&Face, (usize, usize)>) -> Vec<Mating> {
    let is_cord = |face: &Face| register.faces.iter().any(|k| k.face == *face && k.role == Role::Cord);
    let one = |face: &Face, other: &Face| {
        let connector = *numbers.get(face)?;
        is_cord(other).then(|| Mating { connector, cord: other.to_string() })
    };
    let both = register.past.iter().filter_map(|(_, _, past)| match past {
        Past::Met(mating) => Some([one(&mating.a, &mating.b), one(&mating.b, &mating.a)]),
        _ => None,
    });
    both.flatten().flatten().collect()
}

/// What the last verdicts alone do not tell.
fn owed_of(owed: OwedRecord, numbers: &BTreeMap<&Face, (usize, usize)>) -> Vec<Owed> {
    let by_verdict = |code: &str| matches!(code, "never-inspected" | "failing" | "ungraded");
    let one = |face: book::FaceOwed| {
        let connector = *numbers.iter().find(|(known, _)| known.to_string() == face.face)?.1;
        let why = face.reasons.into_iter().filter(|reason| !by_verdict(reason.code));
        let why: Vec<String> = why.map(|reason| reason.text).collect();
        (!why.is_empty()).then(|| Owed { connector, why: why.join("; ") })
    };
    owed.owed.into_iter().filter_map(one).collect()
}
