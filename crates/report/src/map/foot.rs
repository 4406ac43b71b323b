//! The foot of the map: what the shapes mean, how it was counted, how sure the limits are, which file it was.

use super::page::{Face, Page};
use super::plan::Plan;
use super::theme::{MARGIN, QUIET};
use crate::draw::Anchor;
use crate::record::{CriteriaRecord, Crossing, FaceRecord, Faith, SourceInfo, Verdict};
use crate::tell::from_memory;

/// Signs of a file's hash that are printed.
const HASH_SIGNS: usize = 16;

pub fn paint(page: &mut Page, record: &FaceRecord, plan: &Plan) {
    let right = plan.width - MARGIN;
    page.rule(MARGIN, plan.footer_y + 4.0, right - MARGIN);
    let mut y = plan.footer_y + 30.0;
    legend(page, y);
    let tool = format!("{} {}", record.tool.name, record.tool.version);
    page.text([right, y], Anchor::End, Face::bold(13.0), &tool);
    y += 22.0;
    let quiet = Face::regular(12.5).ink(QUIET);
    for line in [counting(record), format!("{} {}", limits(&record.criteria), hashes(record))] {
        y = page.paragraph([MARGIN, y], quiet, &line, right - MARGIN, 1);
    }
}

fn legend(page: &mut Page, y: f32) {
    let mut x = MARGIN + 10.0;
    for verdict in [Verdict::Pass, Verdict::Fail, Verdict::Ungraded] {
        page.badge([x, y - 4.5], 8.5, verdict);
        let face = Face::regular(13.0);
        page.text([x + 15.0, y], Anchor::Start, face, verdict.word());
        x += 15.0 + page.width(face, verdict.word()) + 26.0;
    }
}

fn counting(record: &FaceRecord) -> String {
    let rules = &record.criteria.counting;
    let across = |rule| match rule {
        Crossing::Innermost => "the innermost zone it touches",
        Crossing::Every => "every zone it touches",
        Crossing::Centre => "the zone of its centre",
    };
    let held = if rules.defects_across == rules.scratches_across {
        format!("A mark is held to {}", across(rules.defects_across))
    } else {
        format!(
            "A defect is held to {}, a scratch to {}",
            across(rules.defects_across),
            across(rules.scratches_across)
        )
    };
    let smallest = crate::tell::smallest_counted(rules.smallest_counted_um);
    format!("{held}; {smallest}. Criteria {}.", record.criteria.id)
}

/// How sure the limits are.
fn limits(criteria: &CriteriaRecord) -> String {
    let text = match criteria.faith {
        Faith::House => "The limits are the user's own.",
        Faith::Verified => {
            "The limits are as two or more public restatements have them; compare with the document."
        }
        Faith::Abstract | Faith::SingleSource => {
            "Limits are as public restatements have them, some by one only; compare with the document."
        }
        Faith::FromMemory => return from_memory(criteria).unwrap_or_default(),
    };
    text.to_owned()
}

fn hashes(record: &FaceRecord) -> String {
    let hash = |sha256: &str| sha256.chars().take(HASH_SIGNS).collect::<String>();
    let files = SourceInfo::files(&record.sources);
    let sources: Vec<String> =
        files.into_iter().map(|(s, name)| format!("{name} sha256 {}…", hash(&s.sha256))).collect();
    sources.join(", ")
}
