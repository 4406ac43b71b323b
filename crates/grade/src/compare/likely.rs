//! How likely it is that a mark that only one picture shows truly came or went, and whether it may be a film's shadow.

use super::seen::Glass;
use super::shape::{is_line, thickness};
use super::visible::chance_noticed;
use terms::{Feature, Kind};

/// Where a film takes the light, clean glass about it may seem to be too bright by so many times the film's contrast.
const BRIGHT: f64 = 1.4;

/// A mark of less than this share of a film's contrast, and wider or longer than this, um, may be that film's shadow or a
/// wrinkle of it; seen on made-up faces, no source.
const SHADOW: (f64, f64) = (0.6, 8.0);

/// Scratches neither come nor go with a cleaning but by accident; what is drawn out, narrower than this, um, and fainter,
/// though called a particle, is most often a stretch of one: as narrow as most are, or as broad as one can be and so
/// faint that lint is not.
const SCRATCHES: f64 = 0.04;
const STRETCHES: [(f64, f64); 2] = [(3.0, 0.25), (6.5, 0.15)];

/// What is wider than this, um, bends the fitted light as a film does, by less: by these shares of its contrast for what
/// seems bright and what seems dark about it.
const BROAD: f64 = 40.0;
const BROAD_SHADOW: (f64, f64) = (0.35, 0.1);

/// How likely it is that a mark without a partner came or went, rather than was not seen in the other picture; by the
/// pixels where they tell (natural logarithm of their odds), else by how surely it would have been noticed.
pub fn changed(mark: &Feature, own: &Glass, other: &Glass, pixels: Option<f64>) -> f64 {
    let comes_or_goes = comes_or_goes(mark);
    let unseen = pixels.map_or_else(|| 1.0 - chance_noticed(mark, own, other), |odds| (-odds).exp());
    comes_or_goes / (comes_or_goes + (1.0 - comes_or_goes) * unseen)
}

/// How often a mark that looks like this comes or goes with a cleaning, before anything else is known; common
/// practice, no source. Small dirt is taken for pits, and dirt on the rim for chips.
fn comes_or_goes(mark: &Feature) -> f64 {
    match mark.kind {
        Kind::Particle if is_stretch(mark) => SCRATCHES,
        Kind::Particle | Kind::Film => 0.5,
        Kind::Pit => 0.4,
        Kind::Chip => 0.3,
        Kind::Scratch => SCRATCHES,
    }
}

/// Whether a mark is drawn out, narrow and faint.
fn is_stretch(mark: &Feature) -> bool {
    let fits = |(narrower, fainter): (f64, f64)| thickness(mark) < narrower && mark.contrast.abs() < fainter;
    is_line(mark) && STRETCHES.into_iter().any(fits)
}

/// Whether a mark may be no more than what a film among the marks of its own picture does to the light about it.
pub fn is_shadow(mark: &Feature, own: &[Feature]) -> bool {
    let film = |other: &&Feature| other.kind == Kind::Film && other.id != mark.id;
    let strongest = |dark: bool| {
        let films = own.iter().filter(film).filter(|film| !dark || film.contrast < 0.0);
        films.map(|film| film.contrast.abs()).fold(0.0, f64::max)
    };
    let lump = |other: &&Feature| other.kind != Kind::Scratch && other.size.0 > BROAD && other.id != mark.id;
    let broad = own.iter().filter(lump).map(|lump| lump.contrast.abs()).fold(0.0, f64::max);
    let most = match mark.contrast > 0.0 {
        true => (BRIGHT * strongest(true)).max(SHADOW.0 * strongest(false)).max(BROAD_SHADOW.0 * broad),
        false => (SHADOW.0 * strongest(false)).max(BROAD_SHADOW.1 * broad),
    };
    mark.size.0.max(mark.length.0) > SHADOW.1 && mark.contrast.abs() < most
}
