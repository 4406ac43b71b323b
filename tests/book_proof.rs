//! What is found in a book that was changed behind its back, sealed, merged; what a dirty cord touched and what is owed;
//! pictures graded as they arrive.

use crate::book::Site;
use crate::run::{self, MM};
use book::{Entry, link};
use rusqlite::{Connection, params};
use serde_json::Value;
use std::fs;
use std::process::Stdio;
use std::time::Duration;

/// A site of three faces, graded.
fn site() -> Site {
    let site = Site::new();
    site.pictures(&["TR-1", "TR-2"], &["TR-3"]);
    site.book(&["new", "site", "--name", "Harbour"]);
    assert_eq!(site.add("pictures", &["--when", "2026-11-25T14:00:00Z"]).status, 0);
    site
}

fn change(site: &Site, sql: &str) {
    let db = Connection::open(site.path("site/book.sqlite")).unwrap();
    db.pragma_update(None, "foreign_keys", false).unwrap();
    assert!(db.execute(sql, []).unwrap() > 0, "{sql}");
}

/// What `verify` says on one line, and its status.
fn verified(site: &Site, more: &[&str]) -> (i32, String) {
    let run = site.book(&[&["verify", "site"], more].concat());
    assert_eq!(run.stderr, "");
    (run.status, run.stdout.split_whitespace().collect::<Vec<_>>().join(" "))
}

#[test]
fn a_book_that_nobody_changed_is_as_it_was_written() {
    let site = site();
    let (status, said) = verified(&site, &[]);
    assert_eq!(status, 0, "{said}");
    assert!(said.starts_with("7 records, head "), "{said}");
    assert!(said.contains("3 looks; 3 pictures hashed, 3 looks graded again"), "{said}");
    assert!(said.ends_with("Everything is as it was written."), "{said}");
}

#[test]
fn a_changed_byte_of_a_picture_is_found_and_a_picture_that_is_gone() {
    let site = site();
    let folder = site.path("site/pictures");
    let inner = folder.join(&run::names(&folder)[0]);
    let picture = inner.join(&run::names(&inner)[0]);
    let mut bytes = fs::read(&picture).unwrap();
    let last = bytes.len() - 1;
    bytes[last] ^= 1;
    fs::remove_file(&picture).unwrap();
    fs::write(&picture, &bytes).unwrap();
    let (status, said) = verified(&site, &["--no-grading"]);
    assert_eq!(status, 1);
    assert!(said.contains("was changed: the bytes of site/pictures/"), "{said}");
    fs::remove_file(&picture).unwrap();
    let (status, said) = verified(&site, &["--no-grading"]);
    let gone = "is gone from the book: fetch site/pictures/";
    assert!(status == 1 && said.contains(gone) && !said.contains("check the name"), "{said}");
    site.book(&["new", "other", "--name", "Other"]);
    let merged = site.book(&["merge", "other", "site"]);
    assert!(merged.status == 2 && merged.stderr.contains(gone), "{}", merged.stderr);
    assert_eq!(merged.stderr.lines().count(), 1);
}

