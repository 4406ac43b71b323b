//! What machines get.

use crate::made::{cable, connector, job};
use handover::{columns, tables};
use serde_json::Value;

#[test]
fn every_position_of_every_inspection_is_a_row() {
    let job = job(vec![cable("TR, \"12\"", vec![connector("A", &["FPPP", "PPPP"])])]);
    let text = String::from_utf8(tables::csv(&tables::positions(&job)).unwrap()).unwrap();
    let lines: Vec<&str> = text.split("\r\n").collect();
    assert!(lines[0].starts_with("cable,connector,inspection,when,counts,layout,criteria,position,verdict"));
    assert_eq!(lines.len(), 1 + 8 + 1);
    assert!(
        lines[1].starts_with("\"TR, \"\"12\"\"\",A,1,visit 1,false,mpo-12,iec-61300-3-35-ed2-mm,1,fail,told")
    );
    let json = tables::json_lines(&job).unwrap();
    let rows: Vec<Value> = json.lines().map(|line| line.parse().unwrap()).collect();
    assert_eq!(rows.len(), 8);
    assert!(rows.iter().all(|r| r["schema"] == "pitchline.handover/1" && r["row"] == "position"));
    assert_eq!(rows[4]["counts"], true);
    assert_eq!(rows[0]["largest_um"], Value::Null);
}

/// Identifiers come from outside: a spreadsheet must not run them.
#[test]
fn no_cell_begins_a_formula_and_numbers_stay_numbers() {
    let names = ["=1+1", "+A1", "-2+3", "@SUM(A1)", "\t=1", "＝1+1", "TR-12"];
    let mut job = job(names.map(|name| cable(name, vec![connector("=cmd|' /C calc'!A0", &["P"])])).to_vec());
    let trace = links::read_trace(include_bytes!("../../../fixtures/outside/trace-1.sor")).unwrap();
    job.cables[0].measured.traces = vec![("=trace.sor".to_owned(), trace)];
    let text = String::from_utf8(tables::csv(&tables::positions(&job)).unwrap()).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().unwrap();
    let cables: Vec<&str> = rows.iter().map(|r| &r[0]).collect();
    assert_eq!(cables, ["'=1+1", "'+A1", "'-2+3", "'@SUM(A1)", "'\t=1", "'＝1+1", "TR-12"]);
    assert!(rows.iter().all(|r| &r[1] == "'=cmd|' /C calc'!A0"));
    let events = String::from_utf8(tables::csv(&tables::events(&job)).unwrap()).unwrap();
    let mut reader = csv::Reader::from_reader(events.as_bytes());
    let at = reader.headers().unwrap().iter().position(|h| h == "reflectance_db").unwrap();
    let told: Vec<String> = reader.records().map(|r| r.unwrap()[at].to_owned()).collect();
    assert!(told.iter().any(|cell| cell.parse::<f64>().is_ok_and(|v| v < 0.0)), "{told:?}");
    // Programs that read JSON Lines run nothing: as given.
    assert!(tables::json_lines(&job).unwrap().contains("\"cable\":\"=1+1\""));
}

/// Read by the package that wrote it; `fixtures/outside/columns.py` reads it with another.
#[test]
fn columns_hold_a_row_for_every_position_and_say_what_they_are() {
    use parquet::file::reader::{FileReader, SerializedFileReader};
    let job = job(vec![cable("=TR", vec![connector("A", &["FPPP", "PPPP"])])]);
    let read = |bytes: Vec<u8>| {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("rows"), bytes).unwrap();
        SerializedFileReader::new(std::fs::File::open(folder.path().join("rows")).unwrap()).unwrap()
    };
    let positions = read(columns::positions(&job).unwrap());
    let rows: Vec<String> = positions.get_row_iter(None).unwrap().map(|r| r.unwrap().to_string()).collect();
    assert_eq!(rows.len(), 8);
    // No spreadsheet reads this: as given.
    assert!(
        rows[0].contains("cable: \"=TR\"") && rows[0].contains("cladding_diameter_um: null"),
        "{}",
        rows[0]
    );
    let notes = positions.metadata().file_metadata().key_value_metadata().unwrap().clone();
    assert!(notes.iter().any(|n| n.key == "schema" && n.value.as_deref() == Some("pitchline.handover/1")));
    assert_eq!(read(columns::features(&job).unwrap()).get_row_iter(None).unwrap().count(), 0);
    assert_eq!(columns::positions(&job).unwrap(), columns::positions(&job).unwrap());
}
