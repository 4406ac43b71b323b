//! Features on a tile: outlines, and labels in the corners, which the fibre leaves free.

use super::page::{Face, Page};
use super::theme::{Standing, TEXT};
use super::tile::Tile;
use crate::draw::{Anchor, Outline, Stroke};
use crate::record::{FeatureRecord, PoseRecord, PositionRecord};
use crate::tell;

/// Labels in one corner.
const PER_CORNER: usize = 2;
/// Between a label and the border.
const INSET: f32 = 4.0;
/// Between the middles of two labels.
const LINE: f32 = 17.0;
/// Between a mark's traced outline and the line about it.
const CLEAR: f32 = 2.5;
/// More outlines than this would hide the fibre: they are drawn thinner by this factor and without a casing.
const CROWD: usize = 24;
const THIN: f32 = 0.35;
const FACE: Face = Face::regular(11.5);

struct Mark<'r> {
    feature: &'r FeatureRecord,
    standing: Standing,
    /// On the page.
    centre: [f32; 2],
    outline: Vec<[f32; 2]>,
}

pub fn paint(page: &mut Page, tile: &Tile) {
    let mut marks = marks(tile);
    // The gravest are painted last, so that they lie on top, and labelled first.
    marks.sort_by(|a, b| b.standing.cmp(&a.standing).then(size(a).total_cmp(&size(b))));
    let crowded = marks.len() > CROWD;
    for mark in marks.iter().filter(|mark| mark.outline.len() > 2) {
        let (outline, stroke) = (Outline::Polygon(mark.outline.clone()), mark.standing.stroke());
        match crowded {
            true => page.shape(outline, None, Some(Stroke { width: THIN * stroke.width, ..stroke })),
            false => page.cased(outline, stroke),
        }
    }
    for aside in tell::left_out(tile.record, tile.position.position) {
        let traced: Vec<[f32; 2]> = aside.outline_um.iter().map(|p| tile.at(*p)).collect();
        let line: Vec<[f32; 2]> = widened(&traced, CLEAR).into_iter().map(|p| tile.rect.clamp(p)).collect();
        if line.len() > 2 {
            page.cased(Outline::Polygon(line), Standing::NotCounted.stroke());
        }
    }
    marks.reverse();
    labels(page, tile, &marks);
}

fn size(mark: &Mark) -> f64 {
    mark.feature.size_um.unwrap_or(0.0)
}

fn marks<'r>(tile: &Tile<'r>) -> Vec<Mark<'r>> {
    let position = tile.position;
    let pose = position.source.and_then(|source| tile.record.poses.get(source));
    let mark = |feature: &'r FeatureRecord| {
        Some(Mark {
            feature,
            standing: standing(position, feature),
            centre: tile.rect.clamp(tile.at(feature.centre_um?)),
            outline: pose.map_or_else(Vec::new, |pose| outline(tile, feature, pose)),
        })
    };
    position.features.iter().filter_map(mark).collect()
}

fn standing(position: &PositionRecord, feature: &FeatureRecord) -> Standing {
    match (position.breaks(feature.id), position.counts(feature.id)) {
        (true, _) => Standing::Breaks,
        (false, true) => Standing::Counted,
        (false, false) => Standing::NotCounted,
    }
}

/// The feature's outline carried from the source picture back to the face and on to the page.
fn outline(tile: &Tile, feature: &FeatureRecord, pose: &PoseRecord) -> Vec<[f32; 2]> {
    let Some(centre_px) = tile.position.centre_px else { return Vec::new() };
    let places = pose.to_fibre(&feature.outline_px, centre_px);
    let traced: Vec<[f32; 2]> = places.iter().map(|p| tile.at([p.x, p.y])).collect();
    widened(&traced, CLEAR).into_iter().map(|point| tile.rect.clamp(point)).collect()
}

/// The polygon with each corner moved outward by so much, so that a line along it leaves the mark itself free.
fn widened(polygon: &[[f32; 2]], by: f32) -> Vec<[f32; 2]> {
    let n = polygon.len();
    let around = |i: usize| (polygon[(i + n - 1) % n], polygon[(i + 1) % n]);
    let doubled_area: f32 =
        (0..n).map(|i| (polygon[i], around(i).1)).map(|(p, q)| p[0] * q[1] - q[0] * p[1]).sum();
    let moved = |i: usize| {
        let (before, after) = around(i);
        let (x, y) = (after[0] - before[0], after[1] - before[1]);
        let step = by * doubled_area.signum() / x.hypot(y);
        let [px, py] = polygon[i];
        if step.is_finite() { [px + y * step, py - x * step] } else { [px, py] }
    };
    (0..n).map(moved).collect()
}

