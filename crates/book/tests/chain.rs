//! A chain changed in a byte, in its order, by a record more or less.

use book::{Broken, Link, walk};

const RECORDS: [&[u8]; 3] = [b"first", b"second", b"third"];

fn chained(records: &[&'static [u8]]) -> Vec<(&'static [u8], Link)> {
    let step = |before: &mut Link, record: &&'static [u8]| {
        *before = before.next(record);
        Some((*record, *before))
    };
    records.iter().scan(Link::START, step).collect()
}

#[test]
fn a_link_is_what_another_program_makes_of_the_same_bytes() {
    // sha256sum (GNU coreutils) over: the word and a newline, 32 zero bytes, the length in 8 bytes, "first".
    let wanted = "29bcd6e3625d9e19c5f5a6c81d78f7e09341d9254fe2dc4fdba864f806f4fc65";
    let hex: String = Link::START.next(b"first").bytes().iter().map(|b| format!("{b:02x}")).collect();
    assert_eq!(hex, wanted);
}

#[test]
fn a_whole_chain_gives_its_head() {
    let chain = chained(&RECORDS);
    assert_eq!(walk(chain.iter().copied()), Ok(chain[2].1));
    assert_eq!(walk([]), Ok(Link::START));
}

#[test]
fn a_changed_byte_an_exchange_and_a_gap_are_found_where_they_are() {
    let whole = chained(&RECORDS);
    let mut changed = whole.clone();
    changed[1].0 = b"sEcond";
    assert_eq!(walk(changed), Err(Broken { place: 1 }));
    let exchanged = [whole[0], whole[2], whole[1]];
    assert_eq!(walk(exchanged), Err(Broken { place: 1 }));
    assert_eq!(walk(whole[1..].iter().copied()), Err(Broken { place: 0 }));
}

#[test]
fn a_chain_cut_short_has_another_head() {
    let whole = chained(&RECORDS);
    assert_ne!(walk(whole[..2].iter().copied()).unwrap(), whole[2].1);
}

#[test]
fn bytes_cannot_move_from_one_record_to_the_next() {
    let (one, other) = (chained(&[b"ab", b"c"]), chained(&[b"a", b"bc"]));
    assert_ne!(one[1].1, other[1].1);
}