#[test]
fn a_changed_byte_of_a_record_a_document_or_the_order_is_found() {
    let swap = "UPDATE entry SET body = (SELECT body FROM entry e WHERE e.place = 8 - entry.place)
                WHERE place IN (2, 6)";
    for (sql, told) in [
        (
            "UPDATE entry SET body = CAST(replace(CAST(body AS TEXT), '14:00:00', '14:00:01') AS BLOB) WHERE place = 4",
            "record 4",
        ),
        (swap, "record 2"),
        ("UPDATE entry SET place = 9 WHERE place = 3", "its place was changed"),
        ("DELETE FROM entry WHERE place = 3", "the record before it is missing"),
        ("UPDATE head SET link = (SELECT link FROM entry WHERE place = 4)", "does not lead to it"),
        (
            "UPDATE document SET bytes = CAST(CAST(bytes AS TEXT) || ' ' AS BLOB) WHERE instr(CAST(bytes AS TEXT), 'pitchline.face/1') > 0",
            "was changed: its hash is not that of its bytes",
        ),
        ("DELETE FROM known WHERE link = (SELECT link FROM entry WHERE place = 4)", "record 4 "),
        ("DELETE FROM known", "the book's index leaves it out, so that it could be entered twice"),
        ("DELETE FROM face WHERE name = 'TR-2'", "the book's index leaves it out"),
        (
            "UPDATE known SET key = zeroblob(32) WHERE link = (SELECT link FROM entry WHERE place = 4)",
            "record 4 ",
        ),
        (
            "INSERT INTO known SELECT zeroblob(32), link FROM head",
            "the book's index takes it for another record",
        ),
        ("INSERT INTO face SELECT 'TR-9', link FROM head", "the book's index takes it for another record"),
        ("INSERT INTO known VALUES (zeroblob(32), zeroblob(32))", "this record, which is not there"),
        ("INSERT INTO face VALUES ('TR-9', zeroblob(32))", "this record, which is not there"),
        ("DELETE FROM document WHERE instr(CAST(bytes AS TEXT), 'pitchline.face/1') > 0", "is missing"),
    ] {
        let site = site();
        change(&site, sql);
        let (status, said) = verified(&site, &["--no-grading"]);
        assert_eq!(status, 1, "{sql}");
        assert!(said.contains(told), "{sql}: {said}");
    }
}

/// What a merged book brought is reached from the chain by its head alone: taken away as a whole, it is missed.
#[test]
fn a_merged_book_that_was_cut_out_is_found() {
    let site = site();
    let own = site.entries("site");
    site.book(&["new", "other", "--name", "Second crew"]);
    site.book(&["clean", "other", "TR-8@A", "--when", "2026-11-25T15:00Z"]);
    assert_eq!(site.book(&["merge", "site", "other"]).status, 0);
    assert_eq!(verified(&site, &["--no-grading"]).0, 0);
    let merged = site.entries("site");
    let last = merged.iter().max_by_key(|entry| entry.place).unwrap();
    for entry in merged.iter().filter(|entry| !own.contains(entry) && entry.link != last.link) {
        let link = entry.link;
        for table in ["known", "face", "noted", "entry"] {
            let db = Connection::open(site.path("site/book.sqlite")).unwrap();
            db.pragma_update(None, "foreign_keys", false).unwrap();
            db.execute(&format!("DELETE FROM {table} WHERE link = ?1"), params![link.bytes()]).unwrap();
        }
    }
    let (status, said) = verified(&site, &["--no-grading"]);
    assert!(status == 1 && said.contains("the records of the book that it merged are missing"), "{said}");
    for words in [["owed", "site"], ["list", "site"]] {
        let run = site.book(&words);
        assert!(run.status == 2 && run.stderr.contains("not as it was written"), "{}", run.stderr);
    }
}

/// Writes the whole chain anew, each record changed, as who can write the file can.
fn forge(site: &Site, old: &[Entry], changed: impl Fn(String) -> String) {
    let db = Connection::open(site.path("site/book.sqlite")).unwrap();
    db.execute_batch("PRAGMA foreign_keys = off; DELETE FROM entry; DELETE FROM head;").unwrap();
    let mut before = None;
    for Entry { place, body, .. } in old {
        let body = changed(String::from_utf8(body.clone()).unwrap());
        let next = link(before, body.as_bytes());
        let before_bytes = before.map(|b: book::Link| *b.bytes());
        db.execute(
            "INSERT INTO entry VALUES (?1, ?2, ?3, ?4)",
            params![next.bytes(), before_bytes, place, body.as_bytes()],
        )
        .unwrap();
        before = Some(next);
    }
    db.execute("INSERT INTO head VALUES (1, ?1)", params![before.unwrap().bytes()]).unwrap();
}

