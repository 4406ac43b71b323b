//! The walls between the crates, read off their manifests and sources: what each may know, who may touch files,
//! clock and network, and what holds for all.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// What each crate of ours may import of ours.
const MAY_IMPORT: [(&str, &[&str]); 9] = [
    ("terms", &[]),
    ("imaging", &["terms"]),
    ("survey", &["terms", "imaging"]),
    ("grade", &["terms"]),
    ("profile", &["terms", "survey", "grade"]),
    ("study", &["terms", "grade"]),
    ("report", &["terms", "grade", "study"]),
    ("synth", &["terms", "imaging"]),
    ("cli", &["terms", "imaging", "survey", "grade", "profile", "report", "study", "synth"]),
];

/// Modules of the standard library that reach outside the program.
const OUTSIDE: [&str; 5] = ["fs", "net", "time", "process", "env"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn manifest(name: &str) -> toml::Table {
    let path = root().join("crates").join(name).join("Cargo.toml");
    fs::read_to_string(path).unwrap().parse().unwrap()
}

/// Names in one table of dependencies.
fn listed(manifest: &toml::Table, table: &str) -> BTreeSet<String> {
    let names = manifest.get(table).and_then(toml::Value::as_table);
    names.map(|t| t.keys().cloned().collect()).unwrap_or_default()
}

/// Every Rust file below a folder.
fn sources(folder: &Path) -> Vec<PathBuf> {
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
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    text.lines().map(|l| l.split("//").next().unwrap_or(l)).collect::<Vec<_>>().join("\n")
}

/// Words and the double colon, the rest left out.
fn tokens(code: &str) -> Vec<String> {
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
    for (name, allowed) in table.iter() {
        let ours =
            listed(&manifest(name), "dependencies").into_iter().filter(|d| table.contains_key(d.as_str()));
        for import in ours {
            assert!(allowed.contains(&import.as_str()), "{name} must not depend on {import}");
        }
    }
}

/// What tests and code share, they get wrong together.
#[test]
fn synth_never_sees_the_survey_not_even_in_tests() {
    let manifest = manifest("synth");
    for table in ["dependencies", "dev-dependencies", "build-dependencies"] {
        assert!(!listed(&manifest, table).contains("survey"), "{table}");
    }
    let tests = sources(&root().join("crates/synth"));
    assert!(tests.iter().all(|p| !tokens(&code(p)).contains(&"survey".to_owned())));
}

#[test]
fn grading_depends_on_nothing_that_holds_pixels() {
    let harmless = BTreeSet::from(["terms".to_owned(), "thiserror".to_owned()]);
    assert!(listed(&manifest("grade"), "dependencies").is_subset(&harmless));
    assert!(listed(&manifest("terms"), "dependencies").is_subset(&harmless));
}

/// A verdict is made in `grade`; `report` copies it. These are the ways to make one.
#[test]
fn report_computes_no_verdict() {
    for path in crate_sources("report") {
        let code = code(&path);
        for maker in ["grade::grade(", "of_parts(", ".holds(", "AtMost(", "Band {", "bands.iter().find"] {
            assert!(!code.contains(maker), "{}: {maker}", path.display());
        }
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
