//! What a hand-over says where its evidence does not hold together: losses, traces, pictures, ends, looks before; and whose
//! files it leaves alone.

use crate::run::{self, MM, Run, clean, names};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use tempfile::TempDir;

const MAPPING: &str = "format = \"pitchline.losses/1\"\ndelimiter = \";\"\n[columns]\n\
    identifier = \"Cable\"\nfibre = \"Fibre\"\nloss = \"Loss\"\nlimit = \"Limit\"\nverdict = \"Result\"\n";

/// Two pictures of one face, a scratch and dirt on the first and the scratch on the second, and one of a clean face.
fn pictures() -> &'static Path {
    static PICTURES: OnceLock<TempDir> = OnceLock::new();
    let folder = PICTURES.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let scratch = "[[marks]]\nkind = \"scratch\"\nposition = 3\npath_um = [[-70, -18], [70, 14]]\n\
            width_um = 6\ncontrast = -0.5\n";
        let dirt = "[[marks]]\nkind = \"particle\"\nposition = 5\nat_um = [10.0, 12.0]\nsize_um = 12.0\ncontrast = -0.6\n";
        let before = clean("mpo-8", "seed = 3") + scratch + &dirt.replace("= 5", "= 2");
        run::picture(folder.path(), "before.png", &before);
        run::picture(folder.path(), "after.png", &(clean("mpo-8", "seed = 4") + scratch));
        let single = clean("mpo-8", "").replace("seed = 7", "seed = 9\nfibre = \"sm\"\ncores = \"dark\"");
        run::picture(folder.path(), "single.png", &single);
        run::picture(folder.path(), "clean.png", &clean("mpo-8", "").replace("seed = 7", "seed = 8"));
        folder
    });
    folder.path()
}

struct Site {
    folder: TempDir,
}

impl Site {
    fn new() -> Site {
        Site { folder: tempfile::tempdir().unwrap() }
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A graded look, its picture beside its record.
    fn look(&self, visit: &str, picture: &str, criteria: &str) {
        self.look_after(visit, picture, criteria, &[]);
    }

    /// The same of a face that was cleaned so before.
    fn look_after(&self, visit: &str, picture: &str, criteria: &str, cleaned: &[&str]) {
        let out = self.at("site").join(visit);
        fs::create_dir_all(&out).unwrap();
        fs::copy(pictures().join(picture), out.join(picture)).unwrap();
        let mut grade = run::program();
        grade.arg("grade").arg(out.join(picture)).args(["--layout", "mpo-8", "--criteria", criteria]);
        grade.args(cleaned.iter().flat_map(|how| ["--cleaned", how]));
        let run: Run = grade.args(["--no-map", "--quiet", "--out"]).arg(&out).output().unwrap().into();
        assert_eq!(run.stderr, "");
    }

    fn hand_over(&self, more: &[&str]) -> Run {
        let mut command = run::program();
        command
            .arg("handover")
            .arg(self.at("site"))
            .args(["--date", "2026-11-30", "--out"])
            .arg(self.at("out"));
        command.args(more).output().unwrap().into()
    }

    fn page(&self, name: &str) -> String {
        fs::read_to_string(self.at("out").join(name)).unwrap()
    }
}

/// Lines made one, as they are broken at 80 columns.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_loss_over_its_limit_without_a_verdict_and_what_does_not_join_are_told() {
    let site = Site::new();
    site.look("TR-1/A", "clean.png", MM);
    let table =
        "Cable;Fibre;Loss;Limit;Result\nTR-1;1;0.95;0.75;\nTR-1;2;abc;0.75;PASS\nTR-9;1;0.2;0.75;PASS\n";
    fs::write(site.at("loss.csv"), table).unwrap();
    fs::write(site.at("map.toml"), MAPPING).unwrap();
    let [losses, mapping] = ["loss.csv", "map.toml"].map(|name| site.at(name).display().to_string());
    let run = site.hand_over(&["--losses", &losses, "--mapping", &mapping]);
    assert_eq!(run.stderr, "");
    let said = flat(&run.stdout);
    for part in [
        "Not joined: line 3: the loss \"abc\" is no number",
        "Not joined: line 4: \"TR-9\" is no cable of this job.",
        "Conflict: cable TR-1: line 2: the table says nothing, and its loss lies over its limit (0.95 dB, limit 0.75 dB)",
    ] {
        assert!(said.contains(part), "{part} is missing in {said}");
    }
    assert!(site.page("job.html").contains("nothing, and its loss lies over its limit"));
    assert!(!site.page("cable-001-tr-1.html").contains("Inspected :"));
    // Headings stand in every table, rows or none.
    for (name, head) in
        [("events.csv", "cable,file,fibre"), ("taken-back.csv", "what"), ("cords.csv", "cord,when")]
    {
        let table = site.page(name);
        assert!(table.starts_with(head) && table.lines().count() == 1, "{name}: {table}");
    }
}

