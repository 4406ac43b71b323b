//! What to do next: follows what was tried, carries its cautions, is in the document as in the text, and may come from
//! a file of the user's.

use crate::run::{clean, grade, picture, record};
use std::fs;

const MARK: &str =
    "\n[[marks]]\nkind = \"particle\"\nposition = 2\nat_um = [5, 5]\nsize_um = 9\ncontrast = -0.6\n";

#[test]
fn advice_goes_on_from_what_was_tried() {
    let folder = tempfile::tempdir().unwrap();
    let face = picture(folder.path(), "face.png", &(clean("mpo-8", "") + MARK));
    let tries: [(&[&str], &str, bool); 3] = [
        (&[], "Clean 2 (particle) dry", false),
        (&["--cleaned", "dry"], "Clean 2 (particle) wet", true),
        (&["--cleaned", "wet", "--cleaned", "wet", "--cleaned", "wet"], "Stop cleaning 2", false),
    ];
    for (cleaned, says, solvent) in tries {
        let out = folder.path().join("out");
        let run = grade(&face, "mpo-8", &out, &[&["--no-map"], cleaned].concat());
        let text = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(run.status, 1, "{}", run.stderr);
        assert!(text.contains(&format!("Next: {says}")), "{}", run.stdout);
        assert_eq!(text.contains("Solvents burn"), solvent, "{}", run.stdout);
        let record = record(&out);
        let step = &record["advice"]["steps"][0];
        assert!(step["text"].as_str().unwrap().starts_with(says), "{step}");
        assert_eq!(step["positions"], serde_json::json!([2]));
        assert!(step["source"]["text"].is_string());
    }
}

#[test]
fn own_rules_take_the_place_of_the_built_in_ones() {
    let folder = tempfile::tempdir().unwrap();
    let face = picture(folder.path(), "face.png", &(clean("mpo-8", "") + MARK));
    let ours = folder.path().join("ours.toml");
    let text = "id = \"ours\"\ntitle = \"Ours\"\ntries = 1\ndefers = \"Ask Mara.\"\nsource = \"us\"\n[sources.us]\n\
                faith = \"house\"\ntext = \"Rule 9\"\n[[rules]]\nkinds = [\"particle\"]\nsay = \"Ring the lab for {at}.\"\n\
                source = \"us\"\n";
    fs::write(&ours, text).unwrap();
    let out = folder.path().join("out");
    let run = grade(&face, "mpo-8", &out, &["--no-map", "--advice", ours.to_str().unwrap()]);
    assert!(run.stdout.contains("Next:  Ring the lab for 2.\nMind:  Ask Mara.\n"), "{}", run.stdout);

    fs::write(&ours, text.replace("particle", "dust")).unwrap();
    let out = folder.path().join("none");
    let run = grade(&face, "mpo-8", &out, &["--advice", ours.to_str().unwrap()]);
    assert_eq!(run.status, 2);
    assert!(run.stderr.contains("the words here are scratch, particle"), "{}", run.stderr);
    assert!(!out.exists());
}

/// One picture cannot tell debris from a defect: nothing is to be replaced before it was cleaned and looked at again, and
/// no position is to be cleaned and replaced at once.
#[test]
fn nothing_is_replaced_that_was_not_cleaned() {
    const PIT: &str =
        "\n[[marks]]\nkind = \"pit\"\nposition = 3\nat_um = [3, 4]\nsize_um = 5\ncontrast = -0.6\n";
    let folder = tempfile::tempdir().unwrap();
    let film = MARK.replace("position = 2", "position = 3").replace("[5, 5]", "[-30, 20]");
    let face = picture(folder.path(), "face.png", &(clean("mpo-8", "") + PIT + &film + MARK));
    let steps = |cleaned: &[&str]| -> Vec<(String, Vec<u64>)> {
        let out = folder.path().join("out");
        let run = grade(&face, "mpo-8", &out, &[&["--no-map"], cleaned].concat());
        assert_eq!(run.status, 1, "{}", run.stderr);
        let record = record(&out);
        let steps = record["advice"]["steps"].as_array().unwrap().clone();
        let positions = |step: &serde_json::Value| {
            step["positions"].as_array().unwrap().iter().map(|p| p.as_u64().unwrap()).collect()
        };
        steps.iter().map(|step| (step["text"].as_str().unwrap().to_owned(), positions(step))).collect()
    };
    let first = steps(&[]);
    assert!(first.iter().all(|(text, _)| !text.contains("replace")), "{first:?}");
    let damaged = steps(&["--cleaned", "wet"]);
    let (replace, clean): (Vec<_>, Vec<_>) = damaged.iter().partition(|(text, _)| text.contains("replace"));
    for (_, positions) in &clean {
        assert!(
            replace.iter().all(|(_, replaced)| replaced.iter().all(|p| !positions.contains(p))),
            "{damaged:?}"
        );
    }
    assert!(replace.iter().any(|(_, positions)| positions.contains(&3)), "{damaged:?}");
    assert!(clean.iter().any(|(_, positions)| positions.contains(&2)), "{damaged:?}");
}

/// Where the fibres are those of another layout, that is asked first, and nothing is to be cleaned for it.
#[test]
fn an_mpo_8_graded_as_mpo_12_is_asked_for_its_layout() {
    let folder = tempfile::tempdir().unwrap();
    let face = picture(folder.path(), "face.png", &clean("mpo-8", ""));
    let run = grade(&face, "mpo-12", &folder.path().join("out"), &["--no-map"]);
    assert_eq!(run.status, 3, "{}", run.stderr);
    let next = run.stdout.split("Next:").nth(1).unwrap();
    assert!(next.starts_with("  Positions 5-8 show no fibre: is it an mpo-8?"), "{}", run.stdout);
    assert!(!next.contains("clean"), "{}", run.stdout);
}
