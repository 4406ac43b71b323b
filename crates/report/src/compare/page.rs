//! The map of a comparison: each position before and after, its marks by what became of them.

use super::record::{ChangesRecord, CompareRecord, Seen, SideRecord};
use super::tell;
use crate::draw::Stroke;
use crate::map::theme::{FAIL, GONE, QUIET, TEXT};
use crate::pairs::{Card, CardMark, CardSide, Look, PairMap, outline};
use crate::record::{FaceRecord, FeatureRecord, PositionRecord, ReasonRecord, SourceInfo, Verdict};
use crate::tell::{capital, size};

const GONE_LOOK: Look = Look { stroke: Stroke::dashed(GONE, 1.9, 6.0, 3.0), words: "− gone" };
const STAYED: Look = Look { stroke: Stroke::solid(TEXT, 1.2), words: "= stayed" };
const NEW: Look = Look { stroke: Stroke::solid(FAIL, 2.4), words: "+ new" };
const UNSURE: Look =
    Look { stroke: Stroke::dashed(QUIET, 1.0, 1.5, 2.5), words: "? unsure: the other picture does not tell" };

/// What the map of a comparison shows; the two records are those that it was made from.
pub fn map(record: &CompareRecord, before: &FaceRecord, after: &FaceRecord) -> PairMap {
    let of_face = tell::of_face(record);
    let mut sentences = vec![format!("{}.", tell::totals(record))];
    sentences.extend(of_face.map(|reason| format!("Not graded after: {}.", reason.text)));
    sentences.extend(tell::close_calls(record));
    sentences.extend(tell::advice(record));
    PairMap {
        verdicts: [(record.verdict_before, "before"), (record.verdict_after, "after")],
        summary: capital(&tell::summary(record)),
        sentences,
        facts: vec![
            ("Before", files(&record.before)),
            ("After", files(&record.after)),
            ("Layout", record.layout.clone()),
            ("Criteria", record.criteria.title.clone()),
            ("View", tell::views(record)),
            ("Same face", tell::sameness(record)),
        ],
        legend: vec![GONE_LOOK, STAYED, NEW, UNSURE],
        zones_um: record.criteria.zones.iter().map(|z| z.to_um).collect(),
        cards: record.positions.iter().map(|p| card(p, before, after, of_face)).collect(),
        tool: format!("{} {}", record.tool.name, record.tool.version),
    }
}

fn files(side: &SideRecord) -> String {
    SourceInfo::listed(&side.sources)
}

fn card(
    changes: &ChangesRecord,
    before: &FaceRecord,
    after: &FaceRecord,
    of_face: Option<&ReasonRecord>,
) -> Card {
    let was = Face { face: before, position: at(before, changes.position) };
    let is = Face { face: after, position: at(after, changes.position) };
    let unsure = |seen: Seen| changes.unsure.iter().filter(move |f| f.seen == seen).map(|f| &f.feature);
    let kept_ids: Vec<u32> = changes.remaining.iter().flat_map(|f| f.before_ids.clone()).collect();
    // Of a mark that went a part may be left: it is drawn as gone.
    let gone = |id: u32| changes.removed.iter().any(|f| f.feature.id == id && !f.part);
    let kept =
        was.position.iter().flat_map(|p| &p.features).filter(|f| kept_ids.contains(&f.id) && !gone(f.id));
    let mut left = was.marks(unsure(Seen::Before), UNSURE, '?');
    left.extend(was.marks(kept, STAYED, '='));
    // Not told before, and there all the same.
    let faint = changes.remaining.iter().filter(|f| f.before_ids.is_empty()).map(|f| &f.feature);
    left.extend(
        is.marks(faint, STAYED, '=').into_iter().map(|mark| CardMark { tag: "= faint".to_owned(), ..mark }),
    );
    left.extend(was.marks(changes.removed.iter().map(|f| &f.feature), GONE_LOOK, '−'));
    let mut right = is.marks(unsure(Seen::After), UNSURE, '?');
    right.extend(is.marks(changes.remaining.iter().map(|f| &f.feature), STAYED, '='));
    right.extend(is.marks(changes.new.iter().map(|f| &f.feature), NEW, '+'));
    let side = |label: &str, verdict: Verdict, marks: Vec<CardMark>| CardSide {
        label: label.to_owned(),
        position: changes.position,
        verdict,
        marks,
    };
    Card {
        row: changes.row,
        sides: [side("before", changes.verdict_before, left), side("after", changes.verdict_after, right)],
        caption: caption(changes, of_face),
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

fn at(face: &FaceRecord, position: u16) -> Option<&PositionRecord> {
    face.positions.iter().find(|p| p.position == position)
}

/// A position of one of the faces.
struct Face<'r> {
    face: &'r FaceRecord,
    position: Option<&'r PositionRecord>,
}

impl Face<'_> {
    /// Features with one look, the smallest first.
    fn marks<'f>(
        &self,
        features: impl Iterator<Item = &'f FeatureRecord>,
        look: Look,
        sign: char,
    ) -> Vec<CardMark> {
        let Some(position) = self.position else { return Vec::new() };
        let mut features: Vec<&FeatureRecord> = features.collect();
        features.sort_by(|a, b| a.size_um.unwrap_or(0.0).total_cmp(&b.size_um.unwrap_or(0.0)));
        let mark = |feature: &FeatureRecord| CardMark {
            look,
            outline: outline(self.face, position, feature),
            tag: format!("{sign} {}", size(feature)),
        };
        features.into_iter().map(mark).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::{ChangedFeature, Doubt, UnsureFeature};
    use crate::record::Kind;

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
