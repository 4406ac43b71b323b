//! Parts of a run that cannot both be right: each is numbered by an end of the row that it shows, they lie on one
//! another on the face, and yet they have nothing in common. One is numbered wrongly, or they show two connectors.

use super::anchor::Anchored;
use super::run::Run;
use super::sights::Sight;
use terms::{Face, Flaw, Point, Pose};

/// Pictures that share more of the face than this, um wide and high, are joined by what it shows, if they show one face:
/// 130 made-up runs lost no position by it, and some with less.
const SHARED: f64 = 70.0;

/// For each part why it cannot be right, if so. `poses` are the face in each picture.
pub(crate) fn contradicted(
    run: &Run,
    known: &[Anchored],
    poses: &[Pose],
    sights: &[Sight],
) -> Vec<Option<Flaw>> {
    let members = |index: usize| run.components[known[index].component].members.as_slice();
    let mut flaws: Vec<Option<Flaw>> = vec![None; known.len()];
    for a in 0..known.len() {
        for b in a + 1..known.len() {
            let on = |of: usize, other: usize| -> Vec<usize> {
                let lies = |i: &usize| {
                    members(other).iter().any(|&j| shared(run, poses, *i, j) > SHARED)
                        || sights.iter().any(|s| s.source == *i && shows(sights, other, s.place))
                };
                let mut all: Vec<usize> = members(of).iter().copied().filter(lies).collect();
                all.sort_unstable();
                all
            };
            let (one, other) = (on(a, b), on(b, a));
            if !one.is_empty() && !other.is_empty() {
                let flaw = Flaw::Unjoined { one, other };
                flaws[a].get_or_insert_with(|| flaw.clone());
                flaws[b].get_or_insert(flaw);
            }
        }
    }
    flaws
}

/// Whether a part shows a position wholly.
fn shows(sights: &[Sight], part: usize, place: usize) -> bool {
    sights.iter().any(|s| s.anchored == part && s.place == place)
}

/// Width or height, the lesser, of what two pictures both show of the face, um.
fn shared(run: &Run, poses: &[Pose], a: usize, b: usize) -> f64 {
    let (p, q) = (extent(run, poses, a), extent(run, poses, b));
    let common = |k: usize| (p.1[k].min(q.1[k]) - p.0[k].max(q.0[k])).max(0.0);
    common(0).min(common(1))
}

/// From where to where a picture reaches on the face.
fn extent(run: &Run, poses: &[Pose], source: usize) -> ([f64; 2], [f64; 2]) {
    let (w, h) = run.sizes[source];
    let corners = [(0.0, 0.0), (w, 0.0), (0.0, h), (w, h)];
    let at: [Point<Face>; 4] = corners.map(|(x, y)| poses[source].to_face(Point::new(x, y)));
    let end = |pick: fn(f64, f64) -> f64| {
        let (first, rest) = (at[0], &at[1..]);
        rest.iter().fold([first.x, first.y], |e, p| [pick(e[0], p.x), pick(e[1], p.y)])
    };
    (end(f64::min), end(f64::max))
}