#[test]
fn a_folder_without_traces_is_refused() {
    let site = Site::new();
    site.look("TR-1/A", "clean.png", MM);
    fs::create_dir(site.at("traces")).unwrap();
    let run = site.hand_over(&["--traces", &site.at("traces").display().to_string()]);
    assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
    assert!(run.stderr.contains("holds no trace; put the .sor files into it"), "{}", run.stderr);
    assert!(!site.at("out").exists());
}

#[test]
fn ends_graded_as_fibres_of_two_kinds_are_a_conflict() {
    let site = Site::new();
    site.look("TR-1/A", "clean.png", MM);
    site.look("TR-1/B", "clean.png", "iec-61300-3-35-ed2-sm-pc-rl45");
    let said = flat(&site.hand_over(&[]).stdout);
    let part = "Conflict: cable TR-1: connector A was graded as multimode (iec-61300-3-35-ed2-mm) and connector B \
                was graded as single mode (iec-61300-3-35-ed2-sm-pc-rl45)";
    assert!(said.contains(part), "{said}");
    assert!(site.page("cable-001-tr-1.html").contains("connector A was graded as multimode"));
}

/// One picture of other bytes that still reads, one that does not: neither proves the pass that stands in the record.
#[test]
fn a_look_whose_picture_was_changed_is_not_proven() {
    let changes: [fn(Vec<u8>) -> Vec<u8>; 2] =
        [|bytes| [bytes, vec![0]].concat(), |bytes| bytes[..bytes.len() / 2].to_vec()];
    for change in changes {
        let site = Site::new();
        site.look("TR-1/A", "clean.png", MM);
        let run = site.hand_over(&[]);
        assert_eq!((run.status, flat(&run.stdout).contains("0 owed a look")), (0, true), "{}", run.stdout);
        let picture = site.at("site/TR-1/A/clean.png");
        fs::write(&picture, change(fs::read(&picture).unwrap())).unwrap();
        let run = site.hand_over(&[]);
        let said = flat(&run.stdout);
        assert_eq!(run.status, 3, "{said}");
        assert!(
            said.contains("1 owed a look") && said.contains("they are not those that were stored"),
            "{said}"
        );
        for page in ["job.html", "cable-001-tr-1.html"] {
            let page = site.page(page);
            assert!(
                page.contains("they are not those that were stored") && page.contains("is not proven"),
                "{page}"
            );
            assert!(!page.contains("is not there"));
        }
        assert!(
            site.page("cable-001-tr-1.html").contains("pass: owed a look")
                || site.page("job.html").contains("owed a look")
        );
    }
}

