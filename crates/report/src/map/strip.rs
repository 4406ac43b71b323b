//! The row, or rows, at a glance: the picture with each position's number and verdict.

use super::page::{Face, Page, diamond};
use super::plan::{Plan, place};
use super::theme::{BLANK, CASING, FAIL, LABELS, MARGIN, QUIET, TEXT, TITLE, UNGRADED};
use crate::draw::{Anchor, GreyCrop, Item, Outline, Rect, Stroke};
use crate::record::{FaceRecord, PositionRecord, Verdict};
use crate::tell;

/// Half the side of the mark about a fibre in the strip, um.
const MARK_UM: f64 = 80.0;
/// The line about a mark on the ferrule.
const MARK_LINE: Stroke = Stroke::dashed(TEXT, 1.1, 3.0, 2.0);
/// A mark on the ferrule is drawn no smaller than this.
const LEAST_RADIUS: f32 = 5.0;

pub fn paint<'a>(page: &mut Page<'a>, record: &FaceRecord, plan: &Plan, picture: Option<&'a GreyCrop>) {
    let rect = plan.strip_rect;
    let title_y = rect.y - LABELS - TITLE + 20.0;
    let what = if plan.rows.len() == 1 { "The row" } else { "The rows" };
    page.text([MARGIN, title_y], Anchor::Start, Face::bold(16.0), what);
    let after = page.width(Face::bold(16.0), what) + 10.0;
    let none = record.positions.iter().any(|p| tell::lane(record, p) == Some(tell::NO_LANE));
    let how = if none { "key up; – carries no lane" } else { "key up" };
    let quiet = Face::regular(13.0).ink(QUIET);
    page.text([MARGIN + after, title_y], Anchor::Start, quiet, how);
    if !record.face_marks.is_empty() {
        let x = MARGIN + after + page.width(quiet, how) + 30.0;
        page.shape(Outline::Circle { centre: [x, title_y - 4.5], radius: 6.0 }, None, Some(MARK_LINE));
        page.text([x + 13.0, title_y], Anchor::Start, Face::regular(13.0), "mark on the ferrule");
    }
    page.scale_bar([plan.width - MARGIN, title_y - 5.0], 500.0, plan.strip.px_per_um);
    match picture {
        Some(crop) => page.items.push(Item::Picture { at: [rect.x as u32, rect.y as u32], crop }),
        None => page.shape(Outline::Rect(rect, 0.0), Some(BLANK), None),
    }
    face_marks(page, record, plan);
    for position in &record.positions {
        mark(page, position, plan);
        label(page, record, position, plan);
    }
    // Where no fibre is known by its number, nothing tells where the middle of the face is.
    if !tell::unnumbered(record) {
        key(page, plan);
    }
}

/// Marks on the ferrule, circled; those that no circle in the strip goes about have a frame within it.
fn face_marks(page: &mut Page, record: &FaceRecord, plan: &Plan) {
    let rect = plan.strip_rect;
    for mark in &record.face_marks {
        let Some(centre) = mark.centre_um.map(|c| plan.in_strip(c)) else { continue };
        if rect.clamp(centre) != centre {
            continue;
        }
        let size = mark.size_um.unwrap_or(0.0) * plan.strip.px_per_um;
        let radius = (size as f32 / 2.0 + 2.0).max(LEAST_RADIUS);
        page.cased(about(centre, radius, rect), MARK_LINE);
    }
}

/// The line about a mark of that radius.
fn about(centre: [f32; 2], radius: f32, strip: Rect) -> Outline {
    if 2.0 * radius <= strip.height {
        return Outline::Circle { centre, radius };
    }
    let [x, y] = centre;
    let ([left, top], [right, bottom]) =
        (strip.clamp([x - radius, y - radius]), strip.clamp([x + radius, y + radius]));
    Outline::Rect(Rect::new(left, top, right - left, bottom - top), 2.0)
}

/// A frame about a fibre that does not pass, in its verdict's shape.
fn mark(page: &mut Page, position: &PositionRecord, plan: &Plan) {
    let [x, y] = plan.in_strip(place(position));
    let r = (MARK_UM * plan.strip.px_per_um) as f32;
    match position.verdict {
        Verdict::Pass => {}
        Verdict::Fail => {
            let frame = Rect::new(x - r, y - r, 2.0 * r, 2.0 * r);
            page.cased(Outline::Rect(frame, 2.0), Stroke::solid(FAIL, 2.6));
        }
        Verdict::Ungraded => {
            page.cased(Outline::Polygon(diamond([x, y], r * 1.3)), Stroke::dashed(UNGRADED, 2.0, 6.0, 3.0));
        }
    }
}

/// Number, verdict and lane: above the top row, below the bottom row, on the picture for a row between.
fn label(page: &mut Page, record: &FaceRecord, position: &PositionRecord, plan: &Plan) {
    let [x, fibre_y] = plan.in_strip(place(position));
    let rect = plan.strip_rect;
    let last = plan.rows.len() - 1;
    let lane = tell::lane(record, position);
    let y = match plan.rows.iter().position(|row| *row == position.row) {
        Some(0) => rect.y - LABELS / 2.0,
        Some(i) if i == last => rect.bottom() + LABELS / 2.0,
        _ => {
            let y = fibre_y - (105.0 * plan.strip.px_per_um) as f32;
            let width = if lane.is_some() { 84.0 } else { 54.0 };
            page.shape(Outline::Rect(Rect::new(x - 26.0, y - 13.0, width, 26.0), 3.0), Some(CASING), None);
            y
        }
    };
    page.text([x - 3.0, y + 5.5], Anchor::End, Face::bold(16.0), &tell::number(record, position));
    page.badge([x + 14.0, y], 10.0, position.verdict);
    if let Some(lane) = lane {
        let lane = if lane == tell::NO_LANE { "–" } else { lane };
        page.text([x + 29.0, y + 4.5], Anchor::Start, Face::regular(12.5), lane);
    }
}

/// The key's side of the face.
fn key(page: &mut Page, plan: &Plan) {
    let [x, _] = plan.in_strip([0.0, 0.0]);
    let y = plan.strip_rect.y;
    let tab = Rect::new(x - 17.0, y - 15.0, 34.0, 15.0);
    page.shape(Outline::Rect(tab, 2.0), Some(QUIET), None);
    let face = Face::bold(10.0).ink(super::theme::PAPER);
    page.text([x, y - 4.0], Anchor::Middle, face, "KEY");
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lint on the ferrule may be longer than the strip is high; what is below the strip are the fibres' pictures.
    #[test]
    fn a_mark_wider_than_the_strip_is_framed_within_it() {
        let strip = Rect::new(10.0, 100.0, 800.0, 60.0);
        let circle = Outline::Circle { centre: [300.0, 130.0], radius: 30.0 };
        assert_eq!(about([300.0, 130.0], 30.0, strip), circle);
        let frame = Outline::Rect(Rect::new(200.0, 100.0, 200.0, 60.0), 2.0);
        assert_eq!(about([300.0, 140.0], 100.0, strip), frame);
    }
}
