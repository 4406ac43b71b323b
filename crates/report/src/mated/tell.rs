//! What the terminal and the map both say about two mated faces: how much went over, which positions are at
//! risk, and what to do next. Words only.

use super::record::{AtRiskRecord, FaceWord, FacingRecord, MatedRecord, TransferRecord};
use crate::record::Verdict;
use crate::tell::{clock, numbers, short_size};

/// "13 marks lie on both faces; at risk: 3 positions of A, none of B", and what is not known.
pub fn summary(record: &MatedRecord) -> String {
    let shared = match record.transfers.len() {
        0 => "no mark lies on both faces".to_owned(),
        1 => "1 mark lies on both faces".to_owned(),
        n => format!("{n} marks lie on both faces"),
    };
    let unseen = not_seen(record);
    let (seen, open) = match unseen.is_empty() {
        true => ("", String::new()),
        false => (" of what was seen", format!("; {unseen} could not be seen")),
    };
    format!(
        "{shared}{seen}; at risk: {}, {}{open}",
        at_risk(record, FaceWord::A),
        at_risk(record, FaceWord::B)
    )
}

/// "2 positions of A", "none of A", "not known for 3 of A".
fn at_risk(record: &MatedRecord, face: FaceWord) -> String {
    let letter = face.letter();
    match (record.risky(face).count(), record.unknown(face).len()) {
        (0, 0) => format!("none of {letter}"),
        (0, open) => format!("not known for {open} of {letter}"),
        (1, 0) => format!("1 position of {letter}"),
        (n, 0) => format!("{n} positions of {letter}"),
        (n, open) => format!("{n} of {letter} and not known for {open}"),
    }
}

/// "A 1-12 and B 3".
fn not_seen(record: &MatedRecord) -> String {
    let of = |face: FaceWord| {
        let at = numbers(record.unseen(face).iter().copied());
        (!at.is_empty()).then(|| format!("{} {at}", face.letter()))
    };
    [FaceWord::A, FaceWord::B].into_iter().filter_map(of).collect::<Vec<_>>().join(" and ")
}

/// Of which of two positions that face each other the pictures tell nothing: "A 3", "A 3 and B 10"; empty if of none.
pub fn unseen_at(record: &MatedRecord, facing: &FacingRecord) -> String {
    let of = |face: FaceWord, at: u16| {
        record.unseen(face).contains(&at).then(|| format!("{} {at}", face.letter()))
    };
    let both = [of(FaceWord::A, facing.position_a), of(FaceWord::B, facing.position_b)];
    both.into_iter().flatten().collect::<Vec<_>>().join(" and ")
}

/// How the two meet.
pub fn adapter(record: &MatedRecord) -> String {
    use super::AdapterWord::{TypeA, TypeB};
    let how = match record.adapter {
        TypeA => "key up to key down: what lies at the top of A lies at the bottom of B",
        TypeB => "key up to key up: what lies at the left of A lies at the right of B",
    };
    let by = if record.adapter_stated { "" } else { " by the marks on both faces (not stated)" };
    format!("{} adapter{by}, {how}", record.adapter.word())
}

/// How the pictures of both faces were taken.
pub fn views(record: &MatedRecord) -> String {
    crate::tell::views([("A", record.a.view), ("B", record.b.view)])
}

/// Below this chance of being one dirt, the chance is told.
const PLAIN: f64 = 0.95;

/// "particle 8.7 um at 4 o'clock = pit 8.4 um at 2 o'clock", with the likelihood where it is not plain.
pub fn transfer(transfer: &TransferRecord) -> String {
    let TransferRecord { kind_a, kind_b, size_um_a, size_um_b, likelihood, .. } = transfer;
    let size = |um: &f64| short_size(Some(*um));
    let chance = match *likelihood >= PLAIN {
        true => String::new(),
        false => format!(" ({} % likely)", (likelihood * 100.0).floor()),
    };
    format!(
        "{} {} um {} = {} {} um {}{chance}",
        kind_a.word(),
        size(size_um_a),
        clock(transfer.centre_um_a),
        kind_b.word(),
        size(size_um_b),
        clock(transfer.centre_um_b),
    )
}

/// Why a position is at risk, in one sentence.
pub fn risk(risk: &AtRiskRecord) -> String {
    let first = risk.reasons.first().map_or("", |r| r.text.as_str());
    match risk.reasons.len() {
        0 | 1 => first.to_owned(),
        n => format!("{first} (and {} more)", n - 1),
    }
}

