//! README.md shows real runs: every `console` block is run again and its output compared to the letter. After a
//! change of what is printed, `README=write cargo test -p cli readme` writes the outputs anew; read the
//! difference before committing it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../README.md")
}

/// A piece of the page: plain text, or what stands between the fences of a `console` block.
enum Piece {
    Plain(String),
    Console(String),
}

fn pieces(text: &str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("```console\n") {
        let (block, left) = after.split_once("```\n").unwrap();
        pieces.push(Piece::Plain(before.to_owned()));
        pieces.push(Piece::Console(block.to_owned()));
        rest = left;
    }
    pieces.push(Piece::Plain(rest.to_owned()));
    pieces
}

/// The commands of a block, each followed by what it prints when run in `folder`.
fn run_again(block: &str, folder: &Path) -> String {
    let mut shown = String::new();
    for line in block.lines().filter_map(|l| l.strip_prefix("$ ")) {
        let program = env!("CARGO_BIN_EXE_pitchline");
        let command = line.replace("cargo run --release --", program);
        let output = Command::new("sh").args(["-c", &command]).current_dir(folder).output().unwrap();
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{line}");
        assert_ne!(output.status.code(), Some(2), "{line}");
        shown.push_str(&format!("$ {line}\n{}", String::from_utf8_lossy(&output.stdout)));
    }
    shown
}

#[test]
fn the_runs_of_the_readme_print_what_it_shows() {
    let text = fs::read_to_string(path()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut again = String::new();
    let mut blocks = 0;
    for piece in pieces(&text) {
        match piece {
            Piece::Plain(text) => again.push_str(&text),
            Piece::Console(block) => {
                blocks += 1;
                again.push_str(&format!("```console\n{}```\n", run_again(&block, folder.path())));
            }
        }
    }
    assert_ne!(blocks, 0);
    if std::env::var_os("README").is_some_and(|v| v == "write") {
        fs::write(path(), &again).unwrap();
    }
    assert!(again == text, "README.md shows other output than the program prints:\n{again}");
}

/// Every option that the page names is one of the program's.
#[test]
fn the_readme_names_no_option_that_is_not_there() {
    let text = fs::read_to_string(path()).unwrap();
    let help =
        ["grade", "compare", "mated", "criteria", "demo", "study", "handover", "synth", "completions", "man"]
            .map(|command| crate::run::run(&[command, "--help"]).stdout)
            .concat()
            + &[
                "new", "expect", "add", "mate", "clean", "watch", "list", "trace", "owed", "verify", "seal",
                "withdraw", "merge",
            ]
            .map(|command| crate::run::run(&["book", command, "--help"]).stdout)
            .concat();
    let words = text.split(|c: char| !(c.is_ascii_alphanumeric() || c == '-'));
    let options: Vec<&str> =
        words.filter(|w| w.starts_with("--") && w.contains(char::is_alphabetic)).collect();
    assert!(options.contains(&"--out") && options.contains(&"--mirrored"));
    for option in options.into_iter().filter(|o| *o != "--release") {
        assert!(help.contains(option), "{option}");
    }
}
