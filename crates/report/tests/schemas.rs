//! The schemas of the documents of two faces: committed as the types make them, and held by what is written.

use crate::sample;
use grade::Acceptance;
use grade::compare::compare;
use grade::mated::{Adapter, mate};
use report::compare::{CompareInputs, CompareRecord};
use report::mated::{MatedInputs, MatedRecord};
use report::{Care, schema};
use serde_json::Value;
use std::path::PathBuf;

fn committed(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(format!("../../profiles/schema/{name}.schema.json"))
}

/// Writes the schemas anew when asked: `PITCHLINE_BLESS=1 cargo test -p report`.
#[test]
fn the_committed_schemas_are_the_types_own() {
    let all = [
        ("face", schema::face()),
        ("compare", schema::compare()),
        ("mated", schema::mated()),
        ("study", schema::study()),
        ("chain", schema::chain()),
        ("polarity", schema::polarity()),
    ];
    for (name, text) in all {
        let text = text.unwrap();
        if std::env::var_os("PITCHLINE_BLESS").is_some() {
            std::fs::write(committed(name), &text).unwrap();
        }
        let held: Value = std::fs::read_to_string(committed(name)).unwrap().parse().unwrap();
        let made: Value = text.parse().unwrap();
        assert!(
            held == made,
            "{name}.schema.json is out of date; run PITCHLINE_BLESS=1 cargo test -p report"
        );
    }
}

fn faults(schema: &str, document: &str) -> Vec<String> {
    let validator = jsonschema::validator_for(&schema.parse::<Value>().unwrap()).unwrap();
    let document: Value = document.parse().unwrap();
    validator.iter_errors(&document).map(|e| format!("{} {e}", e.instance_path())).collect()
}

#[test]
fn a_comparison_holds_to_its_schema_and_comes_back_whole() {
    let (before, after) = (sample::record(1, 12), sample::record(1, 12));
    let comparison = compare(&before.seen(), &after.seen()).unwrap();
    let record = CompareRecord::new(CompareInputs {
        before: &before,
        after: &after,
        comparison: &comparison,
        tool_version: "0",
        cable: None,
        care: Some(Care { counsel: &sample::counsel(), cleaned: &[] }),
    });
    assert!(record.totals.remaining > 0 && record.totals.removed == 0 && record.totals.new == 0);
    assert_eq!(faults(&schema::compare().unwrap(), &record.to_json().unwrap()), Vec::<String>::new());
    assert_eq!(serde_json::from_str::<CompareRecord>(&record.to_json().unwrap()).unwrap(), record);
}

#[test]
fn two_mated_faces_hold_to_their_schema_and_come_back_whole() {
    let face = sample::record(1, 12);
    let (a, b) = (face.to_mate(), face.to_mate());
    let mated = mate(&a, &b, Adapter::Aligned, &sample::criteria(), Acceptance::Simple).unwrap();
    let record = MatedRecord::new(MatedInputs {
        a: &face,
        b: &face,
        adapter: Adapter::Aligned,
        adapter_stated: true,
        mated: &mated,
        tool_version: "0",
        cable: None,
        cautions: vec!["It burns.".to_owned()],
        defers: "Ask the owner first.".to_owned(),
    });
    assert_eq!(record.facing.len(), 12);
    assert!(!record.at_risk.is_empty());
    let open: Vec<u16> =
        (face.positions.iter().filter(|p| p.findings.is_empty())).map(|p| p.position).collect();
    assert_eq!((&record.unseen_a, &record.unseen_b), (&open, &open));
    assert_eq!(faults(&schema::mated().unwrap(), &record.to_json().unwrap()), Vec::<String>::new());
    assert_eq!(serde_json::from_str::<MatedRecord>(&record.to_json().unwrap()).unwrap(), record);
    let wrong = record.to_json().unwrap().replace("pitchline.mated/1", "pitchline.mated/2");
    assert_ne!(faults(&schema::mated().unwrap(), &wrong), Vec::<String>::new());
}
