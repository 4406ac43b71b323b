//! All marks of one fibre: round ones that could pass for a line are set aside, lines are found and taken
//! away, then everything else is found from fine to coarse, sized and named.

use crate::alarm;
use crate::annulus;
use crate::arcs;
use crate::arms;
use crate::blobs::{self, Blob, Field};
use crate::corridor::Corridors;
use crate::edge::{Edge, SECTORS, sector_of};
use crate::glass::Glass;
use crate::hints;
use crate::lines::{self, Line};
use crate::lint;
use crate::outline;
use crate::pieces;
use crate::reblur;
use crate::rim::{self, Beyond, Rim};
use crate::settings::Settings;
use crate::sizes::{self, Sized};
use crate::slender;
use crate::touching;
use imaging::Plane;
use terms::Kind;
use terms::geometry::{enclosing_circle, largest_extent, point_in_polygon, polygon_area};

/// One mark, lengths in pixels of the patch.
#[derive(Clone, Debug)]
pub struct Mark {
    /// What it looks like.
    pub kind: Kind,
    /// Size that criteria limit, corrected for blur.
    pub size: f64,
    /// Standard uncertainty of the size.
    pub u: f64,
    /// Length.
    pub length: f64,
    /// Middle.
    pub centre: (f64, f64),
    /// Signed contrast.
    pub contrast: f64,
    /// Outline, corrected for blur; a closed polygon.
    pub outline: Vec<(f64, f64)>,
    /// Strength over scatter.
    pub strength: f64,
}

/// Added to the threshold where only wide smoothing shows a mark: texture is more alike over wide stretches than
/// noise is.
const WIDE: f64 = 0.2;

/// By what share the circle about a mark too small for its shape to show is wider than one of equal area, 1 being usual
/// for dirt (`doubt_of_shape`); common practice, no source: dirt is seldom round.
const UNEVEN: f64 = 0.08;

/// Standard uncertainty of a film's size, share of it: its edge fades into the light, which is fitted beside it.
const FADES: f64 = 0.04;

/// Least height of a mark that only wide smoothing shows: the model of the light is good to about half of it.
const LEAST: f64 = 0.045;

/// A picture sharper than this, pixels, is treated as if it were not.
pub const LEAST_BLUR: f64 = 0.6;

/// The finest smoothing, in units of the picture's blur.
pub const FINEST: f64 = 0.7;

/// A mark stronger than this shows by its outline and its dip what it is.
const CERTAIN: f64 = 30.0;

/// A rim wider than the second of these, blurs, is sized by its outline, one narrower than the first by its pixels: the
/// wider it is, the more its shape shows.
const SHAPED: (f64, f64) = (6.0, 8.0);

/// The outline of a mark stronger than the second of these shows its shape, that of one weaker than the first only noise.
const FIRM: (f64, f64) = (6.0, 9.0);

impl Mark {
    /// The mark moved by (dx, dy).
    pub fn moved(mut self, dx: f64, dy: f64) -> Mark {
        self.centre = (self.centre.0 + dx, self.centre.1 + dy);
        for p in &mut self.outline {
            *p = (p.0 + dx, p.1 + dy);
        }
        self
    }
}

/// A patch that reaches beyond the glass's; its pixel (0, 0) is pixel `corner` of the glass's patch.
pub struct Around<'a> {
    /// The patch.
    pub patch: &'a Plane<f32>,
    /// Where it begins.
    pub corner: (f64, f64),
}

/// The finest smoothing of a fibre's residual, by which marks are found and the picture is judged.
pub fn finest(glass: &Glass, edge: &Edge) -> Field {
    let blur = edge.blur.max(LEAST_BLUR);
    Field::on_glass(&glass.residual, glass, blur, FINEST * blur)
}

/// What was found on one fibre's glass, in pixels of its patch.
pub struct Found {
    /// The marks.
    pub marks: Vec<Mark>,
    /// Places and signed heights of what may be marks too faint to be told.
    pub hints: Vec<((f64, f64), f64)>,
}

