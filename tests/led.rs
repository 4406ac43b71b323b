//! Where fibres lead: chains told by the command line, and cables told from rendered faces with lit cores.

use crate::run::{self, Run, run};
use serde_json::Value;
use std::path::Path;

fn chain(members: &[&str], more: &[&str]) -> Run {
    let all: Vec<&str> =
        ["chain"].iter().chain(members).chain(["--layout", "mpo-12"].iter()).chain(more).copied().collect();
    run(&all)
}

#[test]
fn a_chain_is_followed_from_end_to_end() {
    let five = ["cable:type-b", "adapter:type-b", "cable:type-b", "adapter:type-b", "cable:type-b"];
    let told = chain(&five, &["--application", "40gbase-sr4"]);
    assert_eq!((told.status, told.stderr.as_str()), (0, ""), "{}", told.stdout);
    assert!(told.stdout.contains("The chain holds together."), "{}", told.stdout);
    assert!(told.stdout.contains("Reversed 5 times, an odd number"), "{}", told.stdout);
    assert!(told.stdout.lines().all(|line| line.len() <= 80), "{}", told.stdout);
}

#[test]
fn the_first_contradiction_of_a_chain_has_a_status() {
    let straight = ["cable:type-a", "adapter:type-a", "cable:type-a"];
    let told = chain(&straight, &[]);
    assert_eq!(told.status, 0);
    assert!(
        told.stdout.starts_with("Each member fits the next, but transmit meets transmit"),
        "{}",
        told.stdout
    );
    let told = chain(&straight, &["--application", "40gbase-sr4"]);
    assert_eq!(told.status, 1, "{}", told.stdout);
    assert!(
        told.stdout.starts_with("It does not hold together: near position 1 comes out at far position 1")
    );
    let told = chain(&["cable:type-b", "cable:type-b"], &[]);
    assert!(
        told.status == 1 && told.stdout.contains("member 2 is a cable right after a cable"),
        "{}",
        told.stdout
    );
    let broken: [&[&str]; 2] = [&["adapter:type-a"], &["cable:type-b", "adapter:type-b", "adapter:type-b"]];
    for members in broken {
        let told = chain(members, &[]);
        assert!(told.status == 1 && told.stdout.contains("leave it out"), "{}", told.stdout);
        for word in ["Duplex", "Reversed", "Exchange", "near "] {
            assert!(!told.stdout.contains(word), "{word}: {}", told.stdout);
        }
    }
}

/// Where an application is stated, its lanes decide what is said and the status: no rule of single rows, none of duplex.
#[test]
fn the_lanes_of_an_application_decide() {
    let rows = ["chain", "cable:type-b", "adapter:type-a", "cable:type-b", "--layout", "mpo-24"];
    let told = run(&[&rows[..], &["--application", "100gbase-sr10"]].concat());
    assert_eq!(told.status, 0, "{}", told.stdout);
    assert!(
        told.stdout.starts_with("The chain holds together. Each lane of 100gbase-sr10"),
        "{}",
        told.stdout
    );
    assert!(!told.stdout.contains("Exchange") && !told.stdout.contains("duplex"), "{}", told.stdout);
    let lane = |from: &str| told.stdout.lines().find(|line| line.starts_with("lane") && line.contains(from));
    let words: Vec<&str> = lane("Tx9").unwrap().split_whitespace().collect();
    assert_eq!(words, "lane - Tx10 Tx9 Tx8 Tx7 Tx6 Tx5 Tx4 Tx3 Tx2 Tx1 -".split(' ').collect::<Vec<_>>());
    // Without an application the rule of single rows must not speak of two.
    let unnamed = run(&rows);
    assert!(!unnamed.stdout.contains("transmit meets"), "{}", unnamed.stdout);
    assert!(unnamed.stdout.contains("--application tells"), "{}", unnamed.stdout);

    let told = chain(&["cable:type-a", "adapter:type-b", "cable:type-c"], &["--application", "40gbase-sr4"]);
    assert_eq!(told.status, 0, "{}", told.stdout);
    assert!(told.stdout.contains("arrive under other numbers (Rx1 meets Tx2"), "{}", told.stdout);
    assert!(!told.stdout.contains("not for parallel optics"), "{}", told.stdout);

    let json = chain(&["cable:type-a"], &["--json", "--application", "40gbase-sr4"]);
    let document: Value = json.stdout.parse().unwrap();
    assert_eq!(json.status, 1);
    let first = &document["lanes"][0];
    assert_eq!(
        (&first["near_lane"], &first["far_lane"], &first["meets"]),
        (&"Rx1".into(), &"Rx1".into(), &false.into())
    );
}

