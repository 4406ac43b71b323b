//! The map of two faces: each position beside the one that it faces, both as seen with their own key up; marks
//! that lie on both carry one number.

use super::record::{FaceWord, FacingRecord, MatedRecord};
use super::tell;
use crate::compare::SideRecord;
use crate::draw::Stroke;
use crate::map::theme::{FAIL, QUIET, TEXT};
use crate::pairs::{Card, CardMark, CardSide, Look, PairMap, outline};
use crate::record::{FaceRecord, PositionRecord, SourceInfo};
use crate::tell::{capital, short_size};

const ON_BOTH: Look = Look { stroke: Stroke::solid(FAIL, 2.4), words: "#1 on both faces" };
const RISKS: Look =
    Look { stroke: Stroke::dashed(TEXT, 1.9, 6.0, 3.0), words: "! would break a limit on the other face" };
const ALONE: Look = Look { stroke: Stroke::dashed(QUIET, 1.0, 1.5, 2.5), words: "on this face alone" };

/// What the map of two faces shows; the records are those that it was made from.
pub fn map(record: &MatedRecord, a: &FaceRecord, b: &FaceRecord) -> PairMap {
    PairMap {
        verdicts: [(record.verdict_a, "face A"), (record.verdict_b, "face B")],
        summary: capital(&tell::summary(record)),
        sentences: tell::advice(record),
        facts: vec![
            ("Face A", files(&record.a)),
            ("Face B", files(&record.b)),
            ("Adapter", tell::adapter(record)),
            ("Criteria", record.criteria.title.clone()),
            ("View", tell::views(record)),
        ],
        legend: vec![ON_BOTH, RISKS, ALONE],
        zones_um: record.criteria.zones.iter().map(|z| z.to_um).collect(),
        cards: record.facing.iter().map(|f| card(f, record, a, b)).collect(),
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
    let side = |label: &str, position, verdict, marks| CardSide {
        label: label.to_owned(),
        position,
        verdict,
        marks,
    };
    Card {
        row: facing.row_a,
        sides: [
            side("face A", facing.position_a, facing.verdict_a, left),
            side("face B", facing.position_b, facing.verdict_b, right),
        ],
        caption: caption(facing, record),
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
                (Some((n, _)), true) => (3, ON_BOTH, format!("#{n} ! {size}")),
                (Some((n, _)), false) => (2, ON_BOTH, format!("#{n} {size}")),
                (None, true) => (1, RISKS, format!("! {size}")),
                (None, false) => (0, ALONE, String::new()),
            };
            (rank, CardMark { look, outline: outline(face, position, feature), tag })
        })
        .collect();
    marks.sort_by_key(|(rank, _)| *rank);
    marks.into_iter().map(|(_, mark)| mark).collect()
}

fn caption(facing: &FacingRecord, record: &MatedRecord) -> String {
    let unseen = tell::unseen_at(record, facing);
    let shared = match tell::shared(record, facing).count() {
        0 if !unseen.is_empty() => format!("not known: {unseen} could not be seen"),
        0 => "no mark on both".to_owned(),
        1 => "1 mark on both".to_owned(),
        n => format!("{n} marks on both"),
    };
    let risk = |name: &str, face, at: u16| {
        let found = record.risky(face).find(|r| r.position == at);
        found.map(|r| format!("{name} {at} at risk: {}", tell::risk(r)))
    };
    let risks = [risk("A", FaceWord::A, facing.position_a), risk("B", FaceWord::B, facing.position_b)];
    let risks: Vec<String> = risks.into_iter().flatten().collect();
    match risks.is_empty() {
        true => shared,
        false => format!("{shared}. {}", risks.join(". ")),
    }
}
