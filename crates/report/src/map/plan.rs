//! Where everything lies on the page, and from it which parts of the face the map shows pictures of.

use super::page::Page;
use super::theme::{ACROSS, FOOTER, GAP, LABELS, MARGIN, TILE, TITLE};
use crate::draw::{GreyCrop, Rect};
use crate::record::{FaceRecord, PositionRecord};
use terms::{Face, Point};

/// Most pixels per micrometre in the strip.
const STRIP_SCALE: f64 = 0.6;
/// Most rows of pixels in the strip, for faces of many rows.
const STRIP_HEIGHT: f64 = 1200.0;
/// Face shown beside the outermost fibres in the strip: half a pitch, um.
const STRIP_BORDER_UM: f64 = 125.0;
/// Face shown about a fibre, in diameters of the cladding.
const TILE_CLADDINGS: f64 = 1.2;
/// Nominal diameter of the cladding, um.
const CLADDING_UM: f64 = 125.0;

/// A part of the face to be shown, key up and not mirrored.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Its middle on the face.
    pub centre: Point<Face>,
    /// Pixels per micrometre.
    pub px_per_um: f64,
    /// Columns.
    pub width_px: u32,
    /// Rows.
    pub height_px: u32,
}

impl Window {
    /// The picture of the window. `grey` is asked for every pixel, row by row, by its place relative to the
    /// window's middle in micrometres of the face frame (x right, y up with the key up); it carries that
    /// vector into the source picture and reads the grey there.
    pub fn sample(&self, mut grey: impl FnMut(f64, f64) -> u8) -> GreyCrop {
        let (half_x, half_y) = (f64::from(self.width_px - 1) / 2.0, f64::from(self.height_px - 1) / 2.0);
        let step = 1.0 / self.px_per_um;
        GreyCrop::from_fn(self.width_px, self.height_px, |column, row| {
            grey((f64::from(column) - half_x) * step, (half_y - f64::from(row)) * step)
        })
    }
}

/// The parts of a face that its map shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Windows {
    /// The row or rows.
    pub strip: Window,
    /// One for every position, in the record's order; about the measured centre, or about the nominal site of
    /// a fibre that was not found.
    pub fibres: Vec<(u16, Window)>,
}

/// The page.
pub struct Plan<'r> {
    pub width: f32,
    pub height: f32,
    /// Height of the head.
    pub header: f32,
    pub strip: Window,
    /// The strip's picture.
    pub strip_rect: Rect,
    /// Baseline region of the tiles' title.
    pub tiles_title_y: f32,
    /// Scale of the tiles.
    pub tile_scale: f64,
    /// Each position with its tile's picture.
    pub tiles: Vec<(&'r PositionRecord, Rect)>,
    pub footer_y: f32,
    pub rows: Vec<u16>,
}

