//! Two pictures at once: one face before and after cleaning, and two faces that were mated. Made by `synth`.

use crate::run::{self, MM, Run};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A mark of a scene.
fn particle(position: u16, x: f64, y: f64, size: f64) -> String {
    format!(
        "[[marks]]\nkind = \"particle\"\nposition = {position}\nat_um = [{x:?}, {y:?}]\nsize_um = {size:?}\ncontrast = -0.6\n"
    )
}

fn scene(seed: u32, marks: &[String]) -> String {
    run::clean("mpo-12", "").replace("seed = 7", &format!("seed = {seed}")) + &marks.concat()
}

struct Pair {
    folder: TempDir,
    pictures: [PathBuf; 2],
}

impl Pair {
    fn new(one: &str, other: &str) -> Pair {
        let folder = tempfile::tempdir().unwrap();
        let pictures = [("one.png", one), ("two.png", other)].map(|(n, s)| run::picture(folder.path(), n, s));
        Pair { folder, pictures }
    }

    fn out(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, command: &str, inputs: [&Path; 2], out: &str, more: &[&str]) -> Run {
        let mut program = run::program();
        program.arg(command).args(inputs).args(["--layout", "mpo-12", "--criteria", MM, "--out"]);
        program.arg(self.out(out)).args(more).output().unwrap().into()
    }

    fn pictures(&self) -> [&Path; 2] {
        [&self.pictures[0], &self.pictures[1]]
    }

    fn document(&self, out: &str, name: &str) -> Value {
        fs::read_to_string(self.out(out).join(name)).unwrap().parse().unwrap()
    }
}

fn list<'v>(value: &'v Value, key: &str) -> &'v Vec<Value> {
    value[key].as_array().unwrap()
}

/// Three marks that went over through a type B adapter, one on each face that did not.
fn soiled() -> Pair {
    let went = [(2u16, 20.0, 15.0, 9.0), (5, -35.0, 20.0, 8.0), (9, 10.0, -40.0, 11.0)];
    let mut a: Vec<String> = went.iter().map(|&(p, x, y, size)| particle(p, x, y, size)).collect();
    let mut b: Vec<String> =
        went.iter().map(|&(p, x, y, size)| particle(13 - p, -x + 0.4, y - 0.3, 0.8 * size)).collect();
    a.push(particle(4, 0.0, 3.0, 12.0));
    b.push(particle(12, -40.0, 3.0, 5.0));
    Pair::new(&scene(7, &a), &scene(8, &b))
}

#[test]
fn what_two_faces_share_is_told_and_what_threatens_them() {
    let pair = soiled();
    let told = pair.run("mated", pair.pictures(), "out", &["--adapter", "type-b"]);
    assert_eq!((told.status, told.stderr.as_str()), (1, ""), "{}", told.stdout);
    assert_eq!(run::names(&pair.out("out")), ["map.png", "map.svg", "mated.json"]);
    let document = pair.document("out", "mated.json");
    assert_eq!((&document["schema"], &document["adapter"]), (&"pitchline.mated/1".into(), &"type-b".into()));
    let transfers = list(&document, "transfers");
    let pairs: Vec<(u64, u64)> = transfers
        .iter()
        .map(|t| (t["position_a"].as_u64().unwrap(), t["position_b"].as_u64().unwrap()))
        .collect();
    assert_eq!(pairs, [(2, 11), (5, 8), (9, 4)]);
    // 12 um on the core of A 4, which faces B 9.
    let at_risk = list(&document, "at_risk");
    assert!(at_risk.iter().any(|r| r["face"] == "b" && r["position"] == 9), "{at_risk:?}");
    assert!(told.stdout.contains("At risk B  9"), "{}", told.stdout);
}

