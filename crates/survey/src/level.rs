//! The light taken off what two pictures of one fibre differ by.

use crate::solve::{cholesky, median};
use imaging::Plane;

/// Places that a surface is fitted to, at least.
const LEAST: usize = 60;

/// Takes the light away, a quadratic surface about the centre, by robust least squares (biweight; Beaton and Tukey, 1974,
/// "The fitting of power series"). What is no number counts nowhere. None if little is left to fit.
pub(crate) fn level(plane: &mut Plane<f32>, centre: (f64, f64), radius: f64) -> Option<()> {
    let terms = |x: usize, y: usize| {
        let (u, v) = ((x as f64 - centre.0) / radius, (y as f64 - centre.1) / radius);
        [1.0, u, v, u * u, u * v, v * v]
    };
    let places: Vec<([f64; 6], f64)> = (0..plane.height())
        .step_by(2)
        .flat_map(|y| (0..plane.width()).step_by(2).map(move |x| (x, y)))
        .filter_map(|(x, y)| {
            let v = plane.at(x, y);
            v.is_finite().then(|| (terms(x, y), f64::from(v)))
        })
        .collect();
    if places.len() < LEAST {
        return None;
    }
    let value = |c: &[f64], t: &[f64; 6]| c.iter().zip(t).map(|(a, b)| a * b).sum::<f64>();
    let mut c = vec![median(&mut places.iter().map(|p| p.1).collect::<Vec<_>>()), 0.0, 0.0, 0.0, 0.0, 0.0];
    for _ in 0..5 {
        let off: Vec<f64> = places.iter().map(|(t, v)| v - value(&c, t)).collect();
        let reach = 4.0 * 1.4826 * median(&mut off.iter().map(|o| o.abs()).collect::<Vec<_>>()) + 1e-6;
        let (mut normal, mut right) = (vec![0.0; 36], vec![0.0; 6]);
        for ((t, v), o) in places.iter().zip(&off) {
            let weight = (1.0 - (o / reach).powi(2)).max(0.0).powi(2);
            for i in 0..6 {
                right[i] += weight * t[i] * v;
                (0..=i).for_each(|j| normal[i * 6 + j] += weight * t[i] * t[j]);
            }
        }
        (0..6).for_each(|i| normal[i * 7] += 1e-6);
        c = cholesky(&mut normal, &right)?;
    }
    let light = Plane::from_fn(plane.width(), plane.height(), |x, y| value(&c, &terms(x, y)) as f32);
    plane.data_mut().iter_mut().zip(light.data()).for_each(|(v, l)| *v -= l);
    Some(())
}
