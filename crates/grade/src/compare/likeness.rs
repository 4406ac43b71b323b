//! How much likelier two features of two pictures are to be one mark than two marks that happen to lie
//! alike, as natural logarithm: place, size, contrast and kind of compact marks, line, width and contrast of
//! scratches. How far each is uncertain is common practice, no source, beside what the survey states.

use super::fingerprint::{normal, round_normal};
use super::shape::{is_line, line, points_of, share_along, share_covered, thickness};
use std::f64::consts::PI;
use terms::{Feature, Kind};

/// Where marks of a fibre lie: a disc of this radius, um.
const GLASS_RADIUS: f64 = 64.0;
/// Share of marks whose place is told badly: parts of a cluster, marks at the rim.
const BADLY_PLACED: f64 = 0.04;
/// Scatter of the logarithm of sizes and of contrasts from mark to mark.
const SIZES_DIFFER: f64 = 1.0;
/// Scatter of the logarithm of one mark's contrast in two pictures.
const CONTRAST_AGREES: f64 = 0.35;

/// Lengths of one line agree within this difference of their logarithms.
const AS_LONG: f64 = 0.2;

/// Logarithm of the odds for one mark, `others` being the number of candidates in the second picture.
pub fn likeness(one: &Feature, other: &Feature, others: usize) -> f64 {
    let lines = (one.kind == Kind::Scratch, other.kind == Kind::Scratch);
    let place = match lines {
        (true, true) => same_line(one, other),
        (false, false) => same_place(one, other),
        (true, false) => part_of_line(other, one),
        (false, true) => part_of_line(one, other),
    };
    let shape = if lines.0 == lines.1 { sizes(one, other) + kinds(one.kind, other.kind) } else { 0.0 };
    place + shape + contrasts(one, other) - (others.max(1) as f64).ln()
}

/// The part of it that size and contrast tell.
pub fn alike(one: &Feature, other: &Feature) -> f64 {
    sizes(one, other) + contrasts(one, other)
}

/// Uncertainty of a compact mark's place in one picture, um.
fn place_u(feature: &Feature) -> f64 {
    let size = feature.size.0;
    let of_shape = match feature.kind {
        Kind::Film => 0.12 * size,
        Kind::Chip => 0.06 * size,
        Kind::Scratch | Kind::Particle | Kind::Pit => 0.02 * size,
    };
    0.08f64.hypot(0.3 * feature.u.0).hypot(of_shape)
}

fn same_place(one: &Feature, other: &Feature) -> f64 {
    let sd = place_u(one).hypot(place_u(other));
    let wide = sd.max(0.4 + 0.12 * one.size.0.max(other.size.0));
    let r = one.centre.distance(other.centre);
    let same = (1.0 - BADLY_PLACED) * round_normal(r, sd) + BADLY_PLACED * round_normal(r, wide);
    (same * PI * GLASS_RADIUS * GLASS_RADIUS).max(1e-30).ln()
}

/// Two scratches are one where the shorter lies along the longer.
fn same_line(one: &Feature, other: &Feature) -> f64 {
    let reach = line_reach(one, other);
    let (a, b) = (line(one), line(other));
    let along = share_along(&points_of(one), &b, reach).max(share_along(&points_of(other), &a, reach));
    // A chance line crosses another; it does not lie along it.
    12.0 * along - 5.0
}

/// How far apart two lines of one scratch may lie, um: it wanders by a share of its width.
fn line_reach(one: &Feature, other: &Feature) -> f64 {
    0.8 + 0.25 * one.size.0.max(other.size.0.min(6.0)).min(6.0)
}

/// A mark that was not called a scratch may be a part of one if it is drawn out; else it may be all of one that bends,
/// with an outline about all that lies in its bow.
fn part_of_line(mark: &Feature, scratch: &Feature) -> f64 {
    if !is_line(mark) {
        let as_long = (mark.length.0 / scratch.length.0.max(0.1)).ln().abs() < AS_LONG;
        return if as_long { 10.0 * share_covered(scratch, mark, 0.6) - 6.0 } else { -10.0 };
    }
    let reach = 1.0 + 0.5 * thickness(mark).max(scratch.size.0);
    let along = share_along(&points_of(mark), &line(scratch), reach);
    10.0 * along - 6.0
}

fn sizes(one: &Feature, other: &Feature) -> f64 {
    let (a, b) = (one.size.0.max(0.05), other.size.0.max(0.05));
    let own = if one.kind == Kind::Scratch { 0.3 } else { 0.12 };
    let sd = (one.u.0 / a).hypot(other.u.0 / b).hypot(own);
    let r = (a / b).ln();
    let same = 0.85 * normal(r, sd) + 0.15 * normal(r, SIZES_DIFFER);
    (same / normal(r, SIZES_DIFFER * std::f64::consts::SQRT_2)).max(1e-3).ln()
}

/// One mark is dark or bright in every light, but the faintest.
fn contrasts(one: &Feature, other: &Feature) -> f64 {
    let (a, b) = (one.contrast, other.contrast);
    let faint = a.abs().min(b.abs()) < 0.02;
    if a.signum() != b.signum() && !faint {
        return -3.0;
    }
    let r = (a.abs().max(0.01) / b.abs().max(0.01)).ln();
    let same = 0.85 * normal(r, CONTRAST_AGREES) + 0.15 * normal(r, SIZES_DIFFER);
    (same / normal(r, SIZES_DIFFER)).ln().max(-2.0)
}

/// Kinds are told by size, contrast and place, so that one mark may change its name near a limit.
fn kinds(one: Kind, other: Kind) -> f64 {
    if one == other { 0.5 } else { -0.7 }
}