/// Who can write the whole chain anew can make it whole again: grading again finds the verdict, and a head that was
/// kept elsewhere, or a seal, finds everything.
#[test]
fn a_forged_verdict_in_a_chain_made_whole_again_is_found() {
    let site = site();
    let seal = site.book(&["seal", "site", "--key", "crew.key", "--new-key"]);
    assert_eq!((seal.status, seal.stderr.as_str()), (0, ""));
    let old = site.entries("site");
    let (_, said) = verified(&site, &["--no-grading", "--owner", "crew.key.pub"]);
    let head = said.split(['.', ' ']).nth(3).unwrap().to_owned();
    assert!(said.contains("Sealed whole by"), "{said}");

    // What is wrong comes first, and the seal speaks for the chain alone.
    let folder = site.path("site/pictures");
    let inner = folder.join(&run::names(&folder)[0]);
    let picture = inner.join(&run::names(&inner)[0]);
    let moved = site.path("aside");
    fs::rename(&picture, &moved).unwrap();
    let (status, said) = verified(&site, &["--no-grading", "--owner", "crew.key.pub"]);
    assert!(status == 1 && said.starts_with("2 things are not as they were written:"), "{said}");
    assert!(
        said.contains("The chain of records is as it was sealed by") && !said.contains("Sealed whole"),
        "{said}"
    );
    fs::rename(&moved, &picture).unwrap();

    forge(&site, &old, |body| body.replace("\"verdict\":\"fail\"", "\"verdict\":\"pass\""));
    let (status, said) = verified(&site, &["--no-grading", "--head", &head]);
    assert!(status == 1 && said.contains("does not lead to the stated head"), "{said}");
    let (status, said) = verified(&site, &["--owner", "crew.key.pub"]);
    assert_eq!(status, 1);
    assert!(said.contains("TR-3: graded again, it is fail and not pass"), "{said}");
    assert!(said.contains("no seal of") && said.contains("the chain does not lead to"), "{said}");
}

/// A forger who makes the layout unreadable must not escape being graded again.
#[test]
fn a_look_that_cannot_be_graded_again_is_told() {
    let no_hash = "0".repeat(64);
    for (what, value, told) in [
        ("layout", no_hash.as_str(), "cannot be graded again: its layout is not in the book"),
        ("scale", "wide", "cannot be graded again: its scale is not a number"),
        ("guard", "7", "cannot be graded again: its guard is not a risk"),
    ] {
        let site = site();
        let old = site.entries("site");
        forge(&site, &old, |body| {
            let mut record: Value = serde_json::from_str(&body).unwrap();
            let Some(by) = record.get_mut("by") else { return body };
            by[what] = Value::from(value);
            record.to_string()
        });
        let (status, said) = verified(&site, &[]);
        assert!(status == 1 && said.replace("\n  ", " ").contains(told), "{told}: {said}");
    }
}

#[test]
fn a_seal_holds_for_its_key_and_what_it_signed() {
    let site = site();
    site.book(&["seal", "site", "--key", "crew.key", "--new-key"]);
    let again = site.book(&["seal", "site", "--key", "crew.key", "--new-key"]);
    assert_eq!((again.status, again.stderr.lines().count()), (2, 1), "a key is never overwritten");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let rights = fs::metadata(site.path("crew.key")).unwrap().permissions().mode();
        assert_eq!(rights & 0o777, 0o600);
    }
    site.book(&["clean", "site", "TR-3", "--how", "dry", "--when", "2026-11-25T15:00:00Z"]);
    let (status, said) = verified(&site, &["--no-grading", "--owner", "crew.key.pub"]);
    assert!(status == 0 && said.contains("more was recorded since"), "{said}");
    fs::write(site.path("other.pub"), "58".repeat(32)).unwrap();
    let (status, said) = verified(&site, &["--no-grading", "--owner", "other.pub"]);
    assert!(status == 1 && said.contains("no seal of the public key other.pub"), "{said}");
    // The secret key, named by a slip, is not told.
    let (status, said) = verified(&site, &["--no-grading", "--owner", "crew.key"]);
    let secret = fs::read_to_string(site.path("crew.key")).unwrap();
    assert!(status == 1 && !said.contains(secret.trim()), "a secret is told");
    change(&site, "UPDATE seal SET link = (SELECT link FROM head)");
    let (status, said) = verified(&site, &["--no-grading", "--owner", "crew.key.pub"]);
    assert!(status == 1 && said.contains("the signature is not that key's"), "{said}");
    let junk = site.book(&["seal", "site", "--key", "pictures/TR-1.png"]);
    assert_eq!((junk.status, junk.stderr.lines().count()), (2, 1));
}

