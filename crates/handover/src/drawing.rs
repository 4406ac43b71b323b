//! Drawings as plain shapes, for `html` and `pdf` alike: the sign of a verdict, the map of positions, bars. Shape and
//! text carry what they say; colour repeats it (after Okabe and Ito, 2008, Color Universal Design, darkened for
//! contrast on white). Units are those of CSS (1/96 inch), x right, y down.

use crate::page::{Bars, Map, Standing};
use report::record::Verdict;

/// Red, green, blue.
pub(crate) type Ink = [u8; 3];

pub(crate) const TEXT: Ink = [0x1c, 0x1c, 0x1c];
const PAPER: Ink = [0xff, 0xff, 0xff];
const PASS: Ink = [0x00, 0x66, 0x4b];
const FAIL: Ink = [0xa8, 0x43, 0x00];
const OPEN: Ink = [0x00, 0x5a, 0x8c];
const BAR: Ink = [0x7f, 0xa8, 0xc4];

/// A drawing and what it says in words.
pub(crate) struct Drawing {
    pub width: f64,
    pub height: f64,
    pub words: String,
    pub shapes: Vec<Shape>,
}

/// One shape.
pub(crate) enum Shape {
    /// A ring.
    Ring { at: [f64; 2], radius: f64, ink: Ink },
    /// A filled rectangle.
    Block { at: [f64; 2], size: [f64; 2], ink: Ink },
    /// A line through points; a broken one is dashed.
    Line { points: Vec<[f64; 2]>, closed: bool, broken: bool, width: f64, ink: Ink },
    /// A text on its baseline.
    Text { at: [f64; 2], size: f64, bold: bool, middle: bool, ink: Ink, words: String },
}

/// Side of the square that a sign stands in.
pub(crate) const SIGN: f64 = 16.0;

/// A ring for a pass, a filled square for a fail, a diamond for what has no verdict, a bar for what was never seen, a
/// triangle for a loss over its limit.
pub(crate) fn sign(standing: Standing) -> Shape {
    match standing {
        Standing::Graded(verdict) => of_verdict(verdict, [8.0, 8.0], 6.0),
        Standing::Unseen => line(&[[2.0, 8.0], [14.0, 8.0]], 3.0, OPEN),
        Standing::Over => {
            let points = vec![[8.0, 2.5], [14.0, 13.0], [2.0, 13.0]];
            Shape::Line { points, closed: true, broken: false, width: 2.0, ink: FAIL }
        }
    }
}

/// The colour of a verdict's word.
pub(crate) const fn ink(standing: Standing) -> Ink {
    match standing {
        Standing::Graded(Verdict::Pass) => PASS,
        Standing::Graded(Verdict::Fail) | Standing::Over => FAIL,
        Standing::Graded(Verdict::Ungraded) | Standing::Unseen => OPEN,
    }
}

fn of_verdict(verdict: Verdict, [x, y]: [f64; 2], r: f64) -> Shape {
    match verdict {
        Verdict::Pass => Shape::Ring { at: [x, y], radius: r, ink: PASS },
        Verdict::Fail => Shape::Block { at: [x - r, y - r], size: [2.0 * r, 2.0 * r], ink: FAIL },
        Verdict::Ungraded => {
            let points = vec![[x, y - r], [x + r, y], [x, y + r], [x - r, y]];
            Shape::Line { points, closed: true, broken: false, width: 2.0, ink: OPEN }
        }
    }
}

fn line(points: &[[f64; 2]], width: f64, ink: Ink) -> Shape {
    Shape::Line { points: points.to_vec(), closed: false, broken: false, width, ink }
}

fn text(at: [f64; 2], size: f64, bold: bool, ink: Ink, words: String) -> Shape {
    Shape::Text { at, size, bold, middle: true, ink, words }
}

