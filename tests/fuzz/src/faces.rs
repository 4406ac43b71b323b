//! What `compare` and `mated` do with a record after they have read it, without its pictures.

use grade::Acceptance;
use grade::compare::compare;
use grade::mated::{Adapter, adapter_by_marks, mate};
use report::compare::{CompareInputs, CompareRecord};
use report::map::{self, MapPictures};
use report::mated::{MatedInputs, MatedRecord};
use report::terminal::{self, Style};
use report::{Care, FaceRecord, pairs};
use std::sync::OnceLock;

/// A face of two positions, graded in a test of its own; its picture is not needed.
pub const BASE: &str = include_str!("../corpus/record/two.json");

fn base() -> &'static FaceRecord {
    static RECORD: OnceLock<FaceRecord> = OnceLock::new();
    RECORD.get_or_init(|| FaceRecord::parse(BASE).unwrap())
}

/// Reads a record and holds it against the base face, both ways round.
pub fn two_faces(text: &str) {
    let record = match FaceRecord::parse(text) {
        Ok(record) => record,
        Err(why) => {
            super::check_refusal(&why.to_string());
            return;
        }
    };
    told(&record);
    // The program holds a record to the layout that was stated before it goes on.
    let positions = |r: &FaceRecord| r.positions.iter().map(|p| p.position).collect::<Vec<_>>();
    if positions(&record) == positions(base()) {
        compared(base(), &record);
        compared(&record, base());
        mated(&record, base());
        mated(base(), &record);
    }
}

/// Writes and draws a record, as `grade` does.
pub fn told(record: &FaceRecord) {
    let json = record.to_json().unwrap();
    assert!(!json.contains("NaN") && FaceRecord::parse(&json).is_ok(), "a record does not read back");
    let _ = terminal::face(record, &[], Style::default());
    let _ = map::windows(record);
    let _ = pairs::windows(record);
    let _ = map::svg(&map::compose(record, &MapPictures::default()));
}

fn compared(before: &FaceRecord, after: &FaceRecord) {
    let Ok(comparison) = compare(&before.seen(), &after.seen()) else { return };
    let turned = after.flipped(comparison.sameness.flip);
    let after = turned.as_ref().unwrap_or(after);
    let counsel = profile::counsel();
    let record = CompareRecord::new(CompareInputs {
        before,
        after,
        comparison: &comparison,
        tool_version: "0",
        cable: None,
        care: counsel.as_ref().map(|counsel| Care { counsel, cleaned: &[] }),
    });
    record.to_json().unwrap();
    let _ = terminal::compare(&record, &[], Style::default());
    let drawn = report::compare::map(&record, &[&record], &[before, after]);
    let _ = map::svg(&pairs::compose(&drawn, &[&[], &[]]));
}

fn mated(a: &FaceRecord, b: &FaceRecord) {
    let (face_a, face_b) = (a.to_mate(), b.to_mate());
    let _ = adapter_by_marks(&face_a, &face_b);
    let criteria = profile::criteria("iec-61300-3-35-ed2-mm").unwrap().criteria;
    for adapter in [Adapter::Opposed, Adapter::Aligned] {
        let Ok(found) = mate(&face_a, &face_b, adapter, &criteria, Acceptance::Simple) else { continue };
        let record = MatedRecord::new(MatedInputs {
            a,
            b,
            adapter,
            adapter_stated: true,
            mated: &found,
            tool_version: "0",
            cable: None,
            cautions: vec![],
            defers: String::new(),
        });
        record.to_json().unwrap();
        let _ = terminal::mated(&record, &[], Style::default());
        let _ = map::svg(&pairs::compose(&report::mated::map(&record, a, b), &[&[], &[]]));
    }
}
