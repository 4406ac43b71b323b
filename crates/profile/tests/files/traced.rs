//! The built-in cables told from light that comes out of their far ends: every type, one wrong fibre, one dark one.

use grade::CableMap;
use grade::traced::{End, Sight, Traced, trace};
use profile::{cable, cable_ids, layout};
use terms::Core;

fn cables(layout_id: &str) -> Vec<CableMap> {
    let layout = layout(layout_id).unwrap();
    cable_ids().iter().filter_map(|id| cable(id, &layout)).collect()
}

/// A picture of the far end of a cable with light in some near positions; `odd` tells what light does otherwise.
fn sight(cable: &CableMap, lit: &[u16], odd: impl Fn(u16) -> Option<Option<u16>>) -> Sight {
    let end = |near: &u16| odd(*near).unwrap_or_else(|| cable.far(*near));
    let ends: Vec<u16> = lit.iter().filter_map(end).collect();
    let look = |far: u16| if ends.contains(&far) { Core::Lit } else { Core::Dark };
    Sight { lit: lit.to_vec(), far: cable.strands().iter().map(|s| (s.near, look(s.near))).collect() }
}

fn one_by_one(cable: &CableMap, odd: impl Fn(u16) -> Option<Option<u16>>) -> Vec<Sight> {
    cable.strands().iter().map(|s| sight(cable, &[s.near], &odd)).collect()
}

fn told(traced: &Traced) -> &str {
    traced.cable.as_deref().unwrap_or("none")
}

#[test]
fn every_type_is_known_by_its_light() {
    for layout_id in ["mpo-8", "mpo-12", "mpo-16", "mpo-24"] {
        let all = cables(layout_id);
        for cable in &all {
            let traced = trace(&one_by_one(cable, |_| None), &all);
            assert_eq!(told(&traced), cable.id(), "{layout_id}");
            assert!(traced.fit().unwrap().depart.is_empty() && traced.strays.is_empty());
            assert_eq!(grade::traced::strands(&traced), cable.strands());
        }
    }
}

/// Positions lit by their number in binary: five pictures tell 24 fibres apart.
#[test]
fn few_pictures_with_many_fibres_lit_tell_as_much() {
    let all = cables("mpo-24");
    for cable in &all {
        let of_bit = |bit: u16| -> Vec<u16> { (1..=24).filter(|p| p & (1 << bit) != 0).collect() };
        let sights: Vec<Sight> = (0..5).map(|bit| sight(cable, &of_bit(bit), |_| None)).collect();
        let traced = trace(&sights, &all);
        assert_eq!(told(&traced), cable.id());
        assert!(traced.ends.iter().all(|(near, end)| *end == End::At(cable.far(*near).unwrap())));
    }
}

#[test]
fn one_picture_tells_what_it_can() {
    let all = cables("mpo-12");
    // Type A and C both leave the pair (1, 2) where it is.
    let traced = trace(&[sight(&all[0], &[1, 2], |_| None)], &all);
    assert_eq!(traced.ends[0], (1, End::OneOf(vec![1, 2])));
    assert_eq!(told(&traced), "none");
    let traced = trace(&[sight(&all[1], &[1], |_| None)], &all);
    assert_eq!((traced.ends.as_slice(), told(&traced)), ([(1, End::At(12))].as_slice(), "type-b"));
}

#[test]
fn one_wrong_fibre_is_named() {
    let all = cables("mpo-12");
    for cable in &all {
        let (five, six) = (cable.far(5), cable.far(6));
        let swapped = |near| match near {
            5 => Some(six),
            6 => Some(five),
            _ => None,
        };
        let traced = trace(&one_by_one(cable, swapped), &all);
        assert_eq!(told(&traced), cable.id());
        let depart: Vec<(u16, &End)> =
            traced.fit().unwrap().depart.iter().map(|d| (d.near, &d.seen)).collect();
        assert_eq!(depart, [(5, &End::At(six.unwrap())), (6, &End::At(five.unwrap()))]);
    }
}

#[test]
fn one_dark_fibre_is_named() {
    let all = cables("mpo-12");
    for cable in &all {
        let broken = |near| (near == 7).then_some(None);
        let traced = trace(&one_by_one(cable, broken), &all);
        assert_eq!(told(&traced), cable.id());
        let depart = &traced.fit().unwrap().depart;
        assert_eq!((depart.len(), depart[0].near, &depart[0].seen), (1, 7, &End::Nowhere));
    }
}

#[test]
fn what_a_picture_hides_is_no_evidence() {
    let all = cables("mpo-12");
    let mut hidden = sight(&all[1], &[1], |_| None);
    hidden.far[11].1 = Core::Unknown;
    let traced = trace(&[hidden], &all);
    assert_eq!((traced.ends.as_slice(), told(&traced)), ([(1, End::Unseen)].as_slice(), "none"));
}

#[test]
fn light_from_elsewhere_is_said() {
    let all = cables("mpo-12");
    let mut sights = one_by_one(&all[0], |_| None);
    sights.iter_mut().for_each(|s| s.far[2].1 = Core::Lit);
    let traced = trace(&sights, &all);
    assert_eq!(traced.strays, [3]);
}
