//! The map of a comparison: each position before and after each step, its marks by what became of them.

use super::marks::{self, Place};
use super::record::{ChangesRecord, CompareRecord};
use super::tell;
use crate::map::theme::Look;
use crate::pairs::{Card, CardSide, PairMap, Section};
use crate::record::{FaceRecord, ReasonRecord, SourceInfo};
use crate::tell::capital;

/// What the map of a comparison shows. `steps` are the comparisons of each look with the next, of two looks the
/// `record` itself; `looks` are the records that they were made from.
pub fn map(record: &CompareRecord, steps: &[&CompareRecord], looks: &[&FaceRecord]) -> PairMap {
    let is_series = looks.len() > 2;
    let name = |n: usize| match (is_series, n) {
        (true, n) => format!("look {}", n + 1),
        (false, 0) => "before".to_owned(),
        (false, _) => "after".to_owned(),
    };
    let from_to = if is_series { "From the first look to the last: " } else { "" };
    let mut sentences = vec![format!("{from_to}{}.", tell::totals(record))];
    sentences.extend(tell::of_face(record).map(|reason| format!("Not graded after: {}.", reason.text)));
    sentences.extend(tell::close_calls(record));
    sentences.extend(tell::advice(record));
    let pictures =
        looks.iter().enumerate().map(|(n, look)| (capital(&name(n)), SourceInfo::listed(&look.sources)));
    let facts = [
        ("Layout", record.layout.clone()),
        ("Criteria", record.criteria.title.clone()),
        ("View", tell::views(record)),
        ("Same face", tell::sameness(record)),
    ];
    let section = |(n, (step, two)): (usize, (&&CompareRecord, &[&FaceRecord]))| Section {
        title: match is_series {
            true => capital(&format!("{} to {}: {}", name(n), name(n + 1), tell::totals(step))),
            false => String::new(),
        },
        cards: step
            .positions
            .iter()
            .map(|p| card(p, step, two, [(n, name(n)), (n + 1, name(n + 1))]))
            .collect(),
    };
    PairMap {
        verdicts: looks.iter().enumerate().map(|(n, look)| (look.verdict, name(n))).collect(),
        summary: capital(&tell::summary(record)),
        sentences,
        facts: pictures.chain(facts.map(|(name, fact)| (name.to_owned(), fact))).collect(),
        legend: vec![Look::GONE, Look::STAYED, Look::NEW, Look::UNSURE],
        signs: "numbers: listed below; ! breaks a limit",
        zones_um: record.criteria.zones.iter().map(|z| z.to_um).collect(),
        sections: steps.iter().zip(looks.windows(2)).enumerate().map(section).collect(),
        tool: format!("{} {}", record.tool.name, record.tool.version),
    }
}

fn card(
    changes: &ChangesRecord,
    step: &CompareRecord,
    looks: &[&FaceRecord],
    names: [(usize, String); 2],
) -> Card {
    let (mut marks, mut said) = ([Vec::new(), Vec::new()], vec![caption(changes, tell::of_face(step))]);
    if let [before, after] = looks {
        let [was, is] = [before, after].map(|face| Place::new(face, changes.position));
        let (drawn, list) = marks::drawn(changes, &was, &is);
        marks = drawn;
        said.extend(list);
    }
    let ([left, right], [(before, was), (after, is)]) = (marks, names);
    let position = changes.position;
    Card {
        row: changes.row,
        sides: [
            CardSide { label: was, of: before, position, verdict: changes.verdict_before, marks: left },
            CardSide { label: is, of: after, position, verdict: changes.verdict_after, marks: right },
        ],
        said,
    }
}

fn caption(changes: &ChangesRecord, of_face: Option<&ReasonRecord>) -> String {
    let mut text = format!(
        "{} gone, {} stayed, {} new",
        changes.removed.len(),
        changes.remaining.len(),
        changes.new.len()
    );
    match changes.unsure.len() {
        0 => {}
        n => text.push_str(&format!(", {n} unsure")),
    }
    if let Some(far) = changes.far {
        text.push_str(&format!(" (far end {far})"));
    }
    let why = match of_face {
        Some(reason) => Some(crate::tell::besides(&changes.reasons, reason)),
        None => tell::why(changes),
    };
    if let Some(why) = why {
        text.push_str(&format!(": {why}"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::{ChangedFeature, Doubt, Seen, UnsureFeature};
    use crate::record::{FeatureRecord, Kind, Verdict};

    /// A mark that cannot be told is counted, and what is new is called so once.
    #[test]
    fn a_caption_counts_every_mark_and_says_new_once() {
        let feature = FeatureRecord {
            id: 1,
            kind: Kind::Particle,
            zone: None,
            size_um: Some(5.3),
            u_um: None,
            length_um: None,
            centre_um: None,
            contrast: None,
            outline_px: vec![],
            reach_um: None,
            near_limit: false,
            limit_um: None,
            ends_um: None,
        };
        let new =
            ChangedFeature { feature: feature.clone(), likelihood: 0.9, breaks_limit: true, part: false };
        let unsure = UnsureFeature { feature, seen: Seen::Before, doubt: Doubt::Faint, breaks_limit: false };
        let changes = ChangesRecord {
            position: 1,
            verdict_before: Verdict::Pass,
            verdict_after: Verdict::Fail,
            removed: vec![],
            remaining: vec![],
            moved: vec![],
            new: vec![new],
            unsure: vec![unsure],
            reasons: vec![],
            conformity_after: None,
            row: 1,
            column: 1,
            far: None,
        };
        assert_eq!(caption(&changes, None), "0 gone, 0 stayed, 1 new, 1 unsure: particle 5.3 um is new");
    }
}
