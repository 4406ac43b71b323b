//! Dirt by chance: how much of each kind of mark lies on and about the fibres at a stated level.

use super::{Mark, On, What};
use crate::face::Face;
use crate::random::{Stream, Topic};
use crate::shape::{Form, Spot, distance, on_circle};
use std::f64::consts::TAU;

/// How dirty a face is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DirtLevel {
    /// As it comes out of its packing: a speck here and there.
    #[default]
    Light,
    /// As after a few matings without cleaning.
    Moderate,
    /// As after lying open in a workshop.
    Heavy,
    /// Dropped.
    Filthy,
}

/// Mean numbers of marks: per fibre first, then per square millimetre of ferrule and per guide hole.
struct Means {
    particles: f64,
    droplets: f64,
    pits: f64,
    scratches: f64,
    films: f64,
    chips: f64,
    lint: f64,
    debris: f64,
    at_guide: f64,
}

impl DirtLevel {
    fn means(self) -> Means {
        let of = |n: [f64; 9]| Means {
            particles: n[0],
            droplets: n[1],
            pits: n[2],
            scratches: n[3],
            films: n[4],
            chips: n[5],
            lint: n[6],
            debris: n[7],
            at_guide: n[8],
        };
        match self {
            DirtLevel::Light => of([0.7, 0.1, 0.06, 0.12, 0.02, 0.02, 0.0, 4.0, 0.3]),
            DirtLevel::Moderate => of([2.4, 0.5, 0.15, 0.35, 0.08, 0.06, 0.02, 14.0, 2.0]),
            DirtLevel::Heavy => of([7.0, 2.0, 0.25, 0.9, 0.3, 0.1, 0.08, 45.0, 6.0]),
            DirtLevel::Filthy => of([22.0, 6.0, 0.4, 2.2, 0.8, 0.15, 0.25, 140.0, 15.0]),
        }
    }
}

/// Marks strewn over a face by chance.
pub(crate) fn strew(face: &Face, level: DirtLevel, seed: u64) -> Vec<Mark> {
    let means = level.means();
    let mut marks = Vec::new();
    let wide = face.guide_spacing.0 / 2.0 + 500.0;
    for fibre in face.fibres.iter().filter(|f| !f.empty) {
        let on = On::Fibre(fibre.position);
        let mut chance = Stream::new(seed, Topic::Dirt, i64::from(fibre.position), 1);
        for _ in 0..chance.count(means.films) {
            add(&mut marks, &mut chance, on, film);
        }
        for _ in 0..chance.count(means.scratches) {
            add(&mut marks, &mut chance, on, scratch);
        }
        for _ in 0..chance.count(means.chips) {
            add(&mut marks, &mut chance, on, chip);
        }
        for _ in 0..chance.count(means.pits) {
            add(&mut marks, &mut chance, on, pit);
        }
        for _ in 0..chance.count(means.particles) {
            add(&mut marks, &mut chance, on, |c| particle(c, 75.0));
        }
        for _ in 0..chance.count(means.droplets) {
            add(&mut marks, &mut chance, on, droplet);
        }
        for _ in 0..chance.count(means.lint) {
            add(&mut marks, &mut chance, on, lint);
        }
    }
    let mut chance = Stream::new(seed, Topic::Dirt, 0, 2);
    let area_mm2 = 2.0 * wide * 1000.0 * 1e-6;
    for _ in 0..chance.count(means.debris * area_mm2) {
        add(&mut marks, &mut chance, On::Face, |c| debris(c, face, wide));
    }
    for centre in face.guide_centres() {
        for _ in 0..chance.count(means.at_guide) {
            let radius = face.guide_diameter.0 / 2.0;
            add(&mut marks, &mut chance, On::Face, |c| at_guide(c, centre, radius));
        }
    }
    marks
}

fn add(marks: &mut Vec<Mark>, chance: &mut Stream, on: On, draw: impl Fn(&mut Stream) -> What) {
    let what = draw(chance);
    marks.push(Mark { on, what, seed: chance.bits() });
}

fn sign(chance: &mut Stream, share_bright: f64) -> f64 {
    if chance.chance(share_bright) { 1.0 } else { -1.0 }
}

