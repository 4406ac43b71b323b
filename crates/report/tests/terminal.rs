//! Terminal text as a technician reads it.

use crate::sample;
use grade::Acceptance;
use grade::mated::{Adapter, mate};
use report::FaceRecord;
use report::compare::{CompareInputs, CompareRecord};
use report::mated::{MatedInputs, MatedRecord};
use report::record::{PlacementRecord, ReasonRecord, StitchRecord, Verdict};
use report::terminal::{self, Style};
use terms::{Flaw, Look, Um};

const PLAIN: Style = Style { colour: false, width: 80 };

fn text(record: &FaceRecord) -> String {
    terminal::face(record, &[], PLAIN)
}

/// A golden: it only tells that the text changed, and is written anew by `PITCHLINE_BLESS=1`.
#[test]
fn a_face_reads_like_this() {
    let written = ["out/face.json", "out/map.png", "out/map.svg"].map(String::from);
    let text = terminal::face(&sample::record(1, 12), &written, PLAIN);
    let golden = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sample/face.txt");
    if std::env::var_os("PITCHLINE_BLESS").is_some() {
        std::fs::write(&golden, &text).unwrap();
    }
    assert_eq!(text, std::fs::read_to_string(golden).unwrap());
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    for (rows, columns) in [(1, 8), (1, 12), (1, 16), (2, 12), (2, 16)] {
        for width in [80, 60, 132] {
            let text = terminal::face(&sample::record(rows, columns), &[], Style { colour: false, width });
            let widest = text.lines().max_by_key(|line| line.chars().count()).unwrap();
            assert!(widest.chars().count() <= width, "{rows} x {columns} at {width}: {widest}");
        }
    }
    let criteria = terminal::criteria(&sample::criteria(), PLAIN);
    assert!(criteria.lines().all(|line| line.chars().count() <= 80), "{criteria}");
}

/// Every position's number stands with its verdict's letter, also where a row is cut into stretches.
#[test]
fn a_narrow_terminal_still_shows_every_position() {
    let record = sample::record(2, 16);
    let text = terminal::face(&record, &[], Style { colour: false, width: 40 });
    let rows = text.split("\n\n").nth(1).unwrap().to_owned() + text.split("\n\n").nth(2).unwrap();
    assert!(rows.contains("key up"), "{text}");
    for position in &record.positions {
        let number = format!(" {} ", position.position);
        assert!(text.lines().any(|line| format!("{line} ").contains(&number)), "{number} in {text}");
    }
}

#[test]
fn colour_only_repeats_what_the_text_says() {
    let record = sample::record(1, 12);
    let coloured = terminal::face(&record, &[], Style { colour: true, width: 80 });
    let mut plain = String::new();
    for (i, piece) in coloured.split('\x1b').enumerate() {
        plain.push_str(if i == 0 { piece } else { piece.split_once('m').unwrap().1 });
    }
    assert!(coloured.contains("\x1b["));
    assert_eq!(plain, text(&record));
}

/// Only what is held to a zone can be the worst of a position, however large the rest is.
#[test]
fn marks_outside_every_zone_are_not_the_worst() {
    let mut record = sample::record(1, 12);
    record.positions.iter_mut().flat_map(|p| &mut p.findings).for_each(|f| f.counted.clear());
    for position in &mut record.positions {
        position.verdict = report::record::Verdict::Pass;
        position.features.iter_mut().for_each(|f| (f.zone, f.size_um) = (None, Some(77.0)));
    }
    let text = text(&record);
    assert!(!text.contains("worst") && !text.contains("77"), "{text}");
}

