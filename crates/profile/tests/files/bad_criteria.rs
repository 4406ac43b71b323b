//! Bad criteria files and the sentences that a user reads about them.

use crate::refused::refused;
use profile::parse_criteria;

const CRITERIA: &str = r#"id = "ours"
title = "Our own"
document = "House rule 7"
edition = "1"
use_for = "our trunks"
[class]
mode = "multi"
angled = false
[sources.us]
faith = "house"
text = "House rule 7"
[[zones]]
name = "A"
from = 0
to = 65
source = "us"
[[zones]]
name = "B"
from = 65
to = 115
source = "us"
[[rules]]
zone = "A"
subject = "scratches"
bands = [
  { up_to = 3, allowed = "any", source = "us" },
  { over = 3, allowed = 0, source = "us" },
]
[[rules]]
zone = "A"
subject = "defects"
bands = [{ allowed = 0, source = "us" }]
[[rules]]
zone = "B"
subject = "scratches"
bands = [{ allowed = "any", source = "us" }]
[[rules]]
zone = "B"
subject = "defects"
bands = [
  { under = 2, allowed = "any", source = "us" },
  { from = 2, up_to = 5, allowed = 5, source = "us" },
  { over = 5, allowed = 0, source = "us" },
]
[counting]
defects_across = "innermost"
scratches_across = "every"
measure = "enclosing-circle"
smallest_counted = 0.5
must_see = 2.0
source = "us"
[looking]
scratch_aspect = 5.0
touching_gap = 0.0
false_calls_per_fibre = 0.002
"#;

#[test]
fn lengths_are_plain_numbers_of_micrometres() {
    refused(
        CRITERIA,
        parse_criteria,
        &[
            (
                "up_to = 3,",
                "up_to = \"3 mm\",",
                &[
                    "line 26: `up_to` in [[bands]] is the text \"3 mm\"; write a number of micrometres without a unit, above 0, such as 3",
                ],
            ),
            (
                "to = 65",
                "to = -65",
                &[
                    "line 15: `to` in [[zones]] is -65; write a number of micrometres without a unit, above 0, such as 25",
                ],
            ),
            (
                "to = 65",
                "to = nan",
                &[
                    "line 15: `to` in [[zones]] is nan; write a number of micrometres without a unit, above 0, such as 25",
                ],
            ),
            (
                "to = 65",
                "to = inf",
                &[
                    "line 15: `to` in [[zones]] is inf; write a number of micrometres without a unit, above 0, such as 25",
                ],
            ),
            (
                "to = 65",
                "to = 1e400",
                &[
                    "line 15: `to` in [[zones]] is 1e400; write a number of micrometres without a unit, above 0, such as 25",
                ],
            ),
            (
                "to = 65",
                "to = true",
                &[
                    "line 15: `to` in [[zones]] is true; write a number of micrometres without a unit, above 0, such as 25",
                ],
            ),
            (
                "to = 65",
                "to = []",
                &[
                    "line 15: `to` in [[zones]] is an empty list; write a number of micrometres without a unit, above 0, such as 25",
                ],
            ),
            (
                "to = 65",
                "to = 2026-01-01",
                &[
                    "line 15: `to` in [[zones]] is a date; write a number of micrometres without a unit, above 0, such as 25",
                ],
            ),
            (
                "must_see = 2.0",
                "must_see = 0",
                &[
                    "line 50: `must_see` in [counting] is 0; write a number of micrometres without a unit, above 0, such as 2.0",
                ],
            ),
        ],
    );
}

#[test]
fn bands_hold_every_size_once() {
    refused(
        CRITERIA,
        parse_criteria,
        &[
            (
                "up_to = 3,",
                "up_to = 2.5,",
                &["line 27: sizes between 2.5 and 3 um are in no band; close the gap"],
            ),
            (
                "up_to = 3,",
                "up_to = 3.5,",
                &["line 27: sizes just above 3 um are in two bands; let one end where the next begins"],
            ),
            (
                "up_to = 3,",
                "under = 3,",
                &["line 27: exactly 3 um is in no band; use `up_to` below or `from` above"],
            ),
            (
                "over = 3,",
                "from = 3,",
                &["line 27: exactly 3 um is in two bands; use `under` below or `over` above"],
            ),
            (
                "over = 3,",
                "",
                &["line 27: sizes just above 0 um are in two bands; let one end where the next begins"],
            ),
            (
                "{ up_to = 3,",
                "{ from = 1, up_to = 3,",
                &[
                    "line 26: sizes below this band are in no band; let the first one have neither `from` nor `over`",
                ],
            ),
            (
                "{ over = 5,",
                "{ over = 5, under = 100,",
                &[
                    "line 37: sizes above 100 um are in no band; let the last one have neither `up_to` nor `under`",
                ],
            ),
            (
                "from = 2, up_to = 5",
                "from = 6, up_to = 5",
                &["line 42: the band holds no size; its lower end must lie below its upper end"],
            ),
            (
                "from = 2, up_to = 5",
                "from = 5, under = 5",
                &["line 42: the band holds no size; its lower end must lie below its upper end"],
            ),
            (
                "over = 3,",
                "over = 3, from = 3,",
                &["line 27: a band has either `from` or `over`; remove one of them"],
            ),
            (
                "bands = [{ allowed = 0, source = \"us\" }]",
                "bands = []",
                &[
                    "line 32: `bands` in [[rules]] is an empty list; write it as a list of tables, at least one [[bands]]",
                ],
            ),
            (
                "bands = [{ allowed = 0, source = \"us\" }]",
                "",
                &["line 29: `bands` is missing in [[rules]]; add a list of at least one table"],
            ),
        ],
    );
}

