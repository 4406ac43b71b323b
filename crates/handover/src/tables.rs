//! The job for machines: one row for each position of each inspection, each loss, each event of a trace, each thing
//! that happened, each cord and each record that was taken back, as CSV (RFC 4180) and as JSON Lines. A spreadsheet takes a cell that begins with a certain sign for a formula; in CSV
//! such cells get an apostrophe in front, in JSON Lines they stay as given.

use crate::job::Job;
use links::Told;
use serde::Serialize;
use std::borrow::Cow;

/// Name and version of the format of the rows.
pub const FORMAT: &str = "pitchline.handover/1";

/// One position in one inspection.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct PositionRow {
    /// Cable.
    pub cable: String,
    /// Connector.
    pub connector: String,
    /// Number of the inspection of this connector, from 1.
    pub inspection: usize,
    /// What it is called.
    pub when: String,
    /// Whether it is the one that counts.
    pub counts: bool,
    /// Layout.
    pub layout: String,
    /// Criteria.
    pub criteria: String,
    /// Position.
    pub position: u16,
    /// Verdict.
    pub verdict: String,
    /// Codes of the reasons, with spaces between them.
    pub reasons: String,
    /// Marks that were seen.
    pub marks: usize,
    /// Largest of their sizes, um.
    pub largest_um: Option<f64>,
    /// Probability that every limit is held.
    pub conformity: Option<f64>,
    /// SHA-256 of the record.
    pub sha256: String,
}

/// One loss.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct LossRowOut {
    /// Cable.
    pub cable: String,
    /// Fibre.
    pub fibre: Option<u16>,
    /// Wavelength, nm.
    pub wavelength_nm: Option<f64>,
    /// Direction.
    pub direction: Option<String>,
    /// Loss, dB.
    pub loss_db: f64,
    /// Limit, dB.
    pub limit_db: Option<f64>,
    /// Length, m.
    pub length_m: Option<f64>,
    /// What the table says: pass or fail.
    pub told: Option<&'static str>,
    /// Line of the table.
    pub line: u64,
}

/// One event of a trace.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct EventRow {
    /// Cable.
    pub cable: String,
    /// File.
    pub file: String,
    /// Fibre, as named there.
    pub fibre: String,
    /// Wavelength, nm.
    pub wavelength_nm: f64,
    /// Number of the event.
    pub event: u16,
    /// Distance, m.
    pub distance_m: f64,
    /// Kind.
    pub kind: &'static str,
    /// Whether it ends the fibre.
    pub ends: bool,
    /// Loss, dB.
    pub loss_db: f64,
    /// Reflectance, dB.
    pub reflectance_db: Option<f64>,
}

/// One thing that happened to a connector.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct HappeningRow {
    /// Cable.
    pub cable: String,
    /// Connector.
    pub connector: String,
    /// When.
    pub when: String,
    /// What.
    pub what: String,
    /// By whom.
    pub who: Option<String>,
    /// Why and by whom it was withdrawn, if it was.
    pub withdrawn: Option<String>,
}

/// One reference cord.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct CordRow {
    /// Cord.
    pub cord: String,
    /// When it was last looked at.
    pub when: Option<String>,
    /// Verdict of that look.
    pub verdict: Option<&'static str>,
    /// How many faces that are handed over it met.
    pub met: usize,
    /// Why it must be looked at before it is used again; empty if it need not.
    pub owed: String,
}

/// One record that was taken back, of whatever face.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct TakenBackRow {
    /// What it told, and why and by whom it was taken back.
    pub what: String,
}

/// Why rows cannot be written; none is known.
#[derive(Debug, thiserror::Error)]
#[error("the tables of the hand-over cannot be written: {0}")]
pub struct WriteError(String);

/// Every position of every inspection.
pub fn positions(job: &Job) -> Vec<PositionRow> {
    let mut rows = Vec::new();
    for (cable, connector) in job.connectors() {
        let all = connector.inspections.len();
        for (k, look) in connector.inspections.iter().enumerate() {
            rows.extend(look.face.positions.iter().map(|p| PositionRow {
                cable: cable.identifier.clone(),
                connector: connector.identifier.clone(),
                inspection: k + 1,
                when: look.when.clone(),
                counts: k + 1 == all,
                layout: look.face.layout.clone(),
                criteria: look.face.criteria.id.clone(),
                position: p.position,
                verdict: p.verdict.word().to_owned(),
                reasons: p.reasons.iter().map(|r| r.code.as_str()).collect::<Vec<_>>().join(" "),
                marks: p.features.len(),
                largest_um: p.features.iter().filter_map(|f| f.size_um).max_by(f64::total_cmp),
                conformity: p.conformity,
                sha256: look.sha256.clone(),
            }));
        }
    }
    rows
}

