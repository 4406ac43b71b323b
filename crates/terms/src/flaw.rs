//! Why a position, or a picture, cannot be graded: every sentence of the catalogue.

use crate::units::Um;
use crate::words::listed;
use std::fmt;

/// Why a position, or a picture, cannot be graded. Facts of the picture only; whether it is sharp enough
/// for given criteria is the grader's business.
#[derive(Clone, Debug, PartialEq)]
pub enum Flaw {
    /// The site lies outside the picture.
    NotInView,
    /// Part of the site lies outside the picture; share of the cladding that is in it.
    CutByBorder {
        /// 0 to 1.
        visible: f64,
    },
    /// The site is in view and no cladding edge was found there.
    NotFound,
    /// Only part of the cladding's edge shows; share of it that was found.
    Hidden {
        /// 0 to 1.
        edge_seen: f64,
    },
    /// The glass is at the top of the range of the camera; share of the cladding that is.
    Saturated {
        /// 0 to 1.
        share: f64,
    },
    /// The light out of the core is at the top of the range of the camera.
    CoreSaturated,
    /// The glass is too dark or too flat for any mark to stand out; signal to noise ratio of one pixel.
    TooDark {
        /// Clean glass level over noise.
        signal_to_noise: f64,
    },
    /// The glass is lit as no light falls, and no mark is found that explains it.
    Veiled,
    /// The picture was moved during exposure: the edge is wider in one direction.
    Smeared {
        /// Width across over width along, above 1.
        ratio: f64,
    },
    /// The edge is too soft to be measured as an edge.
    Blurred {
        /// Standard deviation of the blur.
        blur: Um,
    },
    /// The pixels are too large for an edge to be measured.
    TooCoarse {
        /// Micrometres per pixel.
        um_per_px: f64,
    },
    /// What was measured is no 125 um cladding.
    WrongDiameter {
        /// The diameter found.
        diameter: Um,
    },
    /// The picture was put together from several.
    Seam {
        /// Whether a seam runs through the fibre; else the light differs from picture to picture.
        through: bool,
    },
    /// Which position this is cannot be told from the picture.
    Ambiguous(Ambiguity),
    /// No picture of a stepped run shows the whole of the site. Pictures are given by their index.
    Gap {
        /// Share of the cladding's width that one picture shows at most, 0 to 1.
        visible: f64,
        /// The nearest picture to the left on the face.
        before: Option<usize>,
        /// The nearest picture to the right on the face.
        after: Option<usize>,
        /// Pictures whose place is not known.
        unplaced: Vec<usize>,
    },
    /// The part of a stepped run that shows this position lies on another one on the face and does not join it. Pictures
    /// are given by their index.
    Unjoined {
        /// Those of the one part that lie on the other.
        one: Vec<usize>,
        /// Those of the other.
        other: Vec<usize>,
    },
}

/// What keeps a picture from telling which position is which.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ambiguity {
    /// The border of the picture cuts the row at both ends.
    NoEnd,
    /// An end of the row lies in the picture, under something.
    HiddenEnd,
    /// A row that ends on bare ferrule at both ends and lacks one or two fibres of the layout.
    ShortRow {
        /// Sites from its first to its last fibre.
        seen: usize,
        /// Sites from the first to the last populated one of the layout's row.
        due: usize,
    },
    /// One row, where the layout has several.
    OneRow {
        /// Rows of the layout.
        rows: u16,
    },
    /// A run no part of which can be numbered.
    UnnumberedRun,
}

impl fmt::Display for Ambiguity {
    /// One sentence: what is wrong and how to mend it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Ambiguity::NoEnd => f.write_str(
                "the border of the picture cuts the row at both ends, so nothing tells which fibre is which; show \
                 an end of the row or a guide hole",
            ),
            Ambiguity::HiddenEnd => f.write_str(
                "an end of the row is hidden, so nothing tells which fibre is which; clean the face, or show a \
                 guide hole too",
            ),
            Ambiguity::ShortRow { seen, due } => write!(
                f,
                "the row shows {seen} fibres where the layout has {due}, and not which end lacks one; check the \
                 layout, or clean the face and show a guide hole too"
            ),
            Ambiguity::OneRow { rows } => write!(
                f,
                "the picture shows 1 row of fibres and the layout has {rows}: if the connector has one row, name its \
                 layout with --layout; else take a picture of all rows"
            ),
            Ambiguity::UnnumberedRun => f.write_str(
                "no pictures of the run that join show an end of the row, so nothing tells which fibre is which; \
                 take it from one end of the row to the other, each picture overlapping the next",
            ),
        }
    }
}

