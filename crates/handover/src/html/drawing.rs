//! Inline drawings: the sign of a verdict, the map of positions, bars. Shape and text carry what they say; colour
//! repeats it (after Okabe and Ito, 2008, Color Universal Design, darkened for contrast on white).

use super::escaped;
use crate::page::{Bars, Map, Standing};
use report::record::Verdict;

const PASS: &str = "#00664b";
const FAIL: &str = "#a84300";
const OPEN: &str = "#005a8c";

/// A ring for a pass, a filled square for a fail, a diamond for what has no verdict.
pub(super) fn sign(standing: Standing) -> String {
    let shape = match standing {
        Standing::Graded(verdict) => shape(verdict, 8.0, 8.0, 6.0),
        Standing::Unseen => format!("<path d=\"M2 8H14\" stroke=\"{OPEN}\" stroke-width=\"3\"/>"),
    };
    format!("<svg viewBox=\"0 0 16 16\" aria-hidden=\"true\">{shape}</svg>")
}

fn shape(verdict: Verdict, x: f64, y: f64, r: f64) -> String {
    let (left, top, side) = (x - r, y - r, 2.0 * r);
    match verdict {
        Verdict::Pass => {
            format!(
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"none\" stroke=\"{PASS}\" stroke-width=\"2\"/>"
            )
        }
        Verdict::Fail => {
            format!("<rect x=\"{left}\" y=\"{top}\" width=\"{side}\" height=\"{side}\" fill=\"{FAIL}\"/>")
        }
        Verdict::Ungraded => format!(
            "<path d=\"M{x} {top}L{} {y}L{x} {}L{left} {y}Z\" fill=\"none\" stroke=\"{OPEN}\" stroke-width=\"2\"/>",
            x + r,
            y + r
        ),
    }
}

/// Positions as they lie with the key up, each with its number and letter.
pub(super) fn map(map: &Map) -> String {
    const STEP: f64 = 46.0;
    let columns = map.places.iter().map(|p| p.2).max().unwrap_or(1);
    let rows = map.places.iter().map(|p| p.1).max().unwrap_or(1);
    let (width, height) = (STEP * f64::from(columns) + 40.0, 64.0 * f64::from(rows) + 30.0);
    let words = escaped(&map.words);
    let mut out = format!(
        "<svg viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" role=\"img\" \
         aria-label=\"{words}\" font-family=\"sans-serif\" text-anchor=\"middle\"><title>{words}</title>\
         <rect x=\"1\" y=\"13\" width=\"{}\" height=\"{}\" rx=\"6\" fill=\"none\" stroke=\"#1c1c1c\"/>\
         <rect x=\"{}\" y=\"2\" width=\"40\" height=\"11\" fill=\"#1c1c1c\"/>",
        width - 2.0,
        height - 14.0,
        width / 2.0 - 20.0
    );
    for (position, row, column, verdict) in &map.places {
        let x = 20.0 + STEP * (f64::from(*column) - 0.5);
        let y = 20.0 + 64.0 * (f64::from(*row) - 0.5);
        let ink = if *verdict == Verdict::Fail { "#fff" } else { "#1c1c1c" };
        out += &shape(*verdict, x, y, 14.0);
        out += &format!(
            "<text x=\"{x}\" y=\"{}\" font-size=\"13\" font-weight=\"600\" fill=\"{ink}\">{}</text>\
             <text x=\"{x}\" y=\"{}\" font-size=\"12\" fill=\"#1c1c1c\">{position}</text>",
            y + 4.5,
            verdict.letter(),
            y + 29.0
        );
    }
    out + "</svg>"
}

/// Bars side by side; a line across each stands where chance would put it.
pub(super) fn bars(bars: &Bars) -> String {
    const STEP: f64 = 52.0;
    const TALL: f64 = 120.0;
    let top = bars.bars.iter().map(|(_, n, e)| n.max(*e)).fold(1.0, f64::max);
    let (width, height) = (STEP * bars.bars.len() as f64 + 20.0, TALL + 60.0);
    let words = escaped(&bars.caption);
    let mut out = format!(
        "<svg viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" role=\"img\" \
         aria-label=\"{words}; the figures stand in the table below\" font-family=\"sans-serif\" font-size=\"12\" \
         text-anchor=\"middle\" fill=\"#1c1c1c\"><path d=\"M10 {}H{}\" stroke=\"#1c1c1c\"/>",
        TALL + 24.0,
        width - 10.0
    );
    for (k, (name, count, expected)) in bars.bars.iter().enumerate() {
        let (left, base) = (16.0 + STEP * k as f64, TALL + 24.0);
        let (bar, line) = (TALL * count / top, base - TALL * expected / top);
        let short: String = name.chars().take(8).collect();
        out += &format!(
            "<rect x=\"{left}\" y=\"{:.1}\" width=\"40\" height=\"{bar:.1}\" fill=\"#7fa8c4\"/>\
             <path d=\"M{} {line:.1}H{}\" stroke=\"#1c1c1c\" stroke-width=\"2\" stroke-dasharray=\"4 2\"/>\
             <text x=\"{x}\" y=\"{:.1}\">{count}</text><text x=\"{x}\" y=\"{}\">{}</text>",
            base - bar,
            left - 3.0,
            left + 43.0,
            base - bar - 5.0,
            base + 16.0,
            escaped(&short),
            x = left + 20.0
        );
    }
    out +=
        &format!("<text x=\"12\" y=\"{}\" text-anchor=\"start\">broken line: by chance</text>", height - 4.0);
    out + "</svg>"
}
