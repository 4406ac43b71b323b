//! Every way of seeing a face that `locate` must tell apart, on drawn scenes.

use super::scene::{Disc, Scene, layout};
use super::*;
use terms::Key;

fn located(scene: &Scene) -> Result<Lattice, LocateError> {
    locate(&scene.frame(), &scene.layout, scene.view)
}

/// Read by another layout than it was drawn with.
fn read_as(scene: &Scene, id: &str) -> Result<Lattice, LocateError> {
    locate(&scene.frame(), &layout(id), scene.view)
}

/// Found circles lie within 2 pixels and 2 % of what was drawn; gives the positions not found.
fn missing(scene: &Scene, lattice: &Lattice) -> Vec<(u16, Flaw)> {
    let mut missing = Vec::new();
    for (place, site) in scene.layout.places.iter().zip(&lattice.sites) {
        match site {
            Located::Fibre { centre, radius } => {
                let off = centre.distance(scene.centre(place.position));
                assert!(off < 2.0, "position {} is {off} pixels off", place.position);
                let true_radius = 62.5 / scene.um_per_px;
                assert!((radius / true_radius - 1.0).abs() < 0.02, "radius {radius} for {true_radius}");
            }
            Located::Missing(flaw) => missing.push((place.position, flaw.clone())),
        }
    }
    missing
}

fn assert_all_found(scene: &Scene) {
    let lattice = located(scene).unwrap();
    assert_eq!(missing(scene, &lattice), [], "{} at {} degrees", scene.layout.id, scene.turn_degrees);
}

#[test]
fn every_position_is_found_in_every_view_and_turn() {
    for key in [Key::Up, Key::Down] {
        for mirrored in [false, true] {
            for turn_degrees in [-15.0, -6.0, 0.0, 3.0, 15.0] {
                let view = View { key, mirrored };
                assert_all_found(&Scene { view, turn_degrees, ..Scene::new("mpo-12") });
            }
        }
    }
}

#[test]
fn the_scale_is_measured_from_a_quarter_to_four_micrometres_per_pixel() {
    for um_per_px in [0.25, 0.5, 1.2, 2.4, 4.0] {
        let scene = Scene { um_per_px, ..Scene::new("mpo-12") };
        let lattice = located(&scene).unwrap();
        assert_eq!(missing(&scene, &lattice), [], "{um_per_px}");
        assert!((lattice.pose.um_per_px() / um_per_px - 1.0).abs() < 0.002, "{um_per_px}");
    }
}

#[test]
fn every_layout_is_found_turned_and_key_down() {
    for id in ["mpo-8", "mpo-12", "mpo-16", "mpo-24"] {
        let view = View { key: Key::Down, mirrored: false };
        assert_all_found(&Scene { view, turn_degrees: -4.0, ..Scene::new(id) });
    }
}

#[test]
fn glass_may_be_darker_than_the_ferrule() {
    assert_all_found(&Scene { glass: 0.15, ferrule: 0.4, ..Scene::new("mpo-12") });
}

#[test]
fn glass_as_bright_as_a_rough_ferrule_is_told_by_its_smoothness() {
    let scene = Scene { glass: 0.22, ferrule: 0.25, mottle: 0.3, um_per_px: 0.6, ..Scene::new("mpo-12") };
    let lattice = located(&scene).unwrap();
    assert!(lattice.sites.iter().filter(|s| matches!(s, Located::Fibre { .. })).count() >= 10);
    missing(&scene, &lattice);
}

#[test]
fn the_border_cuts_fibres_at_either_end() {
    let whole = Scene::new("mpo-12");
    let (x0, x1, y0, y1) = whole.window;
    let right = Scene { window: (x0, 1110.0, y0, y1), ..whole.clone() };
    let cut = missing(&right, &located(&right).unwrap());
    assert!(
        matches!(cut[..], [(11, Flaw::CutByBorder { visible }), (12, Flaw::NotInView)]
        if (0.3..0.5).contains(&visible)),
        "{cut:?}"
    );
    let left = Scene { window: (-1400.0, x1, y0, y1), ..whole };
    let cut = missing(&left, &located(&left).unwrap());
    assert!(matches!(cut[..], [(1, Flaw::CutByBorder { .. })]), "{cut:?}");
}

