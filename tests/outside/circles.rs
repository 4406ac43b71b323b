//! Circle fits against scipy, on published and on made-up points.

use super::store::{Store, list, number, points, text};
use terms::geometry::{Circle, fit_circle_algebraic, fit_circle_geometric};

fn numbers(c: Circle) -> [f64; 3] {
    [c.x, c.y, c.r]
}

#[test]
fn geometric_fits_are_scipys() {
    let store = Store::open("circles.json");
    for set in store.table("sets") {
        let name = text(&set["name"]);
        let weights: Vec<f64> = list(&set["weights"]).iter().map(number).collect();
        let fit = fit_circle_geometric(&points(&set["points"]), Some(&weights)).unwrap();
        store.check_all("geometric", &numbers(fit.circle), &set["geometric"], name);
        store.check("sum_of_squares", fit.sum_of_squares, &set["sum_of_squares"], name);
        for (row, theirs) in fit.cofactors.iter().zip(list(&set["cofactors"])) {
            store.check_all("cofactors", row, theirs, name);
        }
    }
}

#[test]
fn algebraic_fits_are_the_gradient_weighted_ones() {
    let store = Store::open("circles.json");
    for set in store.table("sets") {
        let fitted = fit_circle_algebraic(&points(&set["points"])).unwrap();
        store.check_all("gradient_weighted", &numbers(fitted), &set["gradient_weighted"], text(&set["name"]));
    }
}
