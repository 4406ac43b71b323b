//! Marks on a fibre's picture: their outlines, and beside each a tag where there is room for one.

use super::card::place;
use super::{CardMark, CardSide};
use crate::draw::{Anchor, Outline, Rect};
use crate::map::page::{Face, Page};

const FACE: Face = Face::bold(10.5);
/// Between a mark and its tag.
const CLEAR: f32 = 3.0;
/// Least half side of what is drawn about a mark: a smaller line would hide it.
const LEAST: f32 = 4.0;

pub fn marks(page: &mut Page, side: &CardSide, rect: Rect) {
    let bounds: Vec<Rect> = side.marks.iter().map(|mark| line(page, mark, rect)).collect();
    let mut taken: Vec<Rect> = Vec::new();
    // The most important are painted last, and tagged first.
    for (mark, bounds) in side.marks.iter().zip(&bounds).rev().filter(|(mark, _)| !mark.tag.is_empty()) {
        if let Some(at) = free(page, mark, *bounds, rect, &taken) {
            taken.push(at);
            let middle = [at.x + at.width / 2.0, at.y + at.height / 2.0];
            page.plate(middle, Anchor::Middle, FACE, &mark.tag);
        }
    }
}

/// Paints a mark's line and gives the rectangle about it.
fn line(page: &mut Page, mark: &CardMark, rect: Rect) -> Rect {
    let points: Vec<[f32; 2]> = mark.outline.iter().map(|p| place(rect, *p)).collect();
    let range = |axis: usize| {
        let low = points.iter().map(|p| p[axis]).fold(f32::INFINITY, f32::min);
        let high = points.iter().map(|p| p[axis]).fold(f32::NEG_INFINITY, f32::max);
        (low, high)
    };
    let ((left, right), (top, bottom)) = (range(0), range(1));
    if !(left <= right && top <= bottom) {
        return rect;
    }
    let (width, height) = (right - left, bottom - top);
    if width.max(height) < 2.0 * LEAST {
        let centre = [left + width / 2.0, top + height / 2.0];
        let radius = LEAST + 1.0;
        page.cased(Outline::Circle { centre, radius }, mark.look.stroke);
        return Rect::new(centre[0] - radius, centre[1] - radius, 2.0 * radius, 2.0 * radius);
    }
    let inside = points.iter().map(|p| rect.clamp(*p)).collect();
    page.cased(Outline::Polygon(inside), mark.look.stroke);
    let ([x, y], [right, bottom]) = (rect.clamp([left, top]), rect.clamp([right, bottom]));
    Rect::new(x, y, right - x, bottom - y)
}

/// The first place about a mark where its tag fits into the picture and upon no other.
fn free(page: &mut Page, mark: &CardMark, about: Rect, rect: Rect, taken: &[Rect]) -> Option<Rect> {
    let plate = page.plate_rect([0.0, 0.0], Anchor::Middle, FACE, &mark.tag);
    let (w, h) = (plate.width, plate.height);
    let (cx, cy) = (about.x + about.width / 2.0, about.y + about.height / 2.0);
    let places = [
        [cx - w / 2.0, about.y - h - CLEAR],
        [cx - w / 2.0, about.bottom() + CLEAR],
        [about.right() + CLEAR, cy - h / 2.0],
        [about.x - w - CLEAR, cy - h / 2.0],
    ];
    let fits =
        |r: &Rect| r.x >= rect.x && r.y >= rect.y && r.right() <= rect.right() && r.bottom() <= rect.bottom();
    let apart =
        |a: &Rect, b: &Rect| a.right() <= b.x || b.right() <= a.x || a.bottom() <= b.y || b.bottom() <= a.y;
    places
        .into_iter()
        .map(|[x, y]| Rect::new(x, y, w, h))
        .find(|r| fits(r) && taken.iter().all(|t| apart(r, t)))
}