/// Of two books of different names each keeps its own, whichever began with the lesser hash.
#[test]
fn a_book_that_takes_over_another_keeps_its_name() {
    let site = Site::new();
    for (book, other) in [("one", "two"), ("two", "one")] {
        for (name, face) in [("one", "A@A"), ("two", "B@A")] {
            let _ = std::fs::remove_dir_all(site.path(name));
            site.book(&["new", name, "--name", &format!("Job {name}")]);
            site.book(&["expect", name, face]);
        }
        assert_eq!(site.book(&["merge", book, other]).status, 0);
        let list = site.book(&["list", book]).stdout;
        assert!(list.starts_with(&format!("Job {book}: 2 faces")), "{list}");
    }
}

#[test]
fn shards_merge_to_all_of_it_once_however_often() {
    let site = Site::new();
    site.pictures(&["a", "b"], &["c", "d"]);
    for (book, shard) in [("one", "1/2"), ("two", "2/2")] {
        site.book(&["new", book, "--name", "Harbour"]);
        let add = ["add", book, "pictures", "--layout", "mpo-8", "--criteria", MM, "--shard", shard];
        assert_eq!(site.book(&add).status, 0);
    }
    let merge = site.book(&["merge", "one", "two"]);
    assert_eq!((merge.status, merge.stdout.as_str()), (0, "two: 4 new records.\n"), "{}", merge.stderr);
    let merged = site.entries("one");
    assert_eq!(site.book(&["merge", "one", "two"]).stdout, "two: 0 new records.\n");
    assert_eq!(site.entries("one"), merged);
    // Back again: the records of `one` and the merging itself.
    assert_eq!(site.book(&["merge", "two", "one"]).stdout, "one: 5 new records.\n");
    for book in ["one", "two"] {
        let verify = site.book(&["verify", book]);
        assert_eq!(verify.status, 0, "{}", verify.stdout);
        assert!(verify.stdout.contains("4 looks; 4 pictures hashed"), "{}", verify.stdout);
        assert!(site.book(&["list", book]).stdout.starts_with("Harbour: 4 faces\n"));
    }
    // A book that holds some of it under other links adds no look to any face.
    site.book(&["new", "again", "--name", "Harbour"]);
    site.book(&["add", "again", "pictures", "--layout", "mpo-8", "--criteria", MM]);
    assert_eq!(site.book(&["merge", "one", "again"]).status, 0);
    let list = site.book(&["list", "one"]).stdout;
    assert_eq!(list.matches(", 1 look\n").count(), 4, "{list}");
    assert_eq!(site.book(&["verify", "one", "--no-grading"]).status, 0);
    let known = site.book(&["add", "one", "pictures", "--layout", "mpo-8", "--criteria", MM]);
    assert!(known.stdout.contains("4 in the book already"), "{}", known.stdout);

    let db = Connection::open(site.path("two/book.sqlite")).unwrap();
    db.execute("UPDATE entry SET body = CAST(CAST(body AS TEXT) || ' ' AS BLOB) WHERE place = 2", [])
        .unwrap();
    drop(db);
    site.book(&["new", "three"]);
    let refused = site.book(&["merge", "three", "two"]);
    assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stderr);
    assert_eq!(site.entries("three").len(), 1);
}

