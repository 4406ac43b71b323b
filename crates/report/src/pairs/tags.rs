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

/// Between a tag and the border.
const INSET: f32 = 4.0;
/// How much farther off a tag goes where there is no room beside its mark.
const FARTHER: f32 = 11.0;

/// A mark's line as it was painted: the rectangle about it, and points close along it.
struct Painted {
    about: Rect,
    along: Vec<[f32; 2]>,
}

pub fn marks(page: &mut Page, side: &CardSide, rect: Rect) {
    let painted: Vec<Painted> = side.marks.iter().map(|mark| line(page, mark, rect)).collect();
    let mut taken: Vec<Rect> = Vec::new();
    // The most important are painted last, and tagged first.
    for (mark, at) in side.marks.iter().zip(&painted).rev().filter(|(mark, _)| !mark.tag.is_empty()) {
        if let Some(at) = free(page, mark, at.about, rect, &taken, &painted) {
            taken.push(at);
            let middle = [at.x + at.width / 2.0, at.y + at.height / 2.0];
            page.plate(middle, Anchor::Middle, FACE, &mark.tag);
        }
    }
}

/// Paints a mark's line.
fn line(page: &mut Page, mark: &CardMark, rect: Rect) -> Painted {
    let points: Vec<[f32; 2]> = mark.outline.iter().map(|p| place(rect, *p)).collect();
    let range = |axis: usize| {
        let low = points.iter().map(|p| p[axis]).fold(f32::INFINITY, f32::min);
        let high = points.iter().map(|p| p[axis]).fold(f32::NEG_INFINITY, f32::max);
        (low, high)
    };
    let ((left, right), (top, bottom)) = (range(0), range(1));
    if !(left <= right && top <= bottom) {
        return Painted { about: rect, along: Vec::new() };
    }
    let (width, height) = (right - left, bottom - top);
    if width.max(height) < 2.0 * LEAST {
        let centre = [left + width / 2.0, top + height / 2.0];
        let radius = LEAST + 1.0;
        page.cased(Outline::Circle { centre, radius }, mark.look.stroke);
        let about = Rect::new(centre[0] - radius, centre[1] - radius, 2.0 * radius, 2.0 * radius);
        return Painted { about, along: vec![centre] };
    }
    let inside: Vec<[f32; 2]> = points.iter().map(|p| rect.clamp(*p)).collect();
    let along = along(&inside);
    page.cased(Outline::Polygon(inside), mark.look.stroke);
    let ([x, y], [right, bottom]) = (rect.clamp([left, top]), rect.clamp([right, bottom]));
    Painted { about: Rect::new(x, y, right - x, bottom - y), along }
}

/// Points along a closed line, no farther apart than a tag is high.
fn along(corners: &[[f32; 2]]) -> Vec<[f32; 2]> {
    let next = corners.iter().cycle().skip(1);
    let between = |([px, py], [qx, qy]): (&[f32; 2], &[f32; 2])| {
        let (dx, dy) = (qx - px, qy - py);
        let steps = (dx.hypot(dy) / 5.0).ceil().max(1.0);
        let (px, py) = (*px, *py);
        (0..steps as u32).map(move |i| [px + dx * i as f32 / steps, py + dy * i as f32 / steps])
    };
    corners.iter().zip(next).flat_map(between).collect()
}

/// The place about a mark where its tag fits into the picture and upon no other: the first that covers no line, or the
/// one that covers least.
fn free(
    page: &mut Page,
    mark: &CardMark,
    about: Rect,
    rect: Rect,
    taken: &[Rect],
    painted: &[Painted],
) -> Option<Rect> {
    let plate = page.plate_rect([0.0, 0.0], Anchor::Middle, FACE, &mark.tag);
    let (w, h) = (plate.width, plate.height);
    let (cx, cy) = (about.x + about.width / 2.0 - w / 2.0, about.y + about.height / 2.0 - h / 2.0);
    let places = [CLEAR, CLEAR + FARTHER].into_iter().flat_map(|off| {
        let (above, below) = (about.y - h - off, about.bottom() + off);
        let (left, right) = (about.x - w - off, about.right() + off);
        [
            [cx, above],
            [cx, below],
            [right, cy],
            [left, cy],
            [right, above],
            [left, above],
            [right, below],
            [left, below],
        ]
    });
    let fits = |r: &Rect| {
        let room =
            Rect::new(rect.x + INSET, rect.y + INSET, rect.width - 2.0 * INSET, rect.height - 2.0 * INSET);
        r.x >= room.x && r.y >= room.y && r.right() <= room.right() && r.bottom() <= room.bottom()
    };
    let apart =
        |a: &Rect, b: &Rect| a.right() <= b.x || b.right() <= a.x || a.bottom() <= b.y || b.bottom() <= a.y;
    let covered = |r: &Rect| {
        let inside = |p: &&[f32; 2]| p[0] > r.x && p[0] < r.right() && p[1] > r.y && p[1] < r.bottom();
        painted.iter().flat_map(|p| &p.along).filter(inside).count()
    };
    places
        .map(|[x, y]| Rect::new(x, y, w, h))
        .filter(|r| fits(r) && taken.iter().all(|t| apart(r, t)))
        .min_by_key(covered)
}
