//! The walls between the crates, read off their manifests and sources: what each may know, who may touch files,
//! clock and network, and what holds for all.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// What each crate of ours may import of ours.
const MAY_IMPORT: [(&str, &[&str]); 12] = [
    ("terms", &[]),
    ("imaging", &["terms"]),
    ("survey", &["terms", "imaging"]),
    ("grade", &["terms"]),
    ("profile", &["terms", "survey", "grade"]),
    ("study", &["terms", "grade"]),
    ("report", &["terms", "grade", "study"]),
    ("links", &[]),
    ("handover", &["links", "report", "study"]),
    // Its one SQLite file is touched by SQLite alone: files, clock and network stay with the program.
    ("book", &["terms", "grade", "report"]),
    ("synth", &["terms", "imaging"]),
    (
        "cli",
        &[
            "terms", "imaging", "survey", "grade", "profile", "report", "study", "synth", "links",
            "handover", "book",
        ],
    ),
];

/// Modules of the standard library that reach outside the program.
const OUTSIDE: [&str; 5] = ["fs", "net", "time", "process", "env"];

/// The top folder.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn manifest(name: &str) -> toml::Table {
    let path = root().join("crates").join(name).join("Cargo.toml");
    fs::read_to_string(path).unwrap().parse().unwrap()
}

/// What a package depends on.
struct Dependency {
    /// The package's own name, whatever it is renamed to.
    name: String,
    /// Whether only tests see it.
    in_tests: bool,
}

/// Every dependency of every package of a workspace, as cargo itself reads the manifests: for all targets, for
/// build scripts, renamed or not.
fn dependencies(workspace: &Path) -> BTreeMap<String, Vec<Dependency>> {
    let mut cargo = std::process::Command::new(env!("CARGO"));
    cargo.args(["metadata", "--no-deps", "--offline", "--format-version", "1", "--manifest-path"]);
    let output = cargo.arg(workspace.join("Cargo.toml")).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap().iter();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let one = |d: &Value| Dependency { name: text(&d["name"]), in_tests: d["kind"] == "dev" };
    let of = |p: &Value| p["dependencies"].as_array().unwrap().iter().map(one).collect();
    packages.map(|p| (text(&p["name"]), of(p))).collect()
}

/// Names of what a crate of ours depends on, its tests left out.
fn shipped(all: &BTreeMap<String, Vec<Dependency>>, name: &str) -> BTreeSet<String> {
    all[name].iter().filter(|d| !d.in_tests).map(|d| d.name.clone()).collect()
}

/// Every Rust file below a folder.
pub fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn crate_sources(name: &str) -> Vec<PathBuf> {
    sources(&root().join("crates").join(name).join("src"))
}

/// The code of a file without its line comments.
pub fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    text.lines().map(|l| l.split("//").next().unwrap_or(l)).collect::<Vec<_>>().join("\n")
}

/// Words and the double colon, the rest left out.
pub fn tokens(code: &str) -> Vec<String> {
    let spaced = code.replace("::", " :: ");
    let word = |c: char| !(c.is_alphanumeric() || c == '_' || c == ':');
    spaced.split(word).filter(|t| !t.is_empty()).map(str::to_owned).collect()
}

/// The outward modules of the standard library that a piece of code names, by path or in a list of imports.
fn outward(code: &str) -> Vec<&'static str> {
    let tokens = tokens(code);
    let by_path = |name: &str| tokens.windows(3).any(|w| w[0] == "std" && w[1] == "::" && w[2] == name);
    let lists: Vec<&str> =
        code.split("use std::{").skip(1).filter_map(|rest| rest.split('}').next()).collect();
    let in_list = |name: &str| lists.iter().any(|list| self::tokens(list).iter().any(|t| t == name));
    OUTSIDE.into_iter().filter(|name| by_path(name) || in_list(name)).collect()
}

#[test]
fn crates_import_what_the_table_allows() {
    let table: BTreeMap<&str, &[&str]> = MAY_IMPORT.into();
    let folders: Vec<String> = crate::run::names(&root().join("crates"));
    assert_eq!(folders, table.keys().map(|k| (*k).to_owned()).collect::<Vec<_>>());
    let all = dependencies(&root());
    for (name, allowed) in table.iter() {
        for import in shipped(&all, name).into_iter().filter(|d| table.contains_key(d.as_str())) {
            assert!(allowed.contains(&import.as_str()), "{name} must not depend on {import}");
        }
    }
}

