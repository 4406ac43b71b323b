//! The map of two faces: each position beside the one that it faces, both as seen with their own key up; marks
//! that lie on both carry one number.

use super::record::{FaceWord, FacingRecord, MatedRecord};
use super::tell;
use crate::compare::SideRecord;
use crate::map::theme::Look;
use crate::pairs::{Card, CardMark, CardSide, PairMap, Section, outline};
use crate::record::{FaceRecord, Kind, PositionRecord, SourceInfo};
use crate::tell::{capital, short_size};

/// What the map of two faces shows; the records are those that it was made from.
pub fn map(record: &MatedRecord, a: &FaceRecord, b: &FaceRecord) -> PairMap {
    PairMap {
        verdicts: vec![(record.verdict_a, "face A".to_owned()), (record.verdict_b, "face B".to_owned())],
        summary: capital(&tell::summary(record)),
        sentences: tell::advice(record),
        facts: [
            ("Face A", files(&record.a)),
            ("Face B", files(&record.b)),
            ("Adapter", tell::adapter(record)),
            ("Criteria", record.criteria.title.clone()),
            ("View", tell::views(record)),
        ]
        .map(|(name, fact)| (name.to_owned(), fact))
        .to_vec(),
        legend: vec![Look::ON_BOTH, Look::RISKS, Look::ALONE],
        signs: "numbers without #: sizes in µm",
        zones_um: record.criteria.zones.iter().map(|z| z.to_um).collect(),
        sections: vec![Section {
            title: String::new(),
            cards: record.facing.iter().map(|f| card(f, record, a, b)).collect(),
        }],
        tool: format!("{} {}", record.tool.name, record.tool.version),
    }
}

fn files(side: &SideRecord) -> String {
    SourceInfo::listed(&side.sources)
}

fn card(facing: &FacingRecord, record: &MatedRecord, a: &FaceRecord, b: &FaceRecord) -> Card {
    let shared = |pick: fn(&super::TransferRecord) -> u32| -> Vec<(usize, u32)> {
        tell::shared(record, facing).map(|(n, t)| (n, pick(t))).collect()
    };
    // What endangers B lies on A, and the other way round.
    let risks = |face, at: u16| -> Vec<u32> {
        let marks = record.risky(face).flat_map(|r| &r.marks);
        marks.filter(|m| m.position == at).map(|m| m.id).collect()
    };
    let left = marks(a, facing.position_a, &shared(|t| t.id_a), &risks(FaceWord::B, facing.position_a));
    let right = marks(b, facing.position_b, &shared(|t| t.id_b), &risks(FaceWord::A, facing.position_b));
    let side = |label: &str, of, position, verdict, marks| CardSide {
        label: label.to_owned(),
        of,
        position,
        verdict,
        marks,
    };
    Card {
        row: facing.row_a,
        sides: [
            side("face A", 0, facing.position_a, facing.verdict_a, left),
            side("face B", 1, facing.position_b, facing.verdict_b, right),
        ],
        said: said(facing, record),
    }
}

/// A position's marks, those on both faces last.
fn marks(face: &FaceRecord, number: u16, shared: &[(usize, u32)], risks: &[u32]) -> Vec<CardMark> {
    let found = face.positions.iter().find(|p| p.position == number);
    let Some(position): Option<&PositionRecord> = found else { return Vec::new() };
    let mut marks: Vec<(u8, CardMark)> = position
        .features
        .iter()
        .map(|feature| {
            let size = short_size(feature.size_um);
            let pair = shared.iter().find(|(_, id)| *id == feature.id);
            let (rank, look, tag) = match (pair, risks.contains(&feature.id)) {
                (Some((n, _)), true) => (3, Look::ON_BOTH, format!("#{n} ! {size}")),
                (Some((n, _)), false) => (2, Look::ON_BOTH, format!("#{n} {size}")),
                (None, true) => (1, Look::RISKS, format!("! {size}")),
                (None, false) => (0, Look::ALONE, String::new()),
            };
            (rank, CardMark { look, outline: outline(face, position, feature), tag })
        })
        .collect();
    marks.sort_by_key(|(rank, _)| *rank);
    marks.into_iter().map(|(_, mark)| mark).collect()
}

/// What lies on both, mark by mark, and what is at risk.
fn said(facing: &FacingRecord, record: &MatedRecord) -> Vec<String> {
    let unseen = tell::unseen_at(record, facing);
    let pair = |(n, t): (usize, &super::TransferRecord)| {
        let mark = |kind: Kind, size| format!("{} {} um", kind.word(), short_size(Some(size)));
        format!("#{n} {} = {}", mark(t.kind_a, t.size_um_a), mark(t.kind_b, t.size_um_b))
    };
    let pairs: Vec<String> = tell::shared(record, facing).map(pair).collect();
    let shared = match pairs.as_slice() {
        [] if !unseen.is_empty() => format!("not known: {unseen} could not be seen"),
        [] => "no mark on both".to_owned(),
        pairs => format!("On both: {}", pairs.join(", ")),
    };
    let risk = |name: &str, face, at: u16| {
        let found = record.risky(face).find(|r| r.position == at);
        found.map(|r| format!("{name} {at} at risk: {}", tell::risk(r)))
    };
    let risks = [risk("A", FaceWord::A, facing.position_a), risk("B", FaceWord::B, facing.position_b)];
    std::iter::once(shared).chain(risks.into_iter().flatten()).collect()
}