/// Every loss that was joined.
pub fn losses(job: &Job) -> Vec<LossRowOut> {
    let all = job.cables.iter().flat_map(|c| c.measured.losses.iter().map(move |row| (c, row)));
    let told = |told| match told {
        Told::Pass => "pass",
        Told::Fail => "fail",
    };
    all.map(|(cable, row)| LossRowOut {
        cable: cable.identifier.clone(),
        fibre: row.fibre,
        wavelength_nm: row.wavelength_nm,
        direction: row.direction.clone(),
        loss_db: row.loss_db,
        limit_db: row.limit_db,
        length_m: row.length_m,
        told: row.verdict.map(told),
        line: row.line,
    })
    .collect()
}

/// Every event of every trace that was joined.
pub fn events(job: &Job) -> Vec<EventRow> {
    let traces = job.cables.iter().flat_map(|c| c.measured.traces.iter().map(move |t| (c, t)));
    let all = traces.flat_map(|(c, (file, trace))| trace.events.iter().map(move |e| (c, file, trace, e)));
    all.map(|(cable, file, trace, event)| EventRow {
        cable: cable.identifier.clone(),
        file: file.clone(),
        fibre: trace.fibre.clone(),
        wavelength_nm: trace.wavelength_nm,
        event: event.number,
        distance_m: event.metres,
        kind: event.nature.word(),
        ends: event.ends,
        loss_db: event.loss_db,
        reflectance_db: event.reflectance_db,
    })
    .collect()
}

/// Everything that is told to have happened.
pub fn happenings(job: &Job) -> Vec<HappeningRow> {
    let all = job.connectors().flat_map(|(cable, c)| c.past.iter().map(move |past| (cable, c, past)));
    all.map(|(cable, connector, past)| HappeningRow {
        cable: cable.identifier.clone(),
        connector: connector.identifier.clone(),
        when: past.when.clone(),
        what: past.what.clone(),
        who: past.who.clone(),
        withdrawn: past.withdrawn.clone(),
    })
    .collect()
}

/// Every reference cord.
pub fn cords(job: &Job) -> Vec<CordRow> {
    let row = |cord: &crate::Cord| CordRow {
        cord: cord.identifier.clone(),
        when: cord.last.as_ref().map(|(when, _)| when.clone()),
        verdict: cord.last.as_ref().map(|(_, verdict)| verdict.word()),
        met: cord.met,
        owed: cord.owed.clone(),
    };
    job.cords.iter().map(row).collect()
}

/// Everything that was taken back.
pub fn taken_back(job: &Job) -> Vec<TakenBackRow> {
    job.taken_back.iter().map(|what| TakenBackRow { what: what.clone() }).collect()
}

/// Rows as CSV with a line of headings, which stands there without rows, too.
///
/// # Errors
/// [`WriteError`] with the words of the `csv` package.
pub fn csv<T: Serialize + Default>(rows: &[T]) -> Result<Vec<u8>, WriteError> {
    written(rows).map_err(|e| WriteError(e.to_string()))
}

fn written<T: Serialize + Default>(rows: &[T]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut as_given = csv::Writer::from_writer(Vec::new());
    let none = T::default();
    // Headings are those of a row: where there is none, one without contents gives them and is left out.
    let all = if rows.is_empty() { std::slice::from_ref(&none) } else { rows };
    all.iter().try_for_each(|row| as_given.serialize(row))?;
    let as_given = as_given.into_inner()?;
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(as_given.as_slice());
    for record in reader.records().take(1 + rows.len()) {
        writer.write_record(record?.iter().map(|cell| harmless(cell).into_owned()))?;
    }
    Ok(writer.into_inner()?)
}

/// A cell that no spreadsheet runs (OWASP, CSV Injection): numbers as they are, anything else that begins as a formula
/// may begin behind an apostrophe.
fn harmless(cell: &str) -> Cow<'_, str> {
    let begins = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '＝', '＋', '－', '＠']);
    let is_number =
        cell.bytes().all(|b| b.is_ascii_digit() || b"+-.e".contains(&b)) && cell.parse::<f64>().is_ok();
    if begins && !is_number { Cow::Owned(format!("'{cell}")) } else { Cow::Borrowed(cell) }
}

#[derive(Serialize)]
struct Line<'a, T> {
    schema: &'static str,
    row: &'static str,
    #[serde(flatten)]
    of: &'a T,
}

/// Everything as JSON Lines; `row` says what each line is.
///
/// # Errors
/// [`WriteError`] with the words of the `serde_json` package.
pub fn json_lines(job: &Job) -> Result<String, WriteError> {
    let mut out = lines("position", &positions(job))?;
    out += &lines("loss", &losses(job))?;
    out += &lines("event", &events(job))?;
    out += &lines("happening", &happenings(job))?;
    out += &lines("cord", &cords(job))?;
    out += &lines("taken-back", &taken_back(job))?;
    Ok(out)
}

fn lines<T: Serialize>(row: &'static str, rows: &[T]) -> Result<String, WriteError> {
    let mut out = String::new();
    for of in rows {
        let line = serde_json::to_string(&Line { schema: FORMAT, row, of });
        out += &line.map_err(|e| WriteError(e.to_string()))?;
        out.push('\n');
    }
    Ok(out)
}
