//! The parts that tell of one connector's faces: map, pictures, what fails and why, before and after.

use crate::job::{Cable, Connector, Inspection};
use crate::page::{Cell, Map, Page, Part, Standing, Table};
use report::compare;
use report::record::{PositionRecord, Verdict};
use report::{FaceRecord, SourceInfo};

/// The positions of a verdict in words: `positions 3, 7`.
pub(crate) fn positions(face: &FaceRecord, verdict: Verdict) -> String {
    let numbers: Vec<String> = face.with_verdict(verdict).map(|p| p.position.to_string()).collect();
    let word = if numbers.len() == 1 { "position" } else { "positions" };
    format!("{word} {}", numbers.join(", "))
}

/// A look by its connector and its own name; one that lies beside no others may have none.
fn named(connector: &Connector, look: &Inspection) -> String {
    format!("Connector {} {}", connector.identifier, look.when).trim_end().to_owned()
}

/// How many positions have which verdict.
pub(crate) fn summary(face: &FaceRecord) -> String {
    let words = [Verdict::Pass, Verdict::Fail, Verdict::Ungraded].map(|v| (v, face.with_verdict(v).count()));
    let told: Vec<String> =
        words.iter().filter(|(_, n)| *n > 0).map(|(v, n)| format!("{n} {}", v.word())).collect();
    told.join(", ")
}

/// Everything of one connector.
pub(crate) fn tell(page: &mut Page, connector: &Connector) {
    page.section(&format!("Connector {}", connector.identifier));
    match connector.last() {
        None => page.text("It was never inspected."),
        Some(last) => inspected(page, connector, last),
    }
    past(page, connector);
}

fn inspected(page: &mut Page, connector: &Connector, last: &Inspection) {
    map(page, connector, last);
    pictures(page, connector, last);
    reasons(page, connector, last);
    advice(page, connector, &last.face);
    if connector.inspections.len() > 1 {
        history(page, connector);
    }
}

/// What happened to it, by whom; what was withdrawn is told, too.
fn past(page: &mut Page, connector: &Connector) {
    if connector.past.is_empty() {
        return;
    }
    page.part("What happened");
    let row = |happening: &crate::Happening| {
        let withdrawn = happening.withdrawn.as_ref().map(|how| format!(" WITHDRAWN {how}"));
        vec![
            happening.when.clone().into(),
            format!("{}{}", happening.what, withdrawn.unwrap_or_default()).into(),
            happening.who.clone().unwrap_or_else(|| "not told".to_owned()).into(),
        ]
    };
    page.parts.push(Part::Table(Table {
        caption: "What happened to this connector, in order of time".to_owned(),
        head: ["When", "What", "By"].map(str::to_owned).to_vec(),
        rows: connector.past.iter().map(row).collect(),
        widths: vec![1.8, 4.0, 1.2],
    }));
}

fn map(page: &mut Page, connector: &Connector, look: &Inspection) {
    let face = &look.face;
    page.text(format!(
        "{}: {}; layout {}, criteria {}; {}.",
        ["Inspection", look.when.as_str()].join(" ").trim_end(),
        summary(face),
        face.layout,
        face.criteria.title,
        report::view(face)
    ));
    // A map without numbers would tell nothing.
    if report::unnumbered(face) {
        return;
    }
    let mut words = format!("Map of connector {}, key up: {}", connector.identifier, summary(face));
    for verdict in [Verdict::Fail, Verdict::Ungraded] {
        if face.with_verdict(verdict).next().is_some() {
            words += &format!("; {} {}", verdict.word(), positions(face, verdict));
        }
    }
    let places = face.positions.iter().map(|p| (p.position, p.row, p.column, p.verdict)).collect();
    page.parts.push(Part::Map(Map { words, places }));
}

fn pictures(page: &mut Page, connector: &Connector, last: &Inspection) {
    if last.row.is_none() && last.fibres.is_empty() {
        page.text("No picture of this face is at hand.");
        return;
    }
    let row = last.row.iter().map(|picture| {
        (format!("{}, key up: {}", named(connector, last), last.face.verdict.word()), picture)
    });
    page.parts.push(Part::Pictures(row.map(|(words, p)| (words, p.clone())).collect()));
    let fibre = |(position, picture): &(u16, crate::Picture)| {
        let found = last.face.positions.iter().find(|p| p.position == *position);
        let verdict = found.map_or("", |p| p.verdict.word());
        let position = if report::unnumbered(&last.face) { "?".to_owned() } else { position.to_string() };
        (format!("Position {position}: {verdict}"), picture.clone())
    };
    if let Some(lines) = outlined(last) {
        page.text(lines);
    }
    page.parts.push(Part::Pictures(last.fibres.iter().map(fibre).collect()));
}

/// What the lines in the pictures of single positions go about; none where no line is drawn.
fn outlined(look: &Inspection) -> Option<String> {
    let shown = |p: &&PositionRecord| look.fibres.iter().any(|(number, _)| *number == p.position);
    let shown = || look.face.positions.iter().filter(shown);
    let breaks = |p: &&PositionRecord| p.features.iter().any(|f| p.breaks(f.id));
    let counts = |p: &&PositionRecord| !breaks(p) && p.features.iter().any(|f| p.counts(f.id));
    let at = report::numbers(shown().filter(counts).map(|p| p.position));
    let about = match (shown().any(|p| breaks(&p)), at.is_empty()) {
        (false, true) => return None,
        (true, true) => "each mark that breaks a limit".to_owned(),
        (false, false) => "each mark that counts; all are within the limits".to_owned(),
        (true, false) => format!(
            "each mark that breaks a limit; at {at}, where none does, about each that counts within the limits"
        ),
    };
    Some(format!("Pictures of single positions: the black line with a white border goes about {about}."))
}

