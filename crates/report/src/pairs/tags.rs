//! Marks on a fibre's picture: their outlines, and a tag for each, beside it or where there is room, with a line to it.

use super::card::place;
use super::{CardMark, CardSide};
use crate::draw::{Anchor, Outline, Rect, Stroke};
use crate::map::page::{Face, Page};
use crate::map::theme::TEXT;

const FACE: Face = Face::bold(10.5);
/// Between a mark and its tag.
const CLEAR: f32 = 3.0;
/// Least half side of what is drawn about a mark: a smaller line would hide it.
const LEAST: f32 = 4.0;

/// Between a tag and the border.
const INSET: f32 = 4.0;
/// How much farther off a tag goes at each step where there is no room beside its mark, and how often.
const FARTHER: f32 = 9.0;
const STEPS: usize = 10;
/// Step of the last search for a place, through the whole picture.
const GRID: f32 = 4.0;
/// A tag this close to its mark needs no line to it; the circle about a small mark lies between.
const NEAR: f32 = 9.0;
/// A mark longer than this has tags about several places along it.
const LONG: f32 = 40.0;

/// A mark's line as it was painted: points close along it, and the places that a tag may stand about.
struct Painted {
    along: Vec<[f32; 2]>,
    ends: Vec<Rect>,
}

/// Where a tag stands, and the line to its mark.
struct Tag {
    plate: Rect,
    leader: Option<[[f32; 2]; 2]>,
}

pub fn marks(page: &mut Page, side: &CardSide, rect: Rect) {
    let painted: Vec<Painted> = side.marks.iter().map(|mark| line(page, mark, rect)).collect();
    let covered: Vec<[f32; 2]> = painted.iter().flat_map(|p| &p.along).copied().collect();
    let mut tags: Vec<Tag> = Vec::new();
    let mut words: Vec<&str> = Vec::new();
    // The most important are painted last, and tagged first.
    for (mark, at) in side.marks.iter().zip(&painted).rev().filter(|(mark, _)| !mark.tag.is_empty()) {
        if let Some(tag) = free(page, mark, at, rect, &tags, &covered) {
            tags.push(tag);
            words.push(&mark.tag);
        }
    }
    let leaders: Vec<[[f32; 2]; 2]> = tags.iter().filter_map(|tag| tag.leader).collect();
    if !leaders.is_empty() {
        page.cased(Outline::Lines(leaders), Stroke::solid(TEXT, 0.8));
    }
    for (tag, words) in tags.iter().zip(words) {
        let middle = [tag.plate.x + tag.plate.width / 2.0, tag.plate.y + tag.plate.height / 2.0];
        page.plate(middle, Anchor::Middle, FACE, words);
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
        return Painted { along: Vec::new(), ends: Vec::new() };
    }
    let (width, height) = (right - left, bottom - top);
    if width.max(height) < 2.0 * LEAST {
        let centre = [left + width / 2.0, top + height / 2.0];
        let radius = LEAST + 1.0;
        page.look(Outline::Circle { centre, radius }, mark.look);
        let about = Rect::new(centre[0] - radius, centre[1] - radius, 2.0 * radius, 2.0 * radius);
        return Painted { along: vec![centre], ends: vec![about] };
    }
    let inside: Vec<[f32; 2]> = points.iter().map(|p| rect.clamp(*p)).collect();
    let along = along(&inside);
    page.look(Outline::Polygon(inside), mark.look);
    let ([x, y], [right, bottom]) = (rect.clamp([left, top]), rect.clamp([right, bottom]));
    let mut ends = vec![Rect::new(x, y, right - x, bottom - y)];
    if width.max(height) > LONG {
        let every = along.len().div_ceil(8).max(1);
        ends.extend(along.iter().step_by(every).map(|[x, y]| Rect::new(*x, *y, 0.0, 0.0)));
    }
    Painted { along, ends }
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

/// The place for a mark's tag that fits into the picture, lies upon no other and is reached by a line that crosses none:
/// the nearest that covers no mark, or the one that covers least.
fn free(
    page: &mut Page,
    mark: &CardMark,
    at: &Painted,
    rect: Rect,
    taken: &[Tag],
    covered: &[[f32; 2]],
) -> Option<Tag> {
    let plate = page.plate_rect([0.0, 0.0], Anchor::Middle, FACE, &mark.tag);
    let room = Rect::new(rect.x + INSET, rect.y + INSET, rect.width - 2.0 * INSET, rect.height - 2.0 * INSET);
    let fits = |r: &Rect| {
        room.clamp([r.x, r.y]) == [r.x, r.y] && room.clamp([r.right(), r.bottom()]) == [r.right(), r.bottom()]
    };
    let covers = |r: &Rect| covered.iter().filter(|p| holds(r, **p)).count();
    let mut best: Option<(f32, Tag)> = None;
    for step in 0..STEPS {
        let off = CLEAR + step as f32 * FARTHER;
        for about in &at.ends {
            for [x, y] in around(*about, [plate.width, plate.height], off) {
                let plate = Rect::new(x, y, plate.width, plate.height);
                if !fits(&plate) || taken.iter().any(|tag| !apart(&tag.plate, &plate)) {
                    continue;
                }
                let tag = Tag { plate, leader: leader(&plate, at) };
                let cost = covers(&plate) as f32 + off / FARTHER;
                if best.as_ref().is_none_or(|(least, _)| cost < *least) && !crosses(&tag, taken) {
                    best = Some((cost, tag));
                }
            }
        }
        // What is farther off is no better.
        if best.as_ref().is_some_and(|(cost, _)| *cost <= (off + FARTHER) / FARTHER) {
            break;
        }
    }
    best.map(|(_, tag)| tag).or_else(|| anywhere([plate.width, plate.height], at, room, taken))
}

/// The place in the whole picture that is nearest to a mark and free of tags, rather one whose line crosses no other.
fn anywhere([w, h]: [f32; 2], at: &Painted, room: Rect, taken: &[Tag]) -> Option<Tag> {
    let steps = |room: f32, size: f32| (0..=((room - size).max(0.0) / GRID) as u32).map(|k| k as f32 * GRID);
    let places =
        steps(room.height, h).flat_map(|y| steps(room.width, w).map(move |x| [room.x + x, room.y + y]));
    let tag = |[x, y]: [f32; 2]| {
        let plate = Rect::new(x, y, w, h);
        taken.iter().all(|tag| apart(&tag.plate, &plate)).then(|| Tag { plate, leader: leader(&plate, at) })
    };
    let length = |tag: &Tag| tag.leader.map_or(0.0, |[a, b]| (a[0] - b[0]).hypot(a[1] - b[1]));
    let free = places.filter_map(tag).map(|tag| (crosses(&tag, taken), length(&tag), tag));
    free.min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))).map(|(.., tag)| tag)
}