/// The marks on one fibre's glass; `finest` is its finest field.
pub fn find(
    glass: &Glass,
    finest: &Field,
    edge: &Edge,
    around: &Around,
    px_per_um: f64,
    settings: &Settings,
) -> Found {
    let blur = edge.blur.max(LEAST_BLUR);
    let threshold = alarm::threshold(settings.false_calls_per_fibre, glass.radius, finest.blur);
    let rough = both_signs(finest, threshold);
    let masked = compact(&rough, glass, threshold, px_per_um);
    let search = lines::Search { blur, px_per_um, aspect: settings.scratch_aspect };
    let lines = lines::find(glass, &masked, &search, threshold);
    let mut residual = glass.residual.clone();
    let mut corridors = Corridors::none(residual.width(), residual.height(), blur);
    for line in &lines {
        lines::take_away(line, &mut residual, &glass.inside, blur, px_per_um);
        corridors.add(line, &glass.inside);
    }
    let noise = finest.pixel_noise();
    let unhidden = residual.clone();
    // What the lines leave.
    let left = (!lines.is_empty()).then(|| Field::on_glass(&residual, glass, blur, FINEST * blur));
    let mut open = glass.inside.clone();
    let mut found: Vec<Blob> = Vec::new();
    let passes = [
        (FINEST * blur, 0.0, threshold),
        (2.0 * blur, 0.85 * LEAST, threshold + WIDE),
        (3.0 * px_per_um + blur, LEAST, threshold + WIDE),
    ];
    for (number, (sigma, least, threshold)) in passes.into_iter().enumerate() {
        let blobs = if number == 0 {
            left.as_ref().map_or_else(|| rough.clone(), |left| both_signs(left, threshold))
        } else if found.is_empty() {
            both_signs(&Field::on_glass(&residual, glass, blur, sigma), threshold)
        } else {
            both_signs(&Field::where_open(&residual, &open, glass, blur, sigma), threshold)
        };
        let own = |b: &Blob| !corridors.left(b, &glass.residual);
        let circles: Vec<_> = blobs.iter().map(|b| enclosing_circle(&b.outline)).collect();
        let scene = annulus::Scene { residual: &residual, open: &open, marks: &circles, blur, noise };
        let told = blobs.into_iter().enumerate().filter(|(_, b)| b.height.abs() > least && own(b));
        let sized = told.map(|(k, b)| Blob { rim: small_rim(k, &b, &scene), ..b });
        for blob in sized.collect::<Vec<_>>() {
            hide(&blob, &mut open, &mut residual, 2.5 * blob.blur);
            found.push(blob);
        }
    }
    let mut hints = hints::find(left.as_ref().unwrap_or(finest), &open);
    hints.retain(|((x, y), _)| !corridors.holds((*x as usize, *y as usize)));
    let rim = Rim::of(edge);
    let view = rim::View { edge, around, px_per_um, smoothing: FINEST * blur };
    for blob in found.iter_mut().filter(|b| at_rim(b, glass, edge)) {
        match rim.beyond(blob, &view) {
            Beyond::Ends(outline, across) => (blob.outline, blob.across) = (outline, across),
            Beyond::RunsOn(outline) => {
                blob.across = true;
                blob.outline = outline.unwrap_or_else(|| std::mem::take(&mut blob.outline));
            }
            Beyond::Unknown => {}
        }
    }
    let on = pieces::On { disc: finest.disc, px_per_um };
    arcs::close(&mut found, on);
    drop_nested(&mut found, px_per_um);
    drop_same(&mut found);
    let mut lines: Vec<Line> = lines.into_iter().filter(|l| !within(l, &found, px_per_um)).collect();
    slender::scratches(&mut found, &mut lines, &unhidden, glass, &search);
    pieces::gather(&mut lines, &mut found, on);
    let scratches = lines.iter().map(scratch);
    let others = found.iter().map(|blob| mark(blob, glass, edge, px_per_um));
    let marks = lint::gathered(scratches.chain(others).collect(), px_per_um);
    Found { marks: touching::together(marks, settings.touching_gap_um * px_per_um), hints }
}

