//! The number of threads changes nothing.

use crate::scene::Scene;
use synth::{Form, What};

#[test]
fn one_thread_and_four_tell_the_same_survey() {
    let mut scene = Scene::new("mpo-12").at(1.0).strip(1350.0, 400.0);
    for position in 1..=12 {
        let x = 8.0 * f64::from(position) - 50.0;
        let size_um = 1.0 + f64::from(position);
        let speck = What::Particle { at: (x, 10.0), size_um, contrast: -0.5, form: Form::Angular };
        let path_um = vec![(x, -40.0), (-20.0, 0.0), (-x, 40.0)];
        let line = What::Scratch { path_um, width_um: 2.0, contrast: -0.3, broken: 0.3 };
        scene = scene.on(position, speck).on(position, line);
    }
    let debris = What::Particle { at: (-500.0, 90.0), size_um: 60.0, contrast: -0.8, form: Form::Angular };
    let shot = scene.off(debris).shot();
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        format!("{:?}", pool.install(|| shot.survey()))
    };
    let one = on(1);
    assert!(one.matches("kind: ").count() >= 20, "too little is seen to compare");
    assert_eq!(one, on(4));
}