impl Flaw {
    /// A stable code for programs.
    pub const fn code(&self) -> &'static str {
        match self {
            Flaw::NotInView => "not-in-view",
            Flaw::CutByBorder { .. } => "cut-by-border",
            Flaw::NotFound => "not-found",
            Flaw::Hidden { .. } => "hidden",
            Flaw::Saturated { .. } | Flaw::CoreSaturated => "saturated",
            Flaw::TooDark { .. } => "too-dark",
            Flaw::Veiled => "veiled",
            Flaw::Smeared { .. } => "smeared",
            Flaw::Blurred { .. } => "blurred",
            Flaw::TooCoarse { .. } => "too-coarse",
            Flaw::WrongDiameter { .. } => "wrong-diameter",
            Flaw::Seam { .. } => "seam",
            Flaw::Ambiguous(_) | Flaw::Unjoined { .. } => "ambiguous-position",
            Flaw::Gap { visible, .. } if *visible > 0.0 => "cut-by-border",
            Flaw::Gap { .. } => "not-in-view",
        }
    }
}

impl fmt::Display for Flaw {
    /// One sentence: what is wrong and how to mend it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent = |x: f64| (x * 100.0).round();
        match self {
            Flaw::NotInView => {
                write!(f, "this position lies outside the picture; take one that shows the whole row")
            }
            Flaw::CutByBorder { visible } => {
                write!(
                    f,
                    "the border of the picture cuts this fibre ({} % of it shows); move the view",
                    percent(*visible)
                )
            }
            Flaw::NotFound => {
                write!(
                    f,
                    "no cladding edge was found here; clean the face, check the layout and take the picture again"
                )
            }
            Flaw::Hidden { edge_seen } => write!(
                f,
                "only {} % of the cladding's edge shows; clean the face and take the picture again",
                percent(*edge_seen)
            ),
            Flaw::Saturated { share } => {
                write!(
                    f,
                    "{} % of the glass is overexposed; lower the light or the exposure",
                    percent(*share)
                )
            }
            Flaw::CoreSaturated => f.write_str(
                "the light out of the core is brighter than the picture can hold, so no mark shows there; lower the light \
                 at the far end or the exposure",
            ),
            Flaw::TooDark { signal_to_noise } => write!(
                f,
                "the glass is too dark to see marks on (signal to noise {signal_to_noise:.0}); raise the light or the exposure"
            ),
            Flaw::Veiled => f.write_str(
                "the light on this glass is too uneven to tell a film from it, as under one whose edge does not show; \
                 clean the face, light it evenly and take the picture again",
            ),
            Flaw::Smeared { ratio } => {
                write!(
                    f,
                    "the camera moved during the exposure (edges {ratio:.1} times wider in one direction); hold it still"
                )
            }
            Flaw::Blurred { blur } => {
                write!(f, "out of focus (blur {:.1} um); focus and take the picture again", blur.0)
            }
            Flaw::TooCoarse { um_per_px } => write!(
                f,
                "the picture is too coarse ({um_per_px:.1} um per pixel, 1.2 at most); use a higher magnification"
            ),
            Flaw::WrongDiameter { diameter } => {
                write!(
                    f,
                    "what was found here is {:.0} um wide and no 125 um cladding; check the layout, and that the picture was not stretched",
                    diameter.0
                )
            }
            Flaw::Seam { through: true } => f.write_str(
                "the picture was put together from several and a seam runs through this fibre, whose sides cannot be \
                 matched; take the fibre again in one picture",
            ),
            Flaw::Seam { through: false } => f.write_str(
                "the picture was put together from several whose light differs, so that a film cannot be told from \
                 light here; take the fibre again in one picture",
            ),
            Flaw::Ambiguous(why) => why.fmt(f),
            Flaw::Gap { .. } | Flaw::Unjoined { .. } => {
                f.write_str(&self.with_names(&|i| format!("picture {}", i + 1), &[]))
            }
        }
    }
}