/// Size of a mark that is too faint and too small to show whether it is a rim, if it is one.
fn small_rim(number: usize, blob: &Blob, scene: &annulus::Scene) -> Option<Sized> {
    if blob.strength < CERTAIN { annulus::rim(scene, number) } else { None }
}

fn both_signs(field: &Field, threshold: f64) -> Vec<Blob> {
    let of = |sign: f32| move || blobs::find(field, sign, threshold);
    let (mut all, bright) = rayon::join(of(-1.0), of(1.0));
    all.extend(bright);
    all
}

/// 1 on strong marks that are too round for a line and could pull one towards them.
fn compact(rough: &[Blob], glass: &Glass, threshold: f64, px_per_um: f64) -> Plane<f32> {
    let mut masked = Plane::filled(glass.residual.width(), glass.residual.height(), 0.0f32);
    for blob in rough.iter().filter(|b| b.strength > threshold + 1.0) {
        let extent = largest_extent(&blob.outline);
        let ring = hollow(blob) > 0.15;
        if (extent < 2.2 * thickness(blob) && extent < 20.0 * px_per_um)
            || (ring && extent < 40.0 * px_per_um)
        {
            // The skirt of a strong mark is as long as its strength is great.
            let skirt = (1.0 + 0.5 * (blob.strength / threshold).ln()).max(1.0);
            let body = if ring { &arms::body(&blob.pixels) } else { &blob.pixels };
            paint(&mut masked, body, 1.5 * skirt * blob.blur, 1.0);
        }
    }
    masked
}

/// Whether a line lies within the outline of a mark too small for a scratch to lie on.
fn within(line: &Line, found: &[Blob], px_per_um: f64) -> bool {
    found.iter().filter(|b| largest_extent(&b.outline) < 25.0 * px_per_um).any(|b| {
        let inside = line.path.iter().filter(|p| point_in_polygon(**p, &b.outline)).count();
        5 * inside > 3 * line.path.len()
    })
}

/// A droplet's rim and its bright inside are one mark: whatever peaks inside the outline of a wider mark
/// belongs to it, unless that is wide enough for things to lie on it or much fainter. What the soft edge of a strong mark
/// leaves about it is none.
fn drop_nested(found: &mut Vec<Blob>, px_per_um: f64) {
    let extents: Vec<f64> = found.iter().map(|b| largest_extent(&b.outline)).collect();
    let within = |i: usize, j: usize| {
        let at = (found[i].peak.0 as f64, found[i].peak.1 as f64);
        extents[j] > extents[i] && extents[j] < 25.0 * px_per_um && point_in_polygon(at, &found[j].outline)
    };
    let keep: Vec<bool> = (0..found.len())
        .map(|k| {
            let nested = |j: usize| within(k, j) && !stands_out(&found[k], &found[j]);
            let skirt = |i: usize| within(i, k) && is_skirt(&found[k], &found[i], extents[k], extents[i]);
            !(0..found.len()).any(|other| nested(other) || skirt(other))
        })
        .collect();
    let mut each = keep.iter();
    found.retain(|_| *each.next().unwrap_or(&true));
}

/// Drops all but the largest of marks that are one. Skirts are dropped before: what is about as large as its skirt stays.
fn drop_same(found: &mut Vec<Blob>) {
    let extents: Vec<f64> = found.iter().map(|b| largest_extent(&b.outline)).collect();
    let same = |i: usize, j: usize| {
        let larger = extents[j] > extents[i] || extents[j] == extents[i] && j < i;
        larger && extents[i] > SAME.0 * extents[j] && is_same(&found[i], &found[j], extents[j])
    };
    let keep: Vec<bool> = (0..found.len()).map(|k| !(0..found.len()).any(|other| same(k, other))).collect();
    let mut each = keep.iter();
    found.retain(|_| *each.next().unwrap_or(&true));
}

