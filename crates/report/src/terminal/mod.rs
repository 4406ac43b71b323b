//! Text for a terminal. Every verdict has a shape of brackets and a letter; colour only repeats it.

mod chain;
mod compare;
mod criteria;
mod face;
mod lit;
mod mated;
mod row;
mod table;
mod wiring;
mod wrap;

pub use chain::chain;
pub use compare::compare;
pub use criteria::criteria;
pub use face::face;
pub use lit::lit;
pub use mated::mated;

use crate::record::Verdict;

/// How text is laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Whether the terminal shows colours (ANSI, 256 of them).
    pub colour: bool,
    /// Columns of the terminal; text is wrapped to it, never below 40.
    pub width: usize,
}

impl Default for Style {
    /// 80 columns without colour.
    fn default() -> Style {
        Style { colour: false, width: 80 }
    }
}

impl Style {
    fn columns(self) -> usize {
        self.width.max(40)
    }

    /// The text in the verdict's colour; the text itself where there are no colours.
    fn paint(self, verdict: Verdict, text: &str) -> String {
        // The nearest of the 256 colours to Okabe and Ito's bluish green, vermillion and blue (2008, Color
        // Universal Design).
        let code = match verdict {
            Verdict::Pass => "38;5;36",
            Verdict::Fail => "1;38;5;166",
            Verdict::Ungraded => "38;5;33",
        };
        if self.colour { format!("\x1b[{code}m{text}\x1b[0m") } else { text.to_owned() }
    }
}

/// A verdict's letter in its shape: round for a pass, square for a fail, pointed for ungraded.
fn token(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "(P)",
        Verdict::Fail => "[F]",
        Verdict::Ungraded => "<U>",
    }
}

/// An empty line, unless there is one already.
fn rest(out: &mut String) {
    if !out.ends_with("\n\n") {
        out.push('\n');
    }
}

/// What to do, one sentence to a line, what to mind with it, and the files that were written.
fn foot(advice: &[String], mind: &[&str], written: &[String], style: Style) -> String {
    let width = style.columns();
    let heads = std::iter::once("Next:  ").chain(std::iter::repeat("       "));
    let mut out: String =
        heads.zip(advice).map(|(head, sentence)| wrap::hanging(head, 7, sentence, width)).collect();
    let heads = std::iter::once("Mind:  ").chain(std::iter::repeat("       "));
    out.extend(heads.zip(mind).map(|(head, sentence)| wrap::hanging(head, 7, sentence, width)));
    if !written.is_empty() {
        let listed = written.join(",\n");
        // A path stays whole, whatever spaces it holds, so that it can be copied.
        out.push_str(&wrap::words("Wrote: ", 7, listed.lines(), width));
    }
    out
}