/// Why positions do not pass; those of which the same is told in one row.
fn reasons(page: &mut Page, connector: &Connector, look: &Inspection) {
    let open: Vec<&PositionRecord> =
        look.face.positions.iter().filter(|p| p.verdict != Verdict::Pass).collect();
    if open.is_empty() {
        return;
    }
    let told = |p: &PositionRecord| {
        let mark = Cell::Mark(Standing::Graded(p.verdict), String::new());
        let mut cells: Vec<Cell> = vec![mark, report::whys(p).join("; ").into()];
        if let Some(since) = &connector.since {
            let changes = since.positions.iter().find(|changes| changes.position == p.position);
            cells.push(changes.and_then(compare::why).unwrap_or_default().into());
        }
        cells
    };
    let mut rows: Vec<(Vec<u16>, Vec<Cell>)> = Vec::new();
    for position in open {
        let cells = told(position);
        match rows.iter_mut().find(|(_, known)| *known == cells) {
            Some((at, _)) => at.push(position.position),
            None => rows.push((vec![position.position], cells)),
        }
    }
    let row = |(at, cells): (Vec<u16>, Vec<Cell>)| {
        std::iter::once(report::numbers(at).into()).chain(cells).collect()
    };
    let mut head = ["Position", "Verdict", "Why"].map(str::to_owned).to_vec();
    let mut widths = vec![0.8, 1.0, 5.0];
    if connector.since.is_some() {
        head.push("Since the look before".to_owned());
        widths = vec![0.8, 1.0, 3.2, 2.4];
    }
    page.parts.push(Part::Table(Table {
        caption: "Positions that do not pass, and why; clock places with the key up".to_owned(),
        head,
        rows: rows.into_iter().map(row).collect(),
        widths,
    }));
}

/// What to do by the last look alone, or by what it shows to have stayed since the look before, and how to take a picture
/// that did not allow a verdict again.
fn advice(page: &mut Page, connector: &Connector, face: &FaceRecord) {
    let (steps, mind): (Vec<String>, Vec<&str>) = match &connector.since {
        Some(since) => {
            page.part("Since the look before");
            let (before, after) = (since.verdict_before.word(), since.verdict_after.word());
            page.text(format!("Before {before}, then {after}: {}.", compare::summary(since)));
            page.text(format!("{}. {}", compare::totals(since), compare::sameness(since)));
            let cleaning = since.advice.steps.iter().map(|step| step.text.clone());
            (cleaning.chain(report::retake(face)).collect(), since.advice.to_mind())
        }
        // What passes is handed over: it is not to be connected now.
        None if face.verdict == Verdict::Pass => {
            (face.advice.steps.iter().map(|step| step.text.clone()).collect(), face.advice.to_mind())
        }
        None => (report::advice(face), face.advice.to_mind()),
    };
    if steps.is_empty() {
        return;
    }
    page.part("What to do");
    page.parts.push(Part::List(steps));
    mind.into_iter().for_each(|caution| page.text(caution));
}

/// Before and after: the verdict of every position in every inspection.
fn history(page: &mut Page, connector: &Connector) {
    page.part("Before and after");
    let looks = &connector.inspections;
    let first: Vec<u16> =
        looks.first().map(|l| l.face.positions.iter().map(|p| p.position).collect()).unwrap_or_default();
    let heading = |look: &Inspection| {
        if look.when.is_empty() { "not named".to_owned() } else { look.when.clone() }
    };
    let row = |position: &u16| {
        let at = |look: &Inspection| {
            let found = look.face.positions.iter().find(|p| p.position == *position);
            found.map_or_else(
                || Cell::from(format!("not in layout {}", look.face.layout)),
                |p| Cell::Mark(Standing::Graded(p.verdict), String::new()),
            )
        };
        std::iter::once(position.to_string().into()).chain(looks.iter().map(at)).collect()
    };
    page.parts.push(Part::Table(Table {
        caption: "Verdict of each position in each inspection".to_owned(),
        head: std::iter::once("Position".to_owned()).chain(looks.iter().map(heading)).collect(),
        rows: first.iter().map(row).collect(),
        widths: std::iter::once(0.8).chain(looks.iter().map(|_| 1.6)).collect(),
    }));
    for look in looks.iter().rev().skip(1) {
        if let Some(row) = &look.row {
            let words = format!("{}: {}", named(connector, look), look.face.verdict.word());
            page.parts.push(Part::Pictures(vec![(words, row.clone())]));
        }
    }
}

/// Every record and picture of a cable with its hash.
pub(crate) fn origins(cable: &Cable) -> Vec<String> {
    let looks = cable.connectors.iter().flat_map(|c| c.inspections.iter().map(move |look| (c, look)));
    let told = |(c, look): (&Connector, &Inspection)| {
        let named = named(c, look);
        let record = format!(
            "{named}, record (written by {} {}): SHA-256 {}",
            look.face.tool.name, look.face.tool.version, look.sha256
        );
        let picture =
            |(s, name): (&SourceInfo, String)| format!("{named}, picture {name}: SHA-256 {}", s.sha256);
        let pictures = SourceInfo::files(&look.face.sources).into_iter().map(picture);
        std::iter::once(record).chain(pictures).collect::<Vec<_>>()
    };
    looks.flat_map(told).collect()
}