fn particle(position: u16, x: f64, y: f64) -> String {
    format!(
        "[[marks]]\nkind = \"particle\"\nposition = {position}\nat_um = [{x:?}, {y:?}]\nsize_um = 10.0\ncontrast = -0.6\n"
    )
}

/// A cord that met two connectors after its last pass, one of which met a third: marks went over to the first.
fn traced() -> Site {
    let site = Site::new();
    fs::create_dir(site.path("p")).unwrap();
    let went = [(2u16, 20.0, 15.0), (5, -35.0, 20.0), (9, 10.0, -40.0)];
    let on_cord: String = went.iter().map(|&(p, x, y)| particle(p, x, y)).collect();
    let on_first: String = went.iter().map(|&(p, x, y)| particle(13 - p, -x + 0.4, y - 0.3)).collect();
    for (name, seed, marks) in [
        ("cord-clean", 7, ""),
        ("cord-dirty", 7, on_cord.as_str()),
        ("first", 8, &on_first),
        ("cleaned", 8, ""),
        ("second", 9, ""),
        ("apart", 10, ""),
    ] {
        let scene = run::clean("mpo-12", "").replace("seed = 7", &format!("seed = {seed}")) + marks;
        run::picture(&site.path("p"), &format!("{name}.png"), &scene);
    }
    site.book(&["new", "site", "--name", "Harbour <east>"]);
    site.book(&["expect", "site", "CORD", "--cord"]);
    let look = |picture: &str, face: &str, hour: &str| {
        let when = format!("2026-11-25T{hour}:00Z");
        let add =
            ["add", "site", picture, "--face", face, "--layout", "mpo-12", "--criteria", MM, "--when", &when];
        assert_eq!(site.book(&add).status, 0);
    };
    let mate = |a: &str, b: &str, hour: &str| {
        let when = format!("2026-11-25T{hour}:00Z");
        assert_eq!(site.book(&["mate", "site", a, b, "--adapter", "type-b", "--when", &when]).status, 0);
    };
    // Told in another order than it happened.
    look("p/cord-dirty.png", "CORD", "12:00");
    look("p/cord-clean.png", "CORD", "08:00");
    mate("CORD", "TR-0", "07:00");
    look("p/apart.png", "TR-0", "07:30");
    mate("CORD", "TR-1", "09:00");
    mate("CORD", "TR-2", "10:00");
    mate("TR-1", "FAR", "10:30");
    look("p/first.png", "TR-1", "11:00");
    look("p/second.png", "TR-2", "11:30");
    site
}

/// By the committed schema (JSON Schema 2020-12) and the `jsonschema` package.
fn assert_valid(document: &Value, name: &str) {
    let path = format!("{}/../../profiles/schema/{name}.schema.json", env!("CARGO_MANIFEST_DIR"));
    let schema: Value = fs::read_to_string(path).unwrap().parse().unwrap();
    let faults: Vec<String> =
        jsonschema::validator_for(&schema).unwrap().iter_errors(document).map(|e| e.to_string()).collect();
    assert_eq!(faults, [""; 0]);
}

