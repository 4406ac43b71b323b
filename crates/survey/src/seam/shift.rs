//! How well the two sides of a seam fit: by the cladding's edge on the one side and on the other.

use super::Seam;
use crate::edge::{Edge, angle_of};
use crate::solve;

/// Fewest sectors of the edge that tell where a side lies.
const FEWEST: usize = 5;

/// How far the edge behind a seam lies off that before it, pixels; none if either side shows too little of it.
pub fn shift(edge: &Edge, seam: &Seam) -> Option<f64> {
    let rows: Vec<([f64; 5], f64)> = edge
        .offsets
        .iter()
        .enumerate()
        .map(|(k, offset)| {
            let (sin, cos) = angle_of(k).sin_cos();
            let (u, _) = seam.along.turned((edge.x + edge.radius * cos, edge.y + edge.radius * sin));
            let behind = f64::from(u8::from(u > seam.at));
            ([1.0, cos, sin, behind * cos, behind * sin], f64::from(*offset))
        })
        .filter(|(_, offset)| offset.is_finite())
        .collect();
    let behind = rows.iter().filter(|(f, _)| f[3] != 0.0 || f[4] != 0.0).count();
    if behind < FEWEST || rows.len() - behind < FEWEST {
        return None;
    }
    let mut x = [0.0; 5];
    for _ in 0..6 {
        let at = |f: &[f64; 5]| f.iter().zip(&x).map(|(f, x)| f * x).sum::<f64>();
        let off: Vec<f64> = rows.iter().map(|(f, offset)| offset - at(f)).collect();
        let scale = 1.4826 * solve::median(&mut off.iter().map(|o| o.abs()).collect::<Vec<_>>()).max(0.02);
        let (mut a, mut b) = ([0.0; 25], [0.0; 5]);
        for ((f, _), o) in rows.iter().zip(&off) {
            let weight = 1.0 / (o.abs() / (1.5 * scale)).max(1.0);
            for u in 0..5 {
                b[u] += weight * f[u] * o;
                (0..5).for_each(|v| a[u * 5 + v] += weight * f[u] * f[v]);
            }
        }
        // Few sectors on one side tell little of its shift along the seam.
        (0..5).for_each(|u| a[u * 6] += 1e-3);
        let step = solve::cholesky(&mut a, &b)?;
        x.iter_mut().zip(step).for_each(|(x, s)| *x += s);
    }
    Some(x[3].hypot(x[4]))
}
