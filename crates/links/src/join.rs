//! Joins tier 1 and tier 2 to the cables of a job by identifier. What does not join, is missing or contradicts is
//! listed, never papered over.

use crate::loss::{LossRow, LossTable};
use crate::sor::Trace;
use std::collections::{BTreeMap, BTreeSet};

/// A cable of the job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Known {
    /// Its identifier.
    pub identifier: String,
    /// Its fibres, by number.
    pub fibres: BTreeSet<u16>,
}

/// What was measured through one cable.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Measured {
    /// Tier 1, by fibre, wavelength and line.
    pub losses: Vec<LossRow>,
    /// Tier 2 with the name of its file, by name.
    pub traces: Vec<(String, Trace)>,
    /// What contradicts.
    pub conflicts: Vec<String>,
    /// What is missing.
    pub gaps: Vec<String>,
}

/// Everything joined.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Joined {
    /// One for each known cable, in their order.
    pub cables: Vec<Measured>,
    /// What belongs to no known cable, or to more than one.
    pub unjoined: Vec<String>,
}

/// An identifier as it is compared: letters of one case, spaces left out; TIA-606 forms differ between programs in
/// no more (common practice, no source).
pub fn folded(identifier: &str) -> String {
    identifier.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

/// Joins a table and traces (each with its file's name) to the cables. A trace names its cable in its cable id; where
/// that is empty it belongs to none.
pub fn join(known: &[Known], table: LossTable, traces: Vec<(String, Trace)>) -> Joined {
    let mut joined = Joined { cables: vec![Measured::default(); known.len()], unjoined: Vec::new() };
    let mut places: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (k, cable) in known.iter().enumerate() {
        places.entry(folded(&cable.identifier)).or_default().push(k);
    }
    joined.unjoined = table.notes.iter().map(|note| format!("line {}: {}", note.line, note.text)).collect();
    for row in table.rows {
        match place(&places, &row.identifier) {
            Ok(k) => joined.cables[k].losses.push(row),
            Err(why) => joined.unjoined.push(format!("line {}: {why}", row.line)),
        }
    }
    for (file, trace) in traces {
        match place(&places, &trace.cable) {
            Ok(k) => joined.cables[k].traces.push((file, trace)),
            Err(why) => joined.unjoined.push(format!("{file}: {why}")),
        }
    }
    for (measured, cable) in joined.cables.iter_mut().zip(known) {
        measured.look_over(&cable.fibres);
    }
    joined
}

fn place(places: &BTreeMap<String, Vec<usize>>, identifier: &str) -> Result<usize, String> {
    if identifier.trim().is_empty() {
        return Err("names no cable".to_owned());
    }
    match places.get(&folded(identifier)).map(Vec::as_slice) {
        Some([k]) => Ok(*k),
        Some(_) => Err(format!("{identifier:?} is the name of more than one cable of this job")),
        None => Err(format!("{identifier:?} is no cable of this job")),
    }
}

impl Measured {
    /// Puts things in order and lists what contradicts and what is missing.
    fn look_over(&mut self, fibres: &BTreeSet<u16>) {
        let order = |row: &LossRow| (row.fibre, row.wavelength_nm.unwrap_or(0.0).to_bits(), row.line);
        self.losses.sort_by_key(order);
        self.traces.sort_by(|a, b| a.0.cmp(&b.0));
        self.strange_fibres(fibres);
        self.doubtful_losses();
        self.lengths();
        self.checksums();
        self.missing(fibres);
    }

    /// What names a fibre that is not there is told and not counted among the losses of this cable. A cable that nobody
    /// looked at has no fibres to hold it to.
    fn strange_fibres(&mut self, fibres: &BTreeSet<u16>) {
        let strange = |row: &LossRow| row.fibre.filter(|f| !fibres.is_empty() && !fibres.contains(f));
        for row in &self.losses {
            if let Some(fibre) = strange(row) {
                let text = format!(
                    "line {}: the loss of fibre {fibre}, which this cable does not have, is left out",
                    row.line
                );
                self.conflicts.push(text);
            }
        }
        self.losses.retain(|row| strange(row).is_none());
        for (file, trace) in &self.traces {
            if let Some(fibre) = trace.fibre_number().filter(|f| !fibres.contains(f)) {
                self.conflicts
                    .push(format!("{file}: the trace of fibre {fibre}, which this cable does not have"));
            }
        }
    }

    /// Verdicts against their own limits, and losses that no cable has.
    fn doubtful_losses(&mut self) {
        for row in &self.losses {
            if let (Some(says), Some(limit)) = (row.contradiction(), row.limit_db) {
                self.conflicts.push(format!(
                    "line {}: the table says {says} ({} dB, limit {limit} dB); ask which holds",
                    row.line, row.loss_db
                ));
            }
            if row.loss_db < 0.0 {
                self.conflicts.push(format!(
                    "line {}: a loss below zero ({} dB), as a wrong reference gives: set the reference and measure again",
                    row.line, row.loss_db
                ));
            }
        }
    }

    /// Fibres of one cable are of one length: one that differs by more than a twentieth and two metres was taken of
    /// another cable or with a wrong index (common practice, no source).
    fn lengths(&mut self) {
        let of_table = self.losses.iter().filter_map(|r| Some((format!("line {}", r.line), r.length_m?)));
        let of_traces = self.traces.iter().filter_map(|(file, t)| Some((file.clone(), t.end()?.metres)));
        let all: Vec<(String, f64)> = of_table.chain(of_traces).collect();
        let mut sorted: Vec<f64> = all.iter().map(|(_, m)| *m).collect();
        sorted.sort_by(f64::total_cmp);
        let Some(middle) = sorted.get(sorted.len() / 2).copied() else { return };
        for (of, metres) in all.iter().filter(|(_, m)| (m - middle).abs() > (0.05 * middle).max(2.0)) {
            let text = format!(
                "{of}: a length of {metres:.1} m, where the middle one of this cable is {middle:.1} m"
            );
            self.conflicts.push(text);
        }
    }

    fn checksums(&mut self) {
        for (file, trace) in &self.traces {
            if let Some(why) = trace.checksum.doubt() {
                self.conflicts.push(format!("{file}: {why}"));
            }
        }
    }

    fn missing(&mut self, fibres: &BTreeSet<u16>) {
        if self.losses.is_empty() {
            self.gaps.push("no loss was measured (tier 1)".to_owned());
        } else if self.losses.iter().any(|r| r.fibre.is_some()) {
            let seen: BTreeSet<u16> = self.losses.iter().filter_map(|r| r.fibre).collect();
            let lacking: Vec<String> = fibres.difference(&seen).map(u16::to_string).collect();
            if !lacking.is_empty() {
                self.gaps.push(format!("no loss of fibre {} (tier 1)", lacking.join(", ")));
            }
        }
        if self.traces.is_empty() {
            self.gaps.push("no trace was taken (tier 2)".to_owned());
        }
        for (file, _) in self.traces.iter().filter(|(_, t)| t.end().is_none()) {
            self.gaps.push(format!("{file}: the trace has no end event, so its length is not known"));
        }
    }
}