#[test]
fn a_fibre_under_dirt_is_missing_and_the_rest_is_found() {
    let dirt = vec![Disc(375.0, 20.0, 230.0, 0.06)];
    let scene = Scene { over: dirt, ..Scene::new("mpo-12") };
    let lost: Vec<u16> = missing(&scene, &located(&scene).unwrap()).iter().map(|m| m.0).collect();
    assert_eq!(lost, [8]);
}

#[test]
fn bare_sites_within_the_row_are_missing() {
    let scene = Scene { blank: vec![4, 5], ..Scene::new("mpo-12") };
    let lost = missing(&scene, &located(&scene).unwrap());
    assert_eq!(lost, [(4, Flaw::NotFound), (5, Flaw::NotFound)]);
    let eight = read_as(&Scene::new("mpo-8"), "mpo-12").unwrap();
    let bare: Vec<usize> = (0..12).filter(|&i| eight.sites[i] == Located::Missing(Flaw::NotFound)).collect();
    assert_eq!(bare, [4, 5, 6, 7]);
}

#[test]
fn empty_bores_are_no_fibres() {
    let bores =
        |level| (5..=8).map(|c| layout("mpo-12").site(1, c)).map(move |p| Disc(p.x, p.y, 125.0, level));
    let scene = Scene { over: bores(0.04).collect(), ..Scene::new("mpo-8") };
    assert_all_found(&scene);
    let as_twelve = read_as(&scene, "mpo-12").unwrap();
    assert!((4..8).all(|i| matches!(as_twelve.sites[i], Located::Missing(Flaw::NotFound))));
}

const fn ambiguous(why: Ambiguity) -> Located {
    Located::Missing(Flaw::Ambiguous(why))
}

#[test]
fn an_end_of_the_row_under_dirt_is_told_as_hidden() {
    let whole = Scene::new("mpo-12");
    let (_, _, y0, y1) = whole.window;
    let dirt = vec![Disc(1375.0, 10.0, 330.0, 0.06)];
    let lattice = located(&Scene { over: dirt, window: (-1270.0, 1600.0, y0, y1), ..whole }).unwrap();
    assert_eq!(lattice.sites[0], ambiguous(Ambiguity::HiddenEnd));
}

#[test]
fn one_row_of_two_is_told_as_such() {
    let whole = Scene::new("mpo-24");
    let (x0, x1, ..) = whole.window;
    let lattice = located(&Scene { window: (x0, x1, 60.0, 420.0), ..whole }).unwrap();
    assert_eq!(lattice.sites[0], ambiguous(Ambiguity::OneRow { rows: 2 }));
}

