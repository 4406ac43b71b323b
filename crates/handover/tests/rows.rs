//! What machines get.

use crate::made::{cable, connector, job};
use handover::tables;
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
