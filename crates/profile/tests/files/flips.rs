//! Marks that one edition passes and the other does not. Edition 2 as restated publicly, edition 1 from
//! memory. Where a case needs zones that rectangular ferrules are not graded in, the file is written here.

use crate::faces::{feature, with};
use grade::{Criteria, Verdict, grade};
use profile::{criteria, parse_criteria};
use terms::{Feature, Kind};

fn built_in(id: &str) -> Criteria {
    criteria(id).unwrap().criteria
}

fn verdict(mark: Feature, criteria: &Criteria) -> Verdict {
    grade(&with(vec![mark]), criteria).verdict
}

#[test]
fn a_defect_of_8_um_in_zone_b_fails_the_first_edition_and_passes_the_second() {
    let mark = || feature(Kind::Particle, 8.0, 40.0, 48.0);
    assert_eq!(verdict(mark(), &built_in("iec-61300-3-35-ed1-mm")), Verdict::Fail);
    assert_eq!(verdict(mark(), &built_in("iec-61300-3-35-ed2-mm")), Verdict::Pass);
}

#[test]
fn a_scratch_of_4_um_in_zone_a_is_left_open_by_the_first_edition_and_fails_the_second() {
    let mark = || feature(Kind::Scratch, 4.0, 3.0, 30.0);
    assert_eq!(verdict(mark(), &built_in("iec-61300-3-35-ed1-mm")), Verdict::Ungraded);
    assert_eq!(verdict(mark(), &built_in("iec-61300-3-35-ed2-mm")), Verdict::Fail);
}

/// A file for cylindrical ferrules with one rule that matters: `zone`, in which defects of `bands` are graded.
fn cylindrical(core_to: u32, graded_to: u32, bands: &str) -> Criteria {
    let rule = |zone: &str, subject: &str, bands: &str| {
        format!("[[rules]]\nzone = \"{zone}\"\nsubject = \"{subject}\"\nbands = [{bands}]\n")
    };
    let free = "{ allowed = \"any\", source = \"s\" }";
    let text = format!(
        r#"
id = "cylindrical"
title = "Cylindrical ferrule"
document = "IEC 61300-3-35"
edition = "any"
use_for = "a test"
[class]
mode = "single"
angled = false
[sources.s]
faith = "from-memory"
text = "recalled"
[[zones]]
name = "inner"
from = 0
to = {core_to}
source = "s"
[[zones]]
name = "graded"
from = {core_to}
to = {graded_to}
source = "s"
{}{}{}{}
[counting]
defects_across = "centre"
scratches_across = "centre"
measure = "enclosing-circle"
smallest_counted = 0
must_see = 2.0
source = "s"
[looking]
scratch_aspect = 5
touching_gap = 0
false_calls_per_fibre = 0.002
"#,
        rule("inner", "scratches", free),
        rule("inner", "defects", free),
        rule("graded", "scratches", free),
        rule("graded", "defects", bands),
    );
    parse_criteria("cylindrical.toml", &text).unwrap_or_else(|error| panic!("{error}")).criteria
}

#[test]
fn a_particle_of_10_um_in_zone_d_fails_the_first_edition_and_passes_the_second() {
    // Zone D is 130 to 250 um and 135 to 250 um; a defect of 10 um fails at ">= 10", passes at "> 10".
    let any = r#"allowed = "any", source = "s" }"#;
    let none = r#"allowed = 0, source = "s" }"#;
    let first = cylindrical(130, 250, &format!("{{ under = 10, {any}, {{ from = 10, {none}"));
    let second = cylindrical(135, 250, &format!("{{ up_to = 10, {any}, {{ over = 10, {none}"));
    let mark = |size| feature(Kind::Particle, size, 90.0, 100.0);
    assert_eq!(verdict(mark(10.0), &first), Verdict::Fail);
    assert_eq!(verdict(mark(10.0), &second), Verdict::Pass);
    for criteria in [&first, &second] {
        assert_eq!(verdict(mark(9.999), criteria), Verdict::Pass);
        assert_eq!(verdict(mark(10.001), criteria), Verdict::Fail);
    }
}

#[test]
fn a_defect_centred_at_a_diameter_of_117_um_lies_in_zone_b_of_the_first_edition_only() {
    // Cylindrical ferrules: zone B to 120 um in edition 1, to 115 um in edition 2; by the centre of the mark.
    let bands = r#"{ under = 2, allowed = "any", source = "s" }, { from = 2, allowed = 0, source = "s" }"#;
    let mark = || feature(Kind::Pit, 4.0, 56.5, 60.5);
    assert_eq!(verdict(mark(), &cylindrical(25, 120, bands)), Verdict::Fail);
    assert_eq!(verdict(mark(), &cylindrical(25, 115, bands)), Verdict::Pass);
}

#[test]
fn across_zones_the_inner_limit_holds() {
    // A particle of 6 um over the border of zones A and B (diameter 65 um): none over 5 um in A, five in B.
    let mm = built_in("iec-61300-3-35-ed2-mm");
    assert_eq!(verdict(feature(Kind::Particle, 6.0, 30.0, 36.0), &mm), Verdict::Fail);
    assert_eq!(verdict(feature(Kind::Particle, 6.0, 32.6, 38.6), &mm), Verdict::Pass);
    // A chip from the cladding's edge into zone B counts there; one that stays outside 115 um does not.
    assert_eq!(verdict(feature(Kind::Chip, 12.0, 57.0, 62.5), &mm), Verdict::Fail);
    assert_eq!(verdict(feature(Kind::Chip, 12.0, 57.6, 62.5), &mm), Verdict::Pass);
    // One scratch through everything is held to zone A: 4 um is too wide there and not in B.
    assert_eq!(verdict(feature(Kind::Scratch, 4.0, 0.0, 62.5), &mm), Verdict::Fail);
    assert_eq!(verdict(feature(Kind::Scratch, 4.0, 33.0, 62.5), &mm), Verdict::Pass);
}