/// Two marks of one sign are one if one extends so far as this share of the other, and their middles lie no farther apart
/// than that.
const SAME: (f64, f64) = (0.85, 0.1);

fn is_same(a: &Blob, b: &Blob, extent: f64) -> bool {
    a.height * b.height > 0.0 && apart(a, b) < SAME.1 * extent
}

/// How far the middles of two marks lie apart.
fn apart(a: &Blob, b: &Blob) -> f64 {
    let middle = |b: &Blob| enclosing_circle(&b.outline).map(|c| (c.x, c.y));
    middle(a).zip(middle(b)).map_or(f64::MAX, |(a, b)| (a.0 - b.0).hypot(a.1 - b.1))
}

/// Whether the first of two marks stands out of the second, on which it lies: by what makes two peaks two marks.
fn stands_out(on: &Blob, below: &Blob) -> bool {
    on.height * below.height > 0.0 && below.height.abs() < 0.7 * on.height.abs()
}

/// A mark fainter than this share of another, no wider than so many times it and about the same middle is its skirt.
const SKIRT: (f64, f64, f64) = (0.3, 2.5, 0.15);

/// Whether the first of two marks is but the skirt of the second, which lies within it; `wide` and `narrow` are how far
/// they extend.
fn is_skirt(about: &Blob, strong: &Blob, wide: f64, narrow: f64) -> bool {
    let share = about.height / strong.height;
    share > 0.0 && share < SKIRT.0 && wide < SKIRT.1 * narrow && apart(about, strong) < SKIRT.2 * wide
}

/// Share of a mark's outline that its pixels leave open.
fn hollow(blob: &Blob) -> f64 {
    1.0 - blob.pixels.len() as f64 / polygon_area(&blob.outline).abs().max(1.0)
}

/// Width of the band that the mark's pixels fill: that of an ellipse of the same area and extent.
pub fn thickness(blob: &Blob) -> f64 {
    let extent = largest_extent(&blob.outline).max(1.0);
    4.0 * blob.pixels.len() as f64 / (std::f64::consts::PI * extent)
}

fn paint(plane: &mut Plane<f32>, pixels: &[(usize, usize)], reach: f64, value: f32) {
    let r = reach.ceil() as usize;
    // How far the disc reaches to either side in the row so many rows off its middle.
    let inside = |dx: usize, dy: usize| ((dx * dx + dy * dy) as f64) <= reach * reach;
    let halves: Vec<usize> =
        (0..=r).map_while(|dy| (0..=r).take_while(|&dx| inside(dx, dy)).last()).collect();
    for &(x, y) in pixels {
        for row in (y + 1).saturating_sub(halves.len())..(y + halves.len()).min(plane.height()) {
            let half = halves[row.abs_diff(y)];
            let to = (x + half + 1).min(plane.width());
            plane.row_mut(row)[x.saturating_sub(half)..to].fill(value);
        }
    }
}

fn hide(blob: &Blob, inside: &mut Plane<f32>, residual: &mut Plane<f32>, reach: f64) {
    paint(inside, &blob.pixels, reach, 0.0);
    paint(residual, &blob.pixels, reach, 0.0);
}

fn scratch(line: &Line) -> Mark {
    let half = line.width.max(0.5) / 2.0;
    let (mut left, mut right) = (Vec::new(), Vec::new());
    for i in 0..line.path.len() {
        let (a, b) = (line.path[i.saturating_sub(1)], line.path[(i + 1).min(line.path.len() - 1)]);
        let n = (b.0 - a.0).hypot(b.1 - a.1).max(1e-9);
        let (nx, ny) = (-(b.1 - a.1) / n * half, (b.0 - a.0) / n * half);
        left.push((line.path[i].0 + nx, line.path[i].1 + ny));
        right.push((line.path[i].0 - nx, line.path[i].1 - ny));
    }
    right.reverse();
    left.extend(right);
    Mark {
        kind: Kind::Scratch,
        size: line.width,
        u: line.width_u,
        length: line.length(),
        centre: line.path[line.path.len() / 2],
        contrast: line.contrast,
        outline: left,
        strength: line.strength,
    }
}

