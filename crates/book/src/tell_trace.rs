//! A trace as a document: what a failing face touched, ranked by risk.

use crate::history::History;
use crate::record::{Adapter, Found};
use crate::register::{Past, Register};
use crate::trace::{Exposure, Finding, Trace};
use crate::{Moment, trace};
use grade::Verdict;
use schemars::JsonSchema;
use serde::Serialize;

/// Name and version of the format of [`TraceRecord`].
pub const TRACE_FORMAT: &str = "pitchline.trace/1";

/// What a failing face may have spoilt.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Trace")]
pub struct TraceRecord {
    /// Name and version of this format.
    #[schemars(extend("const" = TRACE_FORMAT))]
    pub schema: &'static str,
    /// What the book is called.
    pub book: String,
    /// The face that failed.
    pub source: String,
    /// When it last passed before that; null if it never did.
    pub passed: Option<Moment>,
    /// When it failed, by the last look that says so.
    pub failed: Moment,
    /// When it first failed since that pass.
    pub first_failed: Moment,
    /// Every face that was exposed, by risk, the highest first: how it was found since, then how likely marks went over,
    /// then how near it is to the source, then when.
    pub exposures: Vec<ExposureRecord>,
}

/// A face that was exposed.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ExposureRecord {
    /// The face.
    pub face: String,
    /// The face that it touched.
    pub by: String,
    /// When.
    pub when: Moment,
    /// Through which adapter, if it was told.
    pub adapter: Option<Adapter>,
    /// 1 if it touched the source itself, 2 if it touched one of those, and so on.
    pub generation: u32,
    /// What it was found to be before; null if nobody had looked.
    pub before: Option<Found>,
    /// What the next look found; null if nobody looked since.
    pub after: Option<Found>,
    /// `spoilt` (passed before, fails since), `fails`, `not-looked-at`, `ungraded` or `passes`.
    pub finding: &'static str,
    /// How likely it is that a mark of one lies on the other, from pictures of both; null without such pictures.
    pub likelihood: Option<f64>,
    /// How many marks lie on both more often than chance has it.
    pub shared_marks: usize,
    /// Its place in time among all that happened, for the drawing.
    #[serde(skip)]
    pub at: usize,
}

/// What the pictures of both faces of a mating tell.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Evidence {
    /// How likely it is that a mark of one lies on the other.
    pub likelihood: Option<f64>,
    /// How many do.
    pub shared_marks: usize,
}

impl TraceRecord {
    /// Traces a face of a book; none if it never failed. `evidence` is asked for each exposure.
    pub fn new(
        register: &Register,
        source: &str,
        evidence: impl FnMut(&Exposure) -> Evidence,
    ) -> Option<TraceRecord> {
        let history: History = register.history();
        let Trace { passed_at, failed_at, exposures, .. } = trace(&history, source)?;
        let since = |at: usize| passed_at.is_none_or(|passed| at > passed);
        let mut failing =
            history.looks(source).filter(|(at, verdict)| since(*at) && *verdict == Verdict::Fail);
        let first_failed = failing.next().map_or(failed_at, |(at, _)| at);
        let when = |at: usize| register.past.get(at).map(|(when, ..)| when.clone());
        let told: Vec<Evidence> = exposures.iter().map(evidence).collect();
        let mut ranked: Vec<(Finding, ExposureRecord)> = exposures
            .iter()
            .zip(told)
            .filter_map(|(exposure, evidence)| {
                Some((exposure.finding(), ExposureRecord::new(register, exposure, evidence)?))
            })
            .collect();
        ranked.sort_by(|(finding, a), (other, b)| {
            let likely = b.likelihood.unwrap_or(0.0).total_cmp(&a.likelihood.unwrap_or(0.0));
            finding.cmp(other).then(likely).then((a.generation, a.at).cmp(&(b.generation, b.at)))
        });
        Some(TraceRecord {
            schema: TRACE_FORMAT,
            book: register.name.clone(),
            source: source.to_owned(),
            passed: passed_at.and_then(when),
            failed: when(failed_at)?,
            first_failed: when(first_failed)?,
            exposures: ranked.into_iter().map(|(_, exposure)| exposure).collect(),
        })
    }

    /// The document as JSON text.
    ///
    /// # Errors
    /// `serde_json`'s; none is known for a trace.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

impl ExposureRecord {
    fn new(register: &Register, exposure: &Exposure, evidence: Evidence) -> Option<ExposureRecord> {
        let (when, _, past) = register.past.get(exposure.at)?;
        let adapter = match past {
            Past::Met(mating) => mating.adapter,
            _ => None,
        };
        Some(ExposureRecord {
            face: exposure.face.clone(),
            by: exposure.by.clone(),
            when: when.clone(),
            adapter,
            generation: exposure.generation,
            before: exposure.before.map(Found::from),
            after: exposure.after.map(Found::from),
            finding: match exposure.finding() {
                Finding::Spoilt => "spoilt",
                Finding::Fails => "fails",
                Finding::NotLookedAt => "not-looked-at",
                Finding::Ungraded => "ungraded",
                Finding::Passes => "passes",
            },
            likelihood: evidence.likelihood.map(|l| (l * 1000.0).round() / 1000.0),
            shared_marks: evidence.shared_marks,
            at: exposure.at,
        })
    }
}