/// Upper left corners of a tag that far off a rectangle, eight ways.
fn around(about: Rect, [w, h]: [f32; 2], off: f32) -> [[f32; 2]; 8] {
    let (cx, cy) = (about.x + about.width / 2.0 - w / 2.0, about.y + about.height / 2.0 - h / 2.0);
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
}

/// The line from a tag to the nearest point of its mark; none where it stands close by.
fn leader(plate: &Rect, at: &Painted) -> Option<[[f32; 2]; 2]> {
    let gap = |p: &[f32; 2]| {
        let [x, y] = plate.clamp(*p);
        (p[0] - x).hypot(p[1] - y)
    };
    let nearest = at.along.iter().min_by(|a, b| gap(a).total_cmp(&gap(b)))?;
    (gap(nearest) > NEAR).then(|| [plate.clamp(*nearest), *nearest])
}

/// Whether a tag's line runs over another tag, or it lies on the line of another.
fn crosses(tag: &Tag, taken: &[Tag]) -> bool {
    let over = |line: Option<[[f32; 2]; 2]>, plate: &Rect| {
        line.is_some_and(|[a, b]| along(&[a, b]).into_iter().any(|p| holds(plate, p)))
    };
    taken.iter().any(|other| over(tag.leader, &other.plate) || over(other.leader, &tag.plate))
}

fn holds(r: &Rect, p: [f32; 2]) -> bool {
    p[0] > r.x && p[0] < r.right() && p[1] > r.y && p[1] < r.bottom()
}

fn apart(a: &Rect, b: &Rect) -> bool {
    a.right() <= b.x || b.right() <= a.x || a.bottom() <= b.y || b.bottom() <= a.y
}