/// What a picture shows that is stretched, or turned by 90 degrees, is never called another layout's face.
#[test]
fn a_stretched_or_upright_picture_is_told_as_such() {
    let frame = Scene::new("mpo-12").frame();
    let values = frame.patch(0, 0, frame.width(), frame.height()).unwrap();
    let drawn = |width: usize, height: usize, from: &dyn Fn(f64, f64) -> (f64, f64)| {
        let sample = |x: usize, y: usize| {
            let (x, y) = from(x as f64, y as f64);
            (values.sample(x, y) * 255.0).round() as u8
        };
        let eight = (0..width * height).map(|i| sample(i % width, i / width)).collect();
        Frame::new(width, height, imaging::Samples::Eight(eight)).unwrap()
    };
    let (w, h) = (frame.width(), frame.height());
    assert_eq!(distorted(&frame, &layout("mpo-12")), None);
    let upright = drawn(h, w, &|x, y| (y, x));
    assert_eq!(distorted(&upright, &layout("mpo-12")), Some(LocateError::Upright));
    for degrees in [30.0, 45.0, -60.0] {
        let tilted = Scene {
            turn_degrees: degrees,
            window: (-1600.0, 1600.0, -1600.0, 1600.0),
            ..Scene::new("mpo-12")
        };
        let told = distorted(&tilted.frame(), &layout("mpo-12"));
        assert!(
            matches!(told, Some(LocateError::Tilted { degrees: d }) if (d - degrees.abs()).abs() <= 1.0),
            "{told:?}"
        );
    }
    for times in [1.25, 1.5, 2.0] {
        let wide = drawn((w as f64 * times) as usize, h, &|x, y| (x / times, y));
        let told = distorted(&wide, &layout("mpo-12"));
        assert!(
            matches!(told, Some(LocateError::Stretched { wider: true, times: t }) if (t / times - 1.0).abs() < 0.08),
            "{told:?}"
        );
        let high = drawn(w, (h as f64 * times) as usize, &|x, y| (x, y / times));
        let told = distorted(&high, &layout("mpo-12"));
        assert!(
            matches!(told, Some(LocateError::Stretched { wider: false, times: t }) if (t / times - 1.0).abs() < 0.08),
            "{told:?}"
        );
    }
}

#[test]
fn the_middle_of_a_row_alone_is_ambiguous() {
    let whole = Scene::new("mpo-12");
    let (_, _, y0, y1) = whole.window;
    let lattice = located(&Scene { window: (-760.0, 760.0, y0, y1), ..whole }).unwrap();
    assert!(lattice.sites.iter().all(|s| *s == ambiguous(Ambiguity::NoEnd)));
}

#[test]
fn a_blank_end_is_ambiguous_until_a_guide_hole_shows() {
    let scene = Scene { blank: vec![12], ..Scene::new("mpo-12") };
    let lattice = located(&scene).unwrap();
    assert!(lattice.sites.iter().all(|s| *s == ambiguous(Ambiguity::ShortRow { seen: 11, due: 12 })));
    let wide = Scene { window: (-2500.0, 1900.0, -400.0, 400.0), ..scene };
    let lost = missing(&wide, &located(&wide).unwrap());
    assert_eq!(lost, [(12, Flaw::NotFound)]);
}

#[test]
fn guide_holes_and_pins_are_told_and_measured() {
    let window = (-2800.0, 2800.0, -450.0, 450.0);
    let holes = Scene { window, turn_degrees: 2.0, ..Scene::new("mpo-12") };
    let lattice = located(&holes).unwrap();
    assert_eq!(lattice.guides, Guides::Holes);
    let spacing = lattice.guide_spacing_px.unwrap() * holes.um_per_px;
    assert!((spacing / 4600.0 - 1.0).abs() < 0.005, "{spacing}");
    let pin = |x| [Disc(x, 0.0, 690.0, 0.7), Disc(x + 80.0, 90.0, 150.0, 0.85)];
    let pins = Scene { over: [pin(-2300.0), pin(2300.0)].concat(), ..holes };
    assert_eq!(located(&pins).unwrap().guides, Guides::Pins);
    assert_eq!(located(&Scene::new("mpo-12")).unwrap().guides, Guides::NotInView);
}

#[test]
fn another_layouts_face_is_an_error_that_says_so() {
    let cases = [
        ("mpo-12", "mpo-16", "one row of 12 between bare ferrule"),
        ("mpo-16", "mpo-12", "a row of at least 16 fibres"),
        ("mpo-24", "mpo-12", "more rows of fibres"),
        ("mpo-12", "mpo-8", "at sites that layout mpo-8 leaves empty"),
    ];
    for (face, read, says) in cases {
        let error = read_as(&Scene::new(face), read).unwrap_err().to_string();
        assert!(error.contains(says), "{face} as {read}: {error}");
    }
    let one_row = Scene { window: (-1700.0, 1700.0, -700.0, 700.0), ..Scene::new("mpo-12") };
    assert_eq!(read_as(&one_row, "mpo-24"), Err(LocateError::FewerRows { layout: "mpo-24".into() }));
}

