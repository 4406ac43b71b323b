//! The book of a made-up site: what goes in, what is refused, and that a run killed at any moment loses nothing and
//! repeats nothing.

use crate::run::{self, MM, Run, program};
use book::{Access, Entry, Store};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;
use tempfile::TempDir;

/// A folder with a book and pictures of an invented site.
pub struct Site {
    pub folder: TempDir,
}

impl Site {
    pub fn new() -> Site {
        Site { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// `pitchline book COMMAND`, run in the folder.
    pub fn command(&self, words: &[&str]) -> Command {
        let mut command = program();
        command.arg("book").args(words).current_dir(self.folder.path());
        command
    }

    pub fn book(&self, words: &[&str]) -> Run {
        self.command(words).output().unwrap().into()
    }

    /// Grades a folder or a picture into the book `site`.
    pub fn add(&self, input: &str, more: &[&str]) -> Run {
        self.book(&[&["add", "site", input, "--layout", "mpo-8", "--criteria", MM], more].concat())
    }

    pub fn entries(&self, book: &str) -> Vec<Entry> {
        store(&self.path(book)).entries().unwrap()
    }

    /// A clean and a dirty face in `pictures`, under these names.
    pub fn pictures(&self, clean: &[&str], dirty: &[&str]) {
        fs::create_dir_all(self.path("pictures")).unwrap();
        let mark = "[[marks]]\nkind = \"particle\"\nposition = 3\nat_um = [4, -3]\nsize_um = 14\n";
        for (names, marks) in [(clean, ""), (dirty, mark)] {
            let Some((first, others)) = names.split_first() else { continue };
            let scene = run::clean("mpo-8", marks);
            let made = run::picture(&self.path("pictures"), &format!("{first}.png"), &scene);
            for other in others {
                fs::copy(&made, self.path("pictures").join(format!("{other}.png"))).unwrap();
            }
        }
    }
}

fn store(folder: &Path) -> Store {
    Store::open(&folder.join("book.sqlite"), Access::Read).unwrap()
}

fn text(entry: &Entry) -> String {
    String::from_utf8(entry.body.clone()).unwrap()
}

#[test]
fn a_site_goes_in_and_what_is_wrong_with_it_is_told() {
    let site = Site::new();
    site.pictures(&["TR-1@A", "TR-1@B"], &["1A.A02-35-01"]);
    fs::write(site.path("pictures/torn.png"), "no picture").unwrap();
    fs::write(site.path("pictures/notes.txt"), "not named like one").unwrap();
    assert_eq!(site.book(&["new", "site", "--name", "Harbour school"]).status, 0);
    let again = site.book(&["new", "site"]);
    assert_eq!((again.status, again.stderr.lines().count()), (2, 1));

    let run = site.add("pictures", &["--who", "Mira", "--when", "2026-11-25T15:00+01:00"]);
    assert_eq!((run.status, run.stderr.as_str()), (1, ""), "{}", run.stdout);
    let said = run.stdout.replace('\n', " ");
    assert!(
        said.contains("3 graded (2 pass, 1 fail, 0 ungraded), 0 in the book already, 1 refused."),
        "{said}"
    );
    assert!(said.contains("pictures/torn.png: this is no picture"), "{said}");
    let entries = site.entries("site");
    // The book, each face with its look, and the face whose picture could not be read.
    assert_eq!(entries.len(), 8);
    let look = text(&entries[2]);
    for part in
        ["{\"version\":1,\"kind\":\"inspection\",", "\"when\":\"2026-11-25T14:00:00Z\"", "\"who\":\"Mira\""]
    {
        assert!(look.contains(part), "{part} is missing in {look}");
    }

    // Nothing is repeated, and a picture is stored once however many faces it stands for.
    let run = site.add("pictures", &[]);
    assert!(run.stdout.replace('\n', " ").contains("0 graded (0 pass, 0 fail, 0 ungraded), 3 in the book"));
    assert_eq!(site.entries("site"), entries);
    assert_eq!(run::names(&site.path("site/pictures")).len(), 2);
    let list = site.book(&["list", "site"]).stdout;
    assert!(list.starts_with("Harbour school: 4 faces\n"), "{list}");
    assert!(list.contains("torn          --- never looked at\n"), "{list}");
    assert!(list.contains("TR-1@B        (P) pass     2026-11-25T14:00:00Z, 1 look\n"), "{list}");
}

#[test]
fn what_no_picture_shows_is_recorded_as_it_is_told() {
    let site = Site::new();
    site.book(&["new", "site"]);
    assert_eq!(site.book(&["expect", "site", "TR-1", "TR-2"]).stdout, "2 recorded.\n");
    assert_eq!(site.book(&["expect", "site", "CORD", "--cord"]).status, 0);
    let when = ["--when", "2026-11-25T14:00:00Z"];
    let mate = [&["mate", "site", "TR-1", "CORD", "--adapter", "type-b"][..], &when].concat();
    assert_eq!(site.book(&mate).stdout, "1 recorded.\n");
    assert_eq!(site.book(&mate).stdout, "0 recorded, 1 in the book already.\n");
    let clean = [&["clean", "site", "TR-1", "TR-3", "--how", "wet"][..], &when].concat();
    assert_eq!(site.book(&clean).status, 0);
    let bodies: Vec<String> = site.entries("site").iter().map(text).collect();
    assert_eq!(bodies.len(), 8, "{bodies:?}");
    assert!(
        bodies[6].contains("\"connector\":\"TR-3\""),
        "a face that was unknown is made known: {bodies:?}"
    );
    let list = site.book(&["list", "site"]).stdout;
    assert!(list.contains("CORD  --- never looked at, reference cord\n"), "{list}");
    // A role that was mistaken is set right, and set back; said again, it is known.
    for (more, said, role) in [
        (&["--cord"][..], "1 recorded.\n", true),
        (&[], "1 recorded.\n", false),
        (&["--cord"], "1 recorded.\n", true),
    ] {
        let expect = [&["expect", "site", "TR-2"], more].concat();
        assert_eq!(site.book(&expect).stdout, said);
        assert_eq!(site.book(&expect).stdout, "0 recorded, 1 in the book already.\n");
        let list = site.book(&["list", "site"]).stdout;
        assert_eq!(list.contains("TR-2  --- never looked at, reference cord\n"), role, "{list}");
    }
    assert_eq!(site.book(&["verify", "site"]).status, 0);
    let itself = site.book(&["mate", "site", "TR-1", "TR-1"]);
    assert_eq!((itself.status, itself.stderr.lines().count()), (2, 1));
}

#[test]
fn faces_are_named_by_pattern_table_or_word() {
    let site = Site::new();
    site.pictures(&["TR-7_b_after", "x"], &[]);
    site.book(&["new", "site"]);
    let run = site.add("pictures", &["--pattern", "{connector}_{end}_{any}"]);
    assert_eq!(run.status, 1);
    assert!(run.stdout.contains("pictures/x.png: its path does not fit the pattern"), "{}", run.stdout);
    let table =
        "Connector,file,end,who\n1A.A02-35:01,x.png,A,\"Mira, Jon\"\nTR-9,gone.png,,\nTR-9,x.png,C,\n";
    fs::write(site.path("names.csv"), table).unwrap();
    let run = site.add("pictures", &["--table", "names.csv"]);
    let said = run.stdout.replace('\n', " ");
    assert!(said.contains("1 graded") && said.contains("2 refused"), "{said}");
    assert!(said.contains("gone.png: cannot read") && said.contains("line 4 of the table: an end is A or B"));
    assert_eq!(site.add("pictures/x.png", &["--face", "Lobby (2)@B"]).status, 0);
    let list = site.book(&["list", "site"]).stdout;
    for face in ["TR-7@B ", "1A.A02-35:01@A ", "Lobby (2)@B "] {
        assert!(list.contains(face), "{list}");
    }
    let bad = site.add("pictures", &["--pattern", "{end}"]);
    assert_eq!((bad.status, bad.stderr.lines().count()), (2, 1), "{}", bad.stderr);
}

#[test]
fn shards_are_every_input_once() {
    let site = Site::new();
    site.pictures(&["a", "b", "c"], &["d"]);
    let mut all = Vec::new();
    for shard in ["1/2", "2/2"] {
        let _ = fs::remove_dir_all(site.path("site"));
        site.book(&["new", "site"]);
        assert_eq!(site.add("pictures", &["--shard", shard]).status, 0);
        let list = site.book(&["list", "site"]).stdout;
        all.push(list.lines().skip(1).map(|l| l[..1].to_owned()).collect::<String>());
    }
    assert_eq!(all, ["ac", "bd"]);
    assert_eq!(site.add("pictures", &["--shard", "3/2"]).status, 2);
}

#[test]
fn no_book_and_a_book_in_use_are_one_sentence() {
    let site = Site::new();
    site.pictures(&["a"], &[]);
    for folder in ["gone", "pictures"] {
        let run = site.book(&["list", folder]);
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
        assert!(run.stderr.contains("there is no book in"), "{}", run.stderr);
    }
    site.book(&["new", "site"]);
    let lock = fs::File::open(site.path("site/lock")).unwrap();
    lock.lock().unwrap();
    let run = site.add("pictures", &[]);
    assert_eq!(run.status, 2);
    assert!(run.stderr.contains("another program is writing to it"), "{}", run.stderr);
    drop(lock);
    fs::write(site.path("site/book.sqlite"), "not a database, and longer than its head is ".repeat(9))
        .unwrap();
    for command in [["list", "site"], ["new", "site"]] {
        let run = site.book(&command);
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
        assert!(run.stderr.contains("no book of pitchline"), "{}", run.stderr);
    }
}

/// The whole of it, with fifty kills and three hundred faces, is `benches/book_killed.py`.
#[test]
fn a_run_killed_at_any_moment_and_run_again_ends_with_the_same_records() {
    let site = Site::new();
    site.pictures(&["a", "c", "e", "TR-1@A", "TR-1@B", "g"], &["b", "d", "f", "h"]);
    site.book(&["new", "site", "--name", "Harbour"]);
    site.book(&["new", "whole", "--name", "Harbour"]);
    let mut killed = 0;
    for wait in [30, 250, 500, 900, 1400] {
        let arguments = ["add", "site", "pictures", "--layout", "mpo-8", "--criteria", MM, "--quiet"];
        let mut child = site.command(&arguments).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(wait));
        let _ = child.kill();
        killed += i32::from(child.wait().unwrap().code().is_none());
    }
    assert!(killed >= 2, "only {killed} runs were killed");
    assert_eq!(site.add("pictures", &[]).status, 0);
    let whole = ["add", "whole", "pictures", "--layout", "mpo-8", "--criteria", MM, "--workers", "3"];
    assert_eq!(site.book(&whole).status, 0);
    assert_eq!(site.entries("site"), site.entries("whole"));
    let (resumed, whole) = (store(&site.path("site")), store(&site.path("whole")));
    assert_eq!(resumed.head(), whole.head());
    for name in ["site", "whole"] {
        let folders = run::names(&site.path(name).join("pictures"));
        let files = folders.iter().flat_map(|f| run::names(&site.path(name).join("pictures").join(f)));
        assert!(files.into_iter().all(|f| f.len() == 64), "a picture that was half written is left");
    }
}

#[test]
fn a_table_of_matings_goes_in_whole_and_once() {
    let site = Site::new();
    site.book(&["new", "site"]);
    let head = "Face_B,face_a,when,adapter,who\n";
    let mate = |lines: &str, more: &[&str]| {
        fs::write(site.path("matings.csv"), format!("{head}{lines}")).unwrap();
        let run = site.book(&[&["mate", "site", "--table", "matings.csv"], more].concat());
        (run.status, run.stdout + &run.stderr)
    };
    let good = "CORD,TR-1@A,2026-11-25T14:00Z,type-b,Mira\nCORD,TR-2@A,2026-11-25T14:05Z,,\n";
    let told = mate(good, &["--who", "Jon"]);
    assert!(told.0 == 0 && told.1.starts_with("2 recorded.\n  CORD is new to the book\n"), "{told:?}");
    assert_eq!(mate(good, &["--who", "Jon"]), (0, "0 recorded, 2 in the book already.\n".to_owned()));
    let entries = site.entries("site");
    let told: Vec<String> = entries.iter().map(text).filter(|t| t.contains("\"mating\"")).collect();
    assert_eq!(told.len(), 2, "{told:?}");
    for part in [
        "\"a\":{\"connector\":\"TR-1\",\"end\":\"A\"}",
        "\"adapter\":\"type-b\"",
        "14:00:00Z",
        "\"who\":\"Mira\"",
    ] {
        assert!(told[0].contains(part), "{part}: {}", told[0]);
    }
    assert!(told[1].contains("\"adapter\":null") && told[1].contains("\"who\":\"Jon\""), "{}", told[1]);

    for (lines, said) in [
        (
            "CORD,TR-3@A,2026-11-25T15:00Z,,\nCORD,,2026-11-25T15:00Z,,\n",
            "line 3 of the table: it names no face",
        ),
        ("CORD,CORD,2026-11-25T15:00Z,,\n", "line 2 of the table: CORD cannot meet itself"),
        ("CORD,TR-3@A,,,\n", "line 2 of the table: it tells no time"),
        ("CORD,TR-3@A,2026-11-25T15:00Z,type-x,\n", "its adapter is neither type-a nor type-b"),
    ] {
        let (status, text) = mate(lines, &[]);
        assert!(status == 2 && text.contains(said) && text.lines().count() == 1, "{said}: {text}");
    }
    let (_, text) = mate(&"CORD,TR-3@A,2026-11-25T15:00Z,,\nCORD,CORD,2026-11-25T15:00Z,,\n".repeat(7), &[]);
    for line in [3, 5, 7, 9, 11] {
        assert!(text.contains(&format!("line {line} of the table: CORD cannot meet itself")), "{text}");
    }
    assert!(text.contains("; and 2 more lines; write a CSV"), "{text}");
    assert_eq!(site.entries("site"), entries, "nothing of a wrong table is recorded");
}

/// The pictures of a stepped run and the one that was put together of them stand in the book, are held to their hashes
/// and shown to the owner.
#[test]
fn a_stepped_run_is_kept_with_the_picture_of_its_whole_face() {
    let site = Site::new();
    site.book(&["new", "site"]);
    let run = crate::stepped::written(&site.path("pictures/TR-4@A"));
    assert_eq!(site.add("pictures", &[]).status, 0);
    assert_eq!(run::names(&site.path("site/pictures")).len(), run + 1);
    let verify = site.book(&["verify", "site"]);
    assert!(
        verify.status == 0 && verify.stdout.contains(&format!("{} pictures hashed", run + 1)),
        "{}",
        verify.stdout
    );
    let handover = program()
        .args(["handover", "site", "--date", "2026-11-25", "--out", "report"])
        .current_dir(site.folder.path())
        .output()
        .unwrap();
    assert_eq!((handover.status.code(), handover.stderr.as_slice()), (Some(1), &b""[..]));
    let page = fs::read_to_string(site.path("report/cable-001-tr-4.html")).unwrap();
    assert!(page.contains("key up: fail"), "{page}");
}

/// What must not pass for a new look: pictures graded again by other criteria or another view, another ferrule's picture,
/// a cleaning.
#[test]
fn only_a_new_look_at_the_same_ferrule_clears_a_face() {
    let site = Site::new();
    site.pictures(&["clean"], &[]);
    let other = run::clean("mpo-8", "").replacen("seed = 7", "seed = 77", 1);
    run::picture(&site.path("pictures"), "other.png", &other);
    site.book(&["new", "site"]);
    let add = |picture: &str, hour: &str, more: &[&str]| {
        let when = format!("2026-11-25T{hour}:00Z");
        let run = site
            .add(&format!("pictures/{picture}.png"), &[&["--face", "TR-1", "--when", &when], more].concat());
        assert_eq!(run.status, 0, "{}", run.stderr);
        run.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let owed = || {
        let run = site.book(&["owed", "site"]);
        (run.status, run.stdout.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    add("clean", "08:00", &[]);
    assert_eq!(owed().0, 0);
    site.book(&["expect", "site", "CORD", "--cord"]);
    let mate = site.book(&["mate", "site", "TR-1", "CORD", "--when", "2026-11-25T09:00Z"]);
    assert_eq!(mate.stdout, "1 recorded.\n");
    add("clean", "10:00", &["--guard", "5%"]);
    let (status, said) = owed();
    assert!(
        status == 1 && said.contains("it met CORD after its last pass"),
        "the same picture again: {said}"
    );

    let said = add("other", "11:00", &[]);
    assert!(said.contains("show two different ferrules"), "{said}");
    let (status, said) = owed();
    assert!(status == 1 && said.contains("2026-11-25T08:00:00Z and 2026-11-25T11:00:00Z show two"), "{said}");

    // The connector was replaced: a further picture of the new ferrule settles it.
    let again = other.replacen("[camera]", "[camera]\nseed = 5", 1);
    run::picture(&site.path("pictures"), "again.png", &again);
    add("again", "12:00", &[]);
    assert_eq!(owed().0, 0, "{}", owed().1);
    site.book(&["clean", "site", "TR-1", "--when", "2026-11-25T13:00Z"]);
    let (status, said) = owed();
    assert!(status == 1 && said.contains("TR-1: it was cleaned after its last look"), "{said}");
    let handover = program()
        .args(["handover", "site", "--date", "2026-11-25", "--out", "report"])
        .current_dir(site.folder.path())
        .output()
        .unwrap();
    assert_eq!(handover.status.code(), Some(3));
    let told = String::from_utf8(handover.stdout).unwrap();
    assert!(told.replace('\n', " ").contains("1 owed a look"), "{told}");
    for page in ["job.html", "cable-001-tr-1.html"] {
        let page = fs::read_to_string(site.path("report").join(page)).unwrap();
        assert!(page.contains("it was cleaned after its last look"), "{page}");
    }
}

#[test]
fn a_slip_of_the_pen_is_told() {
    let site = Site::new();
    site.pictures(&[], &["TR-01@A"]);
    site.book(&["new", "site"]);
    let said = site.add("pictures", &[]).stdout;
    assert!(said.contains("TR-01@A: fail at 3"), "{said}");
    let said = site.book(&["clean", "site", "TR-O1@a"]).stdout;
    assert_eq!(said, "1 recorded.\n  TR-O1@a is new to the book; was TR-01@A meant?\n");
    let said = site.book(&["mate", "site", "TR-01@A", "TR-02@A"]).stdout;
    assert_eq!(said, "1 recorded.\n  TR-02@A is new to the book\n");
    for (words, told) in [
        (["mate", "site", "TR-01@A", "TR-02@A", "--when", "2999-01-01T00:00Z"], "still to come"),
        (["mate", "site", "TR-01@A", "TR-02@A", "--when", "1066-10-14T09:00Z"], "before the year 2000"),
        (["watch", "site", "nowhere", "--layout=mpo-8", "--criteria", MM], "nowhere"),
        (["add", "site", "nowhere", "--layout=mpo-8", "--criteria", MM], "nowhere"),
    ] {
        let run = site.book(&words);
        assert!(run.status == 2 && run.stderr.contains(told), "{words:?}: {}", run.stderr);
    }
    for (date, out, told) in [
        ("2026-02-31", "report", "a day such as"),
        ("27.11.2026", "report", "a day such as"),
        ("2026-11-25", "site", "the folder of a book"),
    ] {
        let run = program()
            .args(["handover", "site", "--date", date, "--out", out])
            .current_dir(site.folder.path())
            .output();
        let run: Run = run.unwrap().into();
        assert!(run.status == 2 && run.stderr.contains(told), "{date}: {}", run.stderr);
    }
}

#[test]
fn a_failing_face_that_is_made_a_cord_is_told_to_the_owner() {
    let site = Site::new();
    site.pictures(&["TR-01@A"], &["TR-02@A"]);
    site.book(&["new", "site"]);
    site.add("pictures", &[]);
    site.book(&["expect", "site", "TR-02@A", "--cord"]);
    let words = ["handover", "site", "--date", "2026-11-26", "--out", "report"];
    assert!(program().args(words).current_dir(site.folder.path()).output().unwrap().status.success());
    let job = fs::read_to_string(site.path("report").join("job.html")).unwrap();
    assert!(job.contains("TR-02@A was to be handed over and was made a reference cord"), "{job}");
}

/// The first signs of the records of a face that say something.
fn records(site: &Site, face: &str, what: &str) -> Vec<String> {
    let listed = site.book(&["list", "site", face]);
    assert_eq!(listed.status, 0, "{}", listed.stderr);
    let lines = listed.stdout.lines().filter(|line| line.contains(what));
    lines.map(|line| line.split(' ').next().unwrap().to_owned()).collect()
}

#[test]
fn what_was_entered_by_mistake_is_withdrawn_and_stays_in_sight() {
    let site = Site::new();
    site.pictures(&["a"], &["b"]);
    site.book(&["new", "site"]);
    let when = ["--when", "2026-11-25T10:00Z", "--who", "Mira"];
    site.add("pictures/a.png", &[&["--face", "TR-01@A"], when.as_slice()].concat());
    site.add("pictures/b.png", &[&["--face", "TR-10@A"], when.as_slice()].concat());
    let later = ["--when", "2026-11-25T11:00Z"];
    site.book(&[&["mate", "site", "TR-01@A", "TR-10@A"], later.as_slice()].concat());
    let owed = |wanted: i32| {
        let owed = site.book(&["owed", "site"]);
        assert_eq!(owed.status, wanted, "{}", owed.stdout);
        owed.stdout
    };
    assert!(owed(1).contains("TR-10@A: its last look fails"));

    // The mating and the look were of other faces; the face was never there.
    let face = records(&site, "TR-10@A", "made known").remove(0);
    let refused = site.book(&["withdraw", "site", &face, "--why", "no such label"]);
    assert!(
        refused.status == 2 && refused.stderr.contains("of which other records tell"),
        "{}",
        refused.stderr
    );
    for (what, left) in [("met", false), ("look", true)] {
        let record = records(&site, "TR-10@A", what).remove(0);
        let run = site.book(&["withdraw", "site", &record, "--why", "another face", "--who", "Jon"]);
        assert_eq!(run.status, 0, "{}", run.stderr);
        assert!(run.stdout.contains("Withdrawn: 2026-11-25T1"), "{}", run.stdout);
        assert_eq!(run.stdout.contains("Nothing else is told of TR-10@A"), left, "{}", run.stdout);
        let again = site.book(&["withdraw", "site", &record, "--why", "another face"]);
        assert!(again.status == 2 && again.stderr.contains("withdrawn already"), "{}", again.stderr);
    }
    assert!(owed(1).contains("TR-10@A: nobody looked at it"));
    assert_eq!(site.book(&["withdraw", "site", &face, "--why", "no such label"]).status, 0);
    assert!(owed(0).contains("nothing is owed for 1 face"));
    let listed = site.book(&["list", "site", "TR-10@A"]).stdout;
    assert_eq!(listed.matches("WITHDRAWN").count(), 3, "{listed}");
    assert!(listed.contains(" by Jon: another face\n"), "{listed}");

    // Bad names of records, and those that are the book itself.
    for (record, told) in [
        ("1234567", "8 to 64 signs"),
        ("0000000000000000", "no such record"),
        (&site.entries("site")[0].link.to_string(), "makes the book itself"),
    ] {
        let run = site.book(&["withdraw", "site", record, "--why", "a slip"]);
        assert!(run.status == 2 && run.stderr.contains(told), "{record}: {}", run.stderr);
    }
    let lines = site.book(&["clean", "site", "TR-01@A", "--who", "Mira\n0245121afd34  looked"]);
    assert!(lines.status == 2 && lines.stderr.contains("write one line"), "{}", lines.stderr);
    let empty = site.book(&["withdraw", "site", &face, "--why", " "]);
    assert!(empty.status == 2 && empty.stderr.contains("say in a few words why"), "{}", empty.stderr);

    // The hand-over hides nothing, and all of it is still verified.
    let out = site.path("report");
    let run = program()
        .args(["handover", "site", "--date", "2026-11-26", "--out", "report"])
        .current_dir(site.folder.path())
        .output();
    assert_eq!(run.unwrap().status.code(), Some(0));
    let page = fs::read_to_string(out.join("cable-001-tr-01.html")).unwrap();
    assert!(page.contains("TR-01@A met TR-10@A WITHDRAWN"), "{page}");
    assert!(page.contains("Mira"), "who looked is told");
    let job = fs::read_to_string(out.join("job.html")).unwrap();
    assert!(job.contains("Cable TR-01: Withdrawn: connector A, 2026-11-25T11:00:00Z TR-01@A met TR-10@A"));
    // The failing look is told though its face is no longer of the job.
    assert!(job.contains("look at TR-10@A: fail (b.png) by Mira. WITHDRAWN"), "{job}");
    assert!(job.contains("TR-10@A made known, to be handed over. WITHDRAWN"), "{job}");
    assert_eq!(site.book(&["verify", "site", "--quiet"]).status, 0);

    // What was withdrawn can be entered again.
    let again = site.add("pictures/b.png", &[&["--face", "TR-10@A"], when.as_slice()].concat());
    assert!(again.stdout.contains("TR-10@A: fail at 3"), "{}", again.stdout);
    assert!(owed(1).contains("TR-10@A: its last look fails"));
}

#[test]
fn a_cord_that_met_a_failing_face_is_told_though_it_is_not_handed_over() {
    let site = Site::new();
    site.pictures(&["a"], &["b"]);
    site.book(&["new", "site"]);
    site.add("pictures/a.png", &["--face", "CORD-1", "--cord", "--when", "2026-11-25T09:00Z"]);
    site.book(&["mate", "site", "TR-02@A", "CORD-1", "--when", "2026-11-25T10:00Z"]);
    site.add("pictures/b.png", &["--face", "TR-02@A", "--when", "2026-11-25T11:00Z"]);
    let owed = site.book(&["owed", "site"]).stdout;
    assert!(
        owed.contains("touch anything more:\n  CORD-1: it met TR-02@A 2026-11-25T10:00:00Z, which failed"),
        "{owed}"
    );
    let words = ["handover", "site", "--date", "2026-11-26", "--out", "report"];
    assert_eq!(
        program().args(words).current_dir(site.folder.path()).output().unwrap().status.code(),
        Some(1)
    );
    let cords = fs::read_to_string(site.path("report").join("cords.csv")).unwrap();
    assert!(cords.contains("\r\nCORD-1,2026-11-25T09:00:00Z,pass,1,\"it met TR-02@A"), "{cords}");
    let job = fs::read_to_string(site.path("report").join("job.html")).unwrap();
    assert!(job.contains("Reference cords") && job.contains("pitchline book verify BOOK --head"), "{job}");
}
