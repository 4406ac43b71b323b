//! What is to be seen at each site of the lattice that the picture holds, before any has a number.

use super::disc::{Disc, Ground};
use super::grid::Grid;
use super::rim::{Circle, PART_SHARE, Polarity, Profiles, Rim, median};
use imaging::Plane;

/// Least share of the circumference in view that tells anything about a site.
const LEAST_VIEW: f64 = 0.12;

/// Glass is brighter than this share of what the row's claddings usually are; an empty bore is darker.
const BORE_LIGHT: f32 = 0.6;

/// Glass keeps within these factors of the row's usual light.
const GLASS_LIGHT: (f32, f32) = (0.7, 1.4);

/// Share of the row's usual coherence from which a site is not called bare: in a picture so dark or noisy
/// that edges hardly stand out, grain may reach it as well, and then the site tells nothing.
const HINT: f64 = 0.35;

/// Bare ferrule keeps within these factors of the light and the texture of the ferrule about it.
const BARE_LIGHT: (f32, f32) = (0.75, 1.3);
const BARE_TEXTURE: (f32, f32) = (0.6, 1.7);

/// What shows at one site.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Seen {
    /// A cladding's edge.
    Fibre,
    /// Glass whose edge hardly shows on the coarse plane.
    Faint,
    /// Parts of an edge, and what lies within does not look like glass.
    Partly,
    /// Neither an edge nor bare ferrule: something lies over it.
    Covered,
    /// An empty bore: a disc without glass.
    Bore,
    /// Bare ferrule.
    Bare,
    /// Too little of it is in view to tell.
    Unknown,
}

/// One site of the lattice that is in view, at least in part; in pixels of the base plane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cell {
    /// Place along the line, rightwards.
    pub k: i32,
    /// Number of the row, downwards; the line itself is row 0.
    pub row: i32,
    pub seen: Seen,
    /// Share of the circumference in view that shows an edge.
    pub share: f64,
    /// Share of the cladding that lies in the picture.
    pub visible: f64,
    pub circle: Circle,
}

/// The cells of one row, `across` pixels beside the line, from left to right.
pub(crate) fn row_cells(plane: &Plane<f32>, grid: &Grid, row: i32, across: f64) -> Vec<Cell> {
    let in_view = |k: &i32| visible(plane, grid.expected(f64::from(*k), across)) > 0.0;
    let ks: Vec<i32> = (-60..=60).filter(in_view).collect();
    let beside = |side: f64| {
        let across = across + side * grid.line.pitch() / 2.0;
        let disc = move |&k: &i32| Some((k, Disc::new(plane, grid.expected(f64::from(k), across))?));
        ks.iter().filter_map(disc).collect::<Vec<_>>()
    };
    let ground = Ground::new([beside(-1.0), beside(1.0)].concat());
    let looks: Vec<Look> = ks.iter().map(|&k| Look::new(plane, grid, k, across, &ground)).collect();
    let usual = usual_light(&looks);
    let hint = HINT * grid.usual_coherence();
    looks.iter().map(|look| look.cell(row, usual, hint)).collect()
}

/// Share of a disc's area that the plane shows.
fn visible(plane: &Plane<f32>, c: Circle) -> f64 {
    let (right, bottom) = (plane.width() as f64 - 0.5, plane.height() as f64 - 0.5);
    let near =
        c.x + c.radius > -0.5 && c.y + c.radius > -0.5 && c.x - c.radius < right && c.y - c.radius < bottom;
    if !near {
        return 0.0;
    }
    let (mut inside, mut all) = (0u32, 0u32);
    for i in -20..=20 {
        for j in -20..=20 {
            let (u, v) = (f64::from(i) / 20.5, f64::from(j) / 20.5);
            if u * u + v * v <= 1.0 {
                let (x, y) = (c.x + u * c.radius, c.y + v * c.radius);
                all += 1;
                let shown = plane.get(x.round() as isize, y.round() as isize);
                inside += u32::from(shown.is_some_and(f32::is_finite));
            }
        }
    }
    f64::from(inside) / f64::from(all)
}

/// The edges at one site in both polarities, and its disc against the ferrule beside it.
struct Look {
    k: i32,
    visible: f64,
    expected: Circle,
    own: Rim,
    other: Rim,
    /// Light, light of the brightest fifth, and texture, over those of the ferrule.
    disc: Option<Disc>,
}

impl Look {
    fn new(plane: &Plane<f32>, grid: &Grid, k: i32, across: f64, ground: &Ground) -> Look {
        let expected = grid.expected(f64::from(k), across);
        let profiles = Profiles::new(plane, expected);
        let disc = Disc::new(plane, expected).zip(ground.near(k)).map(|(disc, (light, texture))| Disc {
            light: disc.light / (light + 0.005),
            bright: disc.bright / (light + 0.005),
            texture: disc.texture / (texture + 1e-4),
        });
        let own = profiles.rim(grid.polarity, grid.grain);
        let other = profiles.rim(opposite(grid.polarity), grid.grain);
        Look { k, visible: visible(plane, expected), expected, own, other, disc }
    }

    /// `usual` is the light of the row's glass, `hint` the coherence from which an edge may be there.
    fn cell(&self, row: i32, usual: Option<f32>, hint: f64) -> Cell {
        let dark = matches!((self.disc, usual), (Some(d), Some(u)) if d.bright < BORE_LIGHT * u);
        let glass = matches!((self.disc, usual), (Some(d), Some(u)) if within(d.light / u, GLASS_LIGHT));
        let smooth = self.disc.is_some_and(|d| d.texture < BARE_TEXTURE.0);
        let bare = self.disc.is_none_or(|d| within(d.light, BARE_LIGHT) && within(d.texture, BARE_TEXTURE));
        let edge = self.own.is_edge() || self.other.is_edge();
        let best = if self.other.share > self.own.share { self.other } else { self.own };
        let seen = match () {
            () if self.own.in_view < LEAST_VIEW => Seen::Unknown,
            () if edge && dark => Seen::Bore,
            () if edge => Seen::Fibre,
            () if glass && (smooth || best.share >= PART_SHARE) => Seen::Faint,
            () if best.share >= PART_SHARE || self.own.coherence > hint => Seen::Partly,
            () if bare => Seen::Bare,
            () => Seen::Covered,
        };
        let circle = match () {
            () if self.own.is_edge() => self.own.circle,
            () if edge => best.circle,
            () => self.expected,
        };
        Cell { k: self.k, row, seen, share: best.share, visible: self.visible, circle }
    }
}

fn within(value: f32, (least, most): (f32, f32)) -> bool {
    (least..=most).contains(&value)
}

fn opposite(polarity: Polarity) -> Polarity {
    match polarity {
        Polarity::Bright => Polarity::Dark,
        Polarity::Dark => Polarity::Bright,
    }
}

/// The median light of the sites with an edge, over the ferrule beside them.
fn usual_light(looks: &[Look]) -> Option<f32> {
    let whole = looks.iter().filter(|l| l.own.is_edge() && l.own.in_view > 0.6);
    let lights: Vec<f32> = whole.filter_map(|l| l.disc).map(|d| d.light).collect();
    (!lights.is_empty()).then(|| median(lights))
}