/// A book keeps its pictures: one that was changed or taken away there proves nothing any more.
#[test]
fn a_book_without_its_picture_as_it_was_proves_no_pass() {
    let site = Site::new();
    fs::create_dir(site.at("pictures")).unwrap();
    fs::copy(pictures().join("clean.png"), site.at("pictures/TR-1@A.png")).unwrap();
    let book = |words: &[&str]| -> Run {
        let mut command = run::program();
        command.arg("book").args(words).current_dir(site.folder.path()).output().unwrap().into()
    };
    assert_eq!(book(&["new", "site", "--name", "Job"]).stderr, "");
    let add = book(&["add", "site", "pictures", "--layout", "mpo-8", "--criteria", MM]);
    assert_eq!((add.status, add.stderr.as_str()), (0, ""), "{}", add.stdout);
    assert_eq!(site.hand_over(&[]).status, 0);
    let kept = fs::read_dir(site.at("site/pictures")).unwrap().next().unwrap().unwrap().path();
    let kept = if kept.is_dir() { fs::read_dir(kept).unwrap().next().unwrap().unwrap().path() } else { kept };
    let bytes = fs::read(&kept).unwrap();
    fs::write(&kept, &bytes[..bytes.len() / 2]).unwrap();
    let changed = site.hand_over(&[]);
    assert!(
        changed.status == 3 && flat(&changed.stdout).contains("not those that were stored"),
        "{}",
        changed.stdout
    );
    fs::remove_file(&kept).unwrap();
    let gone = site.hand_over(&[]);
    assert!(gone.status == 3 && flat(&gone.stdout).contains("is not there"), "{}", gone.stdout);
    assert!(site.page("job.html").contains("is not in the book any more"));
}

/// A book tells what was done between two looks: what stayed through a wet clean is damage, and not to be cleaned first.
#[test]
fn what_stayed_through_a_clean_of_the_book_is_damage() {
    let site = Site::new();
    let book = |words: &[&str]| {
        let mut command = run::program();
        let told: Run =
            command.arg("book").args(words).current_dir(site.folder.path()).output().unwrap().into();
        assert_eq!(told.stderr, "", "{words:?}");
    };
    book(&["new", "site", "--name", "Job"]);
    for (picture, when) in [("before.png", "2026-11-25T08:00Z"), ("after.png", "2026-11-25T09:00Z")] {
        fs::copy(pictures().join(picture), site.at(picture)).unwrap();
        let of = ["--face", "TR-1@A", "--layout", "mpo-8", "--criteria", MM, "--when", when];
        book(&[&["add", "site", picture], &of[..]].concat());
    }
    let page = || {
        site.hand_over(&[]);
        flat(&site.page("cable-001-tr-1.html"))
    };
    let replace = "polish again or replace";
    assert!(!page().contains(replace), "nothing was cleaned yet: {}", page());
    book(&["clean", "site", "TR-1@A", "--how", "wet", "--when", "2026-11-25T10:00Z"]);
    assert!(!page().contains(replace), "it was cleaned after the last look: {}", page());
    book(&["clean", "site", "TR-1@A", "--how", "wet", "--when", "2026-11-25T08:30Z"]);
    assert!(page().contains(replace), "{}", page());
}

/// The records of a folder say how their face was cleaned; what was told of the look before is not told again.
#[test]
fn what_stayed_through_a_clean_of_the_records_is_damage() {
    for (before, after, damage) in [
        (&[][..], &["dry", "wet"][..], true),
        (&["dry"], &["dry", "wet"], true),
        (&["dry"], &["wet"], true),
        (&["wet"], &["wet", "dry"], false),
        (&[], &[], false),
    ] {
        let site = Site::new();
        site.look_after("TR-1/A/1-before", "before.png", MM, before);
        site.look_after("TR-1/A/2-after", "after.png", MM, after);
        site.hand_over(&[]);
        let page = flat(&site.page("cable-001-tr-1.html"));
        assert_eq!(page.contains("polish again or replace"), damage, "{before:?} {after:?} {page}");
        // Nor does a comparison of the two say anything else.
        let looks = ["1-before", "2-after"].map(|visit| site.at("site/TR-1/A").join(visit).join("face.json"));
        let mut compare = run::program();
        compare.arg("compare").args(looks).args(["--layout", "mpo-8", "--criteria", MM, "--no-map", "--out"]);
        let told: Run = compare.arg(site.at("compared")).output().unwrap().into();
        assert_eq!(flat(&told.stdout).contains("polish again or replace"), damage, "{}", told.stdout);
    }
}

