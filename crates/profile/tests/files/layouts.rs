//! The built-in layouts against the published geometry: IEC 61754-7 as a public text copy has it (one row of
//! 12, two rows), ferrule data and memory for the family of 16.

use profile::{layout, layout_ids};
use terms::{Layout, Place};

fn built_in(id: &str) -> Layout {
    layout(id).unwrap_or_else(|| panic!("{id} is not a built-in layout"))
}

/// Nominal places in millimetres.
fn places_mm(id: &str) -> Vec<(u16, f64, f64)> {
    let places = built_in(id).places;
    places.iter().map(|p: &Place| (p.position, p.at.x / 1000.0, p.at.y / 1000.0)).collect()
}

const ROW_OF_12: [f64; 12] =
    [-1.375, -1.125, -0.875, -0.625, -0.375, -0.125, 0.125, 0.375, 0.625, 0.875, 1.125, 1.375];

#[test]
fn twelve_lie_in_one_row() {
    let due: Vec<_> = (1..).zip(ROW_OF_12).map(|(position, x)| (position, x, 0.0)).collect();
    assert_eq!(places_mm("mpo-12"), due);
}

#[test]
fn eight_are_the_outermost_of_twelve() {
    let due = [
        (1, -1.375, 0.0),
        (2, -1.125, 0.0),
        (3, -0.875, 0.0),
        (4, -0.625, 0.0),
        (9, 0.625, 0.0),
        (10, 0.875, 0.0),
        (11, 1.125, 0.0),
        (12, 1.375, 0.0),
    ];
    assert_eq!(places_mm("mpo-8"), due);
    assert_eq!(built_in("mpo-8").columns, 12);
    assert!(built_in("mpo-8").at(1, 5).is_none());
    assert_eq!(built_in("mpo-8").at(1, 9).unwrap().position, 9);
}

#[test]
fn twenty_four_lie_in_two_rows() {
    let top = (1..).zip(ROW_OF_12).map(|(position, x)| (position, x, 0.25));
    let bottom = (13..).zip(ROW_OF_12).map(|(position, x)| (position, x, -0.25));
    assert_eq!(places_mm("mpo-24"), top.chain(bottom).collect::<Vec<_>>());
}

#[test]
fn sixteen_lie_in_one_row() {
    let places = places_mm("mpo-16");
    let due = (1u16..=16).map(|i| (i, -1.875 + 0.25 * f64::from(i - 1), 0.0));
    assert_eq!(places, due.collect::<Vec<_>>());
    assert_eq!(places[15].1, 1.875);
}

#[test]
fn thirty_two_are_two_rows_of_sixteen_whose_distance_is_marked_as_open() {
    let places = places_mm("mpo-32");
    assert_eq!(places.len(), 32);
    assert_eq!((places[0].0, places[0].1), (1, -1.875));
    assert_eq!((places[16].0, places[16].1), (17, -1.875));
    assert!(places[0].2 > 0.0 && places[16].2 == -places[0].2);
    assert!(built_in("mpo-32").title.contains("not verified"));
}

#[test]
fn guide_holes_tell_the_families_apart() {
    for id in layout_ids() {
        let layout = built_in(id);
        let of_16 = ["mpo-16", "mpo-32"].contains(id);
        let (spacing, diameter, ratio, clear) =
            if of_16 { (5300.0, 550.0, 21.2, 437.5) } else { (4600.0, 700.0, 18.4, 512.5) };
        assert_eq!((layout.guides.spacing.0, layout.guides.diameter.0), (spacing, diameter), "{id}");
        assert!((layout.guides.spacing.0 / layout.pitch.0 - ratio).abs() < 1e-12, "{id}");
        let outermost = layout.site(1, layout.columns).x + layout.cladding.0 / 2.0;
        assert_eq!(spacing / 2.0 - diameter / 2.0 - outermost, clear, "{id}");
    }
}

#[test]
fn a_layout_is_what_its_name_says() {
    for id in layout_ids() {
        let layout = built_in(id);
        assert_eq!(layout.id, *id);
        assert_eq!(format!("mpo-{}", layout.places.len()), *id);
        assert_eq!((layout.pitch.0, layout.cladding.0), (250.0, 125.0));
        assert_eq!(layout.rows, if layout.places.len() > 16 { 2 } else { 1 });
    }
    assert!(layout("mpo-13").is_none());
}