#[test]
fn a_chain_shows_a_row_as_a_row() {
    for (layout, row) in [("mpo-16", "16  15  14  13  12  11  10  9"), ("mpo-24", "12   11   10   9")] {
        let told = run(&["chain", "cable:type-b", "--layout", layout]);
        let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let far = told.stdout.lines().find(|line| line.starts_with("far")).unwrap();
        assert!(squeezed(far).contains(&squeezed(row)), "{far}");
        assert!(far.trim_end().ends_with(" 1"), "{far}");
        assert!(told.stdout.lines().all(|line| line.len() <= 80), "{}", told.stdout);
    }
}

#[test]
fn what_is_no_chain_is_refused_in_one_line() {
    for (members, more, said) in [
        (vec!["type-b"], vec![], "is no member of a chain; write cable:TYPE or adapter:type-a"),
        (vec!["adapter:type-c"], vec![], "is no member of a chain"),
        (vec!["cable:type-d"], vec![], "there is no cable type-d; give type-a, type-b"),
        (vec!["cable:type-a"], vec!["--application", "100gbase-sr10"], "is not for layout mpo-12"),
        (vec!["cable:type-a"], vec!["--application", "400gbase-sr8"], "is not for layout mpo-12"),
        (
            vec!["cable:type-a"],
            vec!["--application", "sr99"],
            "400gbase-sr8, or the path of an application file",
        ),
    ] {
        let refused = chain(&members, &more);
        assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1));
        assert!(refused.stderr.contains(said), "{}", refused.stderr);
    }
}

/// Pictures of the far end of a cable, one for each set of lit near positions; `far` tells where each comes out.
struct Lit {
    folder: tempfile::TempDir,
    layout: &'static str,
    words: Vec<String>,
}

impl Lit {
    fn new(layout: &'static str, fibre: &str, sets: &[Vec<u16>], far: impl Fn(u16) -> Option<u16>) -> Lit {
        let folder = tempfile::tempdir().unwrap();
        let picture = |(number, set): (usize, &Vec<u16>)| {
            let ends: Vec<u16> = set.iter().filter_map(|near| far(*near)).collect();
            let face = format!("[face]\nfibre = \"{fibre}\"\nlit = {ends:?}");
            let scene =
                run::clean(layout, "").replace("[face]", &face).replace("um_per_px = 0.6", "um_per_px = 0.8");
            let path = run::picture(folder.path(), &format!("{number}.png"), &scene);
            let names: Vec<String> = set.iter().map(u16::to_string).collect();
            format!("{}={}", names.join(","), path.display())
        };
        let words = sets.iter().enumerate().map(picture).collect();
        Lit { folder, layout, words }
    }

    fn run(&self, more: &[&str]) -> Run {
        let words: Vec<&str> = self.words.iter().map(String::as_str).collect();
        let all: Vec<&str> =
            ["polarity", "--layout", self.layout].iter().chain(&words).chain(more).copied().collect();
        run(&all)
    }
}

fn far(cable: &str, layout: &str) -> impl Fn(u16) -> Option<u16> + use<> {
    let map = profile::cable(cable, &profile::layout(layout).unwrap()).unwrap();
    move |near| map.far(near)
}

/// Each position lit in the pictures whose place its number has in binary.
fn by_bits(fibres: u16) -> Vec<Vec<u16>> {
    let bits = 16 - fibres.leading_zeros();
    (0..bits).map(|bit| (1..=fibres).filter(|p| p & (1 << bit) != 0).collect()).collect()
}