/// Positions as they lie with the key up, each with its number and letter.
pub(crate) fn map(map: &Map) -> Drawing {
    const STEP: f64 = 46.0;
    let columns = map.places.iter().map(|p| p.2).max().unwrap_or(1);
    let rows = map.places.iter().map(|p| p.1).max().unwrap_or(1);
    let (width, height) = (STEP * f64::from(columns) + 40.0, 64.0 * f64::from(rows) + 30.0);
    let (left, top, right, bottom) = (1.0, 13.0, width - 1.0, height - 1.0);
    let frame = vec![[left, top], [right, top], [right, bottom], [left, bottom]];
    let mut shapes = vec![
        Shape::Line { points: frame, closed: true, broken: false, width: 1.0, ink: TEXT },
        Shape::Block { at: [width / 2.0 - 20.0, 2.0], size: [40.0, 11.0], ink: TEXT },
    ];
    for (position, row, column, verdict) in &map.places {
        let x = 20.0 + STEP * (f64::from(*column) - 0.5);
        let y = 20.0 + 64.0 * (f64::from(*row) - 0.5);
        let ink = if *verdict == Verdict::Fail { PAPER } else { TEXT };
        shapes.push(of_verdict(*verdict, [x, y], 14.0));
        shapes.push(text([x, y + 4.5], 13.0, true, ink, verdict.letter().to_string()));
        shapes.push(text([x, y + 29.0], 12.0, false, TEXT, position.to_string()));
    }
    Drawing { width, height, words: map.words.clone(), shapes }
}

/// Most bars side by side: as many as a page of paper shows at a size that can be read.
const ABREAST: usize = 12;
const STEP: f64 = 52.0;
const TALL: f64 = 120.0;
const ROW: f64 = TALL + 46.0;
/// What the legend takes, however few the bars.
const LEGEND: f64 = 160.0;

/// Bars side by side; a broken line across each stands where chance would put it.
pub(crate) fn bars(bars: &Bars) -> Drawing {
    let most = bars.bars.iter().map(|(_, n, e)| n.max(*e)).fold(1.0, f64::max);
    let across = bars.bars.len().clamp(1, ABREAST) as f64;
    let (width, rows) = ((STEP * across + 20.0).max(LEGEND), bars.bars.len().div_ceil(ABREAST) as f64);
    let mut shapes = Vec::new();
    for (row, of) in bars.bars.chunks(ABREAST).enumerate() {
        let base = TALL + 24.0 + ROW * row as f64;
        shapes.push(line(&[[10.0, base], [STEP * of.len() as f64 + 10.0, base]], 1.0, TEXT));
        for (k, bar) in of.iter().enumerate() {
            shapes.extend(one_bar(bar, most, [16.0 + STEP * k as f64, base]));
        }
    }
    // Below the second line of labels.
    let height = ROW * rows + 36.0;
    let words = "broken line: by chance".to_owned();
    let at = [12.0, height - 8.0];
    shapes.push(Shape::Text { at, size: 12.0, bold: false, middle: false, ink: TEXT, words });
    let words = format!("{}; the figures stand in the table below", bars.caption);
    Drawing { width, height, words, shapes }
}

fn one_bar((name, count, chance): &(String, f64, f64), most: f64, [left, base]: [f64; 2]) -> Vec<Shape> {
    let (tall, high) = (TALL * count / most, base - TALL * chance / most);
    let middle = left + 20.0;
    // A position of one layout among several has the layout below it.
    let (name, of) = name.split_once(" of ").map_or((name.as_str(), None), |(n, of)| (n, Some(of)));
    let label =
        |y: f64, words: &str| text([middle, base + y], 12.0, false, TEXT, words.chars().take(7).collect());
    let mut shapes = vec![
        Shape::Block { at: [left, base - tall], size: [40.0, tall], ink: BAR },
        Shape::Line {
            points: vec![[left - 3.0, high], [left + 43.0, high]],
            closed: false,
            broken: true,
            width: 2.0,
            ink: TEXT,
        },
        text([middle, base - tall - 5.0], 12.0, false, TEXT, count.to_string()),
        label(16.0, name),
    ];
    shapes.extend(of.map(|of| label(29.0, of)));
    shapes
}