/// Each mark's label goes to the nearest corner with room; a mark for which there is none goes without. Within
/// a corner the labels stand from the border inward in the order of the marks' heights, so that their leaders
/// seldom cross.
fn placed<'m>(tile: &Tile, marks: &'m [Mark<'m>]) -> [Vec<&'m Mark<'m>>; 4] {
    let corners = corners(tile);
    let mut placed: [Vec<&Mark>; 4] = Default::default();
    for mark in marks {
        let distance = |corner: usize| {
            let [x, y] = corners[corner];
            (mark.centre[0] - x).hypot(mark.centre[1] - y)
        };
        let free = (0..4).filter(|corner| placed[*corner].len() < PER_CORNER);
        let Some(corner) = free.min_by(|a, b| distance(*a).total_cmp(&distance(*b))) else { break };
        placed[corner].push(mark);
    }
    for (corner, marks) in placed.iter_mut().enumerate() {
        marks.sort_by(|a, b| a.centre[1].total_cmp(&b.centre[1]));
        if is_lower(corner) {
            marks.reverse();
        }
    }
    placed
}

/// Upper left, upper right, lower left, lower right.
fn corners(tile: &Tile) -> [[f32; 2]; 4] {
    let r = tile.rect;
    [[r.x, r.y], [r.right(), r.y], [r.x, r.bottom()], [r.right(), r.bottom()]]
}

const fn is_right(corner: usize) -> bool {
    corner % 2 == 1
}

const fn is_lower(corner: usize) -> bool {
    corner > 1
}

/// A label ready to be painted.
struct Label<'m> {
    mark: &'m Mark<'m>,
    at: [f32; 2],
    anchor: Anchor,
    face: Face,
    words: String,
}

fn labels(page: &mut Page, tile: &Tile, marks: &[Mark]) {
    let corners = corners(tile);
    let mut labels = Vec::new();
    for (corner, marks) in placed(tile, marks).into_iter().enumerate() {
        for (line, mark) in marks.into_iter().enumerate() {
            let [x, y] = corners[corner];
            let inward = INSET + LINE / 2.0 + line as f32 * LINE;
            labels.push(Label {
                mark,
                at: [
                    if is_right(corner) { x - INSET } else { x + INSET },
                    if is_lower(corner) { y - inward } else { y + inward },
                ],
                anchor: if is_right(corner) { Anchor::End } else { Anchor::Start },
                face: if mark.standing == Standing::Breaks { Face::bold(FACE.size) } else { FACE },
                words: words(mark.feature),
            });
        }
    }
    // Leaders first: none may run over a label.
    for label in &labels {
        let plate = page.plate_rect(label.at, label.anchor, label.face, &label.words);
        let inner = if label.anchor == Anchor::End { plate.x } else { plate.right() };
        leader(page, [inner, label.at[1]], label.mark);
    }
    for label in labels {
        page.plate(label.at, label.anchor, label.face, &label.words);
    }
}

/// "12 particle 8.3 um", with the uncertainty where it matters.
fn words(feature: &FeatureRecord) -> String {
    let size = match (feature.size_um, feature.u_um) {
        (Some(size), Some(u)) if feature.near_limit => format!("{size:.2} ± {u:.2}"),
        (Some(size), _) => format!("{size:.1}"),
        (None, _) => "?".to_owned(),
    };
    format!("{} {} {size} um", feature.id, feature.kind.word())
}

/// A thin line from a label to the nearest point of its mark.
fn leader(page: &mut Page, from: [f32; 2], mark: &Mark) {
    let distance = |p: &[f32; 2]| (p[0] - from[0]).hypot(p[1] - from[1]);
    let nearest = mark.outline.iter().min_by(|a, b| distance(a).total_cmp(&distance(b)));
    let to = *nearest.unwrap_or(&mark.centre);
    page.cased(Outline::Lines(vec![[from, to]]), Stroke::solid(TEXT, 0.8));
}
