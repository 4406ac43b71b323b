//! `pitchline criteria`: the list, the table, the copy, and the check of a user's own file.

use crate::run::{MM, clean, grade, picture, run};

fn printed(arguments: &[&str]) -> String {
    let run = run(arguments);
    assert_eq!((run.status, run.stderr.as_str()), (0, ""), "{arguments:?}");
    run.stdout
}

#[test]
fn the_list_has_every_built_in_file_and_helps_to_choose() {
    let list = printed(&["criteria"]);
    for id in profile::criteria_ids() {
        assert!(list.contains(&format!("\n  {id}\n")), "{id}");
    }
    for help in ["multimode", "polished in a factory", "polished in the field", "angled", "no source"] {
        assert!(list.split_whitespace().collect::<Vec<_>>().join(" ").contains(help), "{help}:\n{list}");
    }
    assert!(list.lines().all(|l| l.chars().count() <= 80));
}

/// IEC 61300-3-35 edition 2, table 4 (multimode), as one public guide restates it.
#[test]
fn a_table_shows_each_limit_with_its_source() {
    let table = printed(&["criteria", MM]);
    for line in ["zone A, 0 to 65 um", "zone B, 65 to 115 um", "at most 4", "at most 5", "Sources\n [1] "] {
        assert!(table.contains(line), "{line}:\n{table}");
    }
    assert!(table.lines().all(|l| l.chars().count() <= 80), "{table}");
}

#[test]
fn a_copied_file_is_accepted_and_shows_the_same_table() {
    let folder = tempfile::tempdir().unwrap();
    let copy = folder.path().join("mine.toml");
    std::fs::write(&copy, printed(&["criteria", MM, "--toml"])).unwrap();
    let copy = copy.to_str().unwrap();
    assert_eq!(printed(&["criteria", copy]), printed(&["criteria", MM]));
    assert_eq!(printed(&["criteria", copy, "--toml"]), printed(&["criteria", MM, "--toml"]));
}

#[test]
fn all_faults_of_an_own_file_are_told_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.toml");
    let text = printed(&["criteria", MM, "--toml"]);
    let broken =
        text.replacen("id =", "ident =", 1).replacen("title =", "tittle =", 1).replacen("65", "-65", 1);
    assert_ne!(text, broken);
    std::fs::write(&path, broken).unwrap();
    let run = run(&["criteria", path.to_str().unwrap()]);
    assert_eq!(run.status, 2, "{}", run.stdout);
    assert_eq!(run.stderr.lines().count(), 1, "{}", run.stderr);
    assert!(
        run.stdout.lines().filter(|l| l.trim_start().starts_with("line ")).count() >= 3,
        "{}",
        run.stdout
    );
    assert!(run.stderr.contains("faults; mend and check it again"), "{}", run.stderr);
}

/// Limits of multimode fibres let pass what fails a single-mode one, so these cores are not held to them.
#[test]
fn a_single_mode_face_is_not_graded_by_multimode_criteria() {
    let folder = tempfile::tempdir().unwrap();
    let scene = clean("mpo-12", "").replacen("seed = 7\n", "seed = 7\nfibre = \"sm\"\n", 1);
    let picture = picture(folder.path(), "face.png", &scene);
    let graded = grade(&picture, "mpo-12", &folder.path().join("out"), &["--no-map"]);
    assert_eq!((graded.status, graded.stderr.as_str()), (3, ""), "{}", graded.stdout);
    let told = graded.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        told.contains("as those of single-mode fibres do, and the criteria are for multimode ones"),
        "{told}"
    );
    assert!(
        told.contains("Nothing could be graded: grade the picture by the criteria of these fibres."),
        "{told}"
    );
}