fn mark(blob: &Blob, glass: &Glass, edge: &Edge, px_per_um: f64) -> Mark {
    let circle = enclosing_circle(&blob.outline);
    let (x, y, enclosing) =
        circle.map_or((blob.peak.0 as f64, blob.peak.1 as f64, 1.0), |c| (c.x, c.y, 2.0 * c.r));
    let filled = polygon_area(&blob.outline).abs().max(1.0);
    let equal = (4.0 * filled / std::f64::consts::PI).sqrt();
    let noise = blob.blur / blob.strength;
    let hollow = hollow(blob);
    let rim = hollow > 0.15 || blob.dip > 0.25;
    let thick = thickness(blob);
    let wide = if rim { None } else { reblur::outline(&blob.outline, blob.blur) };
    let doubt = doubt_of_shape(enclosing, equal, blob.blur);
    let wide = match wide {
        Some(freed) => freed_size(&freed, noise, blob, doubt),
        None => banded_size(blob, enclosing, equal, hollow),
    };
    // Below a few blurs every mark looks round and the outline's extremes are noise: area and height tell, and by
    // how much it shows longer than wide.
    let narrow_u = (1.8 * noise).hypot(0.06 * blob.blur + 0.05 * px_per_um);
    let round = sizes::disc(equal, narrow_u, blob.stands(), blob.blur);
    let longer = (enclosing.powi(2) - equal.powi(2) - 5.0 * noise * equal).max(0.0);
    let known = 1.0 / (1.0 + (16.0 / blob.strength).powi(2));
    let size = (1.0 + UNEVEN * doubt) * (round.size.powi(2) + known * longer).sqrt();
    let narrow = sizes::Sized {
        size,
        u: round.u.hypot(doubt.min(1.0) * (0.08 * size).hypot(0.1 * blob.blur)),
        ..round
    };
    let t = part((3.0, 4.5), enclosing / blob.blur);
    let sized = sizes::Sized {
        size: t * wide.0.max(0.3 * enclosing) + (1.0 - t) * narrow.size,
        u: t * wide.1 + (1.0 - t) * narrow.u,
        contrast: t * blob.height + (1.0 - t) * (blob.base + narrow.contrast),
    };
    let sized = blob.rim.map_or(sized, |rim| by_pixels(rim, sized, blob.strength, edge.blur.max(LEAST_BLUR)));
    let grow = sized.size / enclosing.max(1e-9);
    let outline: Vec<(f64, f64)> =
        blob.outline.iter().map(|p| (x + (p.0 - x) * grow, y + (p.1 - y) * grow)).collect();
    let kind = kind(&sized, is_chip(blob, glass, edge), hollow, thick, px_per_um);
    let fades = if kind == Kind::Film { FADES * sized.size } else { 0.0 };
    let on_film = blob.blur * blob.base / blob.height;
    Mark {
        kind,
        size: sized.size,
        u: sized.u.hypot(fades).hypot(on_film),
        length: largest_extent(&outline),
        centre: (x, y),
        contrast: sized.contrast,
        outline,
        strength: blob.strength,
    }
}

/// Which part of the way between two values is gone: 0 before the first, 1 after the second.
fn part((from, to): (f64, f64), at: f64) -> f64 {
    ((at - from) / (to - from)).clamp(0.0, 1.0)
}

/// A small rim's size by its pixels and by its outline. It is not quite round either.
fn by_pixels(rim: Sized, outlined: Sized, strength: f64, blur: f64) -> Sized {
    let t = part(SHAPED, rim.size / blur) * part(FIRM, strength);
    let rim = Sized { u: rim.u.hypot(0.25 * blur + 0.025 * rim.size), ..rim };
    let mixed = |a: f64, b: f64| t * a + (1.0 - t) * b;
    Sized {
        size: mixed(outlined.size, rim.size),
        u: mixed(outlined.u, rim.u),
        contrast: mixed(outlined.contrast, rim.contrast),
    }
}

