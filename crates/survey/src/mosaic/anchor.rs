//! Which positions a component shows: its pictures are put into one, and that is numbered as any picture of
//! a face is, by the ends of its rows, the bare ferrule beyond them and the guide holes.

use super::compose::{Affine, Piece, composed, gains};
use super::rigid::{Rigid, Spot};
use super::run::{Component, Run};
use super::texture::shrunk;
use crate::locate::pyramid::Level;
use crate::locate::row::MOST_SCORE;
use crate::locate::vote::Candidate;
use crate::locate::{self, Lattice, LocateError};
use imaging::Plane;
use rayon::prelude::*;
use terms::{Layout, View};

/// Radius of a cladding, pixels of the picture that is numbered.
const RADIUS: f64 = 20.0;

/// Candidates keep within this factor of the claddings' radius.
const EQUAL: f64 = 1.15;

/// A component whose lattice was found; pixels of its common plane.
pub(crate) struct Anchored {
    /// Index of the component.
    pub component: usize,
    pub lattice: Lattice,
}

/// The lattice of each component that shows one; those that do not are left out.
///
/// # Errors
/// What a component shows against the layout, or `NoRowInRun` if none shows a row.
pub(crate) fn anchored(run: &Run, layout: &Layout, view: View) -> Result<Vec<Anchored>, LocateError> {
    let found: Vec<Result<Lattice, LocateError>> =
        run.components.par_iter().map(|c| lattice(run, c, layout, view)).collect();
    let mut all = Vec::new();
    for (component, lattice) in found.into_iter().enumerate() {
        match lattice {
            Ok(lattice) => all.push(Anchored { component, lattice }),
            Err(LocateError::NoRow | LocateError::OneCircle) => {}
            Err(contradiction) => return Err(contradiction),
        }
    }
    if all.is_empty() { Err(LocateError::NoRowInRun) } else { Ok(all) }
}

fn lattice(run: &Run, c: &Component, layout: &Layout, view: View) -> Result<Lattice, LocateError> {
    let (corner, size) = extent(run, c);
    let base = run.levels.first().map_or(1.0, |l| l.factor);
    let shrink = (run.radius / base / RADIUS).round().max(1.0) as usize;
    let factor = base * shrink as f64;
    let planes: Vec<Plane<f32>> =
        c.members.par_iter().map(|&m| shrunk(&run.levels[m].plane, shrink)).collect();
    let pieces: Vec<Piece> = planes
        .iter()
        .zip(&c.ways)
        .map(|(plane, way)| Piece { plane, way: Affine::like(|p| to_plane(p, corner, factor, *way)) })
        .collect();
    let level = |v: f64| (v / factor).ceil().max(1.0) as usize;
    let (width, height) = (level(size.0), level(size.1));
    let plane = composed(&pieces, &gains(&pieces, width, height), width, height);
    let candidates = candidates(run, c, corner, factor);
    let radius = run.radius / factor;
    let mut lattice = locate::locate_among(&Level { plane, factor }, candidates, radius, layout, view)
        .map_err(|why| if c.members.len() > 1 { joined(why) } else { why })?;
    lattice.move_by(corner.0, corner.1);
    Ok(lattice)
}

/// A contradiction that the joining of the pictures may have brought forth.
fn joined(why: LocateError) -> LocateError {
    match why {
        LocateError::LongerRow { layout, seen, columns } => {
            LocateError::LongerJoined { layout, seen, columns }
        }
        other => other,
    }
}

/// From a pixel of the composition to one of a member's shrunk plane.
fn to_plane((x, y): Spot, corner: Spot, factor: f64, way: Rigid) -> Spot {
    let common = ((x + 0.5) * factor - 0.5 + corner.0, (y + 0.5) * factor - 0.5 + corner.1);
    let (u, v) = way.back().place(common);
    ((u + 0.5) / factor - 0.5, (v + 0.5) / factor - 0.5)
}

/// Top left corner and size of what the members show, pixels of the common plane.
fn extent(run: &Run, c: &Component) -> (Spot, Spot) {
    let corners = c.members.iter().zip(&c.ways).flat_map(|(&m, way)| {
        let (w, h) = run.sizes[m];
        [(0.0, 0.0), (w, 0.0), (0.0, h), (w, h)].map(|p| way.place(p))
    });
    let start = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
    let (low, high) = corners
        .fold(start, |(low, high), p| ((low.0.min(p.0), low.1.min(p.1)), (high.0.max(p.0), high.1.max(p.1))));
    ((low.0.floor(), low.1.floor()), (high.0 - low.0, high.1 - low.1))
}

/// Circles of the members as large as claddings, each once, pixels of the composition: those whose edge was seen, and
/// behind them what was voted for. A picture little wider than a cladding holds too few pixels of the coarse planes to
/// vote for its radius, and yet its edge is found.
fn candidates(run: &Run, c: &Component, corner: Spot, factor: f64) -> Vec<Candidate> {
    let members = || c.members.iter().zip(&c.ways);
    let level = |v: f64, from: f64| (v - from + 0.5) / factor - 0.5;
    let placed = |way: &Rigid, at: Spot, radius: f64, score: f64| {
        let (x, y) = way.place(at);
        Candidate { x: level(x, corner.0), y: level(y, corner.1), radius: radius / factor, score }
    };
    let seen = members().flat_map(|(&m, way)| {
        run.circles[m].claddings.iter().map(|&at| placed(way, at, run.radius, MOST_SCORE))
    });
    let as_large = |v: &&Candidate| (1.0 / EQUAL..EQUAL).contains(&(v.radius / run.radius));
    let mut voted: Vec<Candidate> = members()
        .flat_map(|(&m, way)| {
            let own = run.circles[m].candidates.iter().filter(as_large);
            own.map(|v| placed(way, (v.x, v.y), v.radius, v.score))
        })
        .collect();
    voted.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut kept: Vec<Candidate> = Vec::new();
    for one in seen.chain(voted) {
        if kept.iter().all(|k| (k.x - one.x).hypot(k.y - one.y) > 0.35 * one.radius) {
            kept.push(one);
        }
    }
    kept
}
