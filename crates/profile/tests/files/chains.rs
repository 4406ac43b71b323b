//! Chains of the built-in cables: the parity rule and its worked examples, duplex methods, first contradictions.
//! The rule and the examples follow from the geometry of faces that meet; the methods are those of TIA-568.3 as
//! public tutorials tell them.

use grade::chain::{Chain, Contradiction, Link, Order, Pairs, follow};
use grade::lanes::SeenAt;
use grade::mated::Adapter;
use grade::polarity::{CableMap, Strand};
use profile::{application, cable, layout};

/// A chain told as "b u b": cables a, b, c; adapters u (key up to key up) and d (key up to key down).
fn chain(members: &str, layout_id: &str, lanes: Option<&str>) -> Chain {
    let layout = layout(layout_id).unwrap();
    let link = |member: &str| match member {
        "u" => Link::Adapter(Adapter::Aligned),
        "d" => Link::Adapter(Adapter::Opposed),
        cable_id => Link::Cable(cable(&format!("type-{cable_id}"), &layout).unwrap()),
    };
    let links: Vec<Link> = members.split(' ').map(link).collect();
    let lanes = lanes.map(|id| application(id).unwrap().map_for(&layout, SeenAt::Plug).unwrap().clone());
    follow(&links, &layout, lanes.as_ref())
}

/// Worked examples: an odd number of reversals works, an even one lets transmit meet transmit.
#[test]
fn parallel_optics_need_an_odd_number_of_reversals() {
    for (members, reversals) in [("b", 1), ("b u b u b", 5), ("a d a d b", 1), ("a", 0), ("a d a d a", 0)] {
        for (layout_id, application) in [("mpo-12", "40gbase-sr4"), ("mpo-16", "400gbase-sr8")] {
            let chain = chain(members, layout_id, Some(application));
            assert_eq!(chain.reversals, Some(reversals), "{members}");
            let works = chain.contradictions.is_empty();
            assert_eq!(works, reversals % 2 == 1, "{members}: {:?}", chain.contradictions);
        }
    }
}

/// Tx1 lies at plug position 12, Rx1 at 1: the first fibre that joins two of one direction is the first of the row.
#[test]
fn the_first_contradiction_is_told() {
    let straight = chain("a", "mpo-12", Some("40gbase-sr4"));
    assert_eq!(straight.contradictions[0], Contradiction::SameWay(Strand { near: 1, far: 1 }));
    let reversed = chain("b", "mpo-12", Some("40gbase-sr4"));
    assert_eq!(reversed.strands[11], Strand { near: 12, far: 1 });
    let flipped = chain("c", "mpo-12", Some("40gbase-sr4"));
    assert_eq!(flipped.reversals, None);
    assert_eq!(flipped.contradictions[0], Contradiction::SameWay(Strand { near: 1, far: 2 }));
}

/// Two rows that lie opposite with keys opposed: an even number of reversals, and yet each lane meets its own receive.
#[test]
fn lanes_decide_where_an_application_is_stated() {
    let rows = chain("b d b", "mpo-24", Some("100gbase-sr10"));
    assert_eq!((rows.reversals, rows.contradictions.len(), rows.joined.len()), (Some(2), 0, 20));
    for joined in &rows.joined {
        let (near, far) = (joined.near.unwrap(), joined.far.unwrap());
        assert!(joined.meets() && near.number == far.number, "{joined:?}");
    }
    // One row's rule is not that of two: here the number is odd, and transmit meets transmit.
    for members in ["a", "b", "b u b u b"] {
        let along = chain(members, "mpo-24", Some("100gbase-sr10"));
        assert_eq!(along.contradictions.len(), 20, "{members}");
    }
    // All fibres turned: the rows change places, and every lane comes in under another number.
    let turned = chain("b-full", "mpo-24", Some("100gbase-sr10"));
    assert_eq!(turned.contradictions, []);
    assert!(turned.joined.iter().all(|joined| joined.near.unwrap().number != joined.far.unwrap().number));
}

