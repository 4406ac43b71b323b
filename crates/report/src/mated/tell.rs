//! What the terminal and the map both say about two mated faces: how much went over, which positions are at
//! risk, and what to do next. Words only.

use super::record::{AtRiskRecord, FaceWord, FacingRecord, MatedRecord, TransferRecord};
use crate::record::Verdict;
use crate::tell::{clock, numbers, short_size};

/// "13 marks lie on both faces; at risk: 3 positions of A, none of B".
pub fn summary(record: &MatedRecord) -> String {
    let shared = match record.transfers.len() {
        0 => "no mark lies on both faces".to_owned(),
        1 => "1 mark lies on both faces".to_owned(),
        n => format!("{n} marks lie on both faces"),
    };
    let at_risk = |face| match record.risky(face).count() {
        0 => "none".to_owned(),
        1 => "1 position".to_owned(),
        n => format!("{n} positions"),
    };
    format!("{shared}; at risk: {} of A, {} of B", at_risk(FaceWord::A), at_risk(FaceWord::B))
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
    if sentences.is_empty() {
        sentences.push(match (record.verdict_a, record.verdict_b) {
            (Verdict::Pass, Verdict::Pass) => "Nothing speaks against mating these two.".to_owned(),
            _ => "Nothing would go over that breaks a limit; grade each face to see why one does not pass."
                .to_owned(),
        });
    }
    sentences
}