#[test]
fn guide_holes_of_another_layout_are_an_error_that_says_how_far_apart_they_are() {
    let window = (-3100.0, 3100.0, -450.0, 450.0);
    let with_guides = |spacing: f64, diameter: f64| {
        let mut scene = Scene { window, turn_degrees: 1.5, ..Scene::new("mpo-12") };
        scene.layout.guides = terms::GuidePair { spacing: terms::Um(spacing), diameter: terms::Um(diameter) };
        scene
    };
    for (spacing, diameter, says) in [(5300.0, 550.0, "21.2"), (4200.0, 700.0, "16.8")] {
        let told = read_as(&with_guides(spacing, diameter), "mpo-12").unwrap_err().to_string();
        let [due, seen] = ["of layout mpo-12 are 18.4 times", &format!("guide holes {says} times")];
        assert!(told.contains(seen) && told.contains(due), "{told}");
    }
    // A hole that is missing, or one somewhere else, is no other layout's.
    let one = with_guides(4600.0, 700.0);
    let dark = Disc(2650.0, 0.0, 550.0, 0.03);
    assert!(read_as(&Scene { holes: false, ..one.clone() }, "mpo-12").is_ok());
    assert!(read_as(&Scene { holes: false, over: vec![dark], ..one }, "mpo-12").is_ok());
}

fn empty_scene() -> Scene {
    Scene { blank: (1..=12).collect(), holes: false, ..Scene::new("mpo-12") }
}

#[test]
fn a_bare_ferrule_and_a_blank_picture_show_no_row() {
    assert_eq!(located(&empty_scene()), Err(LocateError::NoRow));
    for (width, height) in [(1, 1), (3, 2), (40, 30), (3000, 400)] {
        let grey = imaging::Samples::Eight(vec![77; width * height]);
        let frame = Frame::new(width, height, grey).unwrap();
        let lattice = locate(&frame, &layout("mpo-12"), View::default());
        assert_eq!(lattice, Err(LocateError::NoRow), "{width} x {height}");
    }
}

/// As where every picture of a run cuts its fibres: no circle is known, but how large one is.
#[test]
fn a_row_is_found_in_the_plane_without_circles_if_it_has_the_radius_known() {
    let scene = Scene::new("mpo-12");
    let base = Level::base(&scene.frame()).unwrap();
    let radius = 62.5 / scene.um_per_px / base.factor;
    let among = |radius| locate_among(&base, Vec::new(), radius, &scene.layout, scene.view);
    assert_eq!(missing(&scene, &among(radius).unwrap()), []);
    for wrong in [0.9, 1.1] {
        assert_eq!(among(wrong * radius), Err(LocateError::NoRow));
    }
}

#[test]
fn scattered_circles_are_no_row() {
    let coins = (0..24).map(|i| {
        let (column, row) = (f64::from(i % 8), f64::from(i / 8));
        let shift = f64::from(i * 37 % 23);
        let place = (column * 300.0 - 1100.0 + 3.0 * shift, row * 270.0 - 270.0 + 2.0 * shift);
        Disc(place.0, place.1, 150.0 + 4.0 * shift, 0.3 + 0.01 * shift as f32)
    });
    let window = (-1700.0, 1700.0, -500.0, 500.0);
    let scene = Scene { under: coins.collect(), window, ..empty_scene() };
    assert_eq!(located(&scene), Err(LocateError::NoRow));
}

#[test]
fn one_fibre_is_no_array() {
    let scene =
        Scene { blank: (2..=12).collect(), window: (-1700.0, -1050.0, -200.0, 200.0), ..empty_scene() };
    assert_eq!(located(&scene), Err(LocateError::OneCircle));
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let scene = Scene { turn_degrees: 7.0, ..Scene::new("mpo-24") };
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| located(&scene))
    };
    assert_eq!(on(1), on(3));
}