fn particle(chance: &mut Stream, within: f64) -> What {
    let form = if chance.chance(0.4) { Form::Angular } else { Form::Rounded };
    let contrast = match sign(chance, 0.15) {
        s if s > 0.0 => chance.between(0.08, 0.45),
        _ => -chance.between(0.12, 0.8),
    };
    What::Particle { at: chance.in_disc(within), size_um: chance.log_between(0.9, 14.0), contrast, form }
}

fn droplet(chance: &mut Stream) -> What {
    let size_um = chance.log_between(2.5, 16.0);
    What::Droplet {
        at: chance.in_disc(70.0),
        size_um,
        contrast: -chance.between(0.12, 0.5),
        rim_um: (0.12 * size_um).clamp(0.3, 1.2),
    }
}

fn pit(chance: &mut Stream) -> What {
    What::Pit {
        at: chance.in_disc(58.0),
        size_um: chance.log_between(0.7, 4.0),
        contrast: -chance.between(0.4, 0.85),
    }
}

fn scratch(chance: &mut Stream) -> What {
    let middle = chance.in_disc(52.0);
    let (half, angle) = (chance.log_between(12.0, 110.0), chance.between(0.0, TAU));
    let bend = half * 0.12 * chance.normal();
    let a = on_circle(middle, half, angle);
    let b = on_circle(middle, -half, angle);
    let side = on_circle(middle, bend, angle + 0.25 * TAU);
    let contrast = match sign(chance, 0.2) {
        s if s > 0.0 => chance.between(0.06, 0.3),
        _ => -chance.between(0.06, 0.35),
    };
    let broken = if chance.chance(0.3) { chance.between(0.1, 0.5) } else { 0.0 };
    What::Scratch { path_um: vec![a, side, b], width_um: chance.log_between(0.4, 4.0), contrast, broken }
}

fn film(chance: &mut Stream) -> What {
    let (at, size_um) = (chance.in_disc(60.0), chance.log_between(20.0, 130.0));
    let contrast = -chance.between(0.06, 0.2);
    match chance.below(4) {
        0 => What::Oil { at, size_um, contrast, fringes: chance.between(1.5, 5.0) },
        1 => What::Smear { at, size_um, contrast, rim_um: 0.0 },
        _ => What::Smear { at, size_um, contrast, rim_um: 0.06 * size_um },
    }
}

fn chip(chance: &mut Stream) -> What {
    let size_um = chance.log_between(2.5, 22.0);
    What::Chip {
        at_deg: chance.between(0.0, 360.0),
        size_um,
        depth_um: size_um * chance.between(0.18, 0.42),
        contrast: -chance.between(0.45, 0.8),
    }
}

fn lint(chance: &mut Stream) -> What {
    let mut at: Spot = chance.in_disc(90.0);
    let mut angle = chance.between(0.0, TAU);
    let path_um = (0..7)
        .map(|_| {
            angle += 0.35 * chance.normal();
            at = on_circle(at, 38.0, angle);
            at
        })
        .collect();
    What::Lint { path_um, width_um: chance.between(3.0, 9.0), contrast: -chance.between(0.3, 0.6) }
}

/// Debris on the ferrule; none hangs over an open hole.
fn debris(chance: &mut Stream, face: &Face, wide: f64) -> What {
    let form = if chance.chance(0.5) { Form::Angular } else { Form::Rounded };
    let size_um = chance.log_between(2.0, 45.0);
    let bright = chance.chance(0.12);
    let contrast = if bright { chance.between(0.1, 0.7) } else { -chance.between(0.15, 0.8) };
    let clear = face.guide_diameter.0 / 2.0 + size_um / 2.0;
    let mut at = (0.0, 0.0);
    for _ in 0..20 {
        at = (chance.between(-wide, wide), chance.between(-500.0, 500.0));
        if face.guide_centres().iter().all(|g| distance(*g, at) > clear) {
            break;
        }
    }
    What::Particle { at, size_um, contrast, form }
}

/// A crumb on the bevel of a guide hole or just beside it.
fn at_guide(chance: &mut Stream, centre: Spot, radius: f64) -> What {
    let size_um = chance.log_between(4.0, 60.0);
    let away = radius + 0.35 * size_um + 25.0 * chance.unit();
    What::Particle {
        at: on_circle(centre, away, chance.between(0.0, TAU)),
        size_um,
        contrast: -chance.between(0.2, 0.7),
        form: Form::Angular,
    }
}