#[test]
fn bands_in_any_order_are_put_in_order() {
    let bands = |order: [usize; 3]| {
        let bands = [
            "{ under = 3, allowed = 0, source = \"us\" }",
            "{ from = 3, up_to = 3, allowed = 1, source = \"us\" }",
            "{ over = 3, allowed = 2, source = \"us\" }",
        ];
        let listed = order.map(|i| bands[i]).join(", ");
        let text = CRITERIA.replacen("{ allowed = 0, source = \"us\" }", &listed, 1);
        parse_criteria("ours.toml", &text).unwrap_or_else(|error| panic!("{order:?}: {error}"))
    };
    let good = bands([0, 1, 2]);
    for order in [[0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        assert_eq!(bands(order), good);
    }
}

#[test]
fn limits_are_counts_and_name_their_source() {
    refused(
        CRITERIA,
        parse_criteria,
        &[
            (
                "allowed = 5,",
                "allowed = 5.5,",
                &[
                    "line 42: `allowed` in [[bands]] is 5.5; write a whole number (0 is none), \"any\" or \"undecided\"",
                ],
            ),
            (
                "allowed = 5,",
                "allowed = -1,",
                &[
                    "line 42: `allowed` in [[bands]] is -1; write a whole number (0 is none), \"any\" or \"undecided\"",
                ],
            ),
            (
                "allowed = 5,",
                "allowed = \"few\",",
                &[
                    "line 42: `allowed` in [[bands]] is the text \"few\"; write a whole number (0 is none), \"any\" or \"undecided\"",
                ],
            ),
            (
                "allowed = 5, source = \"us\"",
                "allowed = 5",
                &["line 42: `source` is missing in [[bands]]; add `source = \"NAME\"`"],
            ),
            (
                "allowed = 5, source = \"us\"",
                "allowed = 5, source = \"them\"",
                &["line 42: no source \"them\" is listed; add [sources.them] with `faith` and `text`"],
            ),
            (
                "[sources.us]",
                "[sources.them]\nfaith = \"house\"\ntext = \"x\"\n[sources.us]",
                &["line 9: nothing names the source \"them\"; remove it"],
            ),
            (
                "faith = \"house\"",
                "faith = \"sure\"",
                &[
                    "line 10: `faith` in [sources.us] is the text \"sure\"; write \"verified\" or \"single-source\" or \
                   \"abstract\" or \"from-memory\" or \"house\"",
                ],
            ),
            (
                "text = \"House rule 7\"\n",
                "",
                &[
                    "line 9: `text` is missing in [sources.us]; add `text = \"the document, and how it is known\"`",
                ],
            ),
        ],
    );
}

#[test]
fn zones_and_rules_are_complete() {
    refused(
        CRITERIA,
        parse_criteria,
        &[
            (
                "from = 65",
                "from = 60",
                &[
                    "line 17: zone \"B\" begins at 60 um where 65 um is due; zones start at 0 and neither overlap nor \
                   leave a gap",
                ],
            ),
            (
                "from = 0",
                "from = 5",
                &[
                    "line 12: zone \"A\" begins at 5 um where 0 um is due; zones start at 0 and neither overlap nor \
                   leave a gap",
                ],
            ),
            (
                "to = 115",
                "to = 65",
                &["line 17: zone \"B\" ends before it begins; `to` must lie above `from`"],
            ),
            (
                "name = \"B\"",
                "name = \"A\"",
                &[
                    "line 17: there are two zones \"A\"; give each a name of its own",
                    "line 33: there is no zone \"B\"; name one of [[zones]]",
                    "line 37: there is no zone \"B\"; name one of [[zones]]",
                ],
            ),
            (
                "subject = \"scratches\"",
                "subject = \"defects\"",
                &[
                    "line 1: there is no rule for scratches in zone \"A\"; add [[rules]] with its bands",
                    "line 29: there is a second rule for defects in zone \"A\"; remove one",
                ],
            ),
            (
                "zone = \"B\"",
                "zone = \"C\"",
                &[
                    "line 1: there is no rule for scratches in zone \"B\"; add [[rules]] with its bands",
                    "line 33: there is no zone \"C\"; name one of [[zones]]",
                ],
            ),
        ],
    );
}

#[test]
fn keys_words_and_texts_are_the_known_ones() {
    refused(
        CRITERIA,
        parse_criteria,
        &[
            (
                "title = \"Our own\"",
                "titel = \"Our own\"",
                &[
                    "line 1: `title` is missing; add `title = \"a line for people\"`",
                    "line 2: unknown key `titel`; the keys here are sources, id, title, document, edition, use_for, class, zones, rules, counting, looking",
                ],
            ),
            (
                "[counting]",
                "[countin]",
                &[
                    "line 45: unknown key `countin`; the keys here are sources, id, title, document, edition, use_for, class, zones, rules, counting, looking",
                    "line 55: the section [counting] is missing; add it",
                ],
            ),
            ("[looking]", "[[looking]]", &["line 52: `looking` is a list; write it as a section [looking]"]),
            (
                "angled = false",
                "angled = false\nreturn_loss_db = 45\ncolour = 1",
                &["line 10: unknown key `colour` in [class]; the keys here are mode, angled, return_loss_db"],
            ),
            (
                "title = \"Our own\"",
                "title = \" \"",
                &["line 2: `title` is empty; write a text such as \"a line for people\""],
            ),
            (
                "title = \"Our own\"",
                "title = \"a\\nb\"",
                &["line 2: `title` is a text with a line break or the like; write it in one line"],
            ),
            (
                "id = \"ours\"",
                "id = \"../ours\"",
                &["line 1: the id \"../ours\" may hold letters, digits, - _ and . only; rename it"],
            ),
            (
                "edition = \"1\"",
                "edition = 1",
                &["line 4: `edition` is 1; write a text such as \"2 (2015)\""],
            ),
            (
                "mode = \"multi\"",
                "mode = \"both\"",
                &["line 7: `mode` in [class] is the text \"both\"; write \"multi\" or \"single\""],
            ),
            (
                "angled = false",
                "angled = \"no\"",
                &["line 8: `angled` in [class] is the text \"no\"; write true or false"],
            ),
            (
                "angled = false",
                "angled = false\nreturn_loss_db = -4",
                &[
                    "line 9: `return_loss_db` in [class] is -4; write a number of decibels above 0, such as 45",
                ],
            ),
            ("must_see = 2.0\n", "", &["line 45: `must_see` is missing in [counting]; add `must_see = 2.0`"]),
            (
                "scratch_aspect = 5.0",
                "scratch_aspect = 0.5",
                &["line 53: `scratch_aspect` in [looking] is 0.5; write a number of at least 1, such as 5.0"],
            ),
            (
                "false_calls_per_fibre = 0.002",
                "false_calls_per_fibre = 0",
                &[
                    "line 55: `false_calls_per_fibre` in [looking] is 0; write a number above 0 and up to 1, such as 0.002",
                ],
            ),
        ],
    );
}

#[test]
fn what_is_no_toml_says_so() {
    refused(
        CRITERIA,
        parse_criteria,
        &[
            (
                "edition = \"1\"",
                "edition = \"1",
                &["line 4: this is no TOML: invalid basic string, expected `\"`"],
            ),
            (
                "edition = \"1\"",
                "edition = \"1\"\nedition = \"2\"",
                &["line 5: this is no TOML: duplicate key"],
            ),
        ],
    );
    let error = parse_criteria("photo.png", "\u{1}PNG").unwrap_err();
    assert!(error.one_line().starts_with("photo.png: line 1: this is no TOML: "), "{}", error.one_line());
}

#[test]
fn all_faults_are_told_at_once_in_the_order_of_lines() {
    let bad = CRITERIA
        .replacen("use_for = ", "note = 1\nuse_for = ", 1)
        .replacen("mode = \"multi\"", "mode = \"both\"", 1)
        .replacen("to = 65", "to = \"65 um\"", 1)
        .replacen("over = 3", "over = 4", 1)
        .replacen("smallest_counted = 0.5", "smallest = 0.5", 1)
        .replacen("scratch_aspect = 5.0", "scratch_aspect = nan", 1);
    let error = parse_criteria("ours.toml", &bad).unwrap_err();
    assert_eq!(
        error.to_string(),
        "ours.toml has 7 faults
  line 5: unknown key `note`; the keys here are sources, id, title, document, edition, use_for, class, zones, rules, counting, looking
  line 8: `mode` in [class] is the text \"both\"; write \"multi\" or \"single\"
  line 16: `to` in [[zones]] is the text \"65 um\"; write a number of micrometres without a unit, above 0, such as 25
  line 28: sizes between 3 and 4 um are in no band; close the gap
  line 46: `smallest_counted` is missing in [counting]; add `smallest_counted = 0.0`
  line 50: unknown key `smallest` in [counting]; the keys here are defects_across, scratches_across, measure, smallest_counted, must_see, source
  line 54: `scratch_aspect` in [looking] is nan; write a number of at least 1, such as 5.0"
    );
    assert_eq!(
        error.one_line(),
        "ours.toml: line 5: unknown key `note`; the keys here are sources, id, title, document, edition, use_for, \
         class, zones, rules, counting, looking; line 8: `mode` in [class] is the text \"both\"; write \"multi\" or \
         \"single\"; line 16: `to` in [[zones]] is the text \"65 um\"; write a number of micrometres without a unit, \
         above 0, such as 25; and 4 more"
    );
    assert_eq!(error.file(), "ours.toml");
}
