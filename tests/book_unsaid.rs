//! What must not slip by unsaid when a book is filled: pictures left out, refused or shown for two faces, looks that are no
//! later looks, tables and names that cannot be meant.

use crate::book::Site;
use crate::run::{MM, program};
use std::fs;

/// A table as spreadsheets give it: copied with tabs, or saved in a code page of old.
#[test]
fn tables_come_as_spreadsheets_write_them() {
    let site = Site::new();
    site.book(&["new", "site"]);
    let mate = |bytes: &[u8]| {
        fs::write(site.path("matings.csv"), bytes).unwrap();
        site.book(&["mate", "site", "--table", "matings.csv"])
    };
    let tabs = mate(b"face_a\tface_b\twhen\r\nCORD\tTR-1@A\t2026-11-25T14:00Z\r\n");
    assert!(tabs.status == 0 && tabs.stdout.starts_with("1 recorded."), "{}", tabs.stderr);
    let old = mate(b"face_a,face_b,when\nS\xdcD,TR-1@A,2026-11-25T14:00Z\n");
    assert!(old.status == 2 && old.stderr.contains("not UTF-8"), "{}", old.stderr);
}

/// What is named like a picture and is none must not be left out in silence, whichever way its face was named.
#[test]
fn a_damaged_picture_of_a_run_is_told() {
    let site = Site::new();
    site.pictures(&["1", "3"], &[]);
    fs::write(site.path("pictures/2.png"), "torn").unwrap();
    site.book(&["new", "site"]);
    let run = site.add("pictures", &["--face", "TR-1@A"]);
    assert_eq!((run.status, run.stderr.as_str()), (1, ""));
    let said = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("1 refused") && said.contains("pictures/2.png: this is no picture"), "{said}");
}

#[test]
fn one_picture_of_two_faces_is_told() {
    let site = Site::new();
    site.pictures(&["TR-01@A", "TR-01@B", "TR-02@A"], &["TR-02@B"]);
    site.book(&["new", "site"]);
    let said = site.add("pictures", &[]).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    let told =
        "TR-02@A: mind: its picture TR-01@A.png is told to show TR-01@A and TR-01@B, too, and no picture";
    assert!(said.contains(told) && said.matches("mind").count() == 1, "{said}");
    let words = ["handover", "site", "--date", "2026-11-26", "--out", "report"];
    assert_eq!(
        program().args(words).current_dir(site.folder.path()).output().unwrap().status.code(),
        Some(1)
    );
    let job = fs::read_to_string(site.path("report").join("job.html")).unwrap();
    assert!(job.matches("is told to show").count() >= 3, "{job}");
    let owed = site.book(&["owed", "site"]);
    assert_eq!((owed.status, owed.stdout.matches("no picture shows two").count()), (1, 3), "{}", owed.stdout);
    assert!(job.contains("Cable TR-02: Conflict: connector A: its picture TR-01@A.png is told"), "{job}");
}

/// What must not make a failing face pass: the same pictures graded otherwise, at an earlier time, and another look of
/// the same second.
#[test]
fn a_failing_look_is_not_outdone_by_what_is_no_later_look() {
    let laxer = ["--layout", "mpo-8", "--criteria", "iec-61300-3-35-ed1-mm"];
    let site = Site::new();
    site.pictures(&["clean"], &["dirty"]);
    let owed = |book: &str| {
        let owed = site.book(&["owed", book]);
        (owed.status, owed.stdout.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let add = |book: &str, picture: &str, when: &str| {
        let picture = format!("pictures/{picture}.png");
        let words = [
            "add",
            book,
            &picture,
            "--face",
            "TR-1@A",
            "--layout",
            "mpo-8",
            "--criteria",
            MM,
            "--when",
            when,
        ];
        assert_eq!(site.book(&words).status, 0);
    };
    site.book(&["new", "site"]);
    add("site", "clean", "2026-11-03T10:00Z");
    add("site", "dirty", "2026-11-05T10:00Z");
    let again = ["add", "site", "pictures/dirty.png", "--face", "TR-1@A", "--when", "2026-11-01T10:00Z"];
    assert_eq!(site.book(&[again.as_slice(), laxer.as_slice()].concat()).status, 0);
    assert!(owed("site").1.contains("TR-1@A: its last look fails"), "{}", owed("site").1);

    // By criteria that allow anything.
    let text = include_str!("../profiles/criteria/iec-61300-3-35-ed2-mm.toml");
    let open = ["allowed = 0", "allowed = 4"]
        .iter()
        .fold(text.to_owned(), |t, limit| t.replace(limit, "allowed = \"any\""));
    let open = open.replacen("id = \"", "id = \"open-", 1);
    fs::write(site.path("open.toml"), open).unwrap();
    let again = [
        "add",
        "site",
        "pictures/dirty.png",
        "--face",
        "TR-1@A",
        "--layout",
        "mpo-8",
        "--criteria",
        "open.toml",
    ];
    let run = site.book(&again);
    assert!(run.stdout.contains("1 pass"), "{}{}", run.stdout, run.stderr);
    let (status, said) = owed("site");
    assert!(
        status == 1
            && said.contains("its picture of 2026-11-05T10:00:00Z does not fail as it was graded last"),
        "{said}"
    );

    site.book(&["new", "tie"]);
    add("tie", "dirty", "2026-11-03T10:00Z");
    add("tie", "clean", "2026-11-03T10:00Z");
    let (status, said) = owed("tie");
    assert!(status == 1 && said.contains("nothing tells which was first"), "{said}");
}

/// A face whose picture could not be used was to be looked at, and was not.
#[test]
fn a_face_whose_picture_is_refused_is_owed() {
    let site = Site::new();
    site.pictures(&["TR-1@A"], &[]);
    fs::write(site.path("pictures/TR-2@A.png"), "torn").unwrap();
    site.book(&["new", "site"]);
    assert_eq!(site.add("pictures", &[]).status, 1);
    let owed = site.book(&["owed", "site"]);
    assert!(owed.status == 1 && owed.stdout.contains("TR-2@A: nobody looked at it"), "{}", owed.stdout);
    let before = site.entries("site");
    assert_eq!(site.add("pictures", &[]).status, 1);
    assert_eq!(site.entries("site"), before, "it becomes known once");
}

#[test]
fn names_that_cannot_be_meant_are_refused() {
    let site = Site::new();
    let file = site.path("e.csv");
    fs::write(&file, "face_a,face_b\n").unwrap();
    let run = site.book(&["new", "e.csv"]);
    assert!(run.status == 2 && run.stderr.contains("name another folder for the book"), "{}", run.stderr);
    assert_eq!(fs::read_to_string(&file).unwrap(), "face_a,face_b\n");
    site.book(&["new", "site"]);
    let run = site.book(&["expect", "site", "TR-1@C"]);
    assert!(run.status == 2 && run.stderr.contains("an end is A or B"), "{}", run.stderr);
}
