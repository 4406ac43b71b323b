//! Colours and measures of the map. The colours are those of Okabe and Ito (2008, Color Universal Design),
//! which stay apart for the common kinds of colour blindness; each only repeats a shape or a line's style. In every map
//! green, vermillion and blue tell of verdicts and limits and of nothing else, purple of what changed between two
//! looks; marks of which there is no such thing to tell are black or grey.

use crate::draw::{Ink, Stroke};
use crate::record::Verdict;

/// Bluish green.
const PASS: Ink = Ink::solid(0x00_7a5a);
/// Vermillion.
pub const FAIL: Ink = Ink::solid(0xd5_5e00);
/// Blue.
pub const UNGRADED: Ink = Ink::solid(0x00_72b2);

/// Reddish purple, darkened.
const CHANGED: Ink = Ink::solid(0x9c_3d76);

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

/// How the line about a mark is drawn where two looks or two faces are told, and what it means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// The line.
    pub stroke: Stroke,
    /// What is drawn along its middle, for a double line.
    pub core: Option<Stroke>,
    /// In words, for the legend.
    pub words: &'static str,
}

impl Look {
    const fn single(stroke: Stroke, words: &'static str) -> Look {
        Look { stroke, core: None, words }
    }

    /// Gone since the look before.
    pub const GONE: Look = Look::single(Stroke::dashed(CHANGED, 1.9, 6.0, 3.0), "− gone");
    /// There both times.
    pub const STAYED: Look = Look::single(Stroke::solid(TEXT, 1.2), "= stayed");
    /// Come since the look before.
    pub const NEW: Look = Look::single(Stroke::solid(CHANGED, 2.4), "+ new");
    /// Not to be told.
    pub const UNSURE: Look =
        Look::single(Stroke::dashed(QUIET, 1.0, 1.5, 2.5), "? unsure: the other picture does not tell");
    /// On both of two faces.
    pub const ON_BOTH: Look = Look {
        stroke: Stroke::solid(TEXT, 4.2),
        core: Some(Stroke::solid(PAPER, 1.4)),
        words: "#1 on both faces",
    };
    /// On one face, and too large for the other.
    pub const RISKS: Look =
        Look::single(Stroke::dashed(FAIL, 2.4, 6.0, 3.0), "! would break a limit on the other face");
    /// On one face, and no harm to the other.
    pub const ALONE: Look = Look::single(Stroke::solid(TEXT, 1.2), "on this face alone");
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A colour means one thing in every map, and a line's style tells apart what a colour has in common.
    #[test]
    fn no_line_means_two_things() {
        let lines = [Look::GONE, Look::STAYED, Look::NEW, Look::UNSURE, Look::ON_BOTH, Look::RISKS];
        let lines = lines.map(|look| look.stroke).into_iter().chain(Standing::ALL.map(Standing::stroke));
        let lines: Vec<Stroke> = lines.collect();
        let of = |ink: Ink| lines.iter().filter(|line| line.ink == ink).copied().collect::<Vec<_>>();
        assert_eq!(of(FAIL), [Look::RISKS.stroke, Standing::Breaks.stroke()]);
        assert_eq!(of(CHANGED), [Look::GONE.stroke, Look::NEW.stroke]);
        assert!(of(PASS).is_empty() && of(UNGRADED).is_empty());
        let alike = |a: &Stroke, b: &Stroke| a.dash == b.dash && (a.width - b.width).abs() < 0.5;
        for ink in [FAIL, CHANGED, QUIET] {
            let lines = of(ink);
            assert!((1..lines.len()).all(|i| !alike(&lines[i - 1], &lines[i])), "{lines:?}");
        }
    }
}
