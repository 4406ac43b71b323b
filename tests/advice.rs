//! What to do next: follows what was tried, carries its cautions, is in the document as in the text, and may come from
//! a file of the user's.

use crate::run::{MM, Run, clean, grade, picture, program, record};
use std::fs;

const MARK: &str =
    "\n[[marks]]\nkind = \"particle\"\nposition = 2\nat_um = [5, 5]\nsize_um = 9\ncontrast = -0.6\n";

#[test]
fn advice_goes_on_from_what_was_tried() {
    let folder = tempfile::tempdir().unwrap();
    let face = picture(folder.path(), "face.png", &(clean("mpo-8", "") + MARK));
    let tries: [(&[&str], &str, bool); 3] = [
        (&[], "Clean the whole face dry, a fresh piece, one direction, for 2 (particle)", false),
        (&["--cleaned", "dry"], "Clean the whole face wet and dry it at once, for 2 (particle)", true),
        (&["--cleaned", "wet", "--cleaned", "wet", "--cleaned", "wet"], "Stop cleaning 2", false),
    ];
    for (cleaned, says, solvent) in tries {
        let out = folder.path().join("out");
        let run = grade(&face, "mpo-8", &out, &[&["--no-map"], cleaned].concat());
        let text = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(run.status, 1, "{}", run.stderr);
        assert!(text.contains(&format!("Next: {says}")), "{}", run.stdout);
        assert_eq!(text.contains("Solvents burn"), solvent, "{}", run.stdout);
        assert!(text.contains("dark does not mean off") && text.contains("Local codes"), "{}", run.stdout);
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

const PIT: &str = "\n[[marks]]\nkind = \"pit\"\nposition = 3\nat_um = [3, 4]\nsize_um = 5\ncontrast = -0.6\n";

/// One picture cannot tell debris from a defect: nothing is to be replaced by it, and what lies beside a mark that looks
/// like damage is cleaned with the rest.
#[test]
fn nothing_is_replaced_by_one_picture() {
    let folder = tempfile::tempdir().unwrap();
    let speck = MARK.replace("position = 2", "position = 3").replace("[5, 5]", "[-30, 20]");
    let speck = speck.replace("size_um = 9", "size_um = 14");
    let face = picture(folder.path(), "face.png", &(clean("mpo-8", "") + PIT + &speck + MARK));
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
    let (dry, wet) = (["--cleaned", "dry"], ["--cleaned", "wet"]);
    let both = [dry, wet].concat();
    let tries: [(&[&str], &str); 4] =
        [(&[], "face dry"), (&dry, "face wet"), (&wet, "face wet"), (&both, "face wet")];
    for (cleaned, clean) in tries {
        let said = steps(cleaned);
        assert!(said.iter().all(|(text, _)| !text.contains("replace")), "{said:?}");
        assert!(said.iter().any(|(text, at)| text.contains("ooks like damage") && *at == [3]), "{said:?}");
        let cleaned: Vec<_> = said.iter().filter(|(text, _)| text.starts_with("Clean the whole")).collect();
        assert!(cleaned.len() == 1 && cleaned[0].1 == [2, 3] && cleaned[0].0.contains(clean), "{said:?}");
    }
    let said = steps(&both);
    assert!(said.iter().any(|(text, at)| text.contains("stop cleaning for it") && *at == [3]), "{said:?}");
}

/// What lay in its place before and after a wet clean is damage; after a dry one nothing is known yet.
#[test]
fn two_pictures_tell_damage_after_a_wet_clean() {
    let folder = tempfile::tempdir().unwrap();
    let before = picture(folder.path(), "before.png", &(clean("mpo-8", "") + PIT + MARK));
    let after = picture(folder.path(), "after.png", &(clean("mpo-8", "") + PIT));
    let said = |cleaned: &[&str]| {
        let out = folder.path().join("out");
        let mut program = program();
        program.arg("compare").args([&before, &after]).args([
            "--layout",
            "mpo-8",
            "--criteria",
            MM,
            "--no-map",
        ]);
        let run: Run = program.args(cleaned).arg("--out").arg(&out).output().unwrap().into();
        assert_eq!(run.status, 1, "{}", run.stderr);
        run.stdout.split("Next:").nth(1).unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let text = said(&["--cleaned", "wet"]);
    assert!(text.starts_with("Damage at 3 (pit) stayed in its place through a wet clean: polish"), "{text}");
    for cleaned in [&[][..], &["--cleaned", "dry"]] {
        let text = said(cleaned);
        assert!(text.contains("Clean the whole face wet") && !text.contains("replace"), "{text}");
    }
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

/// A film of which a wet clean left the half goes on going: it is cleaned again and not polished away.
#[test]
fn what_a_wet_clean_made_smaller_is_cleaned_again() {
    let folder = tempfile::tempdir().unwrap();
    let smear = |size: f64| {
        format!(
            "[[marks]]\nkind = \"smear\"\nposition = 8\nat_um = [5, 5]\nsize_um = {size}\ncontrast = -0.25\nseed = 5\n"
        )
    };
    let before = picture(folder.path(), "before.png", &(clean("mpo-12", "seed = 3") + &smear(50.0)));
    let after = picture(folder.path(), "after.png", &(clean("mpo-12", "seed = 4") + &smear(30.0)));
    let mut compare = program();
    compare.arg("compare").args([&before, &after]).args(["--layout", "mpo-12", "--criteria", MM]);
    compare.args(["--cleaned", "wet", "--no-map", "--out"]).arg(folder.path().join("out"));
    let told: Run = compare.output().unwrap().into();
    assert_eq!((told.status, told.stderr.as_str()), (1, ""), "{}", told.stdout);
    assert!(told.stdout.contains("stayed") && told.stdout.contains("wet and dry"), "{}", told.stdout);
    assert!(!told.stdout.contains("polish"), "{}", told.stdout);
}
