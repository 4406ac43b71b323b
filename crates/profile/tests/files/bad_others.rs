//! Bad layout and cable files and the sentences that a user reads about them.

use crate::refused::refused;
use profile::{parse_cable, parse_layout};

const LAYOUT: &str = r#"id = "ours"
title = "Our own"
grid = [
  [1, 2, 3],
  [4, 0, 6],
]
pitch = 250
row_pitch = 500
cladding = 125
[guides]
spacing = 4600
diameter = 700
"#;

const CABLE: &str = r#"id = "ours"
[sources.us]
faith = "house"
text = "House rule 8"
[[maps]]
title = "Crossed"
rows = 1
near = [1, 2, 3, 4]
far = [2, 1, 4, 3]
duplex = [[1, 2], [3, 4]]
source = "us"
"#;

#[test]
fn layouts_are_grids_in_micrometres() {
    refused(
        LAYOUT,
        parse_layout,
        &[
            (
                "[4, 0, 6]",
                "[4, 6]",
                &["line 3: the rows of `grid` are not equally long; write 0 for a column without a fibre"],
            ),
            (
                "[4, 0, 6]",
                "[4, 3, 6]",
                &["line 3: position 3 appears twice or shares its site with another position; mend `grid`"],
            ),
            (
                "[4, 0, 6]",
                "[4, -1, 6]",
                &["line 3: `grid` is a list; write lists of whole numbers such as [[1, 2, 3, 4]]"],
            ),
            (
                "[\n  [1, 2, 3],\n  [4, 0, 6],\n]",
                "[]",
                &["line 3: `grid` is empty; write the position numbers row by row as seen with the key up"],
            ),
            (
                "[\n  [1, 2, 3],\n  [4, 0, 6],\n]",
                "[[1, 2, 3]]",
                &["line 5: `row_pitch` is given and there is one row; remove it"],
            ),
            (
                "[1, 2, 3],\n  [4, 0, 6]",
                "[0, 0, 3],\n  [0, 0, 0]",
                &["line 3: the layout has one position only; an array has at least two; mend `grid`"],
            ),
            ("row_pitch = 500\n", "", &["line 1: `row_pitch` is missing; add `row_pitch = 500`"]),
            (
                "pitch = 250",
                "pitch = 0.25",
                &["line 7: fibres of 125 um overlap at this pitch; lengths are in micrometres"],
            ),
            (
                "spacing = 4600",
                "spacing = 4.6",
                &[
                    "line 10: the guide holes begin -347.7 um from the middle, where fibres reach 312.5 um; lengths are \
                   in micrometres",
                ],
            ),
            (
                "diameter = 700",
                "diameter = \"0.7 mm\"",
                &[
                    "line 12: `diameter` in [guides] is the text \"0.7 mm\"; write a number of micrometres without a unit, above 0, such as 700",
                ],
            ),
        ],
    );
    let wide = LAYOUT.replace("[1, 2, 3],\n  [4, 0, 6],", &format!("[{}]", ["0"; 65].join(", ")));
    let error = parse_layout("ours.toml", &wide).unwrap_err();
    assert_eq!(error.faults()[0].text, "`grid` is 1 x 65; no side may be longer than 64");
}

#[test]
fn cable_maps_are_permutations() {
    refused(
        CABLE,
        parse_cable,
        &[
            (
                "far = [2, 1, 4, 3]",
                "far = [2, 1, 4]",
                &["line 9: `far` and `near` are not equally long; write one far position for each near one"],
            ),
            (
                "far = [2, 1, 4, 3]",
                "far = [2, 1, 4, 4]",
                &["line 5: far position 4 is reached twice; mend the map"],
            ),
            (
                "[3, 4]]",
                "[3, 4, 5]]",
                &["line 10: `duplex` holds something else than pairs; write [[1, 2], [3, 4]]"],
            ),
            ("[3, 4]]", "[3, 5]]", &["line 5: duplex position 5 is no position of the map; mend the map"]),
            (
                "near = [1, 2, 3, 4]",
                "near = [1, 2, 3, \"4\"]",
                &["line 8: `near` in [[maps]] is a list; write a list of whole numbers such as [1, 2]"],
            ),
            (
                "rows = 1",
                "rows = 1.5",
                &["line 7: `rows` in [[maps]] is 1.5; write a whole number of at least 1, such as 1"],
            ),
        ],
    );
}

#[test]
fn an_empty_file_says_everything_that_is_missing() {
    let error = parse_layout("empty.toml", "").unwrap_err();
    assert_eq!(
        error.to_string(),
        "empty.toml has 6 faults
  line 1: `id` is missing; add `id = \"my-own\"`
  line 1: `title` is missing; add `title = \"a line for people\"`
  line 1: `grid` is missing; add `grid = [[1, 2, 3, 4]]`
  line 1: `pitch` is missing; add `pitch = 250`
  line 1: `cladding` is missing; add `cladding = 125`
  line 1: the section [guides] is missing; add it"
    );
}