/// A wall that holds only for `[dependencies]` has a door in `[target.'cfg(unix)'.dependencies]`.
#[test]
fn no_way_of_depending_is_overlooked() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        fs::create_dir_all(folder.path().join(name).join("src")).unwrap();
        fs::write(folder.path().join(name).join("src/lib.rs"), "").unwrap();
        fs::write(folder.path().join(name).join("Cargo.toml"), text).unwrap();
    };
    fs::write(
        folder.path().join("Cargo.toml"),
        "[workspace]\nmembers = [\"*\"]\nresolver = \"3\"\n[workspace.dependencies]\nharmless = { path = \"b\", package = \"b\" }\n",
    )
    .unwrap();
    let package = |name: &str| format!("[package]\nname = \"{name}\"\nversion = \"0.1.0\"\n");
    let ways = [
        "[dependencies]\nb = { path = \"../b\" }\n",
        "[build-dependencies]\nb = { path = \"../b\" }\n",
        "[target.'cfg(unix)'.dependencies]\nb = { path = \"../b\" }\n",
        "[dependencies]\nother = { path = \"../b\", package = \"b\" }\n",
        "[dependencies]\nharmless.workspace = true\n",
        "[dependencies]\nb = { path = \"../b\", optional = true }\n",
    ];
    write("b", &package("b"));
    for way in ways {
        write("a", &(package("a") + way));
        assert_eq!(shipped(&dependencies(folder.path()), "a"), BTreeSet::from(["b".to_owned()]), "{way}");
    }
    write("a", &(package("a") + "[dev-dependencies]\nb = { path = \"../b\" }\n"));
    let all = dependencies(folder.path());
    assert!(shipped(&all, "a").is_empty() && all["a"][0].name == "b");
}

/// What tests and code share, they get wrong together.
#[test]
fn synth_never_sees_the_survey_not_even_in_tests() {
    assert!(dependencies(&root())["synth"].iter().all(|d| d.name != "survey"));
    let tests = sources(&root().join("crates/synth"));
    assert!(tests.iter().all(|p| !tokens(&code(p)).contains(&"survey".to_owned())));
}

#[test]
fn grading_depends_on_nothing_that_holds_pixels() {
    let harmless = BTreeSet::from(["terms".to_owned(), "thiserror".to_owned()]);
    let all = dependencies(&root());
    assert!(shipped(&all, "grade").is_subset(&harmless));
    assert!(shipped(&all, "terms").is_subset(&harmless));
}

/// Places in a piece of code where a verdict is the value of an expression: a match's arm, a block's end, what is
/// assigned or returned. Comparing with one, matching on one and asking for one is not making one.
fn verdicts_made(code: &str) -> Vec<&str> {
    let word = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
    let made = |(at, _): &(usize, &str)| {
        let start = code[..*at].trim_end_matches(word);
        let before = start.trim_end().trim_end_matches("Some(").trim_end();
        let after = code[*at..].trim_start_matches(word).trim_start();
        let compared = ["==", "!=", ">=", "<="].iter().any(|sign| before.ends_with(sign));
        let arm = before.ends_with("=>") || before.ends_with("return");
        let whole_block = before.ends_with('{') && after.starts_with('}');
        let assigned = before.ends_with('=') && !compared;
        !after.starts_with("=>") && (arm || whole_block || assigned)
    };
    code.match_indices("Verdict::")
        .filter(made)
        .map(|(at, _)| code[at..].lines().next().unwrap_or(""))
        .collect()
}

#[test]
fn a_verdict_that_is_made_is_told_from_one_that_is_asked_for() {
    for making in [
        "fn f(n: usize) -> Verdict { if n > 2 { Verdict::Fail } else { Verdict::Pass } }",
        "let v = match n { 0 => Verdict::Pass, _ => record::Verdict::Fail };",
        "verdict = Verdict::Pass;",
        "return super::Verdict::Pass;",
        "whole = Some(Verdict::Fail);",
    ] {
        assert!(!verdicts_made(making).is_empty(), "{making}");
    }
    for asking in [
        "p.verdict == Verdict::Fail",
        "match v { Verdict::Pass => 'P', Verdict::Fail | Verdict::Ungraded => 'F' }",
        "record.with_verdict(Verdict::Ungraded)",
        "match (a, b) { (Some(Verdict::Fail), _) => 1, _ => 0 }",
    ] {
        assert_eq!(verdicts_made(asking), [""; 0], "{asking}");
    }
}