#[test]
fn a_face_json_written_earlier_tells_the_same_and_the_marks_tell_the_adapter() {
    let pair = soiled();
    pair.run("mated", pair.pictures(), "out", &["--adapter", "type-b", "--no-map"]);
    let mut faces = Vec::new();
    for picture in pair.pictures() {
        let out = picture.with_extension("");
        run::grade(picture, "mpo-12", &out, &["--no-map"]);
        faces.push(out.join("face.json"));
    }
    let again = pair.run("mated", [&faces[0], &faces[1]], "again", &["--no-map"]);
    assert_eq!((again.status, again.stderr.as_str()), (1, ""));
    let [one, two] = ["out", "again"].map(|out| pair.document(out, "mated.json"));
    assert_eq!(one["adapter"], two["adapter"]);
    assert_eq!([&one["adapter_stated"], &two["adapter_stated"]], [true, false]);
    assert!(again.stdout.contains("by the marks on both faces (not stated)"), "{}", again.stdout);
    let ids =
        |d: &Value| list(d, "transfers").iter().map(|t| (t["id_a"].clone(), t["id_b"].clone())).collect();
    let [one, two]: [Vec<_>; 2] = [ids(&one), ids(&two)];
    assert_eq!(one, two);
}

#[test]
fn faces_that_share_nothing_must_be_told_how_they_meet() {
    let pair = Pair::new(&scene(7, &[]), &scene(8, &[]));
    let refused = pair.run("mated", pair.pictures(), "out", &["--no-map"]);
    assert_eq!(refused.status, 2);
    assert_eq!(refused.stderr.lines().count(), 1);
    assert!(
        refused.stderr.contains("state --adapter type-a (key up to key down) or type-b"),
        "{}",
        refused.stderr
    );
    assert!(!pair.out("out").exists());
    let told = pair.run("mated", pair.pictures(), "out", &["--adapter", "type-a", "--no-map"]);
    assert_eq!(told.status, 0, "{}", told.stdout);
    assert!(told.stdout.contains("Nothing speaks against mating these two."), "{}", told.stdout);
}

/// A pass and an ungraded face together are ungraded; a fail beside them would be a fail.
#[test]
fn the_status_is_the_worse_of_the_two() {
    let blurred = scene(8, &[]).replace("blur_um = 0.55", "blur_um = 4");
    let pair = Pair::new(&scene(7, &[]), &blurred);
    let told = pair.run("mated", pair.pictures(), "out", &["--adapter", "type-a", "--no-map"]);
    assert_eq!(told.status, 3, "{}", told.stdout);
    let open = run::grade(pair.pictures()[1], "mpo-12", &pair.out("open"), &["--no-map"]);
    assert!(open.status == 3 && open.stdout.contains("Mind:  Working wavelengths"), "{}", open.stdout);
}

#[test]
fn cleaning_is_told_mark_by_mark() {
    let (dirt, fixed) = (particle(3, 20.0, 15.0, 12.0), particle(6, -30.0, 20.0, 8.0));
    let (before, after) =
        (scene(7, &[dirt, fixed.clone()]), scene(7, &[fixed, particle(9, 5.0, -45.0, 7.0)]));
    let pair = Pair::new(&before, &after.replace("[camera]\n", "[camera]\nturn_deg = 1.5\nseed = 5\n"));
    let told = pair.run("compare", pair.pictures(), "out", &[]);
    assert_eq!(told.stderr, "", "{}", told.stdout);
    let document = pair.document("out", "compare.json");
    assert_eq!(document["same_face"], true);
    let at = |number: u64, key: &str| {
        let positions = list(&document, "positions");
        let position = positions.iter().find(|p| p["position"] == number).unwrap();
        list(position, key).len()
    };
    assert_eq!((at(3, "removed"), at(6, "remaining"), at(9, "new")), (1, 1, 1), "{}", told.stdout);
}

#[test]
fn two_ferrules_are_not_taken_for_one() {
    let pair = Pair::new(&scene(7, &[]), &scene(8, &[]));
    let refused = pair.run("compare", pair.pictures(), "out", &[]);
    assert_eq!(refused.status, 2);
    assert!(refused.stderr.contains("cannot be of one face"), "{}", refused.stderr);
    assert_eq!(refused.stderr.lines().count(), 1);
    assert!(!pair.out("out").exists());
}

