//! The built-in applications: the module's view and the plug's mirror each other, as two faces that meet do; lanes
//! as publicly told; colours by number.

use grade::Faith;
use grade::lanes::{Direction, Lane, LaneMap, SeenAt};
use grade::mated::Adapter;
use profile::{application, application_ids, colours, layout, parse_application};
use terms::Layout;

fn layout_of(id: &str) -> Layout {
    let name = match id {
        "100gbase-sr10" => "mpo-24",
        "400gbase-sr8" => "mpo-16",
        _ => "mpo-12",
    };
    layout(name).unwrap()
}

fn lanes(id: &str, seen: SeenAt) -> LaneMap {
    application(id).unwrap().map_for(&layout_of(id), seen).unwrap().clone()
}

fn words(id: &str, seen: SeenAt) -> Vec<String> {
    let map = lanes(id, seen);
    let word = |position| map.lane(position).map_or_else(|| "-".to_owned(), |lane| lane.to_string());
    layout_of(id).places.iter().map(|place| word(place.position)).collect()
}

/// IEEE 802.3 clause 86 as publicly told: the left four transmit, looking into the module with the keyway up, the
/// right four receive (one message of the working group: Rx4 to Rx1 from the left); a tutorial names plug positions
/// 1 to 4 as receive and 9 to 12 as transmit.
#[test]
fn four_lanes_lie_where_they_are_told_to() {
    for id in ["40gbase-sr4", "100gbase-sr4"] {
        let module = ["Tx1", "Tx2", "Tx3", "Tx4", "-", "-", "-", "-", "Rx4", "Rx3", "Rx2", "Rx1"];
        let plug = ["Rx1", "Rx2", "Rx3", "Rx4", "-", "-", "-", "-", "Tx4", "Tx3", "Tx2", "Tx1"];
        assert_eq!(words(id, SeenAt::Module), module);
        assert_eq!(words(id, SeenAt::Plug), plug);
    }
}

/// Module and plug meet key up to key up: the point (x, y) of one lies on (-x, y) of the other.
#[test]
fn a_lane_faces_itself_where_module_and_plug_meet() {
    for id in application_ids() {
        let (layout, module, plug) = (layout_of(id), lanes(id, SeenAt::Module), lanes(id, SeenAt::Plug));
        for place in &layout.places {
            let at = Adapter::Aligned.across(place.at);
            let faced = layout.places.iter().find(|p| p.at.distance(at) < 1.0).unwrap();
            assert_eq!(module.lane(place.position), plug.lane(faced.position), "{id} {}", place.position);
        }
    }
}

#[test]
fn each_lane_has_two_fibres_and_the_rest_is_unused() {
    for (id, pairs, unused) in
        [("40gbase-sr4", 4, 4), ("100gbase-sr4", 4, 4), ("100gbase-sr10", 10, 4), ("400gbase-sr8", 8, 0)]
    {
        let (layout, map) = (layout_of(id), lanes(id, SeenAt::Plug));
        let of = |direction| {
            let lane = |number| map.position(Lane { direction, number });
            (1..=pairs).filter_map(lane).count()
        };
        assert_eq!((of(Direction::Transmit), of(Direction::Receive)), (pairs.into(), pairs.into()));
        let empty = layout.places.iter().filter(|p| map.lane(p.position).is_none());
        assert_eq!(empty.count(), unused, "{id}");
    }
}

/// Use of the middle 20 is verified, the rest recalled, and it says so.
#[test]
fn ten_lanes_leave_the_outer_columns_unused() {
    let map = lanes("100gbase-sr10", SeenAt::Module);
    let unused: Vec<u16> = (1..=24).filter(|p| map.lane(*p).is_none()).collect();
    assert_eq!(unused, [1, 12, 13, 24]);
    assert_eq!(map.source().faith, Faith::FromMemory);
}

#[test]
fn an_application_is_for_connectors_that_it_knows() {
    let sr4 = application("40gbase-sr4").unwrap();
    assert!(sr4.map_for(&layout("mpo-8").unwrap(), SeenAt::Plug).is_some());
    for other in ["mpo-16", "mpo-24", "mpo-32"] {
        assert!(sr4.map_for(&layout(other).unwrap(), SeenAt::Plug).is_none(), "{other}");
    }
}

/// Eight lanes each way need 16 positions: on fewer, some would be missing without a word.
#[test]
fn an_application_is_for_connectors_that_have_all_its_lanes() {
    let fits = |id: &str, other: &str| {
        let layout = layout(other).unwrap();
        [SeenAt::Plug, SeenAt::Module].map(|seen| application(id).unwrap().map_for(&layout, seen).is_some())
    };
    for (id, fitting) in [
        ("40gbase-sr4", &["mpo-8", "mpo-12"][..]),
        ("100gbase-sr4", &["mpo-8", "mpo-12"]),
        ("400gbase-sr8", &["mpo-16"]),
        ("100gbase-sr10", &["mpo-24"]),
    ] {
        for other in ["mpo-8", "mpo-12", "mpo-16", "mpo-24", "mpo-32"] {
            assert_eq!(fits(id, other), [fitting.contains(&other); 2], "{id} on {other}");
        }
    }
}

#[test]
fn a_faulty_file_says_what_is_wrong() {
    let file = |transmit: &str, unused: &str| {
        format!(
            "id = \"own\"\ntitle = \"Own\"\n[sources.s]\nfaith = \"house\"\ntext = \"ours\"\n[[maps]]\n\
             seen = \"plug\"\nrows = 1\ntransmit = {transmit}\nreceive = [3, 4]\nunused = {unused}\nsource = \"s\"\n"
        )
    };
    assert!(parse_application("own", &file("[1, 2]", "[5]")).is_ok());
    let said = |text: &str| parse_application("own", text).unwrap_err().one_line();
    assert!(said(&file("[1]", "[]")).contains("1 lanes transmit and 2 receive"));
    assert!(said(&file("[1, 2]", "[2]")).contains("position 2 appears twice"));
    assert!(said(&file("[1, 2]", "[5]").replace("plug", "socket")).contains("`seen`"));
}

/// TIA-598 as two public restatements have it.
#[test]
fn colours_follow_the_number_of_the_fibre() {
    let colours = colours().unwrap();
    let first: Vec<&str> = (1..=12).filter_map(|n| colours.name(n)).collect();
    let due = [
        "blue", "orange", "green", "brown", "slate", "white", "red", "black", "yellow", "violet", "rose",
        "aqua",
    ];
    assert_eq!(first, due);
    assert_eq!(colours.name(13), Some("blue, black stripe"));
    assert_eq!(colours.name(20), Some("black, yellow stripe"));
    assert!(colours.name(32).is_some());
    assert_eq!((colours.name(0), colours.name(37)), (None, None));
}
