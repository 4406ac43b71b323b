//! A criteria file: what is allowed, how to count and how to look, with the sources of each.

use crate::bands;
use crate::fault::ProfileError;
use crate::read::{At, Page, Section};
use crate::sources::Sources;
use grade::{ConnectorClass, Counting, Criteria, CrossingRule, Measure, Mode, Rule, Subject, Zone};
use survey::Settings;
use terms::Um;

/// A checked criteria file.
#[derive(Clone, Debug, PartialEq)]
pub struct CriteriaFile {
    /// What is allowed and how to count.
    pub criteria: Criteria,
    /// How to look.
    pub settings: Settings,
    /// Which connectors to grade by it, for those who choose; and how sure that advice is.
    pub use_for: String,
}

/// Reads and checks a criteria file; `name` stands in the error.
///
/// # Errors
/// Every fault of the file at once, each with its line and how to mend it.
pub fn parse_criteria(name: &str, text: &str) -> Result<CriteriaFile, ProfileError> {
    Page::read(name, text, |page, root| {
        let sources = Sources::read(page, root);
        let id = id(page, root);
        let title = root.text("title", "\"a line for people\"");
        let document = root.text("document", "\"IEC 61300-3-35\"");
        let edition = root.text("edition", "\"2 (2015)\"");
        let use_for = root.text("use_for", "\"which connectors to grade by it\"");
        let class = class(root);
        let zones = zones(page, root, &sources);
        let rules = rules(page, root, &sources, zones.as_deref());
        let counting = counting(root, &sources);
        let settings = looking(root);
        sources.no_others();
        let criteria = Criteria {
            id: id?,
            title: title?.value,
            document: document?.value,
            edition: edition?.value,
            class: class?,
            zones: zones?,
            rules: rules?,
            counting: counting?,
        };
        Some(CriteriaFile { criteria, settings: settings?, use_for: use_for?.value })
    })
}

/// The file's own id: letters, digits, `-`, `_` and `.`, so that it can stand in names and arguments.
pub(crate) fn id(page: &Page, root: &Section) -> Option<String> {
    let id = root.text("id", "\"my-own\"")?;
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
    if id.value.chars().all(plain) {
        return Some(id.value);
    }
    page.fault(id.at, format!("the id {:?} may hold letters, digits, - _ and . only; rename it", id.value));
    None
}

/// What fibres are called in files.
pub(crate) const MODES: [(&str, Mode); 2] = [("multi", Mode::Multi), ("single", Mode::Single)];

fn class(root: &Section) -> Option<ConnectorClass> {
    let section = root.section("class")?;
    let mode = section.word("mode", &MODES);
    let angled = section.flag("angled");
    let return_loss = section
        .at_of("return_loss_db")
        .map(|_| section.number("return_loss_db", "45", "a number of decibels above 0", |db| db > 0.0));
    section.no_other_keys();
    let return_loss_db = match return_loss {
        Some(read) => Some(read?.value),
        None => None,
    };
    Some(ConnectorClass { mode: mode?, angled: angled?, return_loss_db })
}

fn zones(page: &Page, root: &Section, sources: &Sources) -> Option<Vec<Zone>> {
    let sections = root.sections("zones")?;
    let read = sections.iter().map(|section| zone(section, sources));
    let mut zones: Vec<At<Zone>> = read.collect::<Vec<_>>().into_iter().collect::<Option<_>>()?;
    zones.sort_by(|a, b| a.value.from.0.total_cmp(&b.value.from.0));
    let mut edge = Um(0.0);
    for (i, At { value: zone, at }) in zones.iter().enumerate() {
        let name = &zone.name;
        if zones[..i].iter().any(|other| other.value.name == *name) {
            page.fault(*at, format!("there are two zones \"{name}\"; give each a name of its own"));
        }
        if zone.from != edge {
            let (from, edge) = (zone.from.0, edge.0);
            let text = format!(
                "zone \"{name}\" begins at {from} um where {edge} um is due; zones start at 0 and neither overlap \
                 nor leave a gap"
            );
            page.fault(*at, text);
        }
        if zone.to <= zone.from {
            page.fault(*at, format!("zone \"{name}\" ends before it begins; `to` must lie above `from`"));
        }
        edge = zone.to;
    }
    Some(zones.into_iter().map(|zone| zone.value).collect())
}

