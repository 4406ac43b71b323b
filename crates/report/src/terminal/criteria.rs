//! A set of criteria as a table: each band with the number allowed and where the limit comes from.

use super::Style;
use super::wrap::hanging;
use crate::record::Faith;
use crate::tell;
use grade::{Counting, Criteria, CrossingRule, Measure, Source};

/// Width of the columns band and allowed; the rest is the source's.
const COLUMNS: [usize; 2] = [44, 14];

/// The table with its counting rules and sources, a newline at its end.
pub fn criteria(criteria: &Criteria, style: Style) -> String {
    let mut sources: Vec<&Source> = Vec::new();
    let mut out = format!("{}\n", criteria.id);
    let title = tell::titled(&criteria.title, &criteria.document, &criteria.edition);
    out.push_str(&hanging("", 0, &title, style.columns()));
    out.push('\n');
    out.push_str(&row("on one fibre", "allowed", "source"));
    for zone in &criteria.zones {
        let title = format!("zone {}, {} to {} um in diameter", zone.name, zone.from.0, zone.to.0);
        out.push_str(&row(&title, "", &note(&mut sources, &zone.source)));
        for rule in criteria.rules.iter().filter(|rule| rule.zone == zone.name) {
            for band in &rule.bands {
                let words = format!("  {}", band.words(rule.subject));
                let source = note(&mut sources, &band.source);
                out.push_str(&row(&words, &band.allowed.to_string(), &source));
            }
        }
    }
    out.push_str(&counting(&criteria.counting, &mut sources, style));
    out.push_str(&source_list(&sources, style));
    out
}

fn row(band: &str, allowed: &str, source: &str) -> String {
    let [a, b] = COLUMNS;
    format!("{band:<a$}{allowed:<b$}{source}").trim_end().to_owned() + "\n"
}

/// The number of a source in the list, with how sure it is.
fn note<'a>(sources: &mut Vec<&'a Source>, source: &'a Source) -> String {
    let at = sources.iter().position(|s| *s == source).unwrap_or_else(|| {
        sources.push(source);
        sources.len() - 1
    });
    format!("[{}] {}", at + 1, Faith::from(source.faith).words())
}

fn counting<'a>(counting: &'a Counting, sources: &mut Vec<&'a Source>, style: Style) -> String {
    let across = |rule| match rule {
        CrossingRule::Innermost => "the innermost of them",
        CrossingRule::Every => "each of them",
        CrossingRule::Centre => "the zone of its centre",
    };
    let measure = match counting.measure {
        Measure::EnclosingCircle => "the diameter of the smallest circle that holds it",
    };
    let lines = [
        format!("a defect that touches two zones is held to {}", across(counting.defects_across)),
        format!("a scratch that touches two zones is held to {}", across(counting.scratches_across)),
        format!("a defect's size is {measure}, a scratch's its width"),
        tell::smallest_counted(counting.smallest_counted.0),
        format!("a picture that would not show a mark of {} um is not graded", counting.must_see.0),
    ];
    let mut out = format!("\nCounting, which the document leaves open {}\n", note(sources, &counting.source));
    for line in lines {
        out.push_str(&hanging("  - ", 4, &line, style.columns()));
    }
    out
}

fn source_list(sources: &[&Source], style: Style) -> String {
    let mut out = "\nSources\n".to_owned();
    for (i, source) in sources.iter().enumerate() {
        let head = format!(" [{}] ", i + 1);
        let text = format!("{} ({})", source.text, Faith::from(source.faith).words());
        out.push_str(&hanging(&head, head.len(), &text, style.columns()));
    }
    out
}
