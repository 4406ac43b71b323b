//! Cable maps and the verdicts told by channel.

use crate::faces::{feature, fibre, survey};
use crate::rules::{criteria, source};
use grade::polarity::Strand;
use grade::{CableError, CableMap, Verdict, channels, grade};
use terms::{Flaw, Kind, Look};

fn map(strands: &[(u16, u16)], duplex: &[[u16; 2]]) -> Result<CableMap, CableError> {
    let strands = strands.iter().map(|&(near, far)| Strand { near, far }).collect();
    CableMap::new("test".to_owned(), "Test".to_owned(), source(), strands, duplex.to_vec())
}

#[test]
fn a_map_is_a_permutation_with_disjoint_pairs() {
    assert!(map(&[(2, 1), (1, 2)], &[[1, 2]]).is_ok());
    assert_eq!(map(&[], &[]), Err(CableError::Empty));
    assert_eq!(map(&[(1, 1), (1, 2)], &[]), Err(CableError::NearTwice(1)));
    assert_eq!(map(&[(1, 2), (2, 2)], &[]), Err(CableError::FarTwice(2)));
    assert_eq!(map(&[(1, 2), (2, 3)], &[]), Err(CableError::FarUnknown(3)));
    assert_eq!(map(&[(1, 1), (2, 2)], &[[2, 3]]), Err(CableError::DuplexUnknown(3)));
    assert_eq!(map(&[(1, 1), (2, 2)], &[[2, 2]]), Err(CableError::DuplexTwice(2)));
    assert_eq!(map(&[(1, 1), (2, 2), (3, 3)], &[[1, 2], [2, 3]]), Err(CableError::DuplexTwice(2)));
}

#[test]
fn verdicts_are_told_by_channel() {
    let good = Look::Found(Box::new(fibre(vec![])));
    let bad = Look::Found(Box::new(fibre(vec![feature(Kind::Pit, 9.0, 0.0, 9.0)])));
    let gone = Look::Missing(Flaw::NotFound);
    let array = grade(&survey(vec![good.clone(), bad, good.clone(), gone, good]), &criteria());
    let cable = map(&[(1, 5), (2, 4), (3, 3), (4, 2), (5, 1)], &[[1, 2], [3, 4]]).unwrap();
    let told: Vec<_> = channels(&array, &cable)
        .into_iter()
        .map(|c| (c.near, c.far, c.verdict.word(), c.duplex.map(|d| (d.number, d.partner, d.verdict.word()))))
        .collect();
    assert_eq!(
        told,
        [
            (1, 5, "pass", Some((1, 2, "fail"))),
            (2, 4, "fail", Some((1, 1, "fail"))),
            (3, 3, "pass", Some((2, 4, "ungraded"))),
            (4, 2, "ungraded", Some((2, 3, "ungraded"))),
            (5, 1, "pass", None),
        ]
    );
}

#[test]
fn a_position_that_the_array_does_not_have_is_no_pass() {
    let array = grade(&survey(vec![Look::Found(Box::new(fibre(vec![])))]), &criteria());
    let cable = map(&[(1, 2), (2, 1)], &[[1, 2]]).unwrap();
    let told = channels(&array, &cable);
    assert_eq!(told[1].verdict, Verdict::Ungraded);
    assert!(told.iter().all(|channel| channel.duplex.unwrap().verdict == Verdict::Ungraded));
}
