//! The trial of one shift between two textures: small blocks of one are looked for in the other, each by
//! itself. Two pictures of one place agree in nearly all blocks, with one turn and shift; pictures of two
//! places, however alike, in none but by chance.

use super::rigid::{Rigid, Spot, Tie, agreed};
use super::texture::Texture;
use imaging::Plane;

/// Widths and heights of blocks, pixels of the texture: all hold as many pixels, so that chance brings as much in
/// each. The widest is taken that what both pictures show has room for, and `ROOM` more to look about in.
const SHAPES: [Shape; 4] = [
    Shape { width: 20, height: 20 },
    Shape { width: 16, height: 25 },
    Shape { width: 12, height: 33 },
    Shape { width: 8, height: 50 },
];
const ROOM: f64 = 4.0;

/// Distance of blocks over their side, where there is room for many.
const STRIDE: f64 = 1.3;

/// How far from the expected place a block is looked for, pixels.
const REACH: i32 = 4;

/// Blocks with less texture than this share of the usual say nothing.
const LEAST_TEXTURE: f32 = 0.25;

/// Correlation from which a block agrees.
const AGREES: f32 = 0.4;

/// Distance from the common turn and shift within which a block agrees, pixels.
const PLAY: f64 = 1.2;

/// What the blocks say.
#[derive(Clone, Debug)]
pub(crate) struct Trial {
    /// From the first picture into the second, pixels of the frames.
    pub way: Rigid,
    /// The blocks that agree, pixels of the frames.
    pub ties: Vec<Tie>,
    /// Blocks that were looked for.
    pub tried: usize,
    /// Median correlation over all blocks tried.
    pub correlation: f32,
}

/// Width and height of the blocks of one trial, pixels of the texture; the width is a multiple of 4.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Shape {
    width: usize,
    height: usize,
}

impl Shape {
    /// The shape for what two pictures have in common.
    fn of(common: &Common) -> Option<Shape> {
        SHAPES.into_iter().find(|s| s.width as f64 + ROOM <= common.x.1 - common.x.0)
    }

    /// From the corner of a block to its middle.
    fn half(self) -> Spot {
        (0.5 * (self.width as f64 - 1.0), 0.5 * (self.height as f64 - 1.0))
    }
}

impl Trial {
    /// Share of the blocks that agree.
    pub fn share(&self) -> f64 {
        self.ties.len() as f64 / self.tried.max(1) as f64
    }
}

/// Tries a way from the first picture into the second, pixels of the frames. None if too few blocks agree on
/// any turn and shift.
pub(crate) fn trial(a: &Texture, b: &Texture, way: Rigid) -> Option<Trial> {
    let found = sought(a, b, way);
    let clear: Vec<Tie> = found.iter().filter(|f| f.1 >= AGREES).map(|f| f.0).collect();
    let way = agreed(&clear, PLAY * a.factor)?;
    let ties: Vec<Tie> = clear.into_iter().filter(|t| way.miss(t) < PLAY * a.factor).collect();
    Some(Trial { way, ties, tried: found.len(), correlation: middle(&found) })
}

/// How many blocks were looked for near a way, and their median correlation.
pub(crate) fn likeness(a: &Texture, b: &Texture, way: Rigid) -> (usize, f32) {
    let found = sought(a, b, way);
    (found.len(), middle(&found))
}

fn middle(found: &[(Tie, f32)]) -> f32 {
    let mut correlations: Vec<f32> = found.iter().map(|f| f.1).collect();
    correlations.sort_by(f32::total_cmp);
    correlations.get(found.len() / 2).copied().unwrap_or(0.0)
}

/// Blocks of the first picture where they are found in the second, with their correlation.
fn sought(a: &Texture, b: &Texture, way: Rigid) -> Vec<(Tie, f32)> {
    let common = Common::of(a, b, way);
    let Some(shape) = Shape::of(&common) else { return Vec::new() };
    let half = shape.half();
    let look = |(x, y): (usize, usize)| {
        let from = a.to_frame((x as f64 + half.0, y as f64 + half.1));
        let to = b.of_frame(way.place(from));
        let seen = seek(&a.plane, &b.plane, shape, (x, y), (to.0 - half.0, to.1 - half.1))?;
        let to = b.to_frame((seen.at.0 + half.0, seen.at.1 + half.1));
        Some((Tie { from, to, weight: 1.0 }, seen.correlation))
    };
    corners(a, b, way, &common, shape).into_iter().filter_map(look).collect()
}