#[test]
fn a_trace_lists_exactly_what_was_exposed_and_how_likely_marks_went_over() {
    let site = traced();
    let run = site.book(&["trace", "site", "CORD", "--json", "--svg", "trace.svg"]);
    assert_eq!((run.status, run.stderr.as_str()), (1, ""));
    let trace: Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(trace["schema"], "pitchline.trace/1");
    assert_valid(&trace, "trace");
    assert_eq!(
        (&trace["passed"], &trace["failed"]),
        (&"2026-11-25T08:00:00Z".into(), &"2026-11-25T12:00:00Z".into())
    );
    let all: Vec<(&str, &str, u64, &str)> = trace["exposures"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| {
            let text = |key: &str| e[key].as_str().unwrap();
            (text("face"), text("by"), e["generation"].as_u64().unwrap(), text("finding"))
        })
        .collect();
    let wanted =
        [("TR-1", "CORD", 1, "fails"), ("FAR", "TR-1", 2, "not-looked-at"), ("TR-2", "CORD", 1, "passes")];
    assert_eq!(all, wanted);
    assert_eq!(trace["exposures"][0]["shared_marks"], 3);
    assert!(trace["exposures"][0]["likelihood"].as_f64().unwrap() > 0.95, "{trace}");
    assert_eq!(trace["exposures"][2]["shared_marks"], 0);
    assert!(trace["exposures"][1]["likelihood"].is_null());

    let drawing = fs::read_to_string(site.path("trace.svg")).unwrap();
    let drawing = roxmltree::Document::parse(&drawing).unwrap();
    let titles: Vec<&str> =
        drawing.descendants().filter(|n| n.has_tag_name("title")).filter_map(|n| n.text()).collect();
    assert_eq!(
        titles[1..],
        [
            "CORD: failed",
            "TR-1: never looked at, then fail; marks on both over 99 % likely",
            "FAR: never looked at, then not looked at since",
            "TR-2: never looked at, then pass; no mark on both"
        ]
    );
    let text = site.book(&["trace", "site", "CORD"]).stdout;
    assert!(
        text.contains("1. TR-1, by CORD 2026-11-25T09:00:00Z: before not looked at, since fail;"),
        "{text}"
    );
    assert!(text.contains("CORD failed 2026-11-25T12:00:00Z; it last passed"), "{text}");
    assert_eq!(site.book(&["trace", "site", "TR-2"]).status, 0);
    assert_eq!(site.book(&["trace", "site", "nobody"]).status, 2);
    // Of two failing looks both are told: what it touched between them met a dirty face.
    let scene = run::clean("mpo-12", "seed = 5") + &particle(5, -35.0, 20.0);
    run::picture(&site.path("p"), "cord-again.png", &scene);
    let add = ["add", "site", "p/cord-again.png", "--face", "CORD", "--layout", "mpo-12", "--criteria", MM];
    site.book(&[&add[..], &["--when", "2026-11-25T14:00Z"]].concat());
    let text = site.book(&["trace", "site", "CORD"]).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    let both = "CORD failed 2026-11-25T12:00:00Z and last 2026-11-25T14:00:00Z; it last passed 2026-11-25T08:00:00Z.";
    assert!(text.starts_with(both), "{text}");
}

#[test]
fn a_job_is_not_done_while_something_is_owed() {
    let site = traced();
    let run = site.book(&["owed", "site", "--json"]);
    let owed: Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!((run.status, &owed["done"], &owed["faces"]), (1, &false.into(), &4.into()));
    assert_valid(&owed, "owed");
    let codes: Vec<(String, Vec<String>)> = owed["owed"]
        .as_array()
        .unwrap()
        .iter()
        .map(|face| {
            let reasons =
                face["reasons"].as_array().unwrap().iter().map(|r| r["code"].as_str().unwrap().to_owned());
            (face["face"].as_str().unwrap().to_owned(), reasons.collect())
        })
        .collect();
    let wanted = [("TR-1", vec!["failing"]), ("FAR", vec!["never-inspected", "exposed"])];
    assert_eq!(
        codes,
        wanted.map(|(face, why)| (face.to_owned(), why.into_iter().map(str::to_owned).collect()))
    );
    let text = site.book(&["owed", "site"]).stdout;
    assert!(text.starts_with("The job is not done: 2 of 4 faces are owed a look.\n"), "{text}");

    // A picture of its own: one picture does not show two faces.
    let own = [fs::read(site.path("p/apart.png")).unwrap(), b"\n".to_vec()].concat();
    fs::write(site.path("p/far.png"), own).unwrap();
    for (face, picture) in [("TR-1", "p/cleaned.png"), ("FAR", "p/far.png")] {
        let when = ["--when", "2026-11-25T13:00:00Z"];
        let add =
            [&["add", "site", picture, "--face", face, "--layout", "mpo-12", "--criteria", MM][..], &when];
        site.book(&add.concat());
    }
    let run = site.book(&["owed", "site"]);
    let done = "The job is done: nothing is owed for 4 faces.\n\
                Reference cords to look at before they touch anything more:\n  CORD: its last look fails\n";
    assert_eq!((run.status, run.stdout.as_str()), (0, done));
    site.book(&["new", "empty"]);
    assert_eq!(site.book(&["owed", "empty"]).status, 1);
}

