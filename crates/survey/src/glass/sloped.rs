//! The slope of the light on a fibre that a film covers in part. The film's edge keeps any smooth surface from fitting both
//! what it covers and what it leaves, but light slopes alike on either side: the plane that most of the cladding's blocks
//! lie on is one of the two (M. A. Fischler, R. C. Bolles 1981, Random sample consensus; the cost is that of P. H. S. Torr,
//! A. Zisserman 2000, MLESAC), and slopes as the light does.

use super::clean::Block;

/// Planes through so many triples of blocks are tried, in a fixed order.
const TRIES: u64 = 400;

/// A triple spans at least this area, in squares of the cladding's radius.
const SPAN: f64 = 0.1;

/// A block lies on a plane within so many scatters of clean blocks.
pub const NEAR: f64 = 2.5;

/// Share of the blocks that the plane must hold: less is no side of a film but several marks.
const SHARE: f64 = 0.3;

/// No light slopes more over a cladding, relative to its radius.
const STEEPEST: f64 = 0.12;

/// Times that the plane is fitted anew to what lies on it.
const ROUNDS: usize = 3;

/// A plane over the cladding: level in the middle, slopes in x and y.
type Plane = [f64; 3];

/// The light's level, and its slopes in x and y relative to that, by blocks whose level is free of the light's curvature;
/// `scatter` is that of clean blocks, relative to the level.
pub fn plane(blocks: &[Block], scatter: f64) -> Option<(f64, [f64; 2])> {
    let reach = NEAR * scatter * blocks.iter().map(|b| b.level).sum::<f64>() / blocks.len().max(1) as f64;
    let cost =
        |plane: &Plane| -> f64 { blocks.iter().map(|b| off(plane, b).powi(2).min(reach * reach)).sum() };
    let planes = (0..TRIES).filter_map(|k| through(&triple(blocks, k)?));
    let mut best = planes.map(|p| (cost(&p), p)).min_by(|a, b| a.0.total_cmp(&b.0))?.1;
    for _ in 0..ROUNDS {
        let on: Vec<&Block> = blocks.iter().filter(|b| off(&best, b).abs() < reach).collect();
        if (on.len() as f64) < SHARE * blocks.len() as f64 {
            return None;
        }
        best = fitted(&on)?;
    }
    let slope = [best[1] / best[0], best[2] / best[0]];
    (slope[0].hypot(slope[1]) < STEEPEST).then_some((best[0], slope))
}

fn off(plane: &Plane, block: &Block) -> f64 {
    block.level - (plane[0] + plane[1] * block.x + plane[2] * block.y)
}

/// Three blocks of the try numbered `k`: Weyl's sequences of three irrational steps never favour a part of the glass.
fn triple(blocks: &[Block], k: u64) -> Option<[&Block; 3]> {
    let pick = |step: f64| {
        let share = ((k + 1) as f64 * step).fract();
        blocks.get((share * blocks.len() as f64) as usize)
    };
    Some([pick(0.618_033_988_7)?, pick(0.414_213_562_4)?, pick(0.732_050_807_6)?])
}

fn through([a, b, c]: &[&Block; 3]) -> Option<Plane> {
    let ((bx, by, bz), (cx, cy, cz)) =
        ((b.x - a.x, b.y - a.y, b.level - a.level), (c.x - a.x, c.y - a.y, c.level - a.level));
    let area = bx * cy - by * cx;
    let (u, v) = ((bz * cy - by * cz) / area, (bx * cz - bz * cx) / area);
    (area.abs() > 2.0 * SPAN).then_some([a.level - u * a.x - v * a.y, u, v])
}

/// Least squares.
fn fitted(blocks: &[&Block]) -> Option<Plane> {
    let (mut a, mut b) = ([0.0; 9], [0.0; 3]);
    for block in blocks {
        let terms = [1.0, block.x, block.y];
        for u in 0..3 {
            b[u] += terms[u] * block.level;
            for v in 0..3 {
                a[u * 3 + v] += terms[u] * terms[v];
            }
        }
    }
    let found = crate::solve::cholesky(&mut a, &b)?;
    Some([found[0], found[1], found[2]])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Blocks of a ring of the cladding, on light that slopes by (0.04, -0.02), covered by a film of -0.07 where `under`.
    fn blocks(under: impl Fn(f64, f64) -> bool) -> Vec<Block> {
        let at = |k: usize| -1.0 + 0.064 * (k as f64 + 0.5);
        let places = (0..31).flat_map(|i| (0..31).map(move |j| (at(i), at(j))));
        let ring = places.filter(|(x, y)| (0.58..0.95).contains(&x.hypot(*y)));
        ring.enumerate()
            .map(|(k, (x, y))| {
                let noise = 0.004 * ((k as f64 * 12.9898).sin() * 43758.5453).fract();
                let film = if under(x, y) { 0.93 } else { 1.0 };
                Block { x, y, level: 0.5 * film * (1.0 + 0.04 * x - 0.02 * y + noise) }
            })
            .collect()
    }

    #[test]
    fn light_slopes_alike_beside_and_below_a_film() {
        for (what, under) in [
            ("none", (|_, _| false) as fn(f64, f64) -> bool),
            ("half", |x, _| x > 0.1),
            ("most", |x, y| x + y > -0.6),
            ("a third", |x, y| x - 0.5 * y < -0.4),
        ] {
            let (_, [x, y]) = plane(&blocks(under), 0.004).unwrap();
            assert!((x - 0.04).abs() < 0.004 && (y + 0.02).abs() < 0.004, "{what}: {x} {y}");
        }
    }

    #[test]
    fn no_slope_is_made_of_what_lies_on_no_plane() {
        let mut rough = blocks(|_, _| false);
        rough.iter_mut().enumerate().for_each(|(k, b)| b.level *= 1.0 + 0.3 * (k as f64 * 78.233).sin());
        assert_eq!(plane(&rough, 0.004), None);
        assert_eq!(plane(&rough[..2], 0.004), None);
    }
}