/// The second picture lies on its head, and nobody said so.
#[test]
fn a_picture_turned_by_180_degrees_is_known() {
    let marks = [particle(3, 20.0, 15.0, 12.0), particle(6, -30.0, 20.0, 8.0)];
    let turned = scene(7, &marks).replace("[camera]\n", "[camera]\nkey = \"down\"\n");
    let pair = Pair::new(&scene(7, &marks), &turned);
    let told = pair.run("compare", pair.pictures(), "out", &["--no-map"]);
    assert_eq!(told.stderr, "", "{}", told.stdout);
    let document = pair.document("out", "compare.json");
    assert_eq!(document["evidence"]["turned"], "half-turn");
    assert_eq!(document["totals"]["remaining"], 2);
    assert!(told.stdout.contains("turned by 180 degrees"), "{}", told.stdout);
}

/// The committed schemas (JSON Schema 2020-12) by the `jsonschema` package.
#[test]
fn the_documents_hold_to_their_schemas() {
    let pair = soiled();
    pair.run("mated", pair.pictures(), "mated", &["--adapter", "type-b", "--no-map", "--cable", "type-b"]);
    let cleaned =
        Pair::new(&scene(3, &[particle(2, 9.0, 4.0, 7.0), particle(4, -9.0, 4.0, 7.0)]), &scene(3, &[]));
    cleaned.run("compare", cleaned.pictures(), "compare", &["--no-map"]);
    for (name, pair) in [("mated", &pair), ("compare", &cleaned)] {
        let path = format!("../../profiles/schema/{name}.schema.json");
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
        let schema: Value = fs::read_to_string(path).unwrap().parse().unwrap();
        let document = pair.document(name, &format!("{name}.json"));
        let validator = jsonschema::validator_for(&schema).unwrap();
        let faults: Vec<String> = validator.iter_errors(&document).map(|e| e.to_string()).collect();
        assert_eq!(faults, Vec::<String>::new());
    }
}

#[test]
fn a_face_is_not_mated_to_itself() {
    let pair = soiled();
    let [one, _] = pair.pictures();
    let refused = pair.run("mated", [one, one], "out", &["--adapter", "type-b", "--no-map"]);
    assert_eq!((refused.status, refused.stdout.as_str()), (2, ""));
    assert!(refused.stderr.contains("is the same picture as"), "{}", refused.stderr);
    assert!(!pair.out("out").exists());
}

/// Another picture of the same ferrule is no other face, however it was taken.
#[test]
fn one_ferrule_is_not_mated_to_itself() {
    let again = scene(7, &[particle(4, 0.0, 3.0, 12.0)]).replace("[camera]\n", "[camera]\nseed = 5\n");
    let pair = Pair::new(&scene(7, &[]), &again);
    let refused = pair.run("mated", pair.pictures(), "out", &["--adapter", "type-b", "--no-map"]);
    assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stderr);
    assert!(refused.stderr.contains("show one and the same face"), "{}", refused.stderr);
}

#[test]
fn a_wrong_adapter_is_asked_about() {
    let pair = soiled();
    let told = pair.run("mated", pair.pictures(), "out", &["--adapter", "type-a", "--no-map"]);
    assert!(
        told.stdout.contains("Next:  By type-b 3 marks would lie on both faces, by type-a none"),
        "{}",
        told.stdout
    );
    assert!(!told.stdout.contains("Nothing "), "{}", told.stdout);
    assert!(told.stdout.contains("Mind:  "), "{}", told.stdout);
    let document = pair.document("out", "mated.json");
    assert_eq!(document["otherwise"], serde_json::json!({"adapter": "type-b", "transfers": 3}));
}

#[test]
fn a_picture_is_not_compared_with_itself() {
    let pair = Pair::new(&scene(3, &[]), &scene(3, &[]));
    let [one, _] = pair.pictures();
    let refused = pair.run("compare", [one, one], "out", &[]);
    assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stderr);
    assert!(refused.stderr.contains("is the same picture as"), "{}", refused.stderr);
    assert!(!pair.out("out").exists());
}

/// Saved in another format it is still the same exposure.
#[test]
fn a_picture_is_not_compared_with_a_copy_in_another_format() {
    let pair = Pair::new(&scene(3, &[]), &scene(3, &[]));
    let [one, _] = pair.pictures();
    let copy = pair.out("copy.bmp");
    image::open(one).unwrap().save(&copy).unwrap();
    let refused = pair.run("compare", [one, &copy], "out", &[]);
    assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stderr);
    assert!(refused.stderr.contains("is the same picture as"), "{}", refused.stderr);
}

