//! Two records and what was found between them as one: copies features by their ids. Decides nothing.

use super::record::*;
use super::tell;
use crate::compare::SideRecord;
use crate::record::number::{RATIO, UM, pair, rounded};
use crate::record::{
    AdviceRecord, FaceRecord, Faith, FeatureRecord, PositionRecord, ReasonRecord, SourceNote, StepRecord,
    Tool, Verdict,
};
use grade::CableMap;
use grade::mated::{Adapter, AtRisk, FaceDirt, Mated, MatedFace, NearMark, Transfer, Which};
use terms::{Point, Um};

/// What the record of two mated faces is made from.
#[derive(Clone, Debug)]
pub struct MatedInputs<'a> {
    /// The first face.
    pub a: &'a FaceRecord,
    /// The second.
    pub b: &'a FaceRecord,
    /// How they meet.
    pub adapter: Adapter,
    /// Whether that was stated; else the marks told it.
    pub adapter_stated: bool,
    /// What was found.
    pub mated: &'a Mated,
    /// Version of the program.
    pub tool_version: &'a str,
    /// The cable behind the first face, if one was stated.
    pub cable: Option<&'a CableMap>,
    /// What to mind, in sentences.
    pub cautions: Vec<String>,
    /// Whose word comes before the advice; empty where no rules of advice are there.
    pub defers: String,
}

impl FaceRecord {
    /// The face as mating needs it. Dirt that was not measured is left out.
    pub fn to_mate(&self) -> MatedFace {
        let dirt = self.face_marks.iter().filter_map(|mark| {
            let [x, y] = mark.centre_um?;
            Some(FaceDirt { centre: Point::new(x, y), size: Um(mark.size_um?) })
        });
        MatedFace { seen: self.seen(), dirt: dirt.collect() }
    }
}

impl MatedRecord {
    /// The record of two faces.
    pub fn new(inputs: MatedInputs<'_>) -> MatedRecord {
        let MatedInputs { a, b, adapter, adapter_stated, mated, tool_version, cable, cautions, defers } =
            inputs;
        let mut record = MatedRecord {
            schema: MATED_FORMAT.to_owned(),
            tool: Tool { name: "pitchline".to_owned(), version: tool_version.to_owned() },
            layout: a.layout.clone(),
            criteria: a.criteria.clone(),
            adapter: adapter.into(),
            adapter_stated,
            transfers: mated.transfers.iter().filter_map(|t| transfer(t, a, b)).collect(),
            at_risk: mated.at_risk.iter().map(at_risk).collect(),
            verdict_a: a.verdict,
            verdict_b: b.verdict,
            facing: mated.facing.iter().filter_map(|f| facing(*f, a, b, cable)).collect(),
            meeting: MeetingRecord {
                x_um: rounded(mated.meeting.x, UM),
                y_um: rounded(mated.meeting.y, UM),
                turn_deg: rounded(mated.meeting.turn.to_degrees(), 4),
                u_um: rounded(mated.meeting.u, UM),
            },
            wedge: mated.wedge,
            otherwise: mated
                .otherwise
                .map(|(adapter, transfers)| OtherwiseRecord { adapter: adapter.into(), transfers }),
            unseen_a: unseen(a),
            unseen_b: unseen(b),
            cautions: [not_graded(a, 'A'), not_graded(b, 'B')]
                .into_iter()
                .flatten()
                .chain(cautions)
                .collect(),
            advice: AdviceRecord { defers, ..AdviceRecord::default() },
            a: SideRecord { sources: a.sources.clone(), view: a.view },
            b: SideRecord { sources: b.sources.clone(), view: b.view },
        };
        record.advice.steps = tell::advice(&record).into_iter().map(step).collect();
        record
    }
}

/// A piece of advice by its sentence.
fn step(text: String) -> StepRecord {
    let source = SourceNote { faith: Faith::FromMemory, text: "Common practice, no source".to_owned() };
    StepRecord { text, positions: Vec::new(), cautions: Vec::new(), source }
}

impl From<Adapter> for AdapterWord {
    fn from(adapter: Adapter) -> AdapterWord {
        match adapter {
            Adapter::Opposed => AdapterWord::TypeA,
            Adapter::Aligned => AdapterWord::TypeB,
        }
    }
}

/// Positions on which nothing could be counted for what their picture hides.
fn unseen(face: &FaceRecord) -> Vec<u16> {
    let hidden = |p: &&PositionRecord| p.findings.is_empty() && of_other_mode(p).is_none();
    face.with_verdict(Verdict::Ungraded).filter(hidden).map(|p| p.position).collect()
}

/// Why a position that the picture shows well was not graded.
fn of_other_mode(position: &PositionRecord) -> Option<&str> {
    position.reasons.first().filter(|reason| reason.is_other_mode()).map(|reason| reason.text.as_str())
}

/// What keeps a face whose picture is good from being graded.
fn not_graded(face: &FaceRecord, letter: char) -> Option<String> {
    let why = face.positions.iter().find_map(of_other_mode)?;
    Some(format!("Face {letter} was not graded: {why}."))
}

fn at(face: &FaceRecord, position: u16) -> Option<&PositionRecord> {
    face.positions.iter().find(|p| p.position == position)
}

fn facing(
    (p, q): (u16, u16),
    a: &FaceRecord,
    b: &FaceRecord,
    cable: Option<&CableMap>,
) -> Option<FacingRecord> {
    let here = at(a, p)?;
    Some(FacingRecord {
        position_a: p,
        row_a: here.row,
        column_a: here.column,
        verdict_a: here.verdict,
        position_b: q,
        verdict_b: at(b, q).map_or(Verdict::Ungraded, |there| there.verdict),
        far_a: cable.and_then(|cable| cable.far(p)),
    })
}

fn transfer(transfer: &Transfer, a: &FaceRecord, b: &FaceRecord) -> Option<TransferRecord> {
    let (on_a, on_b) = (at(a, transfer.a.0)?, at(b, transfer.b.0)?);
    let one: &FeatureRecord = on_a.feature(transfer.a.1.0)?;
    let other: &FeatureRecord = on_b.feature(transfer.b.1.0)?;
    Some(TransferRecord {
        position_a: transfer.a.0,
        position_b: transfer.b.0,
        centre_um_a: one.centre_um?,
        centre_um_b: other.centre_um?,
        size_um_a: one.size_um?,
        size_um_b: other.size_um?,
        likelihood: rounded(transfer.likelihood, RATIO)?,
        id_a: one.id,
        id_b: other.id,
        kind_a: one.kind,
        kind_b: other.kind,
        apart_um: rounded(transfer.apart, UM)?,
        breaks_limit_a: on_a.breaks(one.id),
        breaks_limit_b: on_b.breaks(other.id),
    })
}

fn at_risk(risk: &AtRisk) -> AtRiskRecord {
    AtRiskRecord {
        face: match risk.face {
            Which::A => FaceWord::A,
            Which::B => FaceWord::B,
        },
        position: risk.position,
        reasons: risk
            .reasons
            .iter()
            .map(|r| ReasonRecord { code: r.code.clone(), text: r.text.clone() })
            .collect(),
        marks: risk
            .risks
            .iter()
            .map(|r| RiskRecord { position: r.from.0, id: r.from.1.0, centre_um: pair(r.centre, UM) })
            .collect(),
        ferrule: risk.ferrule.iter().map(near_mark).collect(),
    }
}

fn near_mark(mark: &NearMark) -> FerruleRecord {
    FerruleRecord { size_um: rounded(mark.size.0, UM), gap_um: rounded(mark.gap.0, UM) }
}