fn zone(section: &Section, sources: &Sources) -> Option<At<Zone>> {
    let name = section.text("name", "\"A\"");
    let from = section.length("from", "0");
    let to = section.positive_length("to", "25");
    let source = sources.of(section);
    section.no_other_keys();
    let zone = Zone { name: name?.value, from: from?.value, to: to?.value, source: source? };
    Some(At { value: zone, at: section.at })
}

/// The rules in the order of the zones, scratches before defects; notes those that are missing or doubled
/// where the zones could be read.
fn rules(page: &Page, root: &Section, sources: &Sources, zones: Option<&[Zone]>) -> Option<Vec<Rule>> {
    let sections = root.sections("rules")?;
    let read: Vec<Option<At<Rule>>> = sections.iter().map(|section| rule(page, section, sources)).collect();
    let rules: Vec<At<Rule>> = read.into_iter().collect::<Option<_>>()?;
    let zones = zones?;
    let mut ordered = vec![];
    for zone in zones {
        for subject in Subject::ALL {
            let mut of_both =
                rules.iter().filter(|rule| rule.value.zone == zone.name && rule.value.subject == subject);
            let what = format!("{} in zone \"{}\"", subject.word(), zone.name);
            match of_both.next() {
                Some(rule) => ordered.push(rule.value.clone()),
                None => root.fault(format!("there is no rule for {what}; add [[rules]] with its bands")),
            }
            of_both.for_each(|rule| {
                page.fault(rule.at, format!("there is a second rule for {what}; remove one"))
            });
        }
    }
    for rule in rules.iter().filter(|rule| zones.iter().all(|zone| zone.name != rule.value.zone)) {
        page.fault(rule.at, format!("there is no zone \"{}\"; name one of [[zones]]", rule.value.zone));
    }
    Some(ordered)
}

fn rule(page: &Page, section: &Section, sources: &Sources) -> Option<At<Rule>> {
    let zone = section.text("zone", "\"A\"");
    let subject = section.word("subject", &Subject::ALL.map(|subject| (subject.word(), subject)));
    let bands = section.sections("bands");
    section.no_other_keys();
    let bands: Vec<_> = bands?.iter().map(|band| bands::read(page, band, sources)).collect();
    let bands = bands::in_order(page, section, bands.into_iter().collect::<Option<_>>()?);
    Some(At { value: Rule { zone: zone?.value, subject: subject?, bands }, at: section.at })
}

fn counting(root: &Section, sources: &Sources) -> Option<Counting> {
    let section = root.section("counting")?;
    let across = [
        ("innermost", CrossingRule::Innermost),
        ("every", CrossingRule::Every),
        ("centre", CrossingRule::Centre),
    ];
    let defects_across = section.word("defects_across", &across);
    let scratches_across = section.word("scratches_across", &across);
    let measure = section.word("measure", &[("enclosing-circle", Measure::EnclosingCircle)]);
    let smallest_counted = section.length("smallest_counted", "0.0");
    let must_see = section.positive_length("must_see", "2.0");
    let source = sources.of(&section);
    section.no_other_keys();
    Some(Counting {
        defects_across: defects_across?,
        scratches_across: scratches_across?,
        measure: measure?,
        smallest_counted: smallest_counted?.value,
        must_see: must_see?.value,
        source: source?,
    })
}

fn looking(root: &Section) -> Option<Settings> {
    let section = root.section("looking")?;
    let aspect = section.number("scratch_aspect", "5.0", "a number of at least 1", |aspect| aspect >= 1.0);
    let gap = section.length("touching_gap", "0.0");
    let what = "a number above 0 and up to 1";
    let calls = section.number("false_calls_per_fibre", "0.002", what, |calls| calls > 0.0 && calls <= 1.0);
    section.no_other_keys();
    Some(Settings {
        scratch_aspect: aspect?.value,
        touching_gap_um: gap?.value.0,
        false_calls_per_fibre: calls?.value,
    })
}
