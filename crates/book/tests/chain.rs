//! Links held to another program, and a chain changed in every way.

use book::{Link, link};

fn head(records: &[&[u8]]) -> Link {
    records.iter().fold(None, |before, record| Some(link(before, record))).unwrap()
}

#[test]
fn a_link_is_what_another_program_makes_of_the_same_bytes() {
    // sha256sum (GNU coreutils) over: the word and a newline, 32 zero bytes, the length in 8 bytes, "first".
    let wanted = "29bcd6e3625d9e19c5f5a6c81d78f7e09341d9254fe2dc4fdba864f806f4fc65";
    assert_eq!(link(None, b"first").to_string(), wanted);
}

#[test]
fn a_changed_byte_an_exchange_a_gap_and_a_moved_border_give_another_head() {
    let whole = head(&[b"first", b"second", b"third"]);
    for other in [
        &[b"first".as_slice(), b"sEcond", b"third"][..],
        &[b"second", b"first", b"third"],
        &[b"second", b"third"],
        &[b"first", b"second"],
        &[b"firsts", b"econd", b"third"],
    ] {
        assert_ne!(head(other), whole);
    }
}
