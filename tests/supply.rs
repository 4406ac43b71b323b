//! What comes from others: by which licences, from where, twice or once, and whether it is needed. Read off cargo's own
//! view of the workspace and of the fuzz targets, which are a workspace of their own.

use crate::walls::{code, root, sources, tokens};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Licences that ask for no more than a notice, or nothing.
const LICENCES: [&str; 14] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "NCSA",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// The one place that packages come from.
const REGISTRY: &str = "registry+https://github.com/rust-lang/crates.io-index";

/// Packages of which there is more than one version, and why nothing can be done about it from here.
const SEVERAL: [(&str, &str); 5] = [
    (
        "getrandom",
        "const-random (of ahash, of parquet and jsonschema) is on 0.2, ahash on 0.3, rand (of proptest) on 0.4",
    ),
    ("miniz_oxide", "png is on 0.8, flate2 (of tiff) on 0.9"),
    ("num-bigint", "fraction (of jsonschema, for tests) is on 0.4, parquet on 0.5"),
    ("r-efi", "of the two versions of getrandom, for UEFI alone"),
    (
        "syn",
        "derives of strum (of jsonschema) and zerocopy (of half, of criterion) are on 2, all others on 3",
    ),
];

/// Packages that speak to a network; none may be part of the program or of its tests.
const CLIENTS: [&str; 10] =
    ["attohttpc", "curl", "curl-sys", "hyper", "isahc", "native-tls", "reqwest", "rustls", "surf", "ureq"];