/// Marks narrower than the second of these, blurs, do not show their corners, and those narrower than the first none of
/// them.
const SHAPELESS: (f64, f64) = (4.0, 6.0);

/// The field falls towards the middle of a filled mark by less than the first of these, share of its height; by the
/// second or more it is a rim that the blur has filled. Such a rim shows wider than a filled mark by so many blurs.
const FILLED: (f64, f64) = (0.03, 0.11);
const RIM_SHOWS: f64 = 1.3;

/// A rim wider than so many blurs shows its hole.
const RIM_FILLS: (f64, f64) = (7.0, 9.0);

/// How far the circle about a mark is usually wider than one of equal area, share: of marks as wide as the blur lets
/// through, and by how many blurs they are wider. Made-up dirt; common practice, no source.
const USUAL: (f64, f64) = (0.05, 0.012);

/// How much a shape that the blur hides makes a size uncertain, 1 being usual: what shows round in spite of the blur
/// hides fewer corners than what does not.
fn doubt_of_shape(enclosing: f64, equal: f64, blur: f64) -> f64 {
    let usual = USUAL.0 + USUAL.1 * enclosing / blur;
    ((enclosing / equal - 1.0) / usual).clamp(0.6, 1.35)
}

/// Size and uncertainty of a mark from its freed outline; `noise` is the blur over the strength, `doubt` that of its
/// shape. Noise of the outline widens the circle about it. The farther that circle is from one of equal area, the sharper
/// the corners that touch it, and the more of them the blur still holds: at most about its own width. Where no shape
/// shows, half of what dirt has in corners is added, and what a disc has not is in the uncertainty. (Made-up discs, lumps,
/// rims and polygons alike; common practice, no source.)
fn freed_size(freed: &[(f64, f64)], noise: f64, blob: &Blob, doubt: f64) -> (f64, f64) {
    let blur = blob.blur;
    let around = enclosing_circle(freed).map_or(0.0, |c| 2.0 * c.r);
    let equal = (4.0 * polygon_area(freed).abs() / std::f64::consts::PI).sqrt();
    let wavy = (2.0 * std::f64::consts::PI).sqrt() * noise;
    let pointed = (around - equal - 2.5 * wavy).max(0.0) / blur;
    let hidden = 1.0 - part(SHAPELESS, around / blur);
    let rim = part(FILLED, blob.dip) * (1.0 - part(RIM_FILLS, around / blur));
    let corners = blur * (0.9 * (1.0 - (-pointed).exp()) + 0.17 * hidden);
    let shape_u = (0.25 * blur + 0.025 * around).hypot(0.4 * doubt * blur * hidden).hypot(0.5 * blur * rim);
    // Weak marks show neither shape nor filling.
    let weak_u = 36.0 * noise * noise / blur;
    (around + corners - RIM_SHOWS * blur * rim - 2.2 * wavy, (1.8 * noise).hypot(shape_u).hypot(weak_u))
}

/// Size and uncertainty of a rim, a band or a mark of many arms: the outline is freed of blur point by point, a
/// thin rim or band also of what it gained.
fn banded_size(blob: &Blob, enclosing: f64, equal: f64, hollow: f64) -> (f64, f64) {
    let rim = hollow > 0.15 || blob.dip > 0.25;
    let thick = thickness(blob);
    let level = sizes::level_shift(if rim { enclosing } else { equal }, blob.blur);
    let sharp = outline::sharpened(&blob.outline, blob.blur, level);
    let band = match (hollow > 0.15, rim) {
        (true, _) => blob.pixels.len() as f64 / (std::f64::consts::PI * 0.8 * equal),
        (false, true) => 2.4 * blob.blur,
        (false, false) => thick,
    };
    let is_band = rim || enclosing > 2.2 * thick;
    let added = if is_band { (band - sizes::bar(band, blob.blur)).max(0.0) } else { 0.0 };
    let wide = enclosing_circle(&sharp).map_or(enclosing, |c| 2.0 * c.r) - added;
    let noise = blob.blur / blob.strength;
    let sections = (enclosing / blob.blur).max(1.0);
    let u = (1.8 * noise / sections.sqrt()).hypot(0.15 * blob.blur + 0.015 * wide).hypot(0.3 * added);
    (wide, u)
}