/// Top left corners of blocks of the first texture that the second holds too.
fn corners(a: &Texture, b: &Texture, way: Rigid, common: &Common, shape: Shape) -> Vec<(usize, usize)> {
    let Shape { width, height } = shape;
    if width > a.plane.width() || height > a.plane.height() {
        return Vec::new();
    }
    let inside = |x: usize, y: usize| {
        let ends = [(x, y), (x + width, y), (x, y + height), (x + width, y + height)];
        ends.iter().all(|&(x, y)| {
            let (u, v) = b.of_frame(way.place(a.to_frame((x as f64, y as f64))));
            u >= 0.0 && v >= 0.0 && u <= b.plane.width() as f64 && v <= b.plane.height() as f64
        })
    };
    let (last_x, last_y) = (a.plane.width() - width, a.plane.height() - height);
    let range = |last: usize, side: usize, test: &dyn Fn(usize) -> bool| -> Vec<usize> {
        let good: Vec<usize> = (0..=last).filter(|&v| test(v)).collect();
        spread(&good, side)
    };
    let (mid_x, mid_y) = common.corner_of_middle(shape);
    let xs = range(last_x, width, &|x| inside(x, mid_y.min(last_y)));
    let ys = range(last_y, height, &|y| inside(mid_x.min(last_x), y));
    let all = ys.iter().flat_map(|&y| xs.iter().map(move |&x| (x, y)));
    all.filter(|&(x, y)| inside(x, y) && textured(&a.plane, shape, x, y)).collect()
}

/// What both pictures show, but for their turn: from and to, pixels of the first texture.
struct Common {
    x: (f64, f64),
    y: (f64, f64),
}

impl Common {
    fn of(a: &Texture, b: &Texture, way: Rigid) -> Common {
        let (dx, dy) = (way.shift.0 / a.factor, way.shift.1 / a.factor);
        let along = |size_a: usize, size_b: usize, shift: f64| {
            ((-shift).max(0.0), (size_b as f64 - shift).min(size_a as f64))
        };
        Common {
            x: along(a.plane.width(), b.plane.width(), dx),
            y: along(a.plane.height(), b.plane.height(), dy),
        }
    }

    /// The corner of a block in the middle.
    fn corner_of_middle(&self, shape: Shape) -> (usize, usize) {
        let corner =
            |(low, high): (f64, f64), side: usize| ((low + high - side as f64) / 2.0).max(0.0) as usize;
        (corner(self.x, shape.width), corner(self.y, shape.height))
    }
}

/// Values from a run of neighbouring ones, a stride of blocks of this side apart or nearer, both ends among them.
fn spread(run: &[usize], side: usize) -> Vec<usize> {
    let Some(last) = run.len().checked_sub(1) else { return Vec::new() };
    let steps = last.div_ceil((STRIDE * side as f64) as usize).max(1);
    let mut picked: Vec<usize> = (0..=steps).map(|i| run[i * last / steps]).collect();
    picked.dedup();
    picked
}

fn textured(plane: &Plane<f32>, Shape { width, height }: Shape, x: usize, y: usize) -> bool {
    let rows = (y..y + height).map(|v| plane.row(v)[x..x + width].iter().map(|t| t * t).sum::<f32>());
    rows.sum::<f32>() > LEAST_TEXTURE * (width * height) as f32
}

struct SeenBlock {
    /// Where the block's corner lies in the second texture.
    at: Spot,
    correlation: f32,
}

/// Looks for the block of `a` at `corner` near `to` in `b`; none if that is not wholly inside.
fn seek(a: &Plane<f32>, b: &Plane<f32>, shape: Shape, corner: (usize, usize), to: Spot) -> Option<SeenBlock> {
    let Shape { width, height } = shape;
    let (x0, y0) = (to.0.round() as i32, to.1.round() as i32);
    let wide = (2 * REACH + 1) as usize;
    let mut scores = vec![f32::NAN; wide * wide];
    let energy: f32 = (0..height)
        .map(|y| a.row(corner.1 + y)[corner.0..corner.0 + width].iter().map(|v| v * v).sum::<f32>())
        .sum();
    for dy in -REACH..=REACH {
        for dx in -REACH..=REACH {
            let (x, y) = (x0 + dx, y0 + dy);
            let fits =
                x >= 0 && y >= 0 && x as usize + width <= b.width() && y as usize + height <= b.height();
            if fits {
                let index = (dy + REACH) as usize * wide + (dx + REACH) as usize;
                scores[index] = correlation(a, b, shape, corner, (x as usize, y as usize), energy);
            }
        }
    }
    let best = (0..scores.len())
        .filter(|&i| !scores[i].is_nan())
        .max_by(|&i, &j| scores[i].total_cmp(&scores[j]))?;
    let (bx, by) = (best % wide, best / wide);
    let at = |x: usize, y: usize| {
        if x < wide && y < wide { scores[y * wide + x] } else { f32::NAN }
    };
    let part = |before: f32, here: f32, after: f32| {
        let bend = before + after - 2.0 * here;
        let shift = 0.5 * (before - after) / bend;
        if shift.is_finite() && bend < 0.0 { f64::from(shift).clamp(-0.5, 0.5) } else { 0.0 }
    };
    let here = scores[best];
    let sub_x = part(at(bx.wrapping_sub(1), by), here, at(bx + 1, by));
    let sub_y = part(at(bx, by.wrapping_sub(1)), here, at(bx, by + 1));
    let place = |from: i32, index: usize, sub: f64| f64::from(from - REACH) + index as f64 + sub;
    Some(SeenBlock { at: (place(x0, bx, sub_x), place(y0, by, sub_y)), correlation: here })
}

