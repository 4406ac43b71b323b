//! What to do about what was found: the rules that speak, in words, with the positions that they speak for.

use super::{FaceRecord, Kind, PositionRecord, SourceNote, Verdict};
use crate::tell::{kinds, numbers};
use grade::advice::{Advised, Cleaned, Counsel, Course, Found, History, Matter, Spot};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use terms::Um;

/// What advice rests on.
#[derive(Clone, Copy, Debug)]
pub struct Care<'a> {
    /// The rules.
    pub counsel: &'a Counsel,
    /// How the face was cleaned before the picture, in order; for a comparison, between the two.
    pub cleaned: &'a [Cleaned],
}

/// What to do, step by step.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AdviceRecord {
    /// The most urgent first; empty where nothing is to be cleaned or mended.
    pub steps: Vec<StepRecord>,
    /// Whose word comes before this advice; empty where nothing is to be done.
    pub defers: String,
    /// What to mind where a position could not be graded, and is to be cleaned or pictured again; else empty.
    #[serde(default)]
    pub mind: Vec<String>,
}

/// One thing to do.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StepRecord {
    /// In words for people.
    pub text: String,
    /// The positions that it is about; none for the ferrule, and none for two mated faces.
    pub positions: Vec<u16>,
    /// What to mind with it.
    pub cautions: Vec<String>,
    /// Where the advice comes from.
    pub source: SourceNote,
}

impl AdviceRecord {
    /// What the rules say of what was found on a face. A cleaner takes all fibres at once, so that several steps of
    /// cleaning are numbered as one order of work.
    pub(crate) fn new(counsel: &Counsel, found: &[Found], positions: &[PositionRecord]) -> AdviceRecord {
        let break_alone = |number: u16, marks: &[u32]| {
            positions.iter().any(|p| p.position == number && p.break_alone(marks))
        };
        let advised = counsel.advise(found, break_alone);
        let mut steps: Vec<StepRecord> = advised.iter().map(|a| step(counsel, a)).collect();
        let work = |a: &Advised| a.rule.course == Course::Clean;
        if advised.iter().filter(|a| work(a)).count() > 1 {
            let cleaning = steps.iter_mut().zip(&advised).filter(|(_, a)| work(a));
            for (n, (step, _)) in (1..).zip(cleaning) {
                step.text = format!("{n}. {}", step.text);
            }
        }
        let again = positions.iter().any(|p| p.verdict == Verdict::Ungraded);
        let defers = if steps.is_empty() && !again { String::new() } else { counsel.defers.clone() };
        let mind = counsel.cautions_about("light").filter(|_| again).map(str::to_owned).collect();
        AdviceRecord { steps, defers, mind }
    }

    /// Each caution once, and whose word comes first.
    pub fn to_mind(&self) -> Vec<&str> {
        let mut said: Vec<&str> = Vec::new();
        let cautions = self.steps.iter().flat_map(|step| &step.cautions);
        for caution in
            cautions.chain(&self.mind).chain(std::iter::once(&self.defers)).filter(|text| !text.is_empty())
        {
            if !said.contains(&caution.as_str()) {
                said.push(caution);
            }
        }
        said
    }
}

fn step(counsel: &Counsel, advised: &Advised) -> StepRecord {
    let positions: BTreeSet<u16> = advised.found.iter().filter_map(|f| f.position).collect();
    let say = &advised.rule.say;
    StepRecord {
        text: say
            .replace("{at}", &numbers(positions.iter().copied()))
            .replace("{what}", &what(&advised.found)),
        positions: positions.into_iter().collect(),
        cautions: counsel.cautions_of(advised.rule).map(str::to_owned).collect(),
        source: (&advised.rule.source).into(),
    }
}

/// "particle and film", or "3 marks, the largest 22 um".
fn what(found: &[Found]) -> String {
    let mut marks: Vec<Kind> = Vec::new();
    for found in found {
        if let Matter::Mark(kind) = found.matter
            && !marks.contains(&kind.into())
        {
            marks.push(kind.into());
        }
    }
    if !marks.is_empty() {
        return kinds(&marks);
    }
    let largest = found.iter().map(|f| f.size.0).fold(0.0, f64::max);
    match found.len() {
        1 => format!("1 mark, {largest:.0} um"),
        n => format!("{n} marks, the largest {largest:.0} um"),
    }
}

impl FaceRecord {
    /// The marks that something must be done about: those that break a limit, and those on the ferrule.
    pub(super) fn to_mend(&self, care: Care) -> Vec<Found> {
        let history = care.counsel.after(care.cleaned);
        let innermost = self.criteria.zones.first().map(|zone| zone.name.as_str());
        let failing = self.with_verdict(Verdict::Fail);
        let marks = failing.flat_map(|p| p.features.iter().filter(|f| p.breaks(f.id)).map(move |f| (p, f)));
        let marks = marks.map(|(position, feature)| Found {
            position: Some(position.position),
            id: feature.id,
            matter: Matter::Mark(feature.kind.into()),
            size: Um(feature.size_um.unwrap_or(0.0)),
            spot: spot(feature.zone.as_deref(), innermost),
            history,
            within: false,
        });
        let dirt = self.face_marks.iter().map(|mark| Found {
            position: None,
            id: 0,
            matter: Matter::Dirt,
            size: Um(mark.size_um.unwrap_or(0.0)),
            spot: if mark.at_guide { Spot::Guide } else { Spot::Ferrule },
            history: History::First,
            within: false,
        });
        marks.chain(dirt).collect()
    }
}

/// Where a feature of a fibre lies, by the zone that it is held to.
pub(crate) fn spot(zone: Option<&str>, innermost: Option<&str>) -> Spot {
    if zone.is_some() && zone == innermost { Spot::Core } else { Spot::Fibre }
}
