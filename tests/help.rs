//! Help, version, completions and man pages as users see them.

use crate::run::{program, run};

const COMMANDS: [&str; 13] = [
    "book",
    "handover",
    "grade",
    "compare",
    "mated",
    "chain",
    "polarity",
    "criteria",
    "demo",
    "study",
    "synth",
    "completions",
    "man",
];

fn printed(arguments: &[&str]) -> String {
    let run = run(arguments);
    assert_eq!((run.status, run.stderr.as_str()), (0, ""), "{arguments:?}");
    run.stdout
}

#[test]
fn the_help_of_grade_says_all_that_the_contract_has() {
    let help = printed(&["grade", "--help"]);
    for word in [
        "INPUT",
        "--layout",
        "--criteria",
        "--out <DIR>",
        "--key",
        "- up: ",
        "- down: ",
        "--mirrored",
        "--scale <UM_PER_PX>",
        "--cable",
        "--guard <RISK>",
        "--no-map",
        "--quiet",
        "--json",
        "mpo-8, mpo-12, mpo-16, mpo-24, mpo-32",
    ] {
        assert!(help.contains(word), "{word} is missing in:\n{help}");
    }
    assert!(
        help.contains("0 pass, 1 fail, 2 bad usage or bad input (nothing is written), 3 ungraded"),
        "{help}"
    );
}

#[test]
fn every_help_has_a_worked_example() {
    for command in COMMANDS {
        let help = printed(&[command, "--help"]);
        assert!(help.contains(&format!("  pitchline {command}")), "{help}");
        assert_eq!(help, printed(&["help", command]));
    }
    let help = printed(&["--help"]);
    COMMANDS.iter().for_each(|c| assert!(help.contains(&format!("\n  {c} ")), "{c}"));
}

/// Help is read in terminals of 80 columns; a line of an option may be longer, its terminal wraps it.
#[test]
fn examples_fit_into_96_columns() {
    for command in COMMANDS {
        let help = printed(&[command, "--help"]);
        let example = help.split("Example").nth(1).unwrap();
        assert!(example.lines().all(|l| l.chars().count() <= 96), "{example}");
    }
}

/// The worked examples are run: every option in them exists.
#[test]
fn the_examples_of_help_are_understood() {
    let help = printed(&["--help"]) + &COMMANDS.map(|c| printed(&[c, "--help"])).concat();
    let examples: Vec<&str> = help.lines().filter(|l| l.starts_with("  pitchline ")).collect();
    assert!(examples.len() >= 8, "{examples:?}");
    for example in examples {
        let line = example.split('>').next().unwrap();
        let mut arguments: Vec<&str> = line.split_whitespace().skip(1).collect();
        // Understood and then asked for help: nothing is done.
        arguments.push("--help");
        let status = program().args(&arguments).output().unwrap().status;
        assert!(status.success(), "{line}");
    }
}

#[test]
fn the_version_is_that_of_the_package() {
    assert_eq!(printed(&["--version"]), format!("pitchline {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn completions_know_commands_and_options() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = printed(&["completions", shell]);
        for word in ["grade", "mirrored", "guard", "criteria", "study", "faces", "completions"] {
            assert!(script.contains(word), "{shell} lacks {word}");
        }
    }
}

#[test]
fn man_pages_are_pages() {
    for arguments in [vec!["man"], vec!["man", "grade"], vec!["man", "criteria"], vec!["man", "study"]] {
        let page = printed(&arguments);
        assert!(page.contains(".TH pitchline") && page.contains(".SH NAME"), "{arguments:?}");
    }
    assert!(printed(&["man", "grade"]).contains("mirrored"));
}
