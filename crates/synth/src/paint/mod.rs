//! From a face to its reflectance on a grid of samples: ferrule, grains, fibres, guide holes, then the marks
//! in order. Rows are painted in bands, each by itself, so that the number of threads changes nothing.

mod ferrule;
mod fibre;
mod fill;
mod grid;
mod guide;
mod layer;
mod stroke;

pub(crate) use grid::{Grid, SOFT_SAMPLES, steps_per_pixel};

use crate::face::Face;
use crate::mark::Placed;
use crate::normal::Share;
use grid::Row;
use imaging::Plane;
use rayon::prelude::*;

/// Rows of a band.
const BAND: usize = 16;

/// Reflectance of the face with its marks at every sample, each seen through the grid's own soft blur.
pub(crate) fn reflectance(face: &Face, marks: &[Placed], grid: &Grid) -> Plane<f32> {
    let scene = Scene::new(face, marks, grid);
    let mut plane = Plane::filled(grid.width, grid.height, 0.0f32);
    let width = grid.width;
    plane.data_mut().par_chunks_mut(BAND * width).enumerate().for_each(|(band, rows)| {
        let mut x = vec![0.0; width];
        let mut y = vec![0.0; width];
        for (k, out) in rows.chunks_mut(width).enumerate() {
            let j = band * BAND + k;
            places(grid, j, &mut x, &mut y);
            scene.paint(band, &mut Row { j, x: &x, y: &y, out });
        }
    });
    plane
}

fn places(grid: &Grid, j: usize, x: &mut [f64], y: &mut [f64]) {
    for (i, (x, y)) in x.iter_mut().zip(y.iter_mut()).enumerate() {
        (*x, *y) = grid.to_face(i as f64, j as f64);
    }
}

/// Everything to be painted, with the window of samples that each thing may touch.
struct Scene<'a> {
    face: &'a Face,
    ferrule: ferrule::Matrix,
    grains: ferrule::Grains,
    fibres: Vec<fibre::Drawn<'a>>,
    guides: Vec<guide::Drawn>,
    layers: Vec<layer::Drawn>,
    soft: f32,
    share: Share,
}

impl<'a> Scene<'a> {
    fn new(face: &'a Face, marks: &[Placed], grid: &Grid) -> Scene<'a> {
        let layers: Vec<&crate::mark::Layer> = marks.iter().flat_map(|m| m.layers.iter()).collect();
        Scene {
            face,
            ferrule: ferrule::Matrix::new(face),
            grains: ferrule::Grains::new(face, grid, BAND),
            fibres: face.fibres.iter().filter_map(|f| fibre::Drawn::new(face, f, grid)).collect(),
            guides: guide::Drawn::both(face, grid),
            layers: layers.into_par_iter().filter_map(|l| layer::Drawn::new(l, grid)).collect(),
            soft: grid.soft as f32,
            share: Share::new(),
        }
    }

    fn paint(&self, band: usize, row: &mut Row) {
        self.ferrule.paint(row);
        self.grains.paint(band, row, self.soft, self.share);
        self.ferrule.cut_outline(row, self.soft, self.share);
        for fibre in &self.fibres {
            fibre.paint(row, self.face.polish as f32, self.soft, self.share);
        }
        for guide in &self.guides {
            guide.paint(row, self.soft, self.share);
        }
        for layer in &self.layers {
            layer.paint(row, f64::from(self.soft), self.share);
        }
    }
}
