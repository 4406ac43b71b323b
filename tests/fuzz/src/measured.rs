//! What instruments write: tables of losses, with the mapping that tells their columns, and traces; both joined to cables.

use crate::check_refusal;
use links::{Known, LossTable, Mapping, Trace, join, read_table, read_trace};

const MAPPING: &str = include_str!("../corpus/mapping/every-key.toml");
const TABLE: &[u8] = include_bytes!("../corpus/losses/every-column.csv");

/// Reads a table of losses by a mapping that names every column, and joins it.
pub fn losses(table: &[u8]) {
    by(table, &Mapping::parse(MAPPING).unwrap());
}

/// Reads a mapping, and a table by it.
pub fn mapping(text: &str) {
    match Mapping::parse(text) {
        Ok(mapping) => by(TABLE, &mapping),
        Err(why) => check_refusal(&why.to_string()),
    }
}

fn by(table: &[u8], mapping: &Mapping) {
    match read_table(table, mapping) {
        Ok(table) => {
            for row in &table.rows {
                assert!(row.loss_db.is_finite(), "{row:?}");
                assert!([row.wavelength_nm, row.limit_db, row.length_m].iter().flatten().all(|v| v.is_finite()));
            }
            joined(table, Vec::new());
        }
        Err(why) => check_refusal(&why.to_string()),
    }
}

/// Reads a trace and joins it.
pub fn trace(file: &[u8]) {
    match read_trace(file) {
        Ok(trace) => {
            let numbers = trace.events.iter().flat_map(|e| [e.metres, e.loss_db, e.slope_db_per_km]);
            assert!(numbers.chain([trace.loss_db, trace.wavelength_nm, trace.index]).all(f64::is_finite));
            let _ = (trace.end(), trace.fibre_number(), trace.checksum.doubt());
            joined(LossTable::default(), vec![("a.sor".to_owned(), trace)]);
        }
        Err(why) => check_refusal(&why.to_string()),
    }
}

/// Nothing is lost: what is joined to no cable is named.
fn joined(table: LossTable, traces: Vec<(String, Trace)>) {
    let known = [Known { identifier: "TR-12".to_owned(), fibres: (1..=12).collect() }];
    let (rows, files) = (table.rows.len(), traces.len());
    let joined = join(&known, table, traces);
    let taken: usize = joined.cables.iter().map(|c| c.losses.len() + c.traces.len()).sum();
    assert!(taken <= rows + files && (taken == rows + files || !joined.unjoined.is_empty()));
}
