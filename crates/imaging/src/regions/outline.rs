//! Outer boundaries of regions. A walk along the pixel sides between a region and what is around it; each
//! side gives a corner of the pixel outline or, by interpolation across it, a point of the level line.

use super::{Connectivity, Region};
use crate::plane::Plane;

/// The outer boundary along pixel edges: a closed polygon of corners at half-integer places (pixel centres
/// are whole numbers), turning from x towards y, the region on the inner side; holes are filled. Begins at
/// the top left corner of the first pixel.
pub fn pixel_outline(region: &Region) -> Vec<(f64, f64)> {
    let mut corners = Vec::new();
    let mut last = None;
    walk(region, |side| {
        if last != Some(side.heading) {
            let (x, y) = side.start();
            corners.push((x as f64 - 0.5, y as f64 - 0.5));
        }
        last = Some(side.heading);
    });
    corners
}

/// The outer boundary of a region below the pixel: where the plane, taken as linear between neighbouring
/// pixel centres, passes `level` (marching squares: Lorensen and Cline 1987, "Marching cubes", in two
/// dimensions). A closed polygon in the plane's pixel frame, turning from x towards y; holes are filled.
///
/// The region is a connected region of the pixels above (or of those below) `level`; where four pixels meet
/// crosswise, its own connectivity decides. At the border of the plane the line runs half a pixel outside the
/// outermost pixels. Between two pixels that are both on one side of `level`, because the region was cut
/// otherwise, the point is put as near to the level as the two allow.
pub fn iso_contour(plane: &Plane<f32>, level: f32, region: &Region) -> Vec<(f64, f64)> {
    let level = f64::from(level);
    let mut line = Vec::new();
    walk(region, |side| {
        let (dx, dy) = side.heading.outward();
        let inner = f64::from(plane.at(side.x as usize, side.y as usize));
        let share = plane.get(side.x + dx, side.y + dy).map_or(0.5, |outer| {
            let step = f64::from(outer) - inner;
            if step == 0.0 { 0.5 } else { ((level - inner) / step).clamp(0.0, 1.0) }
        });
        line.push((side.x as f64 + share * dx as f64, side.y as f64 + share * dy as f64));
    });
    line
}

/// Direction of a walk with the region on the right hand (y runs down).
#[derive(Clone, Copy, PartialEq, Eq)]
enum Heading {
    Right,
    Down,
    Left,
    Up,
}

impl Heading {
    /// One pixel ahead.
    const fn ahead(self) -> (isize, isize) {
        match self {
            Heading::Right => (1, 0),
            Heading::Down => (0, 1),
            Heading::Left => (-1, 0),
            Heading::Up => (0, -1),
        }
    }

    /// One pixel away from the region.
    const fn outward(self) -> (isize, isize) {
        self.left().ahead()
    }

    const fn left(self) -> Heading {
        match self {
            Heading::Right => Heading::Up,
            Heading::Down => Heading::Right,
            Heading::Left => Heading::Down,
            Heading::Up => Heading::Left,
        }
    }

    const fn right(self) -> Heading {
        match self {
            Heading::Right => Heading::Down,
            Heading::Down => Heading::Left,
            Heading::Left => Heading::Up,
            Heading::Up => Heading::Right,
        }
    }
}

/// A side of pixel (x, y) of the region, walked in `heading`.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Side {
    x: isize,
    y: isize,
    heading: Heading,
}

impl Side {
    /// The corner at which the side begins, in units of pixels from the pixel's own top left corner.
    const fn start(self) -> (isize, isize) {
        match self.heading {
            Heading::Right => (self.x, self.y),
            Heading::Down => (self.x + 1, self.y),
            Heading::Left => (self.x + 1, self.y + 1),
            Heading::Up => (self.x, self.y + 1),
        }
    }

    /// The next side of the boundary. Crosswise, a region joined by corners goes on to the far pixel, one
    /// joined by sides stays with its own.
    fn next(self, inside: &Bitmap, connectivity: Connectivity) -> Side {
        let ((ax, ay), (ox, oy)) = (self.heading.ahead(), self.heading.outward());
        let ahead = (self.x + ax, self.y + ay);
        let across = (ahead.0 + ox, ahead.1 + oy);
        let (ahead_in, across_in) = (inside.at(ahead), inside.at(across));
        if across_in && (ahead_in || connectivity == Connectivity::Eight) {
            Side { x: across.0, y: across.1, heading: self.heading.left() }
        } else if ahead_in {
            Side { x: ahead.0, y: ahead.1, heading: self.heading }
        } else {
            Side { heading: self.heading.right(), ..self }
        }
    }
}