impl<'r> Plan<'r> {
    pub fn new(record: &'r FaceRecord) -> Plan<'r> {
        let mut rows: Vec<u16> = record.positions.iter().map(|p| p.row).collect();
        rows.sort_unstable();
        rows.dedup();
        let longest = rows.iter().map(|row| record.positions.iter().filter(|p| p.row == *row).count()).max();
        let across = across(longest.unwrap_or(1));
        let width = tiles_width(across.max(ACROSS.1)) + 2.0 * MARGIN;
        let strip = strip(record, f64::from(width - 2.0 * MARGIN));
        let header = super::head::height(record, width);
        let strip_top = header + TITLE + LABELS;
        let strip_rect = Rect::new(
            ((width - strip.width_px as f32) / 2.0).round(),
            strip_top,
            strip.width_px as f32,
            strip.height_px as f32,
        );
        let below = if rows.len() > 1 { LABELS } else { 0.0 };
        let tiles_title_y = strip_rect.bottom() + below + 10.0;
        let (tiles, footer_y) = tiles(record, &rows, across, tiles_title_y + TITLE);
        Plan {
            width,
            height: footer_y + FOOTER,
            header,
            strip,
            strip_rect,
            tiles_title_y,
            tile_scale: f64::from(TILE) / tile_side_um(record),
            tiles,
            footer_y,
            rows,
        }
    }

    pub fn windows(&self) -> Windows {
        let window = |p: &PositionRecord| {
            let [x, y] = place(p);
            Window { centre: Point::new(x, y), px_per_um: self.tile_scale, width_px: TILE, height_px: TILE }
        };
        Windows {
            strip: self.strip,
            fibres: self.tiles.iter().map(|(p, _)| (p.position, window(p))).collect(),
        }
    }

    /// Where a point of the face lies in the strip.
    pub fn in_strip(&self, [x, y]: [f64; 2]) -> [f32; 2] {
        let scale = self.strip.px_per_um;
        let (dx, dy) = ((x - self.strip.centre.x) * scale, (self.strip.centre.y - y) * scale);
        let r = self.strip_rect;
        [r.x + r.width / 2.0 + dx as f32, r.y + r.height / 2.0 + dy as f32]
    }
}

/// Where a position lies on the face: as measured, or where the layout has it.
pub fn place(position: &PositionRecord) -> [f64; 2] {
    let [x, y] = position.nominal_um;
    let [dx, dy] = position.offset_um.unwrap_or_default();
    [x + dx, y + dy]
}

/// Tiles side by side for rows of that many: one line of few, two lines of many.
fn across(longest: usize) -> usize {
    if longest <= 6 { longest } else { longest.div_ceil(2).min(ACROSS.0) }
}

fn tiles_width(across: usize) -> f32 {
    across as f32 * (TILE as f32 + GAP) - GAP
}

fn strip(record: &FaceRecord, room_px: f64) -> Window {
    let range = |axis: usize| {
        let values = record.positions.iter().map(|p| p.nominal_um[axis]);
        let low = values.clone().fold(f64::INFINITY, f64::min);
        let high = values.fold(f64::NEG_INFINITY, f64::max);
        if low <= high {
            (low - STRIP_BORDER_UM, high + STRIP_BORDER_UM)
        } else {
            (-STRIP_BORDER_UM, STRIP_BORDER_UM)
        }
    };
    let ((left, right), (low, high)) = (range(0), range(1));
    let px_per_um = (room_px / (right - left)).min(STRIP_HEIGHT / (high - low)).min(STRIP_SCALE);
    Window {
        centre: Point::new((left + right) / 2.0, (low + high) / 2.0),
        px_per_um,
        width_px: ((right - left) * px_per_um).round().max(1.0) as u32,
        height_px: ((high - low) * px_per_um).round().max(1.0) as u32,
    }
}

/// Face shown about a fibre: the cladding, or the outermost zone where that is larger.
fn tile_side_um(record: &FaceRecord) -> f64 {
    let zones = record.criteria.zones.iter().map(|z| z.to_um).fold(0.0, f64::max);
    (TILE_CLADDINGS * CLADDING_UM).max(1.05 * zones)
}

/// Every position's tile, row by row from the top, and where the foot begins.
fn tiles<'r>(
    record: &'r FaceRecord,
    rows: &[u16],
    across: usize,
    top: f32,
) -> (Vec<(&'r PositionRecord, Rect)>, f32) {
    let side = TILE as f32;
    let mut tiles = Vec::with_capacity(record.positions.len());
    let (mut y, mut page) = (top.round(), Page::default());
    for row in rows {
        let positions: Vec<&PositionRecord> = record.positions.iter().filter(|p| p.row == *row).collect();
        for line in positions.chunks(across) {
            for (i, position) in line.iter().enumerate() {
                let x = MARGIN + i as f32 * (side + GAP);
                tiles.push((*position, Rect::new(x, y, side, side)));
            }
            let caption = |p: &&PositionRecord| super::tile::caption_height(&mut page, record, p, side);
            y += side + line.iter().map(caption).fold(0.0, f32::max);
        }
    }
    (tiles, y)
}