/// A verdict is made in `grade`; `report` copies it. It may turn one into the word of its own for it, in the two
/// files that hold the words, and hold a document's verdict against those of its parts by the grader's own rule
/// where it reads one; it may call nothing else of the grader's that decides, and make no verdict itself.
#[test]
fn report_computes_no_verdict() {
    const WORDS: [&str; 2] = ["record/words.rs", "record/seen.rs"];
    const READS: &str = "record/read.rs";
    const FUNCTIONS: [&str; 7] = ["advice", "chain", "channels", "compare", "lanes", "mated", "traced"];
    for path in crate_sources("report") {
        let code = code(&path);
        let shown = path.display();
        for maker in
            [".holds(", "AtMost(", "Band {", ".bands.iter().find", "picture_suffices =", "FibreGrade {"]
        {
            assert!(!code.contains(maker), "{shown}: {maker}");
        }
        assert!(path.ends_with(READS) || !code.contains("of_parts("), "{shown}: of_parts(");
        if !WORDS.iter().any(|file| path.ends_with(file)) {
            assert_eq!(verdicts_made(&code), [""; 0], "{shown}");
        }
        let tokens = tokens(&code);
        let called = tokens.windows(3).filter(|w| w[0] == "grade" && w[1] == "::").map(|w| w[2].as_str());
        let functions = called.filter(|name| name.starts_with(char::is_lowercase));
        let other: Vec<&str> = functions.filter(|name| !FUNCTIONS.contains(name)).collect();
        assert_eq!(other, [""; 0], "{shown}");
        let list = code.split("use grade::{").nth(1).and_then(|rest| rest.split('}').next()).unwrap_or("");
        let names = self::tokens(list);
        let other: Vec<&String> = names
            .iter()
            .filter(|n| n.starts_with(char::is_lowercase) && !FUNCTIONS.contains(&n.as_str()))
            .collect();
        assert!(other.is_empty(), "{shown}: {other:?}");
    }
}

#[test]
fn only_the_program_touches_files_clock_and_network() {
    for (name, _) in MAY_IMPORT.into_iter().filter(|(name, _)| *name != "cli") {
        for path in crate_sources(name) {
            assert_eq!(outward(&code(&path)), [""; 0], "{}", path.display());
        }
    }
    let program: Vec<&str> = crate_sources("cli").iter().flat_map(|p| outward(&code(p))).collect();
    assert!(program.contains(&"fs") && !program.contains(&"net"));
}

#[test]
fn the_search_finds_every_way_of_naming_a_module() {
    assert_eq!(outward("use std::fs;"), ["fs"]);
    assert_eq!(outward("use std::{collections::BTreeMap, fs, io};"), ["fs"]);
    assert_eq!(outward("let now = std::time::Instant::now();"), ["time"]);
    assert_eq!(outward("use std::io; let env = 3; let fs = env;"), [""; 0]);
}

#[test]
fn unsafe_code_is_forbidden_everywhere() {
    let workspace: toml::Table = fs::read_to_string(root().join("Cargo.toml")).unwrap().parse().unwrap();
    let lints = &workspace["workspace"]["lints"];
    assert_eq!(lints["rust"]["unsafe_code"].as_str(), Some("forbid"));
    for (name, _) in MAY_IMPORT {
        assert_eq!(manifest(name)["lints"]["workspace"].as_bool(), Some(true), "{name}");
    }
}

/// Iteration over a hash map differs from run to run.
#[test]
fn no_hash_map_can_reach_an_output() {
    for (name, _) in MAY_IMPORT {
        for path in crate_sources(name) {
            let tokens = tokens(&code(&path));
            assert!(!tokens.iter().any(|t| t == "HashMap" || t == "HashSet"), "{}", path.display());
        }
    }
}

#[test]
fn every_file_says_its_job_and_is_no_longer_than_600_lines() {
    let folders = ["crates", "tests", "benches"].map(|f| root().join(f));
    for path in folders.iter().flat_map(|f| sources(f)) {
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.starts_with("//!"), "{} does not begin with its job", path.display());
        let lines = text.lines().count();
        assert!(lines <= 600, "{} has {lines} lines", path.display());
    }
}
