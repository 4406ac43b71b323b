//! The acceptance tables of IEC 61300-3-35 for zones A and B, written out by hand size by size and not
//! derived from the files under test.
//!
//! Edition 2 (2015): its tables 1, 2 and 4 as restated publicly (one restatement, 2018); the sign in front of
//! 3 um in table 2, zone A, and table 3 (return loss 26 dB) from memory. Edition 1 (2009): from memory.

use grade::Subject::{self, Defects, Scratches};

/// Just below, at and just above each limit that the tables have.
pub const SIZES: [f64; 18] = [
    1.999, 2.0, 2.001, 2.999, 3.0, 3.001, 4.999, 5.0, 5.001, 9.999, 10.0, 10.001, 19.999, 20.0, 20.001,
    29.999, 30.0, 30.001,
];

/// What one size may have: any number, at most so many of the band it is in, or nothing said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Due {
    Any,
    AtMost(usize),
    Silent,
}

/// One row of a table: the zone, the subject, and a sign for each of `SIZES`.
#[derive(Clone, Copy)]
pub struct Row {
    pub zone: &'static str,
    pub subject: Subject,
    signs: &'static str,
}

impl Row {
    /// What each of `SIZES` may have. Equal numbers beside each other are one band of the table.
    pub fn due(&self) -> Vec<Due> {
        let due = |sign| match sign {
            '*' => Due::Any,
            '?' => Due::Silent,
            digit => Due::AtMost(digit.to_digit(10).unwrap() as usize),
        };
        let signs: Vec<Due> = self.signs.chars().filter(|sign| *sign != ' ').map(due).collect();
        assert_eq!(signs.len(), SIZES.len());
        signs
    }
}

const fn row(zone: &'static str, subject: Subject, signs: &'static str) -> Row {
    Row { zone, subject, signs }
}

/// A file's id, the outer diameter of its zone A, and its table.
pub struct Table {
    pub id: &'static str,
    pub core: f64,
    pub rows: [Row; 4],
}

// `*` any number, a digit at most so many, `?` nothing said.
//                 around:   2   3   5  10  20  30 um
const NONE: &str = "        000 000 000 000 000 000";
const FREE: &str = "        *** *** *** *** *** ***";
const FREE_TO_3: &str = "   *** **0 000 000 000 000";
const FREE_TO_5: &str = "   *** *** **0 000 000 000";
const FIVE_2_TO_5: &str = " *55 555 550 000 000 000";
const FIVE_5_TO_10: &str = "*** *** *55 550 000 000";

pub const TABLES: [Table; 8] = [
    Table {
        id: "iec-61300-3-35-ed2-sm-pc-rl45",
        core: 25.0,
        rows: [
            row("A", Scratches, NONE),
            row("A", Defects, NONE),
            row("B", Scratches, FREE_TO_3),
            row("B", Defects, FIVE_2_TO_5),
        ],
    },
    Table {
        id: "iec-61300-3-35-ed2-sm-apc",
        core: 25.0,
        rows: [
            row("A", Scratches, "444 440 000 000 000 000"),
            row("A", Defects, NONE),
            row("B", Scratches, FREE),
            row("B", Defects, FIVE_2_TO_5),
        ],
    },
    Table {
        id: "iec-61300-3-35-ed2-sm-pc-rl26",
        core: 25.0,
        rows: [
            row("A", Scratches, "222 220 000 000 000 000"),
            row("A", Defects, "  222 220 000 000 000 000"),
            row("B", Scratches, "*** **3 333 333 333 333"),
            row("B", Defects, FIVE_2_TO_5),
        ],
    },
    Table {
        id: "iec-61300-3-35-ed2-mm",
        core: 65.0,
        rows: [
            row("A", Scratches, FREE_TO_3),
            row("A", Defects, "444 444 440 000 000 000"),
            row("B", Scratches, FREE_TO_5),
            row("B", Defects, FIVE_5_TO_10),
        ],
    },
    Table {
        id: "iec-61300-3-35-ed1-sm-pc-rl45",
        core: 25.0,
        rows: [
            row("A", Scratches, NONE),
            row("A", Defects, NONE),
            row("B", Scratches, FREE_TO_3),
            row("B", Defects, FIVE_2_TO_5),
        ],
    },
    Table {
        id: "iec-61300-3-35-ed1-sm-apc",
        core: 25.0,
        rows: [
            row("A", Scratches, "444 444 444 444 444 444"),
            row("A", Defects, NONE),
            row("B", Scratches, FREE),
            row("B", Defects, FIVE_2_TO_5),
        ],
    },
    Table {
        id: "iec-61300-3-35-ed1-sm-pc-rl26",
        core: 25.0,
        rows: [
            row("A", Scratches, "222 220 000 000 000 000"),
            row("A", Defects, "  222 220 000 000 000 000"),
            row("B", Scratches, "*** **3 333 333 333 333"),
            row("B", Defects, FIVE_2_TO_5),
        ],
    },
    Table {
        id: "iec-61300-3-35-ed1-mm",
        core: 65.0,
        rows: [
            row("A", Scratches, "*** **? ??0 000 000 000"),
            row("A", Defects, "  444 444 440 000 000 000"),
            row("B", Scratches, FREE_TO_5),
            row("B", Defects, FIVE_2_TO_5),
        ],
    },
];
