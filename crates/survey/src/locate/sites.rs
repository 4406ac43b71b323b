//! What is to be seen at each site of the lattice that the picture holds, before any has a number.

use super::grid::{FIBRE_SHARE, Grid};
use super::rim::{Circle, Polarity, median};
use imaging::Plane;

/// Share of the circumference below which nothing of a cladding is taken to show.
const PART_SHARE: f64 = 0.32;

/// Least share of the circumference in view that tells anything about a site.
const LEAST_VIEW: f64 = 0.2;

/// What shows at one site.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Seen {
    /// A cladding's edge.
    Fibre,
    /// Parts of one.
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
    let looks: Vec<Look> = (-60..=60)
        .filter_map(|k| {
            let expected = grid.expected(f64::from(k), across);
            let visible = visible(plane, expected);
            (visible > 0.0).then(|| Look::new(plane, grid, k, across, visible))
        })
        .collect();
    let usual = usual_light(&looks);
    looks.iter().map(|look| look.cell(row, grid, usual)).collect()
}

/// Share of a disc's area that lies in the plane.
fn visible(plane: &Plane<f32>, c: Circle) -> f64 {
    let (right, bottom) = (plane.width() as f64 - 0.5, plane.height() as f64 - 0.5);
    let whole = c.x - c.radius >= -0.5
        && c.y - c.radius >= -0.5
        && c.x + c.radius <= right
        && c.y + c.radius <= bottom;
    if whole {
        return 1.0;
    }
    let (mut inside, mut all) = (0u32, 0u32);
    for i in -20..=20 {
        for j in -20..=20 {
            let (u, v) = (f64::from(i) / 20.5, f64::from(j) / 20.5);
            if u * u + v * v <= 1.0 {
                let (x, y) = (c.x + u * c.radius, c.y + v * c.radius);
                all += 1;
                inside += u32::from(x >= -0.5 && y >= -0.5 && x <= right && y <= bottom);
            }
        }
    }
    f64::from(inside) / f64::from(all)
}

/// The edges at one site in both polarities, and the light within over the light beside.
struct Look {
    k: i32,
    visible: f64,
    in_view: f64,
    circle: Circle,
    own: f64,
    other: f64,
    light: Option<f64>,
}

impl Look {
    fn new(plane: &Plane<f32>, grid: &Grid, k: i32, across: f64, visible: f64) -> Look {
        let profiles = grid.profiles(plane, f64::from(k), across);
        let own = profiles.rim(grid.polarity, grid.threshold);
        let other = profiles.rim(opposite(grid.polarity), grid.threshold);
        let beside = grid.line.pitch() / 2.0;
        let at = |across| disc_light(plane, grid.expected(f64::from(k), across));
        let about: Vec<f32> = [at(across - beside), at(across + beside)].into_iter().flatten().collect();
        let ground = about.iter().sum::<f32>() / about.len().max(1) as f32;
        let light = at(across).filter(|_| !about.is_empty()).map(|l| f64::from(l / (ground + 0.01)));
        Look {
            k,
            visible,
            in_view: own.in_view,
            circle: own.circle,
            own: own.share,
            other: other.share,
            light,
        }
    }

    fn cell(&self, row: i32, grid: &Grid, usual: Option<f64>) -> Cell {
        let dark = matches!((self.light, usual), (Some(l), Some(u)) if l < 0.5 * u);
        let odd = self.light.is_some_and(|l| (l - 1.0).abs() > 0.25);
        let seen = if self.in_view < LEAST_VIEW {
            Seen::Unknown
        } else if self.own >= FIBRE_SHARE && !(dark && self.other >= self.own * 0.8) {
            Seen::Fibre
        } else if self.other >= FIBRE_SHARE && grid.polarity == Polarity::Bright {
            Seen::Bore
        } else if self.own >= PART_SHARE {
            Seen::Partly
        } else if odd {
            Seen::Covered
        } else {
            Seen::Bare
        };
        Cell { k: self.k, row, seen, share: self.own, visible: self.visible, circle: self.circle }
    }
}

fn opposite(polarity: Polarity) -> Polarity {
    match polarity {
        Polarity::Bright => Polarity::Dark,
        Polarity::Dark => Polarity::Bright,
    }
}

/// The median light of the sites with an edge, over the ferrule beside them.
fn usual_light(looks: &[Look]) -> Option<f64> {
    let lights = looks.iter().filter(|l| l.own >= FIBRE_SHARE && l.in_view > 0.6).filter_map(|l| l.light);
    let lights: Vec<f32> = lights.map(|l| l as f32).collect();
    (!lights.is_empty()).then(|| f64::from(median(lights)))
}

/// Median luminance of a disc off its core; none where the plane does not hold half of the samples.
fn disc_light(plane: &Plane<f32>, c: Circle) -> Option<f32> {
    let mut values = Vec::with_capacity(32);
    for ray in 0..16 {
        let (sin, cos) = (f64::from(ray) * std::f64::consts::TAU / 16.0).sin_cos();
        for share in [0.65, 0.82] {
            let (x, y) = (c.x + share * c.radius * cos, c.y + share * c.radius * sin);
            if x >= 0.0 && y >= 0.0 && x <= plane.width() as f64 - 1.0 && y <= plane.height() as f64 - 1.0 {
                values.push(plane.sample(x, y));
            }
        }
    }
    (values.len() >= 16).then(|| median(values))
}
