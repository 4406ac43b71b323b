//! A study as a table for the terminal, 80 columns wide.

use super::record::*;

/// The text, with a newline at its end.
pub fn text(record: &StudyRecord) -> String {
    let mut out = head(&record.set);
    if let Some(truth) = &record.truth {
        out.push_str(&detection(&truth.detection));
        out.push_str(&promised(&truth.promised));
        out.push_str(&sizes(&truth.sizes));
        out.push_str(&singles(truth));
        out.push_str(&verdicts(&truth.verdicts));
    }
    if let Some(repeats) = &record.repeats {
        out.push_str(&repeated(repeats));
    }
    out
}

fn head(set: &SetRecord) -> String {
    let from = match set.seed {
        Some(seed) => format!("made up from seed {seed}"),
        None => format!("of {}", set.source),
    };
    let lost = match set.without_row {
        0 => String::new(),
        n => format!(", {n} of them without a row of fibres"),
    };
    let count = |n: usize, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
    format!("{} in {}{lost}, {from}\n", count(set.faces, "face"), count(set.pictures, "picture"))
}

fn um(v: Option<f64>) -> String {
    v.map_or_else(|| "-".to_owned(), |v| format!("{v:.2}"))
}

fn known(v: Option<f64>) -> String {
    v.map_or_else(|| "n.d.".to_owned(), |v| format!("{v:.2}"))
}

fn percent(v: Option<f64>) -> String {
    v.map_or_else(|| "-".to_owned(), |v| format!("{:.1} %", 100.0 * v))
}

/// A share with its interval.
fn told(share: &ShareRecord) -> String {
    match (share.low, share.high) {
        (Some(low), Some(high)) => format!(
            "{} of {}, {} ({:.1} to {:.1} %)",
            share.count,
            share.of,
            percent(share.share),
            100.0 * low,
            100.0 * high
        ),
        _ => "none to judge by".to_owned(),
    }
}

fn detection(rows: &[DetectionRecord]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let mut out = "\nDetection (um)                  seen       a50    a90    a90/95\n".to_owned();
    for row in rows {
        let [low, high] = row.contrast.map(|c| (100.0 * c).round());
        let contrast = if low == high { format!("{low} %") } else { format!("{low} to {high} %") };
        let seen = format!("{} of {}", row.seen.count, row.seen.of);
        let note = if row.likelihood.as_deref() == Some("penalised") { "  penalised" } else { "" };
        out.push_str(&format!(
            "  {:<28}  {:<9}  {:>5}  {:>5}  {:>5}{note}\n",
            format!("{}, {contrast} contrast", row.kind),
            seen,
            known(row.a50_um),
            known(row.a90_um),
            known(row.a90_95_um)
        ));
    }
    if rows.iter().any(|row| row.likelihood.as_deref() == Some("penalised")) {
        out.push_str(
            "  penalised: every mark above some size was seen and none below it, so that\n  the curve is held back (Firth \
             1993), and its figures are rough\n",
        );
    }
    out.push_str(
        "  a50, a90: sizes of which half and nine tenths are seen; a90/95: the size of\n  which nine tenths are seen with 95 % \
         confidence\n",
    );
    if rows.iter().any(|row| row.a90_95_um.is_none()) {
        out.push_str("  n.d.: not determined by marks as large as were there\n");
    }
    out
}

fn promised(row: &PromisedRecord) -> String {
    format!(
        "\nMarks of {:.0} % contrast or more that the pictures' smallest gradable size says\nare visible\n  seen              {}\n  just above it     {}\n",
        100.0 * row.contrast,
        told(&row.seen),
        told(&row.seen_at_limit)
    )
}

fn sizes(rows: &[SizesRecord]) -> String {
    let part = |isolated: bool| {
        let told: String = rows.iter().filter(|row| row.isolated == isolated).map(size).collect();
        let head = if isolated { "Sizes of isolated marks (um)" } else { "Sizes of all marks (um)" };
        match told.is_empty() {
            true => told,
            false => format!("\n{head:<30}  count    bias  spread   within u   within 2u\n{told}"),
        }
    };
    part(true) + &part(false)
}

fn size(row: &SizesRecord) -> String {
    let class = match (row.from_um, row.below_um) {
        (low, Some(high)) if low > 0.0 => format!("{}, {low} to {high}", row.of),
        (_, Some(high)) => format!("{}, below {high}", row.of),
        (low, None) if low > 0.0 => format!("{}, over {low}", row.of),
        _ => row.of.clone(),
    };
    format!(
        "  {:<28}  {:>5}  {:>6.2}  {:>6}   {:>8}   {:>9}\n",
        class,
        row.count,
        row.bias_um,
        um(row.spread_um),
        percent(row.within_u.share),
        percent(row.within_2u.share)
    )
}

