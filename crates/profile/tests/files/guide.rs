//! What helps to choose and to read a criteria file.

use profile::{criteria, criteria_ids, criteria_text, guide, limit_rows, parse_criteria, setting_rows};

#[test]
fn the_guide_has_a_line_for_each_file() {
    let guide = guide();
    assert!(guide.iter().map(|choice| choice.id.as_str()).eq(criteria_ids().iter().copied()));
    for choice in &guide {
        let words: &[&str] = match choice.id.rsplit_once("ed1-").or(choice.id.rsplit_once("ed2-")).unwrap().1
        {
            "mm" => &["multimode", "whichever way they were polished"],
            "sm-pc-rl45" => &["single-mode", "in a factory"],
            "sm-pc-rl26" => &["single-mode", "in the field"],
            "sm-apc" => &["single-mode", "angled"],
            other => panic!("{other}"),
        };
        assert!(words.iter().all(|word| choice.use_for.contains(word)), "{}", choice.use_for);
        assert!(choice.use_for.ends_with("(common practice, no source)"), "{}", choice.use_for);
    }
}

#[test]
fn a_file_reads_as_a_table() {
    let file = criteria("iec-61300-3-35-ed2-sm-apc").unwrap();
    let rows: Vec<String> = limit_rows(&file.criteria)
        .iter()
        .map(|row| format!("{} | {} | {} | {}", row.zone, row.band, row.allowed, row.faith.word()))
        .collect();
    let due = [
        "A, 0 to 25 um | scratches up to 3 um wide | at most 4 | from-memory",
        "A, 0 to 25 um | scratches over 3 um wide | none | from-memory",
        "A, 0 to 25 um | defects of any size | none | single-source",
        "B, 25 to 115 um | scratches of any width | any number | single-source",
        "B, 25 to 115 um | defects under 2 um | any number | single-source",
        "B, 25 to 115 um | defects of 2 to 5 um | at most 5 | single-source",
        "B, 25 to 115 um | defects over 5 um | none | single-source",
    ];
    assert_eq!(rows, due);
}

#[test]
fn the_choices_of_a_file_read_as_rows() {
    let file = criteria("iec-61300-3-35-ed2-mm").unwrap();
    let rows: Vec<(&str, String)> =
        setting_rows(&file).into_iter().map(|row| (row.name, row.value)).collect();
    let due = [
        ("defects_across", "the innermost that it touches"),
        ("scratches_across", "the innermost that it touches"),
        ("measure", "smallest enclosing circle"),
        ("smallest_counted", "0 um"),
        ("must_see", "2 um"),
        ("scratch_aspect", "5"),
        ("touching_gap", "0 um"),
        ("false_calls_per_fibre", "0.002"),
    ];
    assert_eq!(rows, due.map(|(name, value)| (name, value.to_owned())));
}

#[test]
fn a_copy_of_a_built_in_file_is_a_file_of_the_users_own() {
    let text = criteria_text("iec-61300-3-35-ed2-mm").unwrap().replace("iec-61300-3-35-ed2-mm", "my-own");
    assert_eq!(parse_criteria("my-own.toml", &text).unwrap().criteria.id, "my-own");
    assert!(criteria_text("no-such").is_none() && criteria("no-such").is_none());
}