#[test]
fn every_type_is_told_by_its_light() {
    for (cable, layout, fibre, fibres) in [
        ("type-a", "mpo-12", "mm50", 12),
        ("type-b", "mpo-12", "sm", 12),
        ("type-c", "mpo-12", "mm62.5", 12),
        ("type-b", "mpo-16", "mm50", 16),
        ("type-b", "mpo-24", "mm50", 24),
        ("type-b-full", "mpo-24", "sm", 24),
    ] {
        let lit = Lit::new(layout, fibre, &by_bits(fibres), far(cable, layout));
        let told = lit.run(&[]);
        assert_eq!((told.status, told.stderr.as_str()), (0, ""), "{cable} {layout}: {}", told.stdout);
        let said = format!("It is a {cable} cable: every light came out where it is due.");
        assert!(told.stdout.starts_with(&said), "{cable} {layout}: {}", told.stdout);
        assert!(told.stdout.contains("Never look into a fibre"), "{}", told.stdout);
    }
}

#[test]
fn one_wrong_and_one_dark_fibre_are_named() {
    let due = far("type-b", "mpo-12");
    let odd = |near| match near {
        4 => due(5),
        5 => due(4),
        9 => None,
        _ => due(near),
    };
    let lit = Lit::new("mpo-12", "mm50", &by_bits(12), odd);
    let told = lit.run(&["--cable", "type-b"]);
    assert_eq!(told.status, 1, "{}", told.stdout);
    for said in
        ["4: comes out at 8, due at 9.", "5: comes out at 9, due at 8.", "9: no light comes out (due at 4)"]
    {
        assert!(told.stdout.contains(said), "{said} is missing in\n{}", told.stdout);
    }
    let document: Value = lit.run(&["--cable", "type-b", "--json"]).stdout.parse().unwrap();
    assert_eq!((&document["agrees"], &document["cable"]), (&false.into(), &"type-b".into()));
    assert_holds(&document, "polarity");
    assert!(lit.folder.path().exists());
}

/// Two lights come out where a type B brings them; what the other ten do was not seen.
#[test]
fn a_type_is_told_only_as_far_as_it_was_tried() {
    let lit = Lit::new("mpo-12", "mm50", &[vec![1], vec![2]], far("type-b", "mpo-12"));
    let told = lit.run(&[]);
    assert_eq!(told.status, 0, "{}", told.stdout);
    for said in
        ["It looks like a type-b cable: the light in 1, 2 came out", "Dark at far 1-10 in every picture"]
    {
        assert!(told.stdout.contains(said), "{}", told.stdout);
    }
    let other = lit.run(&["--cable", "type-a"]);
    assert_eq!(other.status, 1, "{}", other.stdout);
    assert!(other.stdout.starts_with("It is no type-a cable"), "{}", other.stdout);
    assert!(!other.stdout.contains("due at"), "{}", other.stdout);
}

/// The key decides between two of the types: what was assumed of it is told, in the text and in the document.
#[test]
fn the_view_that_the_type_hangs_on_is_told() {
    let lit = Lit::new("mpo-12", "mm50", &by_bits(12), far("type-b", "mpo-12"));
    let told = |more: &[&str]| lit.run(more).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    for (more, cable, view, mend) in [
        (&[][..], "type-b", "far end, shown key up, as the pictures were taken.", "add --key down."),
        (
            &["--key", "down"],
            "type-a",
            "far end, shown key up; the pictures were taken key down.",
            "leave --key down out.",
        ),
    ] {
        let text = told(more);
        for said in
            [&format!("It is a {cable} cable")[..], view, "The key decides between type A and type B:", mend]
        {
            assert!(text.contains(said), "{said} is missing in\n{text}");
        }
    }
    let document: Value = lit.run(&["--key", "down", "--json"]).stdout.parse().unwrap();
    assert_eq!((&document["view"]["key"], &document["view"]["mirrored"]), (&"down".into(), &false.into()));
    assert_holds(&document, "polarity");
}