fn singles(truth: &TruthRecord) -> String {
    let calls = &truth.false_calls;
    let rate = |v: Option<f64>| v.map_or_else(|| "-".to_owned(), |v| format!("{v:.4}"));
    let fine = |v: Option<f64>| v.map_or_else(|| "-".to_owned(), |v| format!("{v:.3}"));
    format!(
        "\nFalse calls         {} on {} clean fibres, {} each (at most {})\nUnexplained calls   {}\nCentres             median {} um, 95 % within {} um\nMust be refused     {}\nGradable, refused   {}\n",
        calls.calls,
        calls.clean_fibres,
        rate(calls.per_fibre),
        rate(calls.per_fibre_at_most),
        told(&calls.unexplained),
        fine(truth.centres.median_um),
        fine(truth.centres.p95_um),
        told(&truth.refused),
        told(&truth.refused_gradable)
    )
}

fn verdicts(row: &VerdictsRecord) -> String {
    let mut out = "\nVerdicts, clear fibres   said pass      fail  ungraded\n".to_owned();
    for line in row.table.chunks(3) {
        let word = line.first().map_or("", |cell| cell.truth.word());
        let counts: Vec<String> = line.iter().map(|cell| format!("{:>8}", cell.count)).collect();
        out.push_str(&format!("  truly {word:<18}{}\n", counts.join("  ")));
    }
    for (name, share) in [
        ("agree", &row.agree),
        ("escapes", &row.escapes),
        ("overkill", &row.overkill),
        ("ungraded", &row.ungraded),
    ] {
        out.push_str(&format!("  {name:<18}{}\n", told(share)));
    }
    out.push_str(&format!("  {:<18}{} fibres, in no figure above\n", "not clear", row.unclear));
    for wrong in &row.wrong {
        out.push_str(&format!(
            "  {} position {}: truly {}, said {}\n",
            wrong.picture,
            wrong.position,
            wrong.truth.word(),
            wrong.said.word()
        ));
    }
    out
}

fn repeated(row: &RepeatsRecord) -> String {
    let times = |n: usize, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
    let mut out = format!(
        "\nRepeated looks at {}: {}, {} each\n",
        times(row.faces, "face"),
        times(row.set_ups, "set-up"),
        times(row.pictures_each, "picture")
    );
    out.push_str(&agreement("all fibres", &row.verdicts));
    if let Some(clear) = &row.clear_verdicts {
        out.push_str(&agreement("clear fibres", clear));
    }
    out.push_str(&format!("  marks seen in every picture   {}\n", told(&row.marks_always_seen)));
    if !row.gauges.is_empty() {
        out.push_str("\nGauge R&R of sizes (um)    marks     EV     AV   GRR     PV   GRR/TV    ndc\n");
    }
    for gauge in &row.gauges {
        out.push_str(&spread(&format!("{}, ranges", gauge.of), gauge.marks, &gauge.ranges));
        out.push_str(&spread(&format!("{}, ANOVA", gauge.of), gauge.marks, &gauge.anova));
    }
    if !row.gauges.is_empty() {
        out.push_str(
            "  standard deviations, um: EV of repeated looks, AV between set-ups, GRR of both\n  together, PV of the marks' own \
             sizes, TV of everything; ndc: classes of size\n  that can be told apart\n",
        );
    }
    out
}

fn agreement(name: &str, row: &AgreementRecord) -> String {
    let kappa = |v: Option<f64>| v.map_or_else(|| "-".to_owned(), |v| format!("{v:.3}"));
    format!(
        "  {name:<14}same verdict in every picture {}\n                pairs of pictures alike {}, Cohen's kappa {}, Fleiss' {}\n",
        told(&row.always_same),
        percent(row.pairs_same),
        kappa(row.cohen_kappa),
        kappa(row.fleiss_kappa)
    )
}

fn spread(name: &str, marks: usize, row: &SpreadRecord) -> String {
    let classes = row.classes.map_or_else(|| "-".to_owned(), |v| format!("{:.0}", v.floor()));
    format!(
        "  {name:<26}{marks:>5}  {:>5}  {:>5}  {:>5}  {:>5}  {:>7}  {:>4}\n",
        um(row.repeatability_um),
        um(row.reproducibility_um),
        um(row.gauge_um),
        um(row.marks_um),
        percent(row.gauge_share),
        classes
    )
}