#[test]
fn a_clean_face_says_so_and_what_to_do() {
    let layout = sample::layout(1, 12);
    let mut survey = sample::survey(&layout);
    survey.face_marks.clear();
    let clean = survey.sites[0].look.clone();
    survey.sites.iter_mut().for_each(|site| site.look = clean.clone());
    let mut record = sample::record_of(&survey, &layout);
    let memory = |which: &str| {
        format!("\n{which} limits of these criteria are from memory: check them against the standard.\n")
    };
    record.criteria.all_from_memory = true;
    assert!(text(&record).contains(&memory("All")), "{}", text(&record));
    record.criteria.all_from_memory = false;
    let text = text(&record);
    assert!(
        text.starts_with("(P) PASS  All 12 positions pass\n") && text.contains(&memory("Some")),
        "{text}"
    );
    let next = "Next:  Connect it now if the face that it meets was inspected too, or put its\n       cap back on.\n";
    assert!(text.contains(next), "{text}");
    assert!(!text.contains("worst") && !text.contains("Close call") && !text.contains("far end"), "{text}");
    assert!(!text.contains("\n\n\n"), "{text}");
}

/// A picture of another connector among those of a run, whose positions the others show all.
#[test]
fn a_picture_that_does_not_join_the_others_is_named_unless_a_gap_names_it() {
    let placed = |placed| PlacementRecord { placed, linked: vec![], residual_um: None };
    let stitched = |placements| {
        let mut record = sample::record(1, 12);
        record.sources = vec![record.sources[0].clone(); 3];
        record
            .sources
            .iter_mut()
            .zip(["a.png", "b.png", "c.png"])
            .for_each(|(s, file)| s.file = file.to_owned());
        record.positions.retain(|p| p.source.is_some());
        record.stitch = Some(StitchRecord {
            picture: None,
            picture_sha256: None,
            pose: None,
            coverage: Some(1.0),
            placements,
            optics: vec![],
            disagreements: vec![],
        });
        record
    };
    let told = |record: &FaceRecord| text(record).split_whitespace().collect::<Vec<_>>().join(" ");
    let one = told(&stitched(vec![placed(true), placed(false), placed(true)]));
    assert!(
        one.contains("b.png does not join the other pictures and is left out: it shows too little"),
        "{one}"
    );
    let mut two = stitched(vec![placed(true), placed(false), placed(false)]);
    assert!(told(&two).contains("b.png and c.png do not join the other pictures and are left out:"));
    (two.positions[0].source, two.positions[0].verdict) = (None, Verdict::Ungraded);
    two.positions[0].reasons =
        vec![ReasonRecord { code: "not-in-view".to_owned(), text: "a gap".to_owned() }];
    assert!(!told(&two).contains("join the other pictures"));
    for placements in [vec![placed(true); 3], vec![placed(false); 3]] {
        assert!(!told(&stitched(placements)).contains("join the other pictures"));
    }
}

#[test]
fn one_flaw_of_the_whole_picture_takes_one_line() {
    let layout = sample::layout(1, 12);
    let mut survey = sample::survey(&layout);
    let Look::Found(fibre) = survey.sites[0].look.clone() else { unreachable!() };
    for site in &mut survey.sites {
        let mut fibre = fibre.clone();
        fibre.flaws = vec![Flaw::Blurred { blur: Um(3.4) }];
        site.look = Look::Found(fibre);
    }
    survey.face_marks.clear();
    let text = text(&sample::record_of(&survey, &layout));
    assert!(text.starts_with("<U> UNGRADED  None of the 12 positions could be graded\n"), "{text}");
    assert!(
        text.contains("\n1-12 <U> out of focus (blur 3.4 um); focus and take the picture again\n"),
        "{text}"
    );
    assert!(text.contains("Next:  Nothing could be graded: focus and take the picture again.\n"), "{text}");
}

#[test]
fn a_limit_from_memory_is_marked_where_it_decides() {
    let text = text(&sample::record(1, 12));
    let joined = text.replace("\n       ", " ");
    let memory: Vec<&str> = joined.lines().filter(|line| line.contains("[limit from memory]")).collect();
    assert_eq!(memory.len(), 1, "{text}");
    assert!(memory[0].starts_with("12 [F]"), "{text}");
}