fn correlation(
    a: &Plane<f32>,
    b: &Plane<f32>,
    shape: Shape,
    (ax, ay): (usize, usize),
    (bx, by): (usize, usize),
    energy: f32,
) -> f32 {
    let (mut ab, mut bb) = ([0.0f32; 4], [0.0f32; 4]);
    for y in 0..shape.height {
        let p = a.row(ay + y)[ax..ax + shape.width].chunks_exact(4);
        let q = b.row(by + y)[bx..bx + shape.width].chunks_exact(4);
        for (p, q) in p.zip(q) {
            for k in 0..4 {
                ab[k] += p[k] * q[k];
                bb[k] += q[k] * q[k];
            }
        }
    }
    let (ab, bb): (f32, f32) = (ab.iter().sum(), bb.iter().sum());
    ab / (energy * bb).sqrt().max(1e-6)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use imaging::blur::gaussian;

    /// Grain about as fine as that of a ferrule on a texture, of usual size 1; each `kind` is another place.
    pub fn grain(kind: u64) -> Plane<f32> {
        let white = |x: usize, y: usize| {
            let mut h = kind.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ ((x as u64) << 20) ^ (y as u64);
            for _ in 0..3 {
                h = (h ^ (h >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            }
            (h >> 40) as f32 / (1u32 << 23) as f32 - 1.0
        };
        let mut plane = gaussian(&Plane::from_fn(320, 300, white), 0.8);
        plane.data_mut().iter_mut().for_each(|v| *v *= 5.0);
        plane
    }

    /// What a picture of 144 x 290 shows from a column of the grain on.
    pub fn texture(grain: &Plane<f32>, from: usize) -> Texture {
        Texture {
            plane: Plane::from_fn(144, 290, |x, y| grain.at(from + x, y)),
            factor: 4.0,
            rings: Plane::filled(144, 290, None),
            usual: 0.1,
        }
    }

    #[test]
    fn a_strip_narrower_than_a_square_block_still_tells_the_way() {
        let (one, other) = (grain(1), grain(2));
        for common in [13, 17, 22, 40] {
            let way = Rigid { turn: 0.0, shift: (-4.0 * (144.0 - common as f64) + 3.0, 3.0) };
            let (a, b) = (texture(&one, 0), texture(&one, 144 - common));
            let found = trial(&a, &b, way).unwrap();
            assert!(found.ties.len() >= 5 && found.share() > 0.9, "{common}: {found:?}");
            let off = (found.way.shift.0 + 4.0 * (144.0 - common as f64)).hypot(found.way.shift.1);
            assert!(off < 1.0, "{common}: {found:?}");
            let strange = trial(&a, &texture(&other, 144 - common), way);
            assert!(strange.is_none_or(|t| t.share() < 0.3), "{common}");
        }
        assert!(
            trial(&texture(&one, 0), &texture(&one, 136), Rigid { turn: 0.0, shift: (-544.0, 0.0) })
                .is_none()
        );
    }
    /// A block was read beyond the picture's last row.
    #[test]
    fn a_picture_lower_or_narrower_than_a_block_tells_nothing() {
        let whole = texture(&grain(1), 0);
        for (width, height, common) in [(144, 19, 144), (144, 24, 17), (144, 49, 13), (10, 40, 10), (1, 1, 1)]
        {
            let plane = Plane::from_fn(width, height, |x, y| whole.plane.at(x, y));
            let low = Texture { plane, ..whole.clone() };
            let way = Rigid { turn: 0.0, shift: (-4.0 * (width - common) as f64, 0.0) };
            assert!(trial(&low, &whole, way).is_none(), "{width} x {height}");
            assert!(trial(&whole, &low, way.back()).is_none(), "{width} x {height}");
        }
    }
}