/// Of two folders it is the picture in both that is named.
#[test]
fn a_picture_in_two_folders_is_named() {
    let pair = Pair::new(&scene(7, &[]), &scene(8, &[]));
    let folders = [pair.out("before"), pair.out("after")];
    for folder in &folders {
        fs::create_dir(folder).unwrap();
        fs::copy(&pair.pictures[0], folder.join("face.png")).unwrap();
    }
    let run = pair.run("compare", [&folders[0], &folders[1]], "out", &[]);
    assert_eq!(run.status, 2, "{}", run.stderr);
    let [before, after] = folders.map(|f| f.join("face.png").display().to_string());
    let sentence = format!("{after} is the same picture as {before}; give each picture once");
    assert!(run.stderr.contains(&sentence), "{}", run.stderr);
}

#[test]
fn a_series_is_told_from_look_to_look_and_from_first_to_last() {
    let (one, other) = (particle(2, 9.0, 4.0, 12.0), particle(4, -9.0, 4.0, 12.0));
    let pair = Pair::new(&scene(3, &[one, other.clone()]), &scene(3, &[other]));
    let third = run::picture(pair.folder.path(), "three.png", &scene(3, &[]));
    let mut program = run::program();
    program.arg("compare").args(pair.pictures()).arg(&third).args(["--layout", "mpo-12", "--criteria", MM]);
    let told: Run = program.arg("--out").arg(pair.out("out")).arg("--no-map").output().unwrap().into();
    assert_eq!((told.status, told.stderr.as_str()), (0, ""), "{}", told.stdout);
    assert!(told.stdout.lines().all(|line| line.len() <= 80), "{}", told.stdout);
    for words in ["look 1: [F] fail, one.png", "look 2: [F] fail, two.png", "look 3: (P) pass, three.png"] {
        assert!(told.stdout.contains(words), "{}", told.stdout);
    }
    let whole = pair.document("out", "compare.json");
    let gone = |document: &Value| document["totals"]["removed"].as_u64().unwrap();
    assert_eq!((gone(&whole), whole["series"].as_array().unwrap().len()), (2, 3));
    for (number, position) in [(1, 2), (2, 4)] {
        let step = pair.document("out", &format!("step-{number}.json"));
        assert_eq!(gone(&step), 1, "{:#}", step["positions"]);
        let look = &whole["series"][number];
        assert_eq!(look["compared"], format!("step-{number}.json"));
        let gone: Vec<u64> = look["positions"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|p| p["removed"] == 1)
            .map(|p| p["position"].as_u64().unwrap())
            .collect();
        assert_eq!(gone, [position]);
    }
}

/// Two lumps that touch are told as one mark; one of them goes.
#[test]
fn a_part_of_a_mark_that_went_is_told_by_the_pictures() {
    let (stays, goes) = (particle(5, -20.0, 15.0, 8.0), particle(5, -14.0, 15.0, 7.0));
    let pair = Pair::new(&scene(7, &[stays.clone(), goes]), &scene(7, &[stays]));
    pair.run("compare", pair.pictures(), "out", &[]);
    let told = pair.document("out", "compare.json");
    let at = &told["positions"][4];
    let ([gone], [left]) = (list(at, "removed").as_slice(), list(at, "remaining").as_slice()) else {
        panic!("{at}")
    };
    let off = |mark: &Value, x: f64| (mark["centre_um"][0].as_f64().unwrap() - x).abs();
    assert!(gone["part"] == true && off(gone, -13.5) < 1.5, "{gone}");
    assert!(off(left, -20.0) < 0.5 && left["before_ids"][0] == gone["id"], "{left}");
    assert_eq!(told["evidence"]["pictures"], 12);
}