/// What cargo tells of a workspace, the packages of others and of other systems included.
fn metadata(workspace: &Path) -> Value {
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args(["metadata", "--locked", "--format-version", "1", "--manifest-path"]);
    let output = cargo.arg(workspace.join("Cargo.toml")).output().unwrap();
    let why = String::from_utf8_lossy(&output.stderr);
    assert!(
        output.status.success(),
        "{why}\nAfter a change of dependencies: cp Cargo.lock tests/fuzz/ && cargo metadata --manifest-path \
         tests/fuzz/Cargo.toml >/dev/null"
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

fn workspaces() -> [PathBuf; 2] {
    [root(), root().join("tests/fuzz")]
}

fn packages(metadata: &Value) -> Vec<&Value> {
    metadata["packages"].as_array().unwrap().iter().collect()
}

fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap_or_default()
}

/// Whether an expression of licences (SPDX; before 2018 with `/` for `OR`) can be met by those allowed.
fn is_allowed(expression: &str) -> bool {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    let allowed = any_of(&words, &mut at);
    allowed && at == words.len()
}

fn any_of(words: &[&str], at: &mut usize) -> bool {
    let mut met = all_of(words, at);
    while words.get(*at) == Some(&"OR") {
        *at += 1;
        met |= all_of(words, at);
    }
    met
}

fn all_of(words: &[&str], at: &mut usize) -> bool {
    let mut met = one(words, at);
    while words.get(*at) == Some(&"AND") {
        *at += 1;
        met &= one(words, at);
    }
    met
}

fn one(words: &[&str], at: &mut usize) -> bool {
    let Some(word) = words.get(*at) else { return false };
    *at += 1;
    if *word == "(" {
        let met = any_of(words, at);
        *at += 1;
        return met && words.get(*at - 1) == Some(&")");
    }
    if words.get(*at) == Some(&"WITH") {
        let exception = words.get(*at + 1).unwrap_or(&"");
        *at += 2;
        return LICENCES.contains(&format!("{word} WITH {exception}").as_str());
    }
    LICENCES.contains(word)
}

#[test]
fn expressions_of_licences_are_read_as_they_are_meant() {
    for met in ["MIT", "MIT OR GPL-3.0-only", "Unlicense/MIT", "(MIT OR Apache-2.0) AND Unicode-3.0"] {
        assert!(is_allowed(met), "{met}");
    }
    let exception = "Apache-2.0 WITH LLVM-exception OR GPL-2.0-only";
    assert!(is_allowed(exception));
    for unmet in [
        "",
        "GPL-3.0-only",
        "MIT AND MPL-2.0",
        "(MIT OR Zlib) AND GPL-2.0-only",
        "MIT (",
        "(MIT",
        "Apache-2.0 WITH Classpath-exception-2.0",
        "MIT MIT",
    ] {
        assert!(!is_allowed(unmet), "{unmet}");
    }
}

#[test]
fn every_licence_is_a_permissive_one() {
    for metadata in workspaces().map(|w| metadata(&w)) {
        for package in packages(&metadata).into_iter().filter(|p| !p["source"].is_null()) {
            let (name, licence) = (text(package, "name"), text(package, "license"));
            assert!(is_allowed(licence), "{name}: {licence:?}");
        }
    }
}

/// What is not from the registry is ours and lies in this repository.
#[test]
fn everything_comes_from_the_registry_or_from_here() {
    let here = root().canonicalize().unwrap();
    for metadata in workspaces().map(|w| metadata(&w)) {
        for package in packages(&metadata) {
            match package["source"].as_str() {
                Some(source) => assert_eq!(source, REGISTRY, "{}", text(package, "name")),
                None => assert!(
                    Path::new(text(package, "manifest_path")).canonicalize().unwrap().starts_with(&here)
                ),
            }
        }
    }
    for lock in workspaces().map(|w| w.join("Cargo.lock")) {
        let lock: toml::Table = std::fs::read_to_string(lock).unwrap().parse().unwrap();
        for package in lock["package"].as_array().unwrap().iter().filter(|p| p.get("source").is_some()) {
            assert_eq!(package["source"].as_str(), Some(REGISTRY));
            assert!(package["checksum"].as_str().is_some_and(|sum| sum.len() == 64), "{package}");
        }
    }
}

#[test]
fn nothing_is_there_twice_without_a_reason() {
    let metadata = metadata(&root());
    let mut versions: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for package in packages(&metadata) {
        versions.entry(text(package, "name")).or_default().insert(text(package, "version"));
    }
    let several: Vec<&str> = versions.iter().filter(|(_, v)| v.len() > 1).map(|(name, _)| *name).collect();
    assert_eq!(several, SEVERAL.map(|(name, _)| name));
}

/// The fuzz targets are held to what is shipped only if they are built of the same.
#[test]
fn the_fuzz_targets_are_built_of_the_versions_that_are_shipped() {
    let [shipped, fuzzed] = workspaces().map(|w| {
        let metadata = metadata(&w);
        let versions = packages(&metadata)
            .into_iter()
            .map(|p| (text(p, "name").to_owned(), text(p, "version").to_owned()));
        versions.collect::<BTreeSet<_>>()
    });
    // What only the runner of the targets needs.
    const OWN: [&str; 4] = ["arbitrary", "fuzz", "jobserver", "libfuzzer-sys"];
    let other: Vec<_> =
        fuzzed.difference(&shipped).filter(|(name, _)| !OWN.contains(&name.as_str())).collect();
    assert!(other.is_empty(), "copy these versions from Cargo.lock to tests/fuzz/Cargo.lock: {other:?}");
}

#[test]
fn nothing_can_speak_to_a_network() {
    for metadata in workspaces().map(|w| metadata(&w)) {
        let names: Vec<&str> = packages(&metadata).into_iter().map(|p| text(p, "name")).collect();
        assert!(names.contains(&"image"));
        let clients: Vec<&&str> = names.iter().filter(|name| CLIENTS.contains(name)).collect();
        assert!(clients.is_empty(), "{clients:?}");
    }
}

/// Folders of a package's sources, those of its tests too, as its manifest names them.
fn code_of(package: &Value, of_tests: bool) -> Vec<String> {
    let targets = package["targets"].as_array().unwrap().iter();
    let kind = |t: &Value| t["kind"][0].as_str().unwrap_or_default().to_owned();
    let shipped = ["lib", "bin", "custom-build", "proc-macro"];
    let wanted = targets.filter(|t| of_tests || shipped.contains(&kind(t).as_str()));
    let folders: BTreeSet<PathBuf> =
        wanted.map(|t| Path::new(text(t, "src_path")).parent().unwrap().to_owned()).collect();
    let fuzz = root().join("tests/fuzz").canonicalize().unwrap();
    let files = folders.iter().flat_map(|folder| sources(folder).into_iter().map(move |p| (folder, p)));
    let own = files.filter(|(folder, path)| folder.starts_with(&fuzz) || !path.starts_with(&fuzz));
    own.map(|(_, path)| code(&path)).collect()
}

fn names_crate(code: &str, name: &str) -> bool {
    let tokens = tokens(code);
    tokens.windows(2).any(|w| w[0] == name && w[1] == "::")
}

/// A dependency is used if a source names it: in a path or an import. Those of tests may be used by tests alone.
#[test]
fn every_declared_dependency_is_used() {
    for metadata in workspaces().map(|w| metadata(&w)) {
        for package in packages(&metadata).into_iter().filter(|p| p["source"].is_null()) {
            let (shipped, all) = (code_of(package, false), code_of(package, true));
            for dependency in package["dependencies"].as_array().unwrap() {
                let name =
                    dependency["rename"].as_str().unwrap_or(text(dependency, "name")).replace('-', "_");
                let sources = if dependency["kind"] == "dev" { &all } else { &shipped };
                let used = sources.iter().any(|code| names_crate(code, &name));
                assert!(used, "{} does not use {name}; remove it", text(package, "name"));
            }
        }
    }
}

/// A version that no member asks for is a leftover.
#[test]
fn every_version_of_the_workspace_is_asked_for() {
    let manifest: toml::Table = std::fs::read_to_string(root().join("Cargo.toml")).unwrap().parse().unwrap();
    let metadata = metadata(&root());
    let ours = packages(&metadata).into_iter().filter(|p| p["source"].is_null());
    let asked: BTreeSet<&str> =
        ours.flat_map(|p| p["dependencies"].as_array().unwrap()).map(|d| text(d, "name")).collect();
    for name in manifest["workspace"]["dependencies"].as_table().unwrap().keys() {
        assert!(asked.contains(name.as_str()), "no member asks for {name}; remove it from Cargo.toml");
    }
}

#[test]
fn a_use_is_told_from_a_word_that_looks_like_it() {
    assert!(names_crate("use png::{BitDepth};", "png") && names_crate("toml::from_str(x)", "toml"));
    for other in ["let png = 3;", "use tiff::png;", "my_png::x()", "\"png\""] {
        assert!(!names_crate(other, "png"), "{other}");
    }
}
