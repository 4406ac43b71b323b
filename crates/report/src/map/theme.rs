//! Colours and measures of the map. The colours are those of Okabe and Ito (2008, Color Universal Design),
//! which stay apart for the common kinds of colour blindness; each only repeats a shape or a line's style.

use crate::draw::{Ink, Stroke};
use crate::record::Verdict;

/// Bluish green.
const PASS: Ink = Ink::solid(0x00_7a5a);
/// Vermillion.
pub const FAIL: Ink = Ink::solid(0xd5_5e00);
/// Blue.
pub const UNGRADED: Ink = Ink::solid(0x00_72b2);

/// What is gone: the colour of a pass.
pub const GONE: Ink = PASS;

/// Words.
pub const TEXT: Ink = Ink::solid(0x1c_1c1c);
/// Words of less weight.
pub const QUIET: Ink = Ink::solid(0x5a_5a5a);
/// Rules between parts.
pub const RULE: Ink = Ink::solid(0xc8_c8c8);
/// Paper.
pub const PAPER: Ink = Ink::solid(0xff_ffff);
/// Where there is no picture.
pub const BLANK: Ink = Ink::solid(0xec_ecec);
/// Under words on a picture.
pub const PLATE: Ink = PAPER.with_alpha(225);
/// Beside a line on a picture, so that it shows on dark and on bright.
pub const CASING: Ink = PAPER.with_alpha(190);

/// Colour of a verdict.
pub const fn verdict_ink(verdict: Verdict) -> Ink {
    match verdict {
        Verdict::Pass => PASS,
        Verdict::Fail => FAIL,
        Verdict::Ungraded => UNGRADED,
    }
}

/// How a feature stands to the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// A broken rule counts it.
    Breaks,
    /// A rule counts it, and it is within the limits.
    Counted,
    /// No rule counts it.
    NotCounted,
}

impl Standing {
    /// All, the gravest first.
    pub const ALL: [Standing; 3] = [Standing::Breaks, Standing::Counted, Standing::NotCounted];

    /// The line drawn about such a feature.
    pub const fn stroke(self) -> Stroke {
        match self {
            Standing::Breaks => Stroke::solid(FAIL, 2.6),
            Standing::Counted => Stroke::solid(TEXT, 1.3),
            Standing::NotCounted => Stroke::dashed(TEXT, 1.1, 3.0, 2.0),
        }
    }

    /// In words, for the legend.
    pub const fn words(self) -> &'static str {
        match self {
            Standing::Breaks => "breaks a limit",
            Standing::Counted => "within the limits",
            Standing::NotCounted => "not counted",
        }
    }
}

/// White about the page.
pub const MARGIN: f32 = 32.0;
/// Side of a fibre's picture.
pub const TILE: u32 = 264;
/// Between tiles.
pub const GAP: f32 = 18.0;
/// Height of what stands below a tile, without the words of its verdict.
pub const CAPTION: f32 = 52.0;
/// Least height of the head of the page.
pub const HEADER: f32 = 190.0;
/// Height of the title of the strip or of the tiles.
pub const TITLE: f32 = 34.0;
/// Height of a line of numbers and verdicts beside the strip.
pub const LABELS: f32 = 34.0;
/// Height of the foot of the page.
pub const FOOTER: f32 = 104.0;
/// Most tiles side by side, and least width in tiles.
pub const ACROSS: (usize, usize) = (8, 4);
