//! The statistics of the job in words, tables and bars.

use crate::job::Job;
use crate::page::{Bars, Page, Part, Table};
use crate::standouts::{Counted, LEVEL, standouts};

/// The share, what stands out, and how that was told from chance.
pub(crate) fn tell(page: &mut Page, job: &Job) {
    let found = standouts(job);
    page.section("Statistics of the job");
    let share = found.first_pass;
    match share.value() {
        None => page.text("No connector was inspected."),
        Some(value) => {
            let (low, high) = share.interval(0.95);
            page.text(format!(
                "At first sight {} of {} inspected connectors passed: {:.0} % (95 % interval {:.0} to {:.0} %, Clopper \
                 and Pearson).",
                share.count,
                share.of,
                100.0 * value,
                100.0 * low,
                100.0 * high
            ));
        }
    }
    if !job.taken_back.is_empty() {
        page.text("What was taken back is not counted here, nor first inspections among it.");
    }
    group(page, "Positions", &found.positions, POSITIONS);
    if found.cords.is_empty() {
        page.text("No matings were told, so that no cord can be looked at.");
    } else {
        group(page, "Cords", &found.cords, CORDS);
    }
}

const POSITIONS: &str = "First inspections only. Each connector's number of failing positions is taken as it is, and \
    chance puts them on any of its graded positions alike (exact, corrected for all positions by Holm's procedure).";
const CORDS: &str = "Last verdicts of the graded connectors that met a cord against all that did not (Fisher's exact test, \
    one-sided, corrected for all cords by Holm's procedure).";

fn group(page: &mut Page, title: &str, counted: &[Counted], how: &str) {
    if counted.is_empty() {
        return;
    }
    page.part(title);
    let named: Vec<&str> = counted.iter().filter(|c| c.stands_out()).map(|c| c.name.as_str()).collect();
    match named.is_empty() {
        true => page.text(format!("None stands out beyond chance at the level of {:.0} %.", 100.0 * LEVEL)),
        false => {
            page.text(format!("Beyond chance at the level of {:.0} %: {}.", 100.0 * LEVEL, named.join(", ")))
        }
    }
    page.text(how);
    let bars = counted.iter().map(|c| (c.name.clone(), c.failed.count as f64, c.expected)).collect();
    page.parts
        .push(Part::Bars(Bars { caption: format!("{title}: failures, and what chance would give"), bars }));
    page.parts.push(Part::Table(table(title, counted)));
}

fn table(title: &str, counted: &[Counted]) -> Table {
    let row = |c: &Counted| {
        vec![
            c.name.clone().into(),
            format!("{} of {}", c.failed.count, c.failed.of).into(),
            format!("{:.1}", c.expected).into(),
            probability(c.p).into(),
            probability(c.corrected).into(),
            if c.stands_out() { "stands out" } else { "as chance" }.into(),
        ]
    };
    Table {
        caption: format!("{title}: failures against chance"),
        head: ["Name", "Failed", "By chance", "Probability", "Corrected", "Finding"]
            .map(str::to_owned)
            .to_vec(),
        rows: counted.iter().map(row).collect(),
        widths: vec![1.4, 1.2, 1.0, 1.2, 1.2, 1.2],
    }
}

fn probability(p: f64) -> String {
    if p < 0.0001 { "below 0.0001".to_owned() } else { format!("{p:.4}") }
}