/// Two looks show what stayed: the page asks to clean what the two of them leave open, and nothing beyond that.
#[test]
fn a_pair_of_looks_is_told_as_compare_tells_it() {
    let site = Site::new();
    site.look("TR-1/A/1-before", "before.png", MM);
    site.look("TR-1/A/2-after", "after.png", MM);
    assert_eq!(site.hand_over(&[]).stderr, "");
    let page = site.page("cable-001-tr-1.html");
    let visits = ["1-before", "2-after"].map(|visit| site.at("site/TR-1/A").join(visit).join("face.json"));
    let mut compare = run::program();
    compare.arg("compare").args(&visits).args([
        "--layout",
        "mpo-8",
        "--criteria",
        MM,
        "--no-map",
        "--json",
        "--out",
    ]);
    let told: Run = compare.arg(site.at("compared")).output().unwrap().into();
    let document: serde_json::Value = told.stdout.parse().unwrap();
    let steps = document["advice"]["steps"].as_array().unwrap();
    assert!(!steps.is_empty(), "{}", told.stdout);
    for step in steps {
        assert!(page.contains(step["text"].as_str().unwrap()), "{step} is missing");
    }
    assert!(page.contains("Since the look before") && page.contains(" stayed"), "{page}");
    let asked = |text: &str| text.matches("clean it first").count();
    assert_eq!(asked(&page), steps.iter().map(|step| asked(step["text"].as_str().unwrap())).sum::<usize>());
    assert!(page.contains("o&#39;clock") || page.contains("at the centre"), "{page}");
}

#[test]
fn files_of_others_are_neither_replaced_nor_taken_away() {
    let site = Site::new();
    site.look("TR-1/A", "clean.png", MM);
    assert_eq!(site.hand_over(&[]).status, 0);
    // A page of an earlier job goes; what only bears such a name stays.
    let out = site.at("out");
    fs::copy(out.join("cable-001-tr-1.html"), out.join("cable-007-gone.html")).unwrap();
    fs::copy(out.join("cable-001-tr-1.pdf"), out.join("cable-007-gone.pdf")).unwrap();
    for name in ["cable-009-mine.html", "cable-009-mine.pdf"] {
        fs::write(out.join(name), "hi").unwrap();
    }
    assert_eq!(site.hand_over(&[]).status, 0);
    let left = names(&out);
    assert!(left.iter().filter(|name| name.starts_with("cable-009-mine")).count() == 2, "{left:?}");
    assert!(!left.iter().any(|name| name.starts_with("cable-007")), "{left:?}");
    fs::write(out.join("job.html"), "<!DOCTYPE html><p>of my own").unwrap();
    let run = site.hand_over(&[]);
    assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
    assert!(run.stderr.contains("does not show that pitchline wrote it"), "{}", run.stderr);
    assert_eq!(site.page("job.html"), "<!DOCTYPE html><p>of my own");
}