/// Without its pictures a face is compared by its marks, and the record says so.
#[test]
fn a_face_without_its_pictures_is_compared_by_its_marks_alone() {
    let marks = [particle(5, -20.0, 15.0, 8.0)];
    let pair = Pair::new(&scene(7, &marks), &scene(7, &[]));
    for (picture, out) in pair.pictures().into_iter().zip(["one", "two"]) {
        let mut program = run::program();
        program.arg("grade").arg(picture).args(["--layout", "mpo-12", "--criteria", MM, "--out"]);
        program.arg(pair.out(out)).arg("--no-map").output().unwrap();
    }
    let faces = [pair.out("one").join("face.json"), pair.out("two").join("face.json")];
    let faces = [faces[0].as_path(), faces[1].as_path()];
    let without = pair.run("compare", faces, "without", &["--no-map"]);
    let words = |told: &Run| told.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words(&without).contains("so that only its marks were compared."), "{}", without.stdout);
    for (picture, out) in pair.pictures().into_iter().zip(["one", "two"]) {
        fs::copy(picture, pair.out(out).join(picture.file_name().unwrap())).unwrap();
    }
    let with = pair.run("compare", faces, "with", &["--no-map"]);
    assert!(!words(&with).contains("only its marks"), "{}", with.stdout);
    let pictures = |out: &str| pair.document(out, "compare.json")["evidence"]["pictures"].clone();
    assert_eq!((pictures("without"), pictures("with")), (0.into(), 12.into()));
}

/// A scratch that was not there is new, whether it breaks a limit or not, and what makes scratches is told; one that was
/// there before stays.
#[test]
fn a_new_scratch_is_told_with_what_causes_it() {
    let scratch = |position: u16, y: i32, width: f64| {
        format!(
            "[[marks]]\nkind = \"scratch\"\nposition = {position}\npath_um = [[-45, {y}], [0, {}], [45, {}]]\n\
             width_um = {width:?}\ncontrast = -0.3\n",
            y + 4,
            y + 6
        )
    };
    let old = scratch(9, -20, 2.5);
    let after = scene(7, &[old.clone(), scratch(3, 12, 2.0), scratch(7, -30, 4.5)]);
    let after = after.replace("[camera]\n", "[camera]\nturn_deg = -1\nseed = 5\n");
    let pair = Pair::new(&scene(7, &[old]), &after);
    let told = pair.run("compare", pair.pictures(), "out", &["--no-map", "--cleaned", "dry"]);
    let document = pair.document("out", "compare.json");
    let of = |fate: &str| {
        let at = list(&document, "positions").iter();
        let kinds = at.flat_map(|p| list(p, fate).iter().map(|m| (p["position"].clone(), m["kind"].clone())));
        kinds.collect::<Vec<_>>()
    };
    assert_eq!(of("new"), [(3.into(), "scratch".into()), (7.into(), "scratch".into())], "{}", told.stdout);
    assert_eq!(of("remaining"), [(9.into(), "scratch".into())]);
    assert_eq!((of("removed"), of("unsure")), (vec![], vec![]));
    let said = told.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Next: New scratch at 3, 7: stop, and look for grit on the cleaner"), "{said}");
}

/// What looks like a scratch in a film that came is its wrinkle: nobody is sent to look for grit.
#[test]
fn the_wrinkles_of_a_film_that_came_are_no_new_scratches() {
    let film = |position: u16| {
        let (x, y) = (i32::from(position * 7 % 5) - 2, i32::from(position * 5 % 7) - 3);
        format!(
            "[[marks]]\nkind = \"smear\"\nposition = {position}\nat_um = [{x}, {y}]\nsize_um = 105\n\
             contrast = -0.12\nrim_um = 6\nseed = {}\n",
            5 * position
        )
    };
    let after = scene(7, &(1..=12).map(film).collect::<Vec<_>>());
    let after = after.replace("[camera]\n", "[camera]\nturn_deg = -1\nseed = 5\n");
    let pair = Pair::new(&scene(7, &[]), &after);
    let told = pair.run("compare", pair.pictures(), "out", &["--no-map", "--cleaned", "dry"]);
    let document = pair.document("out", "compare.json");
    let scratches = |fate: &str| {
        let marks = list(&document, "positions").iter().flat_map(|p| list(p, fate));
        marks.filter(|m| m["kind"] == "scratch").count()
    };
    assert!(scratches("unsure") > 0, "{}", told.stdout);
    assert_eq!(scratches("new"), 0, "{}", told.stdout);
    assert!(!told.stdout.contains("New scratch"), "{}", told.stdout);
}
