//! Outlines about the marks of a position, drawn into its picture: black within white, so that they show on any ground,
//! and a little outside the mark, so that it stays as it was seen.

use report::map::Window;
use report::record::{FeatureRecord, PositionRecord};
use report::{FaceRecord, marks};
use std::f64::consts::FRAC_PI_4;
use terms::geometry::{convex_hull, point_segment_distance};

/// From a mark's own outline to the line about it, pixels.
const CLEAR: f64 = 4.0;
/// Half the width of the white and of the black line.
const LINES: [(f64, u8); 2] = [(2.0, 255), (0.8, 0)];

/// Draws about the marks that break a limit; where none does, about those that count.
pub fn draw(levels: &mut [u8], window: &Window, face: &FaceRecord, position: &PositionRecord) {
    let breaks = |mark: &&FeatureRecord| position.breaks(mark.id);
    let breaking = position.features.iter().any(|mark| breaks(&mark));
    let told = position
        .features
        .iter()
        .filter(|mark| if breaking { breaks(mark) } else { position.counts(mark.id) });
    let outlines: Vec<Line> = told.map(|mark| about(&marks::outline(face, position, mark), window)).collect();
    for (half, level) in LINES {
        outlines.iter().for_each(|outline| stroke(levels, window, outline, half, level));
    }
}

/// Corners of a closed line, pixels of the window.
type Line = Vec<(f64, f64)>;

/// An outline in the fibre frame, um, as a closed line about it: the hull of corners eight ways off every point runs all
/// about at the wanted distance.
fn about(outline: &[[f64; 2]], window: &Window) -> Line {
    let (x0, y0) = (f64::from(window.width_px) / 2.0, f64::from(window.height_px) / 2.0);
    let ways: Vec<(f64, f64)> = (0..8).map(|k| (f64::from(k) * FRAC_PI_4).sin_cos()).collect();
    let off = |[x, y]: &[f64; 2]| {
        let (x, y) = (x0 + x * window.px_per_um, y0 - y * window.px_per_um);
        ways.iter().map(move |(s, c)| (x + CLEAR * c, y + CLEAR * s))
    };
    convex_hull(&outline.iter().flat_map(off).collect::<Line>())
}

/// Draws a closed line of one level, its edge soft over one pixel.
fn stroke(levels: &mut [u8], window: &Window, line: &Line, half: f64, level: u8) {
    let (width, height) = (window.width_px as usize, window.height_px as usize);
    let reach = half + 1.0;
    let pixels = |a: f64, b: f64, size: usize| {
        let low = (a.min(b) - reach).floor().clamp(0.0, size as f64) as usize;
        let high = (a.max(b) + reach).ceil().clamp(0.0, size as f64) as usize;
        low..high
    };
    for (a, b) in line.iter().zip(line.iter().cycle().skip(1)) {
        for row in pixels(a.1, b.1, height) {
            for column in pixels(a.0, b.0, width) {
                let away = point_segment_distance((column as f64 + 0.5, row as f64 + 0.5), *a, *b);
                let share = (half + 0.5 - away).clamp(0.0, 1.0);
                if let Some(pixel) = levels.get_mut(row * width + column) {
                    let mixed = f64::from(*pixel) + share * (f64::from(level) - f64::from(*pixel));
                    *pixel = mixed.round() as u8;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::Point;

    /// A mark of 20 by 10 um in the middle: a closed line about it, nothing changed on it nor far from it.
    #[test]
    fn a_line_runs_about_the_mark_and_leaves_it_as_it_was() {
        let window = Window { centre: Point::new(0.0, 0.0), px_per_um: 2.0, width_px: 101, height_px: 81 };
        let outline = about(&[[-10.0, -5.0], [10.0, -5.0], [10.0, 5.0], [-10.0, 5.0]], &window);
        let mut levels = vec![128; 101 * 81];
        for (half, level) in LINES {
            stroke(&mut levels, &window, &outline, half, level);
        }
        let at = |column: usize, row: usize| levels[row * 101 + column];
        for (column, row) in [(50, 40), (31, 31), (69, 49), (2, 2), (98, 78)] {
            assert_eq!(at(column, row), 128, "{column} {row}");
        }
        for way in [-1.0f64, 1.0] {
            let (x, y) = (50.5 + way * (20.0 + CLEAR), 40.5 + way * (10.0 + CLEAR));
            assert!(at(x as usize, 40) < 40 && at(50, y as usize) < 40);
            assert!(at((x + 2.0 * way) as usize, 40) > 190);
        }
    }

    /// A record read from a file may state any outline.
    #[test]
    fn outlines_without_sense_draw_nothing_and_do_no_harm() {
        let window = Window { centre: Point::new(0.0, 0.0), px_per_um: 2.0, width_px: 20, height_px: 20 };
        let wild = [[f64::NAN, 0.0], [f64::INFINITY, 1.0], [1e300, -1e300], [0.0, f64::NEG_INFINITY]];
        for outline in [vec![], wild.to_vec(), vec![[0.0, 0.0]]] {
            let mut levels = vec![128; 400];
            for (half, level) in LINES {
                stroke(&mut levels, &window, &about(&outline, &window), half, level);
            }
            assert_eq!(levels.len(), 400);
        }
    }
}
