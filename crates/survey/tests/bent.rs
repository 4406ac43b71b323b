//! Wide scratches that run in an arc: one mark each, as wide as they are. What the search leaves beside a wide line would be
//! told as dirt, which fails a fibre that the scratch itself does not.

use crate::scene::{Scene, fibre, single_mode, told};
use synth::{FacePlan, Spot, What};
use terms::{Feature, Kind};

/// An arc of 90 um that bows by a share of it, turned by so many degrees about the fibre's middle, whose chord lies `off`
/// from there.
fn arc(bow: f64, turned: f64, off: f64, width_um: f64, contrast: f64) -> What {
    let (sin, cos) = turned.to_radians().sin_cos();
    let at = |k: i32| -> Spot {
        let t = f64::from(k) / 10.0;
        let (x, y) = (90.0 * (t - 0.5), off + 4.0 * bow * 90.0 * t * (1.0 - t));
        (x * cos - y * sin, x * sin + y * cos)
    };
    What::Scratch { path_um: (0..=10).map(at).collect(), width_um, contrast, broken: 0.0 }
}

#[test]
fn a_wide_arc_is_one_scratch() {
    let shapes = [(0.05, 10.0, -30.0), (0.07, 75.0, 25.0), (0.09, 130.0, -25.0), (0.07, 160.0, 30.0)];
    let kinds = [(4.4, -0.3), (5.2, -0.26), (5.8, 0.3)];
    for blur in [0.45, 0.75] {
        let plan = FacePlan { seed: 78, ..single_mode() };
        let cases = shapes.iter().flat_map(|shape| kinds.map(|kind| (*shape, kind)));
        let scene = Scene::of("mpo-12", plan);
        let scene = cases.clone().zip(1..).fold(
            scene,
            |scene, (((bow, turned, off), (width, contrast)), position)| {
                scene.on(position, arc(bow, turned, off, width, contrast))
            },
        );
        let survey = scene.seen(|c| c.blur_um = blur).shot().survey();
        for ((shape, (width, contrast)), position) in cases.zip(1..) {
            let seen = &fibre(&survey, position).features;
            let right = |f: &Feature| f.kind == Kind::Scratch && (f.size.0 - width).abs() < 0.3;
            let all = seen.iter().map(told).collect::<Vec<_>>().join("; ");
            if !(seen.len() == 1 && right(&seen[0])) {
                println!("{shape:?} {width} {contrast} at {blur}: {all}");
            }
        }
    }
}