#[test]
fn a_dark_fibre_is_named_where_no_type_is_known() {
    let lit = Lit::new("mpo-12", "mm50", &[vec![1]], |_| None);
    let told = lit.run(&[]);
    assert_eq!(told.status, 3, "{}", told.stdout);
    assert!(told.stdout.contains("1: no light comes out: a broken or dirty fibre"), "{}", told.stdout);
    assert!(
        told.stdout.starts_with("No light came out at the far end: see that the source is on"),
        "{}",
        told.stdout
    );
}

/// Light that is there is not told as none, whatever its picture is named with.
#[test]
fn two_pictures_of_one_fibre_that_show_two_lights_contradict_each_other() {
    let mut lit = Lit::new("mpo-12", "mm50", &[vec![1], vec![2]], far("type-b", "mpo-12"));
    lit.words[1] = lit.words[1].replacen('2', "1", 1);
    let told = lit.run(&[]);
    let text = told.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(told.status, 3, "{text}");
    let said =
        "2 pictures are named for near 1 and show light at different positions (12 and 11): find out which";
    assert!(text.starts_with(said), "{text}");
    for wrong in ["o light comes out", "No light came out", "no near position that was named"] {
        assert!(!text.contains(wrong), "{text}");
    }
}

/// Who named one position is not told to light one at a time.
#[test]
fn more_light_than_was_named_is_asked_about() {
    let mut lit = Lit::new("mpo-12", "mm50", &[(1..=12).collect()], far("type-b", "mpo-12"));
    let (_, path) = lit.words[0].split_once('=').unwrap();
    lit.words[0] = format!("1={path}");
    let told = lit.run(&[]);
    let text = told.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(told.status, 3, "{text}");
    assert!(
        text.contains("0.png: 12 positions are lit in this picture, and one was named (near 1)"),
        "{text}"
    );
    assert!(
        text.starts_with("The light does not tell which type of cable it is: more positions are"),
        "{text}"
    );
    assert!(!text.contains("one at a time"), "{text}");
}

#[test]
fn one_picture_does_not_show_two_lights() {
    let mut lit = Lit::new("mpo-12", "mm50", &[vec![1]], far("type-a", "mpo-12"));
    let again = lit.words[0].replacen('1', "2", 1);
    lit.words.push(again);
    let refused = lit.run(&[]);
    assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{}", refused.stdout);
    assert!(refused.stderr.contains("is the same picture as 1="), "{}", refused.stderr);
}

#[test]
fn too_little_light_is_no_verdict() {
    let lit = Lit::new("mpo-12", "mm50", &[vec![1, 2]], far("type-a", "mpo-12"));
    let told = lit.run(&[]);
    assert_eq!(told.status, 3, "{}", told.stdout);
    assert!(told.stdout.contains("does not tell which type"), "{}", told.stdout);
}

#[test]
fn what_names_no_picture_is_refused_in_one_line() {
    for (word, said) in [
        ("one.png", "write 1=picture.png"),
        ("x=one.png", "write 1=picture.png"),
        ("13=one.png", "layout mpo-12 has no position 13"),
        ("1=gone.png", "there is no such file"),
    ] {
        let refused = run(&["polarity", word, "--layout", "mpo-12"]);
        assert_eq!((refused.status, refused.stderr.lines().count()), (2, 1), "{word}");
        assert!(refused.stderr.contains(said), "{}", refused.stderr);
    }
}

/// The committed schema (JSON Schema 2020-12) by the `jsonschema` package.
fn assert_holds(document: &Value, name: &str) {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../../profiles/schema/{name}.schema.json"));
    let schema: Value = std::fs::read_to_string(path).unwrap().parse().unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator.iter_errors(document).map(|e| e.to_string()).collect();
    assert_eq!(faults, Vec::<String>::new());
}

#[test]
fn a_chain_holds_to_its_schema() {
    let told = chain(&["cable:type-b"], &["--json", "--application", "40gbase-sr4"]);
    assert_holds(&told.stdout.parse().unwrap(), "chain");
}