/// Visits the sides of the outer boundary in order, from the top of the region's first pixel on.
fn walk(region: &Region, mut visit: impl FnMut(Side)) {
    let inside = Bitmap::new(region);
    let first = region.runs()[0];
    let start = Side { x: first.x0 as isize, y: first.y as isize, heading: Heading::Right };
    let mut side = start;
    loop {
        visit(side);
        side = side.next(&inside, region.connectivity);
        if side == start {
            return;
        }
    }
}

/// The region's pixels within its bounds, for quick look-up.
struct Bitmap {
    plane: Plane<bool>,
    x0: isize,
    y0: isize,
}

impl Bitmap {
    fn new(region: &Region) -> Bitmap {
        let b = region.bounds();
        let mut plane = Plane::filled(b.x1 - b.x0, b.y1 - b.y0, false);
        for run in region.runs() {
            let row = plane.row_mut(run.y as usize - b.y0);
            row[run.x0 as usize - b.x0..run.x1 as usize - b.x0].fill(true);
        }
        Bitmap { plane, x0: b.x0 as isize, y0: b.y0 as isize }
    }

    fn at(&self, (x, y): (isize, isize)) -> bool {
        self.plane.get(x - self.x0, y - self.y0).unwrap_or(false)
    }
}

#[cfg(test)]
mod tests {
    use super::super::regions;
    use super::*;
    use terms::geometry::{largest_extent, point_in_polygon, polygon_area};

    fn drawn(rows: &[&str]) -> Plane<f32> {
        let data = rows.iter().flat_map(|r| r.bytes()).map(|b| if b == b'#' { 1.0 } else { 0.0 }).collect();
        Plane::from_vec(rows[0].len(), rows.len(), data).unwrap()
    }

    fn only(plane: &Plane<f32>, connectivity: Connectivity) -> Region {
        let mut found = regions(plane, connectivity, |v| v > 0.5);
        assert_eq!(found.len(), 1);
        found.remove(0)
    }

    #[test]
    fn a_pixel_outline_holds_its_pixels_and_fills_its_holes() {
        let plane = drawn(&["####.", "#..#.", "##.##", "####."]);
        let outline = pixel_outline(&only(&plane, Connectivity::Four));
        assert_eq!(polygon_area(&outline), 17.0);
        assert_eq!(outline[..3], [(-0.5, -0.5), (3.5, -0.5), (3.5, 1.5)]);
        assert!(point_in_polygon((1.0, 1.0), &outline) && !point_in_polygon((4.0, 1.0), &outline));
        assert_eq!(pixel_outline(&only(&drawn(&["#"]), Connectivity::Eight)).len(), 4);
    }

    #[test]
    fn crosswise_pixels_are_walked_as_they_were_joined() {
        let crosswise = drawn(&["##...", "##...", "..##.", "..##."]);
        let outline = pixel_outline(&only(&crosswise, Connectivity::Eight));
        assert_eq!(polygon_area(&outline), 8.0);
        let ring = drawn(&["###", "#.#", "##.", ".##"]);
        // Joined by sides the walk stays outside of the slit between the corners, joined by corners as well.
        let by_sides = pixel_outline(&regions(&ring, Connectivity::Four, |v| v > 0.5)[0]);
        let by_corners = pixel_outline(&only(&ring, Connectivity::Eight));
        assert_eq!((polygon_area(&by_sides), polygon_area(&by_corners)), (9.0, 10.0));
    }

    /// A level line of a cone is a circle, and linear interpolation finds it to second order.
    #[test]
    fn the_level_line_of_a_cone_is_its_circle() {
        let (cx, cy) = (30.3_f64, 28.8_f64);
        let plane = Plane::from_fn(64, 60, |x, y| 40.0 - (x as f64 - cx).hypot(y as f64 - cy) as f32);
        let region = regions(&plane, Connectivity::Eight, |v| v > 20.0).remove(0);
        let line = iso_contour(&plane, 20.0, &region);
        let worst = line.iter().map(|p| ((p.0 - cx).hypot(p.1 - cy) - 20.0).abs()).fold(0.0, f64::max);
        assert!(worst < 0.01, "{worst}");
        assert!((largest_extent(&line) - 40.0).abs() < 0.02);
        // The same line bounds the dark side of the picture turned over.
        let below = plane.map(|v| -v);
        assert_eq!(line, iso_contour(&below, -20.0, &region));
    }

    #[test]
    fn a_level_line_closes_at_the_border_and_between_equals() {
        let plane = Plane::filled(3, 2, 1.0_f32);
        let line = iso_contour(&plane, 0.5, &only(&plane, Connectivity::Eight));
        assert_eq!(line.len(), 10);
        assert_eq!((line[0], line[3]), ((0.0, -0.5), (2.5, 0.0)));
        let part = regions(&Plane::from_fn(3, 2, |x, _| x == 1), Connectivity::Four, |v| v).remove(0);
        assert!(iso_contour(&plane, 0.5, &part).iter().all(|p| p.0.is_finite() && p.1.is_finite()));
    }
}