/// Which positions a mark on the other ferrule would lie near, and the one that would reach nearest; none if every such
/// mark is told with the position that it alone endangers.
pub fn ferrule(record: &MatedRecord) -> Option<String> {
    let told = |risk: &AtRiskRecord| risk.reasons.len() == 1 && verdict(record, risk) == Verdict::Pass;
    let near: Vec<&AtRiskRecord> = record.at_risk.iter().filter(|risk| !risk.ferrule.is_empty()).collect();
    if near.iter().all(|risk| told(risk)) {
        return None;
    }
    let of = |face: FaceWord| {
        let at = numbers(near.iter().filter(|risk| risk.face == face).map(|risk| risk.position));
        (!at.is_empty()).then(|| format!("{} {at}", face.letter()))
    };
    let at: Vec<String> = [FaceWord::A, FaceWord::B].into_iter().filter_map(of).collect();
    let marks = near.iter().flat_map(|risk| {
        risk.ferrule.iter().filter_map(|mark| Some((mark.gap_um?, mark.size_um?, risk.face, risk.position)))
    });
    let (gap, size, face, position) = marks.min_by(|a, b| (a.0 - a.1 / 2.0).total_cmp(&(b.0 - b.1 / 2.0)))?;
    Some(format!(
        "A mark on the other ferrule would lie near {} and may keep the fibre from touching; the nearest, of \
         {size:.0} um, {gap:.0} um from the centre of {} {position}.",
        at.join(" and "),
        face.letter()
    ))
}

/// The verdict that a position at risk has now.
pub fn verdict(record: &MatedRecord, risk: &AtRiskRecord) -> Verdict {
    let at = |f: &&FacingRecord| match risk.face {
        FaceWord::A => f.position_a == risk.position,
        FaceWord::B => f.position_b == risk.position,
    };
    let found = record.facing.iter().find(at);
    found.map_or(Verdict::Ungraded, |f| if risk.face == FaceWord::A { f.verdict_a } else { f.verdict_b })
}

/// Transfers at two positions that face each other, with their numbers from 1 over the whole record.
pub fn shared<'r>(
    record: &'r MatedRecord,
    facing: &FacingRecord,
) -> impl Iterator<Item = (usize, &'r TransferRecord)> {
    let at = facing.position_a;
    (1..).zip(&record.transfers).filter(move |(_, t)| t.position_a == at)
}

/// What to do next, the most urgent first; never empty.
pub fn advice(record: &MatedRecord) -> Vec<String> {
    let mut sentences = Vec::new();
    if record.wedge {
        sentences.push(
            "Two like angled faces leave a wedge with their keys aligned: check that one of them is of the other \
             angle, or use an adapter with opposed keys."
                .to_owned(),
        );
    }
    if let Some(otherwise) = record.otherwise {
        let marks = match otherwise.transfers {
            1 => "1 mark".to_owned(),
            n => format!("{n} marks"),
        };
        let word = otherwise.adapter.word();
        sentences.push(format!(
            "By {word} {marks} would lie on both faces, by {} {}: was it {word}?",
            record.adapter.word(),
            match record.transfers.len() {
                0 => "none".to_owned(),
                n => n.to_string(),
            }
        ));
    }
    let went = |of: fn(&TransferRecord) -> u16| {
        let mut at: Vec<u16> = record.transfers.iter().map(of).collect();
        at.sort_unstable();
        at.dedup();
        numbers(at)
    };
    if !record.transfers.is_empty() {
        sentences.push(format!(
            "Dirt went from one face to the other (A {}, B {}): clean both, look again, and look for damage below it.",
            went(|t| t.position_a),
            went(|t| t.position_b)
        ));
    }
    let endangered = |face| numbers(record.risky(face).map(|r| r.position));
    let (a, b) = (endangered(FaceWord::A), endangered(FaceWord::B));
    for (dirty, name, at) in [("B", "A", a), ("A", "B", b)] {
        if !at.is_empty() {
            sentences.push(format!("Do not mate before {dirty} is clean: its dirt would spoil {name} {at}."));
        }
    }
    let unseen = not_seen(record);
    if !unseen.is_empty() {
        let open = |face: FaceWord| {
            let at = numbers(record.unknown(face));
            (!at.is_empty()).then(|| format!("{} {at}", face.letter()))
        };
        let facing: Vec<String> = [FaceWord::A, FaceWord::B].into_iter().filter_map(open).collect();
        let risk = match facing.is_empty() {
            true => String::new(),
            false => format!(", nor of what it would do to {}", facing.join(" and ")),
        };
        sentences.push(format!(
            "{unseen} could not be seen: nothing is told of the dirt there{risk}; take the picture again before you \
             mate these two."
        ));
    }
    if sentences.is_empty() {
        sentences.push(match (record.verdict_a, record.verdict_b) {
            (Verdict::Pass, Verdict::Pass) => "Nothing speaks against mating these two.".to_owned(),
            _ => "Nothing would go over that breaks a limit; grade each face to see why one does not pass."
                .to_owned(),
        });
    }
    sentences
}