/// Whether a blob touches the edge of the glass that can be judged.
fn at_rim(blob: &Blob, glass: &Glass, edge: &Edge) -> bool {
    let outer = blob.outline.iter().map(|p| (p.0 - edge.x).hypot(p.1 - edge.y)).fold(0.0, f64::max);
    outer > glass.radius - 1.0 - 0.5 * blob.blur
}

/// Whether a blob lies along the edge and reaches neither far into the glass nor over the ferrule, as chips do.
fn is_chip(blob: &Blob, glass: &Glass, edge: &Edge) -> bool {
    let from_centre = |p: &(f64, f64)| (p.0 - edge.x).hypot(p.1 - edge.y);
    let inner = blob.outline.iter().map(from_centre).fold(f64::MAX, f64::min);
    at_rim(blob, glass, edge) && !blob.across && inner > 0.6 * edge.radius && lies_along(blob, glass, edge)
}

/// Whether a blob reaches the edge of the glass that can be judged in most of the directions that it spans from the
/// centre. What lies across a part of the glass, as lint does, touches the edge with its ends.
fn lies_along(blob: &Blob, glass: &Glass, edge: &Edge) -> bool {
    let mut outer = [0.0f64; SECTORS];
    for p in &blob.pixels {
        let (dx, dy) = (p.0 as f64 - edge.x, p.1 as f64 - edge.y);
        let sector = &mut outer[sector_of(dx, dy)];
        *sector = sector.max(dx.hypot(dy));
    }
    let spanned = outer.iter().filter(|r| **r > 0.0);
    let touching = spanned.clone().filter(|r| **r > glass.radius - 2.0 - blob.blur);
    2 * touching.count() >= spanned.count()
}

fn kind(sized: &sizes::Sized, chip: bool, hollow: f64, thick: f64, px_per_um: f64) -> Kind {
    let um = sized.size / px_per_um;
    if chip && sized.contrast < -0.3 {
        Kind::Chip
    } else if um > 25.0 && sized.contrast.abs() < 0.35 {
        Kind::Film
    } else if sized.contrast < -0.4 && um < 6.0 && hollow < 0.1 && thick > 0.75 * sized.size {
        Kind::Pit
    } else {
        Kind::Particle
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn disc(height: f64, radius: f64) -> Blob {
        let turn = |k: usize| (k as f64 * std::f64::consts::TAU / 36.0).sin_cos();
        Blob {
            peak: (50, 50),
            height,
            base: 0.0,
            strength: 9.0,
            blur: 1.5,
            pixels: vec![(50, 50)],
            outline: (0..36).map(|k| (50.0 + radius * turn(k).1, 50.0 + radius * turn(k).0)).collect(),
            dip: 0.0,
            across: false,
            rim: None,
        }
    }

    fn left(mut found: Vec<Blob>) -> Vec<f64> {
        drop_nested(&mut found, 2.0);
        drop_same(&mut found);
        found.iter().map(|b| b.height).collect()
    }

    #[test]
    fn of_marks_that_are_one_the_largest_stays() {
        assert_eq!(left(vec![disc(-0.5, 15.0), disc(-0.3, 16.0), disc(-0.2, 16.0)]), [-0.3]);
        let mut of_two_signs = vec![disc(-0.5, 15.0), disc(0.5, 16.0)];
        drop_same(&mut of_two_signs);
        assert_eq!(of_two_signs.len(), 2);
    }

    #[test]
    fn a_mark_as_large_as_its_skirt_stays() {
        assert_eq!(left(vec![disc(-0.5, 15.0), disc(-0.1, 16.0)]), [-0.5]);
    }
}