/// A type C cable changes places within pairs: behind an adapter that reverses, each lane still comes in.
#[test]
fn split_pairs_contradict_no_parallel_application() {
    let flipped = chain("a u c", "mpo-12", Some("40gbase-sr4"));
    assert_eq!((flipped.reversals, flipped.contradictions.len()), (None, 0));
    let meets: Vec<String> = flipped.joined.iter().map(|j| j.far.unwrap().to_string()).collect();
    assert_eq!(meets, ["Tx2", "Tx1", "Tx4", "Tx3", "Rx3", "Rx4", "Rx1", "Rx2"]);
}

/// Lanes that go to positions without any, at either end.
#[test]
fn a_lane_that_is_received_nowhere_contradicts() {
    let layout = layout("mpo-12").unwrap();
    let lanes = application("40gbase-sr4").unwrap().map_for(&layout, SeenAt::Plug).unwrap().clone();
    // All fibres moved on by three: positions 9 to 12 come out at 12 and 1 to 3, 6 to 9 at 9 to 12.
    let strands = (1..=12).map(|near| Strand { near, far: (near + 2) % 12 + 1 }).collect();
    let source = cable("type-a", &layout).unwrap().source().clone();
    let moved = CableMap::new("moved".into(), "Moved".into(), source, strands, vec![]).unwrap();
    let chain = follow(&[Link::Cable(moved)], &layout, Some(&lanes));
    let unused = |near, far| Contradiction::Unused(Strand { near, far });
    let same = Contradiction::SameWay(Strand { near: 9, far: 12 });
    let told = [
        Contradiction::SameWay(Strand { near: 1, far: 4 }),
        unused(6, 9),
        unused(7, 10),
        unused(8, 11),
        same,
    ];
    assert_eq!(chain.contradictions, told);
}

#[test]
fn cables_and_adapters_take_turns() {
    let wrong = |members| chain(members, "mpo-12", None).contradictions;
    assert_eq!(wrong("b b"), [Contradiction::NoAdapter(2)]);
    assert_eq!(wrong("b u u b"), [Contradiction::NoCable(3)]);
    assert_eq!(wrong("u b u"), [Contradiction::NoCable(1), Contradiction::NoCable(3)]);
    assert_eq!(wrong("b u b u b"), []);
    let broken = chain("d", "mpo-12", None);
    assert_eq!((broken.strands.len(), broken.reversals, broken.pairs), (0, None, None));
}

/// Method A: type A trunk, adapters key up to key down, one cord crossed. B: type B trunk, adapters key up to key
/// up; C: type C trunk, adapters key up to key down; both with cords that cross at both ends.
#[test]
fn duplex_pairs_arrive_as_the_methods_have_it() {
    for (members, pairs) in [("a", Pairs::Straight), ("b", Pairs::Crossed), ("c", Pairs::Crossed)] {
        let chain = chain(members, "mpo-12", None);
        assert_eq!((chain.pairs, chain.contradictions.len()), (Some(pairs), 0), "{members}");
    }
}

#[test]
fn reversing_twice_is_going_straight() {
    for layout_id in ["mpo-8", "mpo-12", "mpo-16", "mpo-24"] {
        let chain = chain("b d b", layout_id, None);
        assert_eq!(chain.reversals, Some(2));
        assert!(layout_id == "mpo-24" || chain.strands.iter().all(|s| s.near == s.far), "{layout_id}");
    }
    // Keys opposed, the two rows of 24 face each other the other way up.
    let rows = chain("b d b", "mpo-24", None);
    assert!(rows.strands.iter().all(|s| s.far == if s.near < 13 { s.near + 12 } else { s.near - 12 }));
}

#[test]
fn each_member_keeps_or_reverses_the_order() {
    let orders = chain("a u b d c", "mpo-12", None).orders;
    assert_eq!(orders, [Order::Kept, Order::Reversed, Order::Reversed, Order::Kept, Order::Other]);
}
