//! The document, the table and the plots of a study, from figures made up by hand.

use report::study::{SetRecord, StudyInputs, StudyRecord, plots, text};
use serde_json::Value;
use study::against::{Against, Sight, SizedMark, Wrong};
use study::detection::Target;
use study::repeats::{Repeatability, Repeated, repeatability};
use study::seen::{SeenFace, SeenFibre, SeenMark};
use study::sizing::Measured;
use terms::Kind;

/// Particles that are seen from about 1 um on, sizes a tenth too large, one escape.
fn against() -> Against {
    let mut against = Against::default();
    for k in 0..60u32 {
        let size = 0.4 + 0.03 * f64::from(k);
        let hit = size + 0.25 * f64::from(k * 7 % 5) > 1.5;
        let target = Target { size, hit };
        against.sights.push(Sight { kind: Kind::Particle, contrast: 0.3, over_smallest: Some(size), target });
        let measured = Measured { truth: size, size: 1.1 * size, u: 0.1 };
        against.sizes.push(SizedMark { kind: Kind::Particle, isolated: k % 2 == 0, measured });
    }
    against.on_clean = vec![0, 0, 1, 0];
    against.centres = vec![0.01, 0.02, 0.03];
    against.verdicts.add(grade::Verdict::Fail, grade::Verdict::Pass);
    against.verdicts.add(grade::Verdict::Pass, grade::Verdict::Pass);
    against.wrong.push(Wrong {
        picture: "face 3".to_owned(),
        position: 7,
        truth: grade::Verdict::Fail,
        said: grade::Verdict::Pass,
    });
    against
}

/// Two set-ups, two pictures each, of a fibre with two marks.
fn repeated() -> Repeatability {
    let look = |shift: f64| {
        let mark =
            |size: f64, x: f64| SeenMark { kind: Kind::Pit, size: size + shift, u: 0.1, centre: (x, 0.0) };
        let marks = vec![mark(3.0, 5.0), mark(4.0, -20.0)];
        let fibre =
            SeenFibre { position: 1, verdict: grade::Verdict::Pass, centre_px: Some((1.0, 1.0)), marks };
        SeenFace { smallest_gradable: None, fibres: vec![fibre] }
    };
    let looks = vec![vec![look(0.0), look(0.1)], vec![look(0.2), look(0.3)]];
    repeatability(&[Repeated { looks, left_out: vec![], clear: None }]).unwrap()
}

fn record() -> StudyRecord {
    record_of(&against())
}

fn record_of(against: &Against) -> StudyRecord {
    let set =
        SetRecord { source: "made-up".to_owned(), seed: Some(1), faces: 10, pictures: 15, without_row: 1 };
    StudyRecord::new(&StudyInputs {
        tool_version: "0.0.0",
        set,
        promised_contrast: 0.3,
        against: Some(against),
        repeats: Some(&repeated()),
    })
}

#[test]
fn the_document_is_valid_and_holds_the_figures() {
    let document: Value = record().to_json().unwrap().parse().unwrap();
    let schema: Value = report::schema::study().unwrap().parse().unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator.iter_errors(&document).map(|e| e.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    let found = |pointer: &str| document.pointer(pointer).unwrap_or_else(|| panic!("{pointer}"));
    let a90 = found("/truth/detection/0/a90_um").as_f64().unwrap();
    assert!(a90 > found("/truth/detection/0/a50_um").as_f64().unwrap());
    assert!(found("/truth/detection/0/a90_95_um").as_f64().unwrap() > a90);
    assert_eq!(*found("/truth/false_calls/per_fibre"), 0.25);
    assert_eq!(*found("/truth/verdicts/escapes/count"), 1);
    assert_eq!(*found("/truth/verdicts/wrong/0/position"), 7);
    assert_eq!(*found("/repeats/gauges/0/marks"), 2);
    assert!(found("/repeats/clear_verdicts").is_null() && found("/repeats/verdicts/cohen_kappa").is_null());
    let bins = found("/truth/detection/0/by_size").as_array().unwrap();
    let counted: u64 = bins.iter().map(|b| b["seen"]["of"].as_u64().unwrap()).sum();
    assert_eq!(counted, 60);
}

/// Few marks, seen or not almost whatever their size: the curve rises so slowly that 90 % lies far beyond them.
#[test]
fn a_size_beyond_the_largest_mark_is_not_determined() {
    let mut against = against();
    against.sights.clear();
    for k in 0..40u32 {
        let size = 1.0 + 0.05 * f64::from(k);
        let target = Target { size, hit: k % 3 == 0 || k % 13 == 5 || k == 38 };
        against.sights.push(Sight { kind: Kind::Particle, contrast: 0.3, over_smallest: Some(size), target });
    }
    let record = record_of(&against);
    let row = &record.truth.as_ref().unwrap().detection[0];
    assert!(row.curve.is_some(), "a curve rises: {row:?}");
    assert_eq!((row.a90_um, row.a90_95_um), (None, None));
    assert!(text(&record).contains("n.d.: not determined"), "{}", text(&record));
    assert!(plots(&record).unwrap()[0].1.contains("a90 not determined"));
}

#[test]
fn the_table_fits_into_80_columns_and_names_what_was_wrong() {
    let mut one = record();
    one.set.faces = 1;
    if let Some(truth) = &mut one.truth {
        truth.detection[0].likelihood = Some("penalised".to_owned());
    }
    let one = text(&one);
    assert!(one.contains("1 face in 15 pictures") && one.contains("penalised: every mark"), "{one}");
    assert!(one.lines().all(|l| l.chars().count() <= 80), "{one}");
    let text = text(&record());
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    for words in [
        "10 faces in 15 pictures, 1 of them",
        "particle, 30 % contrast",
        "a50, a90: sizes of which half",
        "escapes",
        "truly fail, said pass",
        "EV of repeated looks",
    ] {
        assert!(text.contains(words), "{words} is missing in:\n{text}");
    }
}

#[test]
fn plots_are_drawn_without_fonts_of_the_system_and_say_what_they_show() {
    let record = record();
    let drawn = plots(&record).unwrap();
    let names: Vec<&str> = drawn.iter().map(|(name, _)| *name).collect();
    assert_eq!(names, ["detection.svg", "repeats.svg"]);
    for (name, svg) in &drawn {
        let tree = roxmltree::Document::parse(svg).unwrap();
        let texts: Vec<&str> = tree
            .descendants()
            .filter(|n| n.has_tag_name("text"))
            .filter_map(|n| n.text().map(str::trim))
            .collect();
        assert!(texts.iter().any(|t| t.ends_with("size, µm")), "{name}: {texts:?}");
        // What the signs mean stands below the plot, where it covers no point.
        let names = tree.descendants().filter(|n| n.has_tag_name("text"));
        let named = |n: &roxmltree::Node| {
            let text = n.text().unwrap_or_default();
            text.contains("a90")
                || record.repeats.iter().flat_map(|r| &r.scatter).any(|m| text.trim() == m.of)
        };
        let heights: Vec<f64> =
            names.filter(named).map(|n| n.attribute("y").unwrap().parse().unwrap()).collect();
        assert!(!heights.is_empty() && heights.iter().all(|y| *y > 480.0), "{name}: {heights:?}");
    }
    assert!(drawn[0].1.contains("particle 30 %: a90") && drawn[0].1.contains("<polyline"));
    assert_eq!(plots(&record).unwrap(), drawn, "the same record, the same bytes");
    assert!(plots(&StudyRecord { truth: None, repeats: None, ..record }).unwrap().is_empty());
}
