//! The parts that tell of tier 1 and tier 2: the instruments' own figures and verdicts.

use super::of;
use crate::page::{Cell, Page, Part, Standing, Table};
use links::sor::Event;
use links::{LossRow, Measured, Told, Trace};
use report::record::Verdict;

/// Tier 1 in a few words; marked where a loss lies over its limit.
pub(crate) fn tier_1(measured: &Measured) -> Cell {
    let most = measured.losses.iter().map(|r| r.loss_db).max_by(f64::total_cmp);
    let Some(most) = most else { return "not measured".into() };
    let count = |of: fn(&LossRow) -> bool| measured.losses.iter().filter(|r| of(r)).count();
    let (over, failed) = (count(LossRow::is_over), count(|r| r.verdict == Some(Told::Fail)));
    let failed = if failed > 0 { format!(", {failed} told as fail") } else { String::new() };
    let all = of(measured.losses.len(), "loss", "losses");
    match over {
        0 => format!("{all}, at most {most:.2} dB{failed}").into(),
        over => Cell::Mark(Standing::Over, format!("{over} of {all}, at most {most:.2} dB{failed}")),
    }
}

/// Tier 2 in a few words.
pub(crate) fn tier_2(measured: &Measured) -> String {
    let most = measured.traces.iter().map(|(_, t)| t.loss_db).max_by(f64::total_cmp);
    let Some(most) = most else { return "not taken".to_owned() };
    format!("{}, at most {most:.2} dB", of(measured.traces.len(), "trace", "traces"))
}

/// Both.
pub(crate) fn tell(page: &mut Page, measured: &Measured) {
    page.section("Loss and length (tier 1)");
    match measured.losses.is_empty() {
        true => page.text("No loss was measured."),
        false => {
            let over = measured.losses.iter().filter(|r| r.is_over()).count();
            let over = match over {
                0 => String::new(),
                1 => " 1 loss lies over the limit that the table has for it.".to_owned(),
                n => format!(" {n} losses lie over the limits that the table has for them."),
            };
            page.text(format!(
                "Verdicts are those of the instrument's table; pitchline does not judge losses.{over}"
            ));
            page.parts.push(Part::Table(losses(&measured.losses)));
        }
    }
    page.section("Traces (tier 2)");
    if measured.traces.is_empty() {
        page.text("No trace was taken.");
    }
    for (file, trace) in &measured.traces {
        heading(page, file, trace);
        page.parts.push(Part::Table(events(file, &trace.events)));
    }
}

fn losses(rows: &[LossRow]) -> Table {
    let number = |v: Option<f64>, decimals: usize| v.map(|v| format!("{v:.decimals$}")).unwrap_or_default();
    let row = |r: &LossRow| {
        let verdict = match (r.verdict, r.contradiction()) {
            (told, Some(_)) if r.is_over() => {
                let told = if told.is_none() { "nothing is" } else { "pass is" };
                Cell::Mark(Standing::Over, format!("{told} told; ask"))
            }
            (_, Some(says)) => format!("{says}; ask").into(),
            (Some(Told::Pass), None) => Cell::Mark(Standing::Graded(Verdict::Pass), String::new()),
            (Some(Told::Fail), None) => Cell::Mark(Standing::Graded(Verdict::Fail), String::new()),
            (None, None) => "not told".into(),
        };
        vec![
            r.fibre.map_or_else(|| "all".to_owned(), |f| f.to_string()).into(),
            number(r.wavelength_nm, 0).into(),
            r.direction.clone().unwrap_or_default().into(),
            format!("{:.2}", r.loss_db).into(),
            number(r.limit_db, 2).into(),
            number(r.length_m, 1).into(),
            verdict,
        ]
    };
    Table {
        caption: "Loss and length by fibre".to_owned(),
        head: ["Fibre", "Wavelength, nm", "Direction", "Loss, dB", "Limit, dB", "Length, m", "Told as"]
            .map(str::to_owned)
            .to_vec(),
        rows: rows.iter().map(row).collect(),
        widths: vec![0.8, 1.2, 1.4, 1.0, 1.0, 1.1, 1.2],
    }
}

fn heading(page: &mut Page, file: &str, trace: &Trace) {
    let fibre =
        if trace.fibre.is_empty() { "fibre not named".to_owned() } else { format!("fibre {}", trace.fibre) };
    page.part(&format!("{file}, {fibre}"));
    let length = trace.end().map_or_else(|| "no end event".to_owned(), |e| format!("{:.1} m", e.metres));
    let orl = trace.orl_db.map_or_else(|| "not told".to_owned(), |v| format!("{v:.2} dB"));
    page.text(format!(
        "{:.0} nm, from {} to {}: length {length}, loss {:.3} dB, optical return loss {orl}; group index {:.5}, \
         pulse {} ns, {} averages. Instrument: {}. Operator: {}.",
        trace.wavelength_nm,
        told(&trace.from),
        told(&trace.to),
        trace.loss_db,
        trace.index,
        trace.pulses_ns.iter().map(u16::to_string).collect::<Vec<_>>().join(", "),
        trace.averages,
        told(&trace.instrument),
        told(&trace.operator),
    ));
}

fn told(text: &str) -> &str {
    if text.is_empty() { "not told" } else { text }
}

fn events(file: &str, events: &[Event]) -> Table {
    let row = |e: &Event| {
        let kind =
            if e.ends { format!("{}, end of fibre", e.nature.word()) } else { e.nature.word().to_owned() };
        vec![
            e.number.to_string().into(),
            format!("{:.1}", e.metres).into(),
            kind.into(),
            format!("{:.3}", e.loss_db).into(),
            e.reflectance_db.map(|v| format!("{v:.2}")).unwrap_or_default().into(),
            format!("{:.3}", e.slope_db_per_km).into(),
            e.comment.clone().into(),
        ]
    };
    Table {
        caption: format!("Events of {file}"),
        head: ["Event", "Distance, m", "Kind", "Loss, dB", "Reflectance, dB", "Slope, dB/km", "Remark"]
            .map(str::to_owned)
            .to_vec(),
        rows: events.iter().map(row).collect(),
        widths: vec![0.7, 1.1, 2.0, 0.9, 1.3, 1.1, 1.3],
    }
}
