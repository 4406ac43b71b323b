//! Which pictures show which position wholly, and how well: each is looked at in all of them and graded in
//! the one where it is sharpest.

use super::anchor::Anchored;
use super::run::{Component, Run};
use crate::fibre::{self, Edged};
use crate::locate::Located;
use imaging::Frame;
use rayon::prelude::*;
use terms::{Layout, Pixel, Point};

/// Pixels that must lie between a cladding and the border of the picture that it is graded in.
const MARGIN: f64 = 2.0;

/// One position in one picture.
pub(crate) struct Sight {
    /// Index of the position among the layout's places.
    pub place: usize,
    /// Index of the anchored component, and of the picture among its members.
    pub anchored: usize,
    pub member: usize,
    /// Index of the picture.
    pub source: usize,
    pub edged: Edged,
}

/// Where a position is expected.
struct Expected {
    place: usize,
    anchored: usize,
    member: usize,
    source: usize,
    centre: Point<Pixel>,
}

/// Every position in every picture that shows it wholly and bears a fitted edge, in order of position, the
/// best picture first.
pub(crate) fn sights(frames: &[Frame], run: &Run, anchored: &[Anchored], layout: &Layout) -> Vec<Sight> {
    let um_per_px = layout.cladding.0 / 2.0 / run.radius;
    let expected = expected(run, anchored, layout);
    let look = |e: &Expected| {
        let edged = fibre::edged(&frames[e.source], e.centre, run.radius, um_per_px).ok()?;
        let Expected { place, anchored, member, source, .. } = *e;
        Some(Sight { place, anchored, member, source, edged })
    };
    let mut sights: Vec<Sight> = expected.par_iter().filter_map(look).collect();
    sights.sort_by(|a, b| {
        let key = |s: &Sight| (s.place, s.edged.flaws().len());
        key(a).cmp(&key(b)).then(a.edged.blur().total_cmp(&b.edged.blur())).then(a.source.cmp(&b.source))
    });
    sights
}

fn expected(run: &Run, anchored: &[Anchored], layout: &Layout) -> Vec<Expected> {
    let mut all = Vec::new();
    for (index, a) in anchored.iter().enumerate() {
        let component = &run.components[a.component];
        for (place, site) in a.lattice.sites.iter().enumerate().take(layout.places.len()) {
            let Located::Fibre { centre, .. } = site else { continue };
            for (member, source, at) in views(run, component, *centre) {
                if share_inside(run, source, at) >= 1.0 {
                    all.push(Expected { place, anchored: index, member, source, centre: at });
                }
            }
        }
    }
    all
}

/// Each member of a component with the place where it has a place of the common plane.
pub(crate) fn views<'a>(
    run: &'a Run,
    component: &'a Component,
    at: Point<Pixel>,
) -> impl Iterator<Item = (usize, usize, Point<Pixel>)> + 'a {
    let near = move |run: &Run, source: usize, p: (f64, f64)| {
        let (w, h) = run.sizes[source];
        p.0 > -run.radius && p.1 > -run.radius && p.0 < w + run.radius && p.1 < h + run.radius
    };
    component
        .members
        .iter()
        .zip(&component.ways)
        .enumerate()
        .map(move |(member, (&source, way))| (member, source, way.back().place((at.x, at.y))))
        .filter(move |&(_, source, p)| near(run, source, p))
        .map(|(member, source, p)| (member, source, Point::new(p.0, p.1)))
}

/// Least share of a cladding's width and height that lies inside a picture; 1 if it is whole.
pub(crate) fn share_inside(run: &Run, source: usize, at: Point<Pixel>) -> f64 {
    let (w, h) = run.sizes[source];
    let reach = run.radius + MARGIN;
    let along = |v: f64, size: f64| ((v + reach).min(size - 1.0) - (v - reach).max(0.0)) / (2.0 * reach);
    let whole = |v: f64, size: f64| v - reach >= 0.0 && v + reach <= size - 1.0;
    if whole(at.x, w) && whole(at.y, h) {
        return 1.0;
    }
    along(at.x, w).min(along(at.y, h)).clamp(0.0, 0.999)
}
