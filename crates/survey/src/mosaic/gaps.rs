//! What a run lacks, told so that one knows which picture to take again.

use super::anchor::Anchored;
use super::run::Run;
use super::sights::{share_inside, views};
use crate::locate::Located;
use terms::{Ambiguity, Flaw, Layout, Place};

/// Why no picture shows a position as it must be shown; `None` where one does.
pub(crate) fn flaw(run: &Run, anchored: &[Anchored], layout: &Layout, index: usize) -> Flaw {
    let located = anchored.iter().map(|a| &a.lattice.sites[index]);
    let found = located.clone().find(|l| matches!(l, Located::Fibre { .. }));
    let missing = located.filter_map(|l| match l {
        Located::Missing(flaw @ (Flaw::NotFound | Flaw::Hidden { .. })) => Some(flaw.clone()),
        _ => None,
    });
    let visible = visible(run, anchored, &layout.places[index]);
    if visible >= 1.0
        && let Some(flaw) = missing.into_iter().next()
    {
        return flaw;
    }
    if visible >= 1.0 && found.is_some() {
        return Flaw::NotFound;
    }
    let unplaced: Vec<usize> = unplaced(run, anchored);
    let (before, after) = beside(run, anchored, &layout.places[index]);
    Flaw::Gap { visible, before, after, unplaced }
}

/// Why no part of a run can be numbered.
pub(crate) fn unnumbered(parts: &[Anchored]) -> Flaw {
    let why = parts.iter().flat_map(|a| &a.lattice.sites).find_map(|site| match site {
        Located::Missing(Flaw::Ambiguous(why @ (Ambiguity::OneRow { .. } | Ambiguity::ShortRow { .. }))) => {
            Some(*why)
        }
        _ => None,
    });
    Flaw::Ambiguous(why.unwrap_or(Ambiguity::UnnumberedRun))
}

/// Pictures whose place on the face is not known.
pub(crate) fn unplaced(run: &Run, anchored: &[Anchored]) -> Vec<usize> {
    let placed = |i: &usize| anchored.iter().any(|a| run.components[a.component].members.contains(i));
    (0..run.sizes.len()).filter(|i| !placed(i)).collect()
}

/// The largest share of a place that one picture shows.
fn visible(run: &Run, anchored: &[Anchored], place: &Place) -> f64 {
    let shares = anchored.iter().flat_map(|a| {
        let at = a.lattice.pose.to_pixel(place.at);
        let component = &run.components[a.component];
        views(run, component, at).map(|(_, source, p)| share_inside(run, source, p)).collect::<Vec<_>>()
    });
    shares.fold(0.0, f64::max)
}

/// The pictures that come nearest to a place from its left and from its right on the face.
fn beside(run: &Run, anchored: &[Anchored], place: &Place) -> (Option<usize>, Option<usize>) {
    let mut middles: Vec<(f64, usize)> = Vec::new();
    for a in anchored {
        let component = &run.components[a.component];
        for (&source, way) in component.members.iter().zip(&component.ways) {
            let (w, h) = run.sizes[source];
            let (x, y) = way.place((w / 2.0, h / 2.0));
            middles.push((a.lattice.pose.to_face(terms::Point::new(x, y)).x - place.at.x, source));
        }
    }
    let left = middles.iter().filter(|m| m.0 <= 0.0).max_by(|a, b| a.0.total_cmp(&b.0));
    let right = middles.iter().filter(|m| m.0 > 0.0).min_by(|a, b| a.0.total_cmp(&b.0));
    (left.map(|m| m.1), right.map(|m| m.1))
}
