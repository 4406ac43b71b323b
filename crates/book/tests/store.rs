//! A book made, added to, opened again; and what is no book.

use book::{
    Access, Added, BookError, By, Face, Found, Hash, Inspection, Mating, NoWithdrawal, Noted, Pictured,
    Record, Register, Role, Store, Withdrawal, link,
};
use std::path::Path;

fn face(name: &str) -> Face {
    name.parse().unwrap()
}

fn look(name: &str, picture: &[u8], when: &str) -> Inspection {
    Inspection {
        face: face(name),
        when: when.parse().unwrap(),
        who: Some("Mira".into()),
        pictures: vec![Pictured { file: "a.png".into(), sha256: Hash::of(picture) }],
        by: By {
            layout: Hash::of(b"layout"),
            criteria: Hash::of(b"criteria"),
            key_down: false,
            mirrored: false,
            scale: None,
            guard: None,
        },
        verdict: Found::Pass,
        document: Hash::of(b"{}"),
        tool: "0.1.0".into(),
    }
}

fn open(folder: &Path) -> Store {
    Store::open(&folder.join("book.sqlite"), Access::Write).unwrap()
}

fn new(folder: &Path) -> Store {
    Store::create(&folder.join("book.sqlite"), "Harbour", &Noted::default()).unwrap()
}

#[test]
fn a_record_has_its_version_first_and_comes_back_as_it_was() {
    let when = "2026-11-25T15:05:03+01:00".parse().unwrap();
    let mating = Mating { a: face("1A.A02-35:01@A"), b: face("Cord 3"), adapter: None, when, who: None };
    let record = Record::Mating(mating);
    let bytes = record.bytes().unwrap();
    let wanted = r#"{"version":1,"kind":"mating","a":{"connector":"1A.A02-35:01","end":"A"},"b":{"connector":"Cord 3","end":null},"adapter":null,"when":"2026-11-25T14:05:03Z","who":null}"#;
    assert_eq!(String::from_utf8(bytes.clone()).unwrap(), wanted);
    assert_eq!(Record::parse(&bytes).unwrap(), record);
    let look = Record::Inspection(look("x", b"p", "2026-11-25T14:05:03Z"));
    assert_eq!(Record::parse(&look.bytes().unwrap()).unwrap(), look);
    let newer = Record::parse(br#"{"version":2,"kind":"other"}"#).unwrap_err();
    assert!(newer.to_string().contains("version 2"), "{newer}");
    assert!(Record::parse(b"{}").is_err() && Record::parse(b"").is_err());
}

#[test]
fn what_was_added_is_there_once_and_chained() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    let first = look("TR-1@A", b"one", "2026-11-25T14:05:03Z");
    let noted = Noted::default();
    assert_eq!(store.inspect(&first, Role::Connector, &[b"{}"], &noted), Ok(Added::New));
    drop(store);
    let mut store = open(folder.path());
    assert_eq!(store.inspect(&first, Role::Connector, &[b"{}"], &noted), Ok(Added::Known));
    // The same look told by another at another time is no other look.
    let again = Inspection { who: None, ..look("TR-1@A", b"one", "2026-11-26T00:00:00Z") };
    assert_eq!(store.inspect(&again, Role::Connector, &[], &noted), Ok(Added::Known));
    assert_eq!(
        store.inspect(&look("TR-1@A", b"two", "2026-11-26T00:00:00Z"), Role::Connector, &[], &noted),
        Ok(Added::New)
    );

    let entries = store.entries().unwrap();
    assert_eq!(entries.iter().map(|e| e.place).collect::<Vec<_>>(), [0, 1, 2, 3]);
    let mut before = None;
    for entry in &entries {
        assert_eq!((entry.before, entry.link), (before, link(before, &entry.body)));
        before = Some(entry.link);
    }
    assert_eq!(store.head(), Ok(entries[3].link));
    assert_eq!(store.document(Hash::of(b"{}")), Ok(Some(b"{}".to_vec())));
    let register = Register::read(&store).unwrap();
    assert_eq!((register.name.as_str(), register.faces.len()), ("Harbour", 1));
    assert_eq!(register.looks(&face("TR-1@A")).count(), 2);
}

