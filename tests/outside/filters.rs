//! Blur, derivatives, box and median against scipy.ndimage and OpenCV, on scikit-image's coins.

use super::store::{Store, coins, list, number, text};
use imaging::Plane;
use imaging::blur::{box_mean, gaussian, median3, median5};
use imaging::edges::{gaussian_gradient, gaussian_hessian, sobel};

/// The filter of that name in the recipe.
fn filtered(plane: &Plane<f32>, name: &str, size: f64) -> Plane<f32> {
    match (name, size as usize) {
        ("gaussian", _) => gaussian(plane, size),
        ("x", _) => gaussian_gradient(plane, size).unwrap().x,
        ("y", _) => gaussian_gradient(plane, size).unwrap().y,
        ("xx", _) => gaussian_hessian(plane, size).unwrap().xx,
        ("xy", _) => gaussian_hessian(plane, size).unwrap().xy,
        ("yy", _) => gaussian_hessian(plane, size).unwrap().yy,
        ("sobel x", _) => sobel(plane).x,
        ("sobel y", _) => sobel(plane).y,
        ("box", radius) => box_mean(plane, radius),
        ("median", 1) => median3(plane),
        ("median", 2) => median5(plane),
        _ => panic!("no filter {name} {size}"),
    }
}

#[test]
fn filters_agree_with_scipy_and_opencv() {
    let store = Store::open("filters.json");
    let plane = coins().map(|v| v / 255.0);
    let places: Vec<(f64, f64)> =
        store.table("places").iter().map(|p| (number(&p[0]), number(&p[1]))).collect();
    for record in store.table("filters") {
        let (program, name, size) =
            (text(&record["program"]), text(&record["filter"]), number(&record["size"]));
        let ours = filtered(&plane, name, size);
        let column = if name == "median" { name } else { program };
        let about = format!("{name} {size} by {program}");
        let theirs = list(&record["values"]);
        assert_eq!(theirs.len(), places.len());
        // OpenCV's medians are stored away from the border only.
        let known = places.iter().zip(theirs).filter(|(_, v)| !v.is_null());
        assert!(known.clone().count() > places.len() / 2, "{about}");
        for (at, value) in known {
            store.check(column, ours.at(at.0 as usize, at.1 as usize).into(), value, &about);
        }
    }
}
