//! The head of the map: the verdict, what to do, and what the grade rests on.

use super::page::{Face, Page};
use super::plan::Plan;
use super::theme::{HEADER, MARGIN, QUIET, verdict_ink};
use crate::draw::Anchor;
use crate::record::{FaceRecord, ScaleMethod, SourceInfo};
use crate::tell;

/// Share of the width that the verdict takes.
const LEFT: f32 = 0.56;
/// First line of advice, from the top, and what is left below the last.
const ADVICE: f32 = 113.0;
const BELOW: f32 = 24.0;
/// What the badge takes at the left.
const INDENT: f32 = 92.0;
/// Width of the names of the facts.
const NAMES: f32 = 76.0;

/// Height of the head of a page of that width: as much as its words take.
pub fn height(record: &FaceRecord, width: f32) -> f32 {
    let said = advice(&mut Page::default(), record, split(width) - MARGIN);
    (said - Face::regular(14.0).size + BELOW).max(HEADER).round()
}

pub fn paint(page: &mut Page, record: &FaceRecord, plan: &Plan) {
    let split = split(plan.width);
    verdict(page, record, split - MARGIN);
    facts(page, record, split, plan.width - MARGIN);
    page.rule(MARGIN, plan.header - 14.0, plan.width - 2.0 * MARGIN);
}

fn split(width: f32) -> f32 {
    (width * LEFT).round()
}

fn verdict(page: &mut Page, record: &FaceRecord, right: f32) {
    page.badge([MARGIN + 37.0, 66.0], 30.0, record.verdict);
    let left = MARGIN + INDENT;
    let word = Face::bold(44.0).ink(verdict_ink(record.verdict));
    page.text([left, 62.0], Anchor::Start, word, &record.verdict.word().to_uppercase());
    page.text([left, 90.0], Anchor::Start, Face::bold(18.0), &tell::capital(&tell::summary(record)));
    advice(page, record, right);
}

/// Each sentence on lines of its own, all of it; gives the baseline after them.
fn advice(page: &mut Page, record: &FaceRecord, right: f32) -> f32 {
    let (left, face) = (MARGIN + INDENT, Face::regular(14.0));
    let of_face = tell::of_face(record).map(|reason| format!("Not graded: {}.", reason.text));
    let sentences: Vec<String> = of_face.into_iter().chain(tell::advice(record)).collect();
    sentences.iter().fold(ADVICE, |y, said| page.paragraph([left, y], face, said, right - left, usize::MAX))
}

fn facts(page: &mut Page, record: &FaceRecord, left: f32, right: f32) {
    let method = match record.scale.method {
        ScaleMethod::Lattice => "from the lattice",
        ScaleMethod::Stated => "as stated",
    };
    let scale = format!(
        "{:.5} ± {:.5} um per pixel, {method}",
        record.scale.um_per_px, record.scale.standard_uncertainty
    );
    let cable = record.polarity.as_ref().map(|p| ("Cable", format!("{}: {}", p.cable, p.title)));
    let carries = record.application.as_ref();
    let carries = carries.map(|a| ("Carries", format!("{}, counted {}", a.title, a.seen.words())));
    let guard = tell::guard(record).map(|guard| ("Guard", guard));
    let facts = [
        ("Picture", SourceInfo::listed(&record.sources)),
        ("Layout", record.layout.clone()),
        ("Criteria", tell::criteria(record)),
        ("View", tell::view(record)),
        ("Scale", scale),
    ];
    let mut y = 42.0;
    for (name, value) in facts.into_iter().chain(cable).chain(carries).chain(guard) {
        page.text([left, y], Anchor::Start, Face::regular(13.0).ink(QUIET), name);
        let room = right - left - NAMES;
        page.paragraph([left + NAMES, y], Face::regular(14.0), &value, room, 1);
        y += 20.0;
    }
}
