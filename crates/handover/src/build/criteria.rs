//! The criteria that faces were graded by, each limit with its source, and what of it comes from memory.

use crate::page::{Page, Part, Table};
use report::FaceRecord;
use std::collections::BTreeMap;

/// Criteria of the faces, each once.
pub(crate) fn tell<'a>(page: &mut Page, faces: impl Iterator<Item = &'a FaceRecord>) {
    page.section("Criteria and their sources");
    let mut by_id: BTreeMap<&str, Vec<&FaceRecord>> = BTreeMap::new();
    faces.for_each(|face| by_id.entry(&face.criteria.id).or_default().push(face));
    if by_id.is_empty() {
        page.text("No face was graded.");
    }
    for (id, faces) in by_id {
        let Some(face) = faces.first() else { continue };
        let criteria = &face.criteria;
        page.part(&criteria.title);
        page.text(format!(
            "Criteria file {id}, of {} edition {}. The least sure of its limits: {}.",
            criteria.document,
            criteria.edition,
            criteria.faith.words()
        ));
        let (counting, source) = (&criteria.counting, &criteria.counting.source);
        page.text(format!(
            "Where the document leaves counting open: marks from {} um are counted; source: {} ({}).",
            counting.smallest_counted_um,
            source.text,
            source.faith.words()
        ));
        if let Some(risk) = face.guard_risk {
            page.text(format!("Limits were drawn in for a risk of {} % at the limit.", 100.0 * risk));
        }
        match limits(&faces) {
            table if table.rows.is_empty() => page.text("No fibre was graded by them."),
            table => page.parts.push(Part::Table(table)),
        }
    }
}

type Limit<'a> = (&'a str, &'a str, &'a str, &'a str, &'static str);

/// Every limit that was used, in the order of the criteria.
fn limits(faces: &[&FaceRecord]) -> Table {
    let mut seen: Vec<Limit> = Vec::new();
    for finding in faces.iter().flat_map(|f| &f.positions).flat_map(|p| &p.findings) {
        let source = &finding.source;
        let limit: Limit = (&finding.zone, &finding.rule, &finding.limit, &source.text, source.faith.words());
        if !seen.contains(&limit) {
            seen.push(limit);
        }
    }
    let cells = |(zone, rule, limit, source, faith): &Limit| {
        [*zone, *rule, *limit, *faith, *source].map(Into::into).to_vec()
    };
    Table {
        caption: "Limits for each fibre".to_owned(),
        head: ["Zone", "What", "Allowed", "How sure", "Source"].map(str::to_owned).to_vec(),
        rows: seen.iter().map(cells).collect(),
        widths: vec![0.7, 2.2, 1.2, 1.2, 3.0],
    }
}
