//! `--guard`: said in every result, never more lenient, and refused where it is no risk.

use crate::run::{clean, grade, picture, record};

const MARKS: &str = "\n[[marks]]\nkind = \"particle\"\nposition = 2\nat_um = [5, 5]\nsize_um = 4.9\ncontrast = -0.5\n\
                     [[marks]]\nkind = \"particle\"\nposition = 9\nat_um = [-8, 2]\nsize_um = 2\ncontrast = -0.5\n";

#[test]
fn a_guard_band_is_told_and_never_more_lenient() {
    let folder = tempfile::tempdir().unwrap();
    let face = picture(folder.path(), "face.png", &(clean("mpo-8", "") + MARKS));
    let (plain, drawn_in) = (folder.path().join("plain"), folder.path().join("guard"));
    let simple = grade(&face, "mpo-8", &plain, &["--no-map"]);
    let guarded = grade(&face, "mpo-8", &drawn_in, &["--no-map", "--guard", "5%"]);
    assert!(
        guarded.stdout.replace('\n', " ").contains("limits drawn in by a guard band, risk 5 %"),
        "{}",
        guarded.stdout
    );
    assert!(!simple.stdout.contains("guard"));
    let (simple, guarded) = (record(&plain), record(&drawn_in));
    assert!(simple["guard_risk"].is_null());
    assert_eq!(guarded["guard_risk"], 0.05);
    for (a, b) in simple["positions"].as_array().unwrap().iter().zip(guarded["positions"].as_array().unwrap())
    {
        assert_eq!(a["conformity"], b["conformity"]);
        assert!(b["verdict"] != "pass" || a["verdict"] == "pass", "{a} {b}");
        let doubtful = a["position"] == 2;
        if b["verdict"] == "fail" && a["verdict"] == "pass" {
            let said = b["reasons"][0]["text"].as_str().unwrap();
            assert!(
                said.starts_with("1 ") && said.contains(" that may be over 5 um in zone A, none allowed ("),
                "{said}"
            );
            assert!(said.ends_with(" um, guard 5 %)") && said.len() < 76, "{said}");
        }
        let sure = a["conformity"].as_f64().unwrap();
        assert_eq!(sure < 0.999, doubtful, "{sure} at {}", a["position"]);
    }
}

#[test]
fn what_is_no_risk_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    for wrong in ["0", "60%", "-1%", "five", "nan"] {
        let run = grade(&folder.path().join("face.png"), "mpo-8", &out, &[&format!("--guard={wrong}")]);
        assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
        assert!(run.stderr.contains("give a risk above 0 and up to 50 %"), "{}", run.stderr);
    }
    assert!(!out.exists());
}