/// A table or a map of one's own in the folder is not written over, in whatever place of the order of files it is.
#[test]
fn tables_and_maps_of_others_are_not_replaced() {
    let site = Site::new();
    site.look("TR-1/A", "clean.png", MM);
    for (name, words) in [("losses.csv", "Cable;Loss\n"), ("handover.jsonl", "{}\n")] {
        fs::create_dir_all(site.at("out")).unwrap();
        fs::write(site.at("out").join(name), words).unwrap();
        let run = site.hand_over(&[]);
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
        assert!(run.stderr.contains(&format!("{name} is there already and does not show")), "{}", run.stderr);
        assert_eq!(names(&site.at("out")), [name]);
        fs::remove_file(site.at("out").join(name)).unwrap();
    }
    assert_eq!(site.hand_over(&[]).status, 0);
    // A table is known by its headings, whatever pages lie beside it.
    let ours = fs::read(site.at("out/losses.csv")).unwrap();
    fs::write(site.at("out/losses.csv"), "Cable;Loss\n").unwrap();
    assert_eq!((site.hand_over(&[]).status, site.page("losses.csv")), (2, "Cable;Loss\n".to_owned()));
    fs::write(site.at("out/losses.csv"), ours).unwrap();
    assert_eq!(site.hand_over(&[]).status, 0);
    // What a killed run left may lack the page, and is the program's own all the same.
    for page in ["job.html", "job.pdf"] {
        fs::remove_file(site.at("out").join(page)).unwrap();
    }
    assert_eq!(site.hand_over(&[]).status, 0);
    let (face, out) = (pictures().join("clean.png"), site.at("graded"));
    fs::create_dir_all(&out).unwrap();
    fs::copy(&face, out.join("map.png")).unwrap();
    let refused = run::grade(&face, "mpo-8", &out, &[]);
    assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stderr);
    assert!(refused.stderr.contains("map.png is there already and does not show"), "{}", refused.stderr);
    assert_eq!(names(&out), ["map.png"]);
    // Nor does a document beside it make it the program's own.
    assert_eq!(run::grade(&face, "mpo-8", &out, &["--no-map"]).status, 0);
    for (more, status) in [(&[][..], 2), (&["--no-map"], 0)] {
        assert_eq!(run::grade(&face, "mpo-8", &out, more).status, status);
        assert_eq!(names(&out), ["face.json", "map.png"]);
        assert_eq!(fs::read(out.join("map.png")).unwrap(), fs::read(&face).unwrap());
    }
    fs::remove_file(out.join("map.png")).unwrap();
    assert_eq!(run::grade(&face, "mpo-8", &out, &[]).status, 0);
    fs::remove_file(out.join("face.json")).unwrap();
    assert_eq!(run::grade(&face, "mpo-8", &out, &[]).status, 0);
}

/// No step of an earlier series may stand beside another; the document of another command may be the only one of a look.
#[test]
fn an_earlier_series_goes_and_other_documents_stay() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let compare = |inputs: &[PathBuf]| {
        let mut command = run::program();
        command.arg("compare").args(inputs).args(["--layout", "mpo-8", "--criteria", MM, "--out"]).arg(&out);
        let run: Run = command.output().unwrap().into();
        assert_eq!(run.stderr, "");
    };
    let [before, after] = ["before.png", "after.png"].map(|name| pictures().join(name));
    let third = folder.path().join("third.png");
    let scratched = clean("mpo-8", "seed = 5");
    run::picture(folder.path(), "third.png", &scratched);
    run::grade(&before, "mpo-8", &out, &[]);
    fs::write(out.join("step-9.json"), "{\"mine\": true}").unwrap();
    compare(&[before.clone(), after.clone(), third]);
    let documents = ["compare.json", "face.json", "map.png", "map.svg", "step-9.json"];
    let series =
        ["compare.json", "face.json", "map.png", "map.svg", "step-1.json", "step-2.json", "step-9.json"];
    assert_eq!(names(&out), series);
    run::grade(&before, "mpo-8", &out, &[]);
    assert_eq!(names(&out), series);
    let graded = fs::read(out.join("face.json")).unwrap();
    compare(&[before.clone(), after.clone()]);
    assert_eq!(names(&out), documents);
    fs::copy(&before, out.join("before.png")).unwrap();
    compare(&[out.join("face.json"), after]);
    assert_eq!(names(&out).len(), documents.len() + 1);
    assert_eq!(fs::read(out.join("face.json")).unwrap(), graded);
}

/// A face whose cores are not those of its criteria tells by them what it is.
#[test]
fn an_end_that_shows_cores_of_another_kind_is_a_conflict() {
    let site = Site::new();
    site.look("TR-1/A", "clean.png", MM);
    site.look("TR-1/B", "single.png", MM);
    site.look("TR-2/A", "single.png", MM);
    let said = flat(&site.hand_over(&[]).stdout);
    let part = "Conflict: cable TR-1: connector A was graded as multimode (iec-61300-3-35-ed2-mm) and connector B has \
                the cores of single mode by its picture (not graded by iec-61300-3-35-ed2-mm)";
    assert!(said.contains(part), "{said}");
    assert!(!said.contains("Conflict: cable TR-2"), "{said}");
}