/// Each band, number and source of the criteria stands in the table.
#[test]
fn the_criteria_table_holds_every_band() {
    let criteria = sample::criteria();
    let text = terminal::criteria(&criteria, PLAIN);
    for rule in &criteria.rules {
        for band in &rule.bands {
            let words = band.words(rule.subject);
            let allowed = band.allowed.to_string();
            assert!(text.lines().any(|l| l.contains(&words) && l.contains(&allowed)), "{words} in {text}");
        }
    }
    assert!(
        text.contains("  defects over 10 um                        none          [2] from memory\n"),
        "{text}"
    );
    assert!(text.contains("zone B, 65 to 115 um in diameter"), "{text}");
    assert!(text.contains(" [2] recalled, compare with your copy of the document (from memory)\n"), "{text}");
}

#[test]
fn a_guard_band_is_told_with_its_risk() {
    let mut record = sample::record(1, 12);
    assert!(!text(&record).contains("guard"));
    record.guard_risk = Some(0.025);
    assert!(text(&record).replace('\n', " ").contains("limits drawn in by a guard band, risk 2.5 %"));
}

/// The size told is that of the largest mark that breaks a limit, whichever zone is the stricter.
#[test]
fn the_worst_is_the_largest_that_breaks_a_limit() {
    let record = sample::record(1, 12);
    let mut position = record.positions.iter().find(|p| p.broken().count() > 0).unwrap().clone();
    let finding = position.broken().next().unwrap().clone();
    position.findings.retain(|f| f.verdict == Verdict::Fail);
    let mut large = position.feature(finding.counted[0]).unwrap().clone();
    (large.id, large.size_um) = (900, Some(99.0));
    let mut outer = finding;
    (outer.zone, outer.counted) = ("B".to_owned(), vec![900]);
    position.features.push(large.clone());
    position.findings.push(outer);
    (large.id, large.size_um) = (901, Some(500.0));
    position.features.push(large);
    let text = text(&FaceRecord { positions: vec![position], ..record });
    assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(" um 99 "), "{text}");
}

/// The mark that is the farthest over its limit is named, and what else there is by its kind.
#[test]
fn the_reason_names_what_is_farthest_over_its_limit() {
    let mut record = sample::record(1, 12);
    let position = record.positions.iter_mut().find(|p| p.position == 3).unwrap();
    let guard = ReasonRecord { code: "guard-band".to_owned(), text: "the guard band".to_owned() };
    position.reasons.push(guard.clone());
    let joined = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let line = |record: &FaceRecord| {
        let text = joined(&text(record));
        text[text.find(" 3 [F] ").unwrap()..text.find(" 5 [F] ").unwrap()].to_owned()
    };
    let alone = line(&record);
    assert!(alone.starts_with(" 3 [F] 1 particle over 5 um in zone A") && !alone.contains("(and"), "{alone}");
    let position = record.positions.iter_mut().find(|p| p.position == 3).unwrap();
    let mut outer = position.broken().next().unwrap().clone();
    let mut large = position.feature(outer.counted[0]).unwrap().clone();
    assert_eq!(large.limit_um, Some(5.0));
    (large.id, large.size_um, large.limit_um) = (900, Some(33.0), Some(10.0));
    position.features.push(large);
    (outer.zone, outer.counted) = ("B".to_owned(), vec![900]);
    position.findings.push(outer);
    let told =
        ReasonRecord { code: "too-large".to_owned(), text: "1 particle of 33 um in zone B".to_owned() };
    position.reasons.insert(1, told);
    let both = line(&record);
    assert!(both.starts_with(" 3 [F] 1 particle of 33 um in zone B"), "{both}");
    assert!(both.trim_end().ends_with("(and 1 more limit is broken)"), "{both}");
}

