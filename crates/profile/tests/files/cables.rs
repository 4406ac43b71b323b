//! The built-in cable maps against TIA-568.3: type A, B and C of 12 as public tutorials agree; 24 in the two
//! variants that are in use, 8 and 16 by analogy, from memory.

use grade::{CableMap, Faith};
use profile::{cable, cable_ids, layout};

fn map(id: &str, layout_id: &str) -> CableMap {
    cable(id, &layout(layout_id).unwrap()).unwrap_or_else(|| panic!("no {id} for {layout_id}"))
}

/// Far positions in the order of the near ones.
fn far(id: &str, layout_id: &str) -> Vec<u16> {
    map(id, layout_id).strands().iter().map(|strand| strand.far).collect()
}

#[test]
fn maps_of_twelve_are_those_of_the_tutorials() {
    assert_eq!(far("type-a", "mpo-12"), [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]);
    assert_eq!(far("type-b", "mpo-12"), [12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1]);
    assert_eq!(far("type-c", "mpo-12"), [2, 1, 4, 3, 6, 5, 8, 7, 10, 9, 12, 11]);
}

#[test]
fn maps_of_eight_are_those_of_twelve_where_fibres_are() {
    assert_eq!(far("type-a", "mpo-8"), [1, 2, 3, 4, 9, 10, 11, 12]);
    assert_eq!(far("type-b", "mpo-8"), [12, 11, 10, 9, 4, 3, 2, 1]);
    assert_eq!(far("type-c", "mpo-8"), [2, 1, 4, 3, 10, 9, 12, 11]);
}

#[test]
fn maps_of_sixteen_and_twenty_four_follow_their_formulas() {
    let each = |n: u16, f: fn(u16) -> u16| (1..=n).map(f).collect::<Vec<_>>();
    assert_eq!(far("type-a", "mpo-16"), each(16, |i| i));
    assert_eq!(far("type-b", "mpo-16"), each(16, |i| 17 - i));
    assert_eq!(far("type-c", "mpo-16"), each(16, |i| if i % 2 == 1 { i + 1 } else { i - 1 }));
    assert_eq!(far("type-a", "mpo-24"), each(24, |i| i));
    assert_eq!(far("type-b", "mpo-24"), each(24, |i| if i <= 12 { 13 - i } else { 37 - i }));
    assert_eq!(far("type-b-full", "mpo-24"), each(24, |i| 25 - i));
    assert_eq!(far("type-c", "mpo-24"), each(24, |i| if i % 2 == 1 { i + 1 } else { i - 1 }));
}

#[test]
fn every_map_twice_is_the_identity_and_pairs_every_position() {
    for id in cable_ids() {
        for layout_id in ["mpo-8", "mpo-12", "mpo-16", "mpo-24"] {
            let layout = layout(layout_id).unwrap();
            let Some(map) = cable(id, &layout) else {
                assert_eq!(*id, "type-b-full", "{layout_id}");
                continue;
            };
            assert_eq!(map.id(), *id);
            for place in &layout.places {
                let near = place.position;
                assert_eq!(map.far(near).and_then(|far| map.far(far)), Some(near), "{id} {layout_id}");
                let (number, partner) = map.duplex(near).unwrap();
                assert_eq!(map.duplex(partner), Some((number, near)));
                assert_eq!(near.abs_diff(partner), 1);
                assert_eq!(near.min(partner) % 2, 1, "pairs are (1, 2), (3, 4), ...");
            }
        }
    }
}

#[test]
fn a_duplex_pair_arrives_side_by_side() {
    for id in ["type-a", "type-b", "type-c"] {
        let map = map(id, "mpo-12");
        let ends = [map.far(1).unwrap(), map.far(2).unwrap()];
        let due = match id {
            "type-a" => [1, 2],
            "type-b" => [12, 11],
            _ => [2, 1],
        };
        assert_eq!(ends, due, "{id}");
    }
}

#[test]
fn what_is_not_known_is_not_offered_and_what_is_unsure_says_so() {
    assert!(cable("type-a", &layout("mpo-32").unwrap()).is_none());
    assert!(cable("type-d", &layout("mpo-12").unwrap()).is_none());
    assert_eq!(map("type-b", "mpo-12").source().faith, Faith::Verified);
    assert_eq!(map("type-b", "mpo-24").source().faith, Faith::FromMemory);
    assert!(map("type-b", "mpo-24").title().contains("row by row"));
    assert!(map("type-b-full", "mpo-24").title().contains("as a whole"));
}

#[test]
fn a_map_is_for_its_own_number_of_rows() {
    let mut two_rows = layout("mpo-16").unwrap();
    two_rows.rows = 2;
    assert!(cable("type-b", &two_rows).is_none());
}
