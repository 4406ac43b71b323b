//! The record: the contract's keys, the schema, numbers, places in the picture.

use crate::sample;
use report::FaceRecord;
use report::record::Verdict;
use serde_json::Value;
use terms::{Look, Um};

fn json(record: &FaceRecord) -> Value {
    serde_json::from_str(&record.to_json().unwrap()).unwrap()
}

#[test]
fn records_are_valid_by_the_schema_and_come_back_whole() {
    let schema: Value = serde_json::from_str(&report::schema::face().unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for (rows, columns) in [(1, 12), (2, 16)] {
        let record = sample::record(rows, columns);
        let faults: Vec<String> =
            validator.iter_errors(&json(&record)).map(|e| format!("{} {e}", e.instance_path())).collect();
        assert!(faults.is_empty(), "{faults:#?}");
        assert_eq!(serde_json::from_str::<FaceRecord>(&record.to_json().unwrap()).unwrap(), record);
    }
}

#[test]
fn the_schema_refuses_what_the_contract_rules_out() {
    let schema: Value = serde_json::from_str(&report::schema::face().unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let sound = json(&sample::record(1, 12));
    for (pointer, bad) in [
        ("/schema", Value::from("pitchline.face/2")),
        ("/verdict", Value::from("maybe")),
        ("/view/key", Value::from("left")),
        ("/scale/um_per_px", Value::Null),
        ("/sources/0/sha256", Value::from("5f70")),
        ("/positions/2/features/0/kind", Value::from("smudge")),
        ("/positions/2/findings/0/limit", Value::from("at most 0")),
    ] {
        let mut document = sound.clone();
        *document.pointer_mut(pointer).unwrap() = bad;
        assert!(!validator.is_valid(&document), "{pointer}");
    }
}

/// The keys and words that the project promises to other programs.
#[test]
fn every_promised_key_is_there() {
    let document = json(&sample::record(1, 12));
    for pointer in [
        "/schema",
        "/tool/name",
        "/tool/version",
        "/sources/0/file",
        "/sources/0/sha256",
        "/sources/0/width_px",
        "/sources/0/height_px",
        "/layout",
        "/view/key",
        "/view/mirrored",
        "/criteria/id",
        "/criteria/title",
        "/criteria/document",
        "/criteria/edition",
        "/scale/um_per_px",
        "/scale/standard_uncertainty",
        "/scale/method",
        "/quality/edge_width_um",
        "/quality/smallest_gradable_um",
        "/quality/gradable",
        "/quality/reasons",
        "/verdict",
        "/polarity/channels/0/far",
        "/positions/2/position",
        "/positions/2/row",
        "/positions/2/column",
        "/positions/2/verdict",
        "/positions/2/reasons/0/code",
        "/positions/2/reasons/0/text",
        "/positions/2/source",
        "/positions/2/centre_px/1",
        "/positions/2/cladding_diameter_um",
        "/positions/2/offset_um/1",
        "/positions/2/features/0/id",
        "/positions/2/features/0/kind",
        "/positions/2/features/0/zone",
        "/positions/2/features/0/size_um",
        "/positions/2/features/0/u_um",
        "/positions/2/features/0/length_um",
        "/positions/2/features/0/centre_um/1",
        "/positions/2/features/0/contrast",
        "/positions/2/features/0/outline_px/0/1",
        "/positions/2/findings/0/zone",
        "/positions/2/findings/0/rule",
        "/positions/2/findings/0/limit",
        "/positions/2/findings/0/observed",
        "/positions/2/findings/0/verdict",
    ] {
        assert!(document.pointer(pointer).is_some_and(|v| !v.is_null()), "{pointer}");
    }
    assert_eq!(document["positions"].as_array().unwrap().len(), 12);
    assert_eq!(document["positions"][10]["verdict"], "ungraded");
    assert_eq!(document["positions"][10]["centre_px"], Value::Null);
    assert_eq!(document["scale"]["method"], "lattice");
    assert_eq!(document["view"]["key"], "down");
}

/// The sample's view is key down and mirrored, by which face x runs right and face y runs down in the picture
/// (half a turn and a mirror leave x alone): a mark at the upper right lies right of and below the centre.
#[test]
fn outlines_lie_in_the_picture_about_their_features() {
    let record = sample::record(1, 12);
    let position = &record.positions[2];
    let [cx, cy] = position.centre_px.unwrap();
    let feature = &position.features[0];
    let n = feature.outline_px.len() as f64;
    let mean = |i: usize| feature.outline_px.iter().map(|p| p[i]).sum::<f64>() / n;
    // The particle is at (31, 24) um, 0.5 um per pixel, turned by 0.02 rad.
    assert!(
        (mean(0) - cx - 62.0).abs() < 3.0 && (mean(1) - cy - 48.0).abs() < 3.0,
        "{} {}",
        mean(0),
        mean(1)
    );
}

/// A scratch of 52 um at (-6, 14), run at 35 degrees; a particle has no ends.
#[test]
fn a_long_and_narrow_mark_has_two_ends() {
    let record = sample::record(1, 12);
    let [upper, lower] = record.positions[3].features[0].ends_um.unwrap();
    for (end, along) in [(upper, 26.0), (lower, -26.0)] {
        let due = [-6.0 + along * 35_f64.to_radians().cos(), 14.0 + along * 35_f64.to_radians().sin()];
        assert!((end[0] - due[0]).hypot(end[1] - due[1]) < 4.0, "{end:?} {due:?}");
    }
    assert_eq!(record.positions[2].features[0].ends_um, None);
}

/// 10 % to 90 % of a Gaussian edge is 2 * 1.2816 standard deviations (tables of the normal distribution).
#[test]
fn the_edge_width_follows_from_the_blur() {
    let record = sample::record(1, 12);
    assert!((record.quality.edge_width_um.unwrap() - 0.62 * 2.0 * 1.2816).abs() < 0.001);
}

#[test]
fn numbers_that_are_not_finite_become_null() {
    let layout = sample::layout(1, 12);
    let mut survey = sample::survey(&layout);
    survey.quality.blur = Some(Um(f64::NAN));
    let Look::Found(fibre) = &mut survey.sites[2].look else { unreachable!() };
    fibre.features[0].size = Um(f64::INFINITY);
    fibre.features[0].outline[0] = terms::Point::new(f64::NAN, 0.0);
    let record = sample::record_of(&survey, &layout);
    let document = json(&record);
    assert_eq!(document["quality"]["edge_width_um"], Value::Null);
    assert_eq!(document["positions"][2]["features"][0]["size_um"], Value::Null);
    assert_eq!(document["positions"][2]["features"][0]["outline_px"].as_array().unwrap().len(), 47);
}

/// A place or scale that is not known is null, never zero: zero is a place.
#[test]
fn what_is_not_known_is_null() {
    let layout = sample::layout(1, 12);
    let mut survey = sample::survey(&layout);
    survey.poses[0].matrix[0][1] = f64::NAN;
    let record = sample::record_of(&survey, &layout);
    let document = json(&record);
    assert_eq!(document["poses"][0]["px_per_um"], Value::Null);
    assert!(document["positions"][2]["features"][0]["outline_px"].as_array().unwrap().is_empty());
    assert_eq!(FaceRecord::parse(&record.to_json().unwrap()).unwrap(), record);
    let mut unsure = sample::record(1, 12);
    unsure.positions[2].centre_u_um = None;
    let seen = unsure.seen();
    let at = |position| seen.fibres.iter().find(|f| f.position == position).unwrap();
    assert!(at(3).glass.is_none() && at(1).glass.is_some());
}

#[test]
fn a_picture_that_grades_nothing_is_not_gradable_and_says_why() {
    let layout = sample::layout(1, 12);
    let mut survey = sample::survey(&layout);
    survey.quality.flaws = vec![terms::Flaw::Blurred { blur: Um(4.0) }];
    let record = sample::record_of(&survey, &layout);
    assert!(!record.quality.gradable);
    assert_eq!(record.quality.reasons[0].code, "blurred");
    assert_eq!(record.verdict, report::record::Verdict::Ungraded);
}

/// A change of a record.
type Edit<'a> = &'a dyn Fn(&mut FaceRecord);

/// A document is held to itself: a verdict to the findings and reasons, a finding to what it counts and to its limit.
#[test]
fn a_record_that_contradicts_itself_is_refused() {
    let sound = sample::record(1, 12);
    let failing = sound.positions.iter().position(|p| p.verdict == Verdict::Fail).unwrap();
    let passing = sound.positions.iter().position(|p| p.verdict == Verdict::Pass).unwrap();
    let broken = sound.positions[failing].findings.iter().position(|f| f.verdict == Verdict::Fail).unwrap();
    let number = sound.positions[failing].position;
    let edited = |edit: Edit| {
        let mut record = sound.clone();
        edit(&mut record);
        let whole = record.positions.iter().map(|p| match p.verdict {
            Verdict::Pass => grade::Verdict::Pass,
            Verdict::Fail => grade::Verdict::Fail,
            Verdict::Ungraded => grade::Verdict::Ungraded,
        });
        record.verdict = grade::Verdict::of_parts(whole).into();
        FaceRecord::parse(&record.to_json().unwrap()).map_err(|why| why.to_string())
    };
    assert_eq!(edited(&|_| {}), Ok(sound.clone()));
    let says = |edit: Edit| edited(edit).unwrap_err();
    let core = says(&|r| r.positions[passing].core_width_um = Some(-4.0));
    assert!(core.contains("has a core of a width that no fibre has"), "{core}");
    assert_eq!(
        says(&|r| r.positions[failing].verdict = Verdict::Pass),
        format!(
            "it is damaged: position {number} says pass and its findings say fail; grade the picture again"
        )
    );
    let cases: [(Edit, &str); 18] = [
        (&|r| r.positions[failing].verdict = Verdict::Ungraded, "its findings say fail"),
        (&|r| r.positions[failing].findings.clear(), "its findings say ungraded"),
        (&|r| r.positions[failing].reasons.clear(), "gives no reason"),
        (&|r| r.positions[passing].verdict = Verdict::Ungraded, "gives no reason"),
        (&|r| r.positions[passing].verdict = Verdict::Fail, "its findings say pass"),
        (&|r| r.positions[failing].findings[broken].verdict = Verdict::Pass, "says pass of"),
        (&|r| r.positions[failing].features.clear(), "than it holds"),
        (&|r| r.positions[failing].findings[broken].observed = 0, "than it holds"),
        (&|r| r.positions[passing].cladding_diameter_um = Some(1e6), "that no fibre has"),
        (&|r| r.positions[failing].features[0].size_um = Some(1e308), "that no end face has"),
        (&|r| r.positions[passing].column = r.positions[failing].column, "lie in one place"),
        (&|r| r.positions[passing].blur_um = Some(-0.5), "below 0"),
        (&|r| r.positions[passing].centre_u_um = Some(-1e30), "below 0"),
        (&|r| r.positions[failing].features[0].u_um = Some(-0.1), "below 0"),
        (&|r| r.positions[failing].conformity = Some(1.5), "probability that is none"),
        (&|r| r.positions[failing].findings[broken].conformity = Some(-0.1), "probability that is none"),
        (&|r| r.positions[passing].centre_px = Some([1e12, -1e12]), "far outside its picture"),
        (&|r| r.positions[failing].features[0].outline_px[0] = [1e300, 0.0], "far outside its picture"),
    ];
    for (edit, why) in cases {
        let said = says(edit);
        assert!(said.contains(why) && said.lines().count() == 1, "{why}: {said}");
    }
    for scale in [0.0, -0.5, 1e9] {
        assert!(says(&|r| r.scale.um_per_px = scale).contains("the scale of no picture"));
    }
}