/// Nothing is told of what could not be seen, neither that it is clean nor what it would do.
#[test]
fn mated_faces_say_what_could_not_be_seen() {
    let layout = sample::layout(1, 12);
    let mut survey = sample::survey(&layout);
    survey.face_marks.clear();
    let clean = survey.sites[0].look.clone();
    survey.sites.iter_mut().for_each(|site| site.look = clean.clone());
    let whole = sample::record_of(&survey, &layout);
    let text = |a: &FaceRecord| {
        let record = mated_record(a, &whole);
        let text = terminal::mated(&record, &[], PLAIN).split_whitespace().collect::<Vec<_>>().join(" ");
        let steps: Vec<&str> = record.advice.steps.iter().map(|step| step.text.as_str()).collect();
        assert!(
            text.contains(&format!("Next: {}", steps.join(" "))),
            "the document has the same advice: {text}"
        );
        assert_eq!(record.advice.defers, "Ask the owner first.");
        assert!(text.ends_with("Ask the owner first."), "{text}");
        text
    };
    assert!(text(&whole).contains("Shown key up; the pictures were taken key down and mirrored."));
    assert!(text(&whole).contains("Next: Nothing speaks against mating these two."), "{}", text(&whole));
    let mut narrow = survey.clone();
    for site in &mut narrow.sites {
        let Look::Found(fibre) = &mut site.look else { continue };
        (fibre.core_width, fibre.features) = (Some(Um(9.0)), vec![]);
    }
    let other = text(&sample::record_of(&narrow, &layout));
    assert!(other.contains("Face A was not graded: the cores look 9 um wide"), "{other}");
    assert!(
        !other.contains("could not be seen") && !other.contains("take the picture again before"),
        "{other}"
    );
    survey.sites[2].look = Look::Missing(Flaw::NotFound);
    let cut = text(&sample::record_of(&survey, &layout));
    assert!(cut.contains("at risk: none of A, not known for 1 of B; A 3 could not be seen"), "{cut}");
    assert!(cut.contains("Next: A 3 could not be seen: nothing is told of the dirt there"), "{cut}");
    assert!(cut.contains("nor of what it would do to B 10; take the picture again"), "{cut}");
    assert!(cut.contains("at risk - - ? -") && !cut.contains("Nothing would"), "{cut}");
    survey.quality.flaws = vec![Flaw::Blurred { blur: Um(4.0) }];
    let blurred = text(&sample::record_of(&survey, &layout));
    assert!(
        blurred.contains("Next: A 1-12 could not be seen") && !blurred.contains("Nothing would"),
        "{blurred}"
    );
}

/// Two faces that were mated through a type B adapter.
fn mated_record(a: &FaceRecord, b: &FaceRecord) -> MatedRecord {
    let mated = mate(&a.to_mate(), &b.to_mate(), Adapter::Aligned, &sample::criteria(), Acceptance::Simple);
    MatedRecord::new(MatedInputs {
        a,
        b,
        adapter: Adapter::Aligned,
        adapter_stated: true,
        mated: &mated.unwrap(),
        tool_version: "0",
        cable: None,
        cautions: vec![],
        defers: "Ask the owner first.".to_owned(),
    })
}

/// What a mark on a ferrule would do is told also where the position does not pass as it is.
#[test]
fn a_mark_on_the_other_ferrule_is_told() {
    let layout = sample::layout(1, 12);
    let mut survey = sample::survey(&layout);
    survey.face_marks[0].centre = terms::Point::new(-130.0, 100.0);
    let a = sample::record_of(&survey, &layout);
    survey.face_marks.clear();
    let b = sample::record_of(&survey, &layout);
    assert!(b.positions[6].verdict == Verdict::Fail);
    let record = mated_record(&a, &b);
    let text = terminal::mated(&record, &[], PLAIN).split_whitespace().collect::<Vec<_>>().join(" ");
    let risk = record.at_risk.iter().find(|risk| !risk.ferrule.is_empty()).unwrap();
    assert_eq!((risk.position, risk.ferrule[0].size_um), (7, Some(21.5)));
    let said = "A mark on the other ferrule would lie near B 7 and may keep the fibre from touching; the nearest, of 22";
    assert!(text.contains(said) && text.contains("from the centre of B 7."), "{text}");
}

