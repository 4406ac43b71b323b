//! Joining by identifier: what fits, what does not, what is missing, what contradicts.

use crate::writer::file;
use links::loss::{LossRow, LossTable};
use links::{Known, join, read_trace};

fn known(name: &str, fibres: u16) -> Known {
    Known { identifier: name.to_owned(), fibres: (1..=fibres).collect() }
}

fn row(line: u64, cable: &str, fibre: u16, length: f64) -> LossRow {
    LossRow {
        line,
        identifier: cable.to_owned(),
        fibre: Some(fibre),
        wavelength_nm: Some(850.0),
        loss_db: 0.3,
        length_m: Some(length),
        limit_db: None,
        verdict: None,
        direction: None,
    }
}

#[test]
fn identifiers_join_whatever_their_case_and_spaces() {
    let table =
        LossTable { rows: vec![row(2, "tr - 12", 2, 205.0), row(3, "TR-12", 1, 204.0)], notes: vec![] };
    let traces = vec![("a.sor".to_owned(), read_trace(&file(true, "Tr-12", "1")).unwrap())];
    let joined = join(&[known("TR-12", 2)], table, traces);
    let cable = &joined.cables[0];
    assert_eq!(cable.losses.iter().map(|r| r.fibre).collect::<Vec<_>>(), [Some(1), Some(2)]);
    assert_eq!(cable.traces.len(), 1);
    assert!(joined.unjoined.is_empty() && cable.gaps.is_empty() && cable.conflicts.is_empty(), "{joined:?}");
}

#[test]
fn what_fits_nowhere_or_twice_is_listed() {
    let rows = vec![row(2, "TR-99", 1, 20.0), row(3, "TR-1", 1, 20.0)];
    let traces = vec![("lost.sor".to_owned(), read_trace(&file(true, " ", "1")).unwrap())];
    let joined = join(&[known("TR-1", 1), known("tr-1", 1)], LossTable { rows, notes: vec![] }, traces);
    assert_eq!(
        joined.unjoined,
        [
            "line 2: \"TR-99\" is no cable of this job",
            "line 3: \"TR-1\" is the name of more than one cable of this job",
            "lost.sor: names no cable"
        ]
    );
}

#[test]
fn gaps_and_conflicts_are_listed() {
    let rows = vec![row(2, "TR-12", 1, 205.0), row(3, "TR-12", 2, 260.0), row(4, "TR-12", 9, 204.0)];
    let mut bytes = file(true, "TR-12", "12");
    let place = bytes.len() - 1;
    bytes[place] ^= 1;
    let traces = vec![("b.sor".to_owned(), read_trace(&bytes).unwrap())];
    let joined = join(&[known("TR-12", 4), known("TR-13", 4)], LossTable { rows, notes: vec![] }, traces);
    let cable = &joined.cables[0];
    assert_eq!(cable.gaps, ["no loss of fibre 3, 4 (tier 1)"]);
    let said = cable.conflicts.join("\n");
    for part in [
        "line 4: the loss of fibre 9",
        "b.sor: the trace of fibre 12",
        "line 3: a length of 260.0 m",
        "checksum",
    ] {
        assert!(said.contains(part), "{part} is missing in {said}");
    }
    assert_eq!(joined.cables[1].gaps, ["no loss was measured (tier 1)", "no trace was taken (tier 2)"]);
}