impl Flaw {
    /// The sentence with a run's pictures called by `name`, from their index. `positions` are all that lie in the same
    /// gap; without them only "it" is asked for.
    pub fn with_names(&self, name: &dyn Fn(usize) -> String, positions: &[u16]) -> String {
        match self {
            Flaw::Gap { visible, before, after, unplaced } => {
                let head = if *visible > 0.0 {
                    "no picture shows the whole of this fibre"
                } else {
                    "no picture shows this position"
                };
                let what = match positions {
                    [] => "it".to_owned(),
                    [one] => format!("position {one}"),
                    several => format!("positions {}", listed(several.iter().map(u16::to_string))),
                };
                let run = positions.windows(2).all(|two| two[1] == two[0] + 1);
                let lacking = match positions {
                    // More than one picture of a run shows: it cannot be asked for in one.
                    [first, .., last] if positions.len() > 4 && run => {
                        lacking_several((*before, *after), &format!("positions {first} to {last}"), name)
                    }
                    _ => lacking((*before, *after), &what, name),
                };
                head.to_owned() + &lacking + &lost(unplaced, name)
            }
            Flaw::Unjoined { one, other } => {
                let list = |pictures: &[usize]| listed(pictures.iter().map(|i| name(*i)));
                format!(
                    "by the ends of the row, a part of the face shows both in {} and in {}, which do not join, so that \
                     one of them is numbered wrongly or of another connector; take the pictures from the one to the \
                     other again, each overlapping the next by a fibre",
                    list(one),
                    list(other)
                )
            }
            other => other.to_string(),
        }
    }
}

/// Where a picture is lacking in a run.
fn lacking(beside: (Option<usize>, Option<usize>), what: &str, name: &dyn Fn(usize) -> String) -> String {
    match beside {
        (Some(a), Some(b)) => {
            format!("; take one more between {} and {}, showing {what} whole", name(a), name(b))
        }
        (Some(a), None) | (None, Some(a)) => {
            format!(
                "; take one more on from {}, farther towards the end of the row, showing {what} whole",
                name(a)
            )
        }
        (None, None) => String::new(),
    }
}

/// Where pictures are lacking in a run.
fn lacking_several(
    beside: (Option<usize>, Option<usize>),
    what: &str,
    name: &dyn Fn(usize) -> String,
) -> String {
    let (way, shown) =
        ("each overlapping the one before by a fibre", format!("until {what} are shown whole"));
    match beside {
        (Some(a), Some(b)) => format!("; take more from {} to {}, {way}, {shown}", name(a), name(b)),
        (Some(a), None) | (None, Some(a)) => format!("; take more on from {}, {way}, {shown}", name(a)),
        (None, None) => String::new(),
    }
}

/// Pictures that could not be placed.
fn lost(unplaced: &[usize], name: &dyn Fn(usize) -> String) -> String {
    let names = listed(unplaced.iter().map(|i| name(*i)));
    match unplaced {
        [] => String::new(),
        [_] => format!(
            "; {names} shares too little with the others to be placed: take it again with more overlap, or take it out if \
             it shows another connector"
        ),
        _ => format!(
            "; {names} share too little with the others to be placed: take them again with more overlap, or take them out \
             if they show another connector"
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(i: usize) -> String {
        format!("{:02}.png", i + 1)
    }

    #[test]
    fn a_gap_is_told_by_the_pictures_beside_it_and_by_what_the_new_one_must_show() {
        let gap = |visible, before, after, unplaced| Flaw::Gap { visible, before, after, unplaced };
        let cases = [
            (
                gap(0.0, Some(4), Some(5), vec![]),
                "no picture shows this position; take one more between 05.png and 06.png, showing positions 5 and 6 whole",
            ),
            (
                gap(0.4, Some(8), None, vec![]),
                "no picture shows the whole of this fibre; take one more on from 09.png, farther towards the end of the \
                 row, showing positions 5 and 6 whole",
            ),
            (
                gap(0.0, Some(2), Some(4), vec![3]),
                "no picture shows this position; take one more between 03.png and 05.png, showing positions 5 and 6 \
                 whole; 04.png shares too little with the others to be placed: take it again with more overlap, or \
                 take it out if it shows another connector",
            ),
            (
                Flaw::Unjoined { one: vec![2, 3], other: vec![6] },
                "by the ends of the row, a part of the face shows both in 03.png and 04.png and in 07.png, which do not \
                 join, so that one of them is numbered wrongly or of another connector; take the pictures from the one \
                 to the other again, each overlapping the next by a fibre",
            ),
        ];
        for (flaw, sentence) in cases {
            assert_eq!(flaw.with_names(&file, &[5, 6]), sentence);
        }
        let long = gap(0.0, Some(0), None, vec![1, 2]).with_names(&file, &[1, 2, 3, 4, 5, 6, 7]);
        assert_eq!(
            long,
            "no picture shows this position; take more on from 01.png, each overlapping the one before by a fibre, until \
             positions 1 to 7 are shown whole; 02.png and 03.png share too little with the others to be placed: take them \
             again with more overlap, or take them out if they show another connector"
        );
        let bare = gap(0.0, Some(4), Some(5), vec![]).to_string();
        assert_eq!(
            bare,
            "no picture shows this position; take one more between picture 5 and picture 6, showing it whole"
        );
    }
}