/// All that keeps a fibre from a verdict is to be mended, so that all of it is told.
#[test]
fn every_reason_of_an_ungraded_position_is_told() {
    let mut record = sample::record(1, 12);
    let reason = |text: &str| ReasonRecord { code: "told".to_owned(), text: text.to_owned() };
    record.positions[1].verdict = Verdict::Ungraded;
    record.positions[1].reasons = vec![reason("it is cut off"), reason("and too dark")];
    let text = text(&record);
    assert!(text.contains(" 2 <U> it is cut off; and too dark\n"), "{text}");
}

/// No number is told where none is known, and the reason, which says what to do, is not sent to again.
#[test]
fn a_face_without_numbers_is_told_without_numbers() {
    let mut record = sample::record(1, 12);
    let flaw = terms::Flaw::Ambiguous(terms::Ambiguity::NoEnd);
    let reason = ReasonRecord { code: flaw.code().to_owned(), text: flaw.to_string() };
    for position in &mut record.positions {
        (position.verdict, position.reasons) = (Verdict::Ungraded, vec![reason.clone()]);
        (position.features, position.findings) = (Vec::new(), Vec::new());
    }
    let text = |record: &FaceRecord| terminal::face(record, &[], PLAIN);
    let told = text(&record);
    assert!(
        told.contains("key up    ?    ?") && told.contains("\nall <U> ") && !told.contains("far end"),
        "{told}"
    );
    assert!(told.contains("show an end of the row") && !told.contains("reason given"), "{told}");
    record.positions[3].reasons[0].code = "too-dark".to_owned();
    assert!(text(&record).contains("do as the reason given says"), "{}", text(&record));
}

/// The reason of the whole face says what to do; that of some positions is to be looked up.
#[test]
fn a_comparison_does_not_send_to_a_reason_that_it_has_told() {
    let face = sample::record(1, 12);
    let (was, is) = (face.seen(), face.seen());
    let mut record = CompareRecord::new(CompareInputs {
        before: &face,
        after: &face,
        comparison: &grade::compare::compare(&was, &is).unwrap(),
        tool_version: "0",
        cable: None,
        care: None,
    });
    // A size of 10.06 um, whose limit is 10 um.
    let unchanged = terminal::compare(&record, &[], PLAIN);
    assert!(unchanged.contains("particle 10.1 um at 10 o'clock stayed"), "{unchanged}");
    assert!(
        unchanged.contains("\nClose call at 12 (34 %): a size lies within its uncertainty of a limit (in\n"),
        "{unchanged}"
    );
    let flaw = terms::Flaw::Ambiguous(terms::Ambiguity::NoEnd);
    let reason = ReasonRecord { code: flaw.code().to_owned(), text: flaw.to_string() };
    for position in &mut record.positions {
        (position.verdict_after, position.reasons) = (Verdict::Ungraded, vec![reason.clone()]);
    }
    let text = |record: &CompareRecord| {
        terminal::compare(record, &[], PLAIN).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let told = text(&record);
    // One line where both were taken alike, else what was stated of each.
    let alike = "Shown key up; the pictures were taken key down and mirrored.";
    assert!(told.contains(alike), "{told}");
    record.after.view.mirrored = false;
    let each = "Before shown key up; the picture was taken key down and mirrored; after shown key up; the picture was \
                taken key down.";
    assert!(text(&record).contains(each), "{}", text(&record));
    record.after.view.mirrored = true;
    assert!(told.contains("show an end of the row or a guide hole") && !told.contains("Next:"), "{told}");
    record.positions[0].verdict_after = Verdict::Pass;
    assert!(
        text(&record).contains("Next: Ungraded: 2-12; do as the reason given says."),
        "{}",
        text(&record)
    );
}
