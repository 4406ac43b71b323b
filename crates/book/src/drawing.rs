//! A trace as SVG 1.1: a tree from the source, each mating a column to the right, what one face touched below it in the
//! order of time. Shape and words carry what was found; colour repeats it (after Okabe and Ito, 2008, Color Universal
//! Design, darkened for white).

use crate::record::Found;
use crate::tell_trace::{ExposureRecord, TraceRecord};
use report::markup::escaped;
use report::percent;
use std::fmt::Write;

const COLUMN: u32 = 270;
const ROW: u32 = 66;
const TOP: u32 = 130;
const LEFT: u32 = 40;

/// Longest name that a column has room for, in signs.
const NAME: usize = 26;

/// The drawing.
pub fn trace_svg(trace: &TraceRecord) -> String {
    let mut exposures: Vec<&ExposureRecord> = trace.exposures.iter().collect();
    exposures.sort_by_key(|e| e.at);
    let generations = exposures.iter().map(|e| e.generation).max().unwrap_or(0);
    let width = (LEFT + COLUMN * (generations + 1)).max(800);
    let height = TOP + ROW * exposures.len() as u32 + 60;
    let mut out = head(trace, width, height);
    node(&mut out, (LEFT, TOP), Some(Found::Fail), &trace.source, ["failed", trace.failed.text()]);
    let mut tree = Tree { exposures: &exposures, row: 0, out };
    tree.below(None, (LEFT, TOP));
    tree.out + "</svg>\n"
}

fn head(trace: &TraceRecord, width: u32, height: u32) -> String {
    let title = escaped(&format!("What {} touched", trace.source));
    let passed = trace.passed.as_ref().map_or_else(|| "never".to_owned(), ToString::to_string);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" aria-labelledby=\"title\" font-family=\"sans-serif\" font-size=\"14\" fill=\"#1c1c1c\">\n\
         <title id=\"title\">{title}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n\
         <text x=\"20\" y=\"32\" font-size=\"20\" font-weight=\"bold\">{title}</text>\n\
         <text x=\"20\" y=\"56\">Last passed: {passed}. Each column is one mating further from it.</text>\n\
         <text x=\"20\" y=\"76\">Circle: passes since. Square: fails. Diamond: ungraded. Dashed circle: not looked at \
         since.</text>\n\
         <text x=\"20\" y=\"96\">Thick line: marks lie on both faces, more likely than not.</text>\n"
    )
}

/// What was exposed, drawn branch by branch.
struct Tree<'t> {
    /// In order of time.
    exposures: &'t [&'t ExposureRecord],
    /// Rows drawn so far below the source.
    row: u32,
    out: String,
}

impl Tree<'_> {
    /// Draws what a face exposed: the source where no exposure is named.
    fn below(&mut self, parent: Option<usize>, from: (u32, u32)) {
        for n in 0..self.exposures.len() {
            if self.parent(n) != parent {
                continue;
            }
            let exposure = self.exposures[n];
            self.row += 1;
            let at = (LEFT + COLUMN * exposure.generation, TOP + ROW * self.row);
            edge(&mut self.out, from, at, exposure.likelihood);
            let words = words(exposure);
            node(&mut self.out, at, exposure.after, &exposure.face, [&words, exposure.when.text()]);
            self.below(Some(n), at);
        }
    }

    /// The exposure that made the face carry which exposed this one; none for the source.
    fn parent(&self, n: usize) -> Option<usize> {
        let child = self.exposures[n];
        let carried = |e: &&ExposureRecord| e.face == child.by && e.generation + 1 == child.generation;
        self.exposures[..n].iter().rposition(carried)
    }
}

fn words(exposure: &ExposureRecord) -> String {
    let found = |found: Option<Found>| match found {
        None => "never looked at",
        Some(Found::Pass) => "pass",
        Some(Found::Fail) => "fail",
        Some(Found::Ungraded) => "ungraded",
    };
    let after = if exposure.after.is_none() { "not looked at since" } else { found(exposure.after) };
    format!("{}, then {after}{}", found(exposure.before), likely(exposure.likelihood))
}

/// How likely marks lie on both faces.
fn likely(likelihood: Option<f64>) -> String {
    match likelihood {
        None => String::new(),
        Some(l) if l < 0.005 => "; no mark on both".to_owned(),
        Some(l) => format!("; marks on both {} likely", percent(l)),
    }
}

/// A line down from the face that carried, then across; thicker where marks are likely to have gone over.
fn edge(out: &mut String, (x, y): (u32, u32), (to_x, to_y): (u32, u32), likelihood: Option<f64>) {
    let thick = if likelihood.is_some_and(|l| l >= 0.5) { "3" } else { "1.2" };
    let _ = writeln!(
        out,
        "<path d=\"M{x} {}V{to_y}H{}\" fill=\"none\" stroke=\"#5a5a5a\" stroke-width=\"{thick}\"/>",
        y + 10,
        to_x - 10
    );
}

fn node(out: &mut String, (x, y): (u32, u32), found: Option<Found>, name: &str, [words, when]: [&str; 2]) {
    let shape = match found {
        Some(Found::Pass) => format!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"8\" fill=\"#ffffff\" stroke=\"#00664b\" stroke-width=\"2.5\"/>"
        ),
        Some(Found::Fail) => {
            format!("<rect x=\"{}\" y=\"{}\" width=\"16\" height=\"16\" fill=\"#a84300\"/>", x - 8, y - 8)
        }
        Some(Found::Ungraded) => format!(
            "<path d=\"M{x} {}L{} {y}L{x} {}L{} {y}Z\" fill=\"#ffffff\" stroke=\"#005a8c\" stroke-width=\"2.5\"/>",
            y - 10,
            x + 10,
            y + 10,
            x - 10
        ),
        None => format!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"8\" fill=\"#ffffff\" stroke=\"#005a8c\" stroke-width=\"2.5\" stroke-dasharray=\"3 3\"/>"
        ),
    };
    let cut: String = match name.char_indices().nth(NAME) {
        Some((end, _)) => format!("{}…", &name[..end]),
        None => name.to_owned(),
    };
    let _ = write!(
        out,
        "<g><title>{}: {}</title>{shape}<text x=\"{}\" y=\"{}\" font-weight=\"bold\">{}</text>",
        escaped(name),
        escaped(words),
        x + 16,
        y - 2,
        escaped(&cut)
    );
    for (line, text) in [(15, words), (31, when)] {
        let text = escaped(text);
        let _ = write!(
            out,
            "<text x=\"{}\" y=\"{}\" font-size=\"12\" fill=\"#5a5a5a\">{text}</text>",
            x + 16,
            y + line
        );
    }
    out.push_str("</g>\n");
}