#[test]
fn a_book_is_handed_over_with_what_is_owed_and_the_cords() {
    let site = traced();
    let arguments = ["handover", "site", "--date", "2026-11-25", "--out", "report"];
    let run: run::Run =
        run::program().args(arguments).current_dir(site.folder.path()).output().unwrap().into();
    assert_eq!((run.status, run.stderr.as_str()), (1, ""));
    assert!(
        run.stdout.contains("4 connectors of 4 cables; 2 pass, 1 fail, 0 ungraded, 1 not"),
        "{}",
        run.stdout
    );
    let page = fs::read_to_string(site.path("report/job.html")).unwrap();
    assert!(
        page.contains("which failed and had touched CORD, which failed too, and nobody looked since"),
        "{page}"
    );
    assert!(page.contains("Harbour &lt;east&gt;") && !page.contains("No matings were told"));
    let (status, told) = verified(&site, &["--no-grading"]);
    let head = told.split("head ").nth(1).and_then(|rest| rest.split('.').next()).unwrap();
    assert_eq!((status, head.len()), (0, 64), "{told}");
    assert!(page.contains(&format!("the head of its chain: SHA-256 {head}")), "{page}");
}

#[test]
fn a_picture_is_graded_once_it_has_arrived_whole() {
    let site = Site::new();
    site.pictures(&["TR-1"], &["TR-2"]);
    site.book(&["new", "site"]);
    fs::create_dir(site.path("incoming")).unwrap();
    let watch =
        ["watch", "site", "incoming", "--layout", "mpo-8", "--criteria", MM, "--every", "0.3", "--idle", "6"];
    let child = site.command(&watch).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let bytes = fs::read(site.path("pictures/TR-2.png")).unwrap();
    let arriving = site.path("incoming/TR-2.png");
    // It grows at every look, so that no two find it the same.
    for part in 1..=12 {
        fs::write(&arriving, &bytes[..bytes.len() * part / 12]).unwrap();
        std::thread::sleep(Duration::from_millis(100));
    }
    fs::copy(site.path("pictures/TR-1.png"), site.path("incoming/TR-1.png")).unwrap();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(0), "{said}");
    let list = site.book(&["list", "site"]).stdout;
    assert!(list.contains("TR-1  (P)") && list.contains("TR-2  [F]"), "{list}");
}

/// What could not be graded says why, when it is entered and when it is owed.
#[test]
fn why_a_look_gave_no_verdict_is_told() {
    let site = Site::new();
    fs::create_dir(site.path("p")).unwrap();
    run::picture(
        &site.path("p"),
        "soft.png",
        &run::clean("mpo-8", "").replace("blur_um = 0.55", "blur_um = 4"),
    );
    site.book(&["new", "site", "--name", "Job"]);
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let added =
        site.book(&["add", "site", "p/soft.png", "--face", "TR-1@A", "--layout", "mpo-8", "--criteria", MM]);
    let added = flat(added.stdout);
    assert!(added.contains("TR-1@A: ungraded at 1-4, 9-12 (1: out of focus (blur 3."), "{added}");
    let owed = flat(site.book(&["owed", "site"]).stdout);
    assert!(
        owed.contains("its last look could not be graded: 1-4, 9-12 (1: out of focus (blur 3."),
        "{owed}"
    );
}
