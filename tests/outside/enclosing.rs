//! Enclosing circles, calipers, hulls and areas against a search of all circles, OpenCV and scipy.

use super::store::{Store, points, text};
use terms::geometry::{convex_hull, enclosing_circle, equivalent_diameter, largest_extent, polygon_area};

#[test]
fn enclosing_circles_are_the_smallest_of_all() {
    let store = Store::open("enclosing.json");
    for shape in store.table("shapes") {
        let c = enclosing_circle(&points(&shape["points"])).unwrap();
        for column in ["smallest", "opencv"] {
            store.check_all(column, &[c.x, c.y, c.r], &shape[column], text(&shape["name"]));
        }
    }
}

#[test]
fn hulls_calipers_and_areas_are_scipys() {
    let store = Store::open("enclosing.json");
    for shape in store.table("shapes") {
        let (name, points) = (text(&shape["name"]), points(&shape["points"]));
        let hull = convex_hull(&points);
        assert_eq!(hull.len() as u64, shape["hull_corners"].as_u64().unwrap(), "{name}");
        store.check("hull_area", polygon_area(&hull), &shape["hull_area"], name);
        store.check("caliper", largest_extent(&points), &shape["caliper"], name);
        if shape["equivalent_diameter"].is_number() {
            let diameter = equivalent_diameter(polygon_area(&points));
            store.check("equivalent_diameter", diameter, &shape["equivalent_diameter"], name);
        }
    }
}