#[test]
fn what_happened_is_told_in_the_order_of_time_not_of_writing() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = new(folder.path());
    for (name, when) in [("late", "2026-11-25T14:05:03Z"), ("early", "2026-11-25T14:05:03+01:00")] {
        store.inspect(&look(name, b"p", when), Role::Connector, &[], &Noted::default()).unwrap();
    }
    let register = Register::read(&store).unwrap();
    let order: Vec<_> = register.past.iter().map(|(when, ..)| when.text()).collect();
    assert_eq!(order, ["2026-11-25T13:05:03Z", "2026-11-25T14:05:03Z"]);
}

#[test]
fn what_is_no_book_is_refused_by_what_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    let refused = |path: &Path| Store::open(path, Access::Read).err().unwrap();
    assert_eq!(refused(&path), BookError::Closed);
    std::fs::write(&path, "no database, but long enough to be one ".repeat(40)).unwrap();
    assert_eq!(refused(&path), BookError::NoBook);
    std::fs::write(&path, "").unwrap();
    assert_eq!(refused(&path), BookError::Foreign);
    std::fs::remove_file(&path).unwrap();

    drop(new(folder.path()));
    let db = rusqlite::Connection::open(&path).unwrap();
    db.pragma_update(None, "user_version", 7).unwrap();
    drop(db);
    assert_eq!(refused(&path), BookError::Newer { found: 7, known: 1 });
}

#[test]
fn a_damaged_file_is_told_and_never_trusted() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    drop(new(folder.path()));
    let whole = std::fs::read(&path).unwrap();
    for at in (100..whole.len()).step_by(997) {
        let mut bytes = whole.clone();
        bytes[at..].iter_mut().take(200).for_each(|b| *b ^= 0x5a);
        std::fs::write(&path, &bytes).unwrap();
        // Whatever comes back, nothing panics and what is read is what was written or refused.
        if let Ok(entries) = Store::open(&path, Access::Read).and_then(|s| s.entries()) {
            for entry in entries {
                let _ = entry.record();
            }
        }
    }
    std::fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    let cut = Store::open(&path, Access::Read).and_then(|s| s.entries());
    assert!(matches!(cut, Err(BookError::Damaged(_))), "{cut:?}");
}

#[test]
fn identifiers_are_kept_as_given_or_refused() {
    for kept in ["1A.A02-35:01", "FAC-01/1DC+R2 (north)", "mail@home", "TR 12@A", "Ä-1"] {
        assert_eq!(face(kept).to_string(), kept);
    }
    for refused in ["", " x", "x ", "a\tb", "a\nb", "@A", &"x".repeat(201)] {
        assert!(refused.parse::<Face>().is_err(), "{refused:?}");
    }
}

#[test]
fn a_withdrawal_holds_in_a_merged_book_whatever_its_place() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let noted = Noted::default();
    let mut other = new(there.path());
    let looks = ["one", "two", "three"].map(|name| look(name, name.as_bytes(), "2026-11-25T14:05:03Z"));
    for one in &looks {
        other.inspect(one, Role::Connector, &[b"layout", b"criteria", b"{}"], &noted).unwrap();
    }
    // A short chain takes over a longer one, and withdraws its last record, whose place is behind the withdrawal's.
    let mut store = new(here.path());
    store.merge(&other, &noted).unwrap();
    let last = store.find(&other.head().unwrap().to_string()).unwrap();
    let withdrawal = Withdrawal {
        record: last.link,
        why: "a slip".into(),
        when: "2026-11-26T00:00:00Z".parse().unwrap(),
        who: None,
    };
    store.withdraw(&withdrawal, &noted).unwrap();
    assert_eq!(store.withdraw(&withdrawal, &noted), Err(NoWithdrawal::Already));
    other.merge(&store, &noted).unwrap();
    for store in [&mut store, &mut other] {
        let register = Register::read(store).unwrap();
        assert_eq!(register.looks(&face("three")).count(), 0);
        assert_eq!((register.past.len(), register.withdrawn.len()), (2, 1));
        assert_eq!(register.withdrawn[0].by, withdrawal);
        // Entered again, it counts again, and a second merge brings no withdrawal back over it.
        let again = store.inspect(&looks[2], Role::Connector, &[b"layout", b"criteria", b"{}"], &noted);
        assert_eq!(again, Ok(Added::New));
        assert_eq!(Register::read(store).unwrap().looks(&face("three")).count(), 1);
    }
    store.merge(&other, &noted).unwrap();
    let register = Register::read(&store).unwrap();
    assert_eq!((register.looks(&face("three")).count(), register.withdrawn.len()), (1, 1));
    assert!(book::audit(&store).unwrap().flaws.is_empty());
}
