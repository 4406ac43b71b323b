//! What is printed: text on stdout, in colour only on a terminal that wants it.

use crate::failure::{self, Failure};
use report::terminal::Style;
use std::io::{self, IsTerminal, Write};
use std::path::Path;

/// Prints to stdout. A reader that has gone away is no failure: it has what it wanted.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(harmless(text).as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(stdout_failure(&e)),
        _ => Ok(()),
    }
}

/// A text without the signs that command a terminal: names of files and documents of others may hold any. Colours stay.
pub fn harmless(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut signs = text.chars();
    while let Some(sign) = signs.next() {
        let kept = match sign {
            '\n' | '\t' => true,
            '\u{1b}' => begins_a_colour(signs.as_str()),
            _ => !sign.is_control(),
        };
        out.push(if kept { sign } else { char::REPLACEMENT_CHARACTER });
    }
    out
}

/// Whether what follows an escape sign only sets colour and weight (ECMA-48, select graphic rendition).
fn begins_a_colour(after: &str) -> bool {
    let digits = |sign: char| sign.is_ascii_digit() || sign == ';';
    after.strip_prefix('[').is_some_and(|rest| rest.trim_start_matches(digits).starts_with('m'))
}

/// Why stdout takes nothing.
pub fn stdout_failure(error: &io::Error) -> Failure {
    Failure::Print { why: format!("{}; send the output elsewhere", failure::words(error)) }
}

/// 80 columns; colour on a terminal unless NO_COLOR is set to anything or the terminal is a dumb one.
pub fn style() -> Style {
    let wanted = std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
    let able = std::env::var_os("TERM").is_some_and(|v| v != "dumb");
    Style { colour: wanted && able && io::stdout().is_terminal(), ..Style::default() }
}

/// Breaks text into lines of at most 80 columns, each indented by `indent`.
pub fn wrapped(text: &str, indent: usize) -> String {
    let mut out = String::new();
    let mut column = 0;
    for word in text.split_whitespace() {
        let width = word.chars().count();
        if column > 0 && column + 1 + width <= 80 {
            out.push(' ');
            column += 1 + width;
        } else {
            out.push_str(if column > 0 { "\n" } else { "" });
            out.push_str(&" ".repeat(indent));
            column = indent + width;
        }
        out.push_str(word);
    }
    out.push('\n');
    out
}

/// A path as a word of a command line, in quotes where a shell would cut or change it.
pub fn word(path: &Path) -> String {
    let text = path.display().to_string();
    let plain = |c: char| c.is_ascii_alphanumeric() || "/._-+:,@%".contains(c);
    if !text.is_empty() && text.chars().all(plain) {
        text
    } else {
        format!("'{}'", text.replace('\'', "'\\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_quoted_where_a_shell_would_cut_them() {
        assert_eq!(word(Path::new("demo/a-1.png")), "demo/a-1.png");
        assert_eq!(word(Path::new("my face")), "'my face'");
        assert_eq!(word(Path::new("it's")), "'it'\\''s'");
    }

    #[test]
    fn nothing_commands_a_terminal_but_colour() {
        assert_eq!(harmless("a\u{1b}[2Jb\r\u{7}\u{9b}1m"), "a\u{fffd}[2Jb\u{fffd}\u{fffd}\u{fffd}1m");
        let ours = "\u{1b}[1;31mFAIL\u{1b}[0m\n\tà";
        assert_eq!(harmless(ours), ours);
    }

    #[test]
    fn lines_are_indented_and_no_longer_than_80_columns() {
        let text = wrapped(&"word ".repeat(40), 6);
        assert!(text.lines().all(|l| l.starts_with("      word") && l.len() <= 80));
        assert_eq!(text.split_whitespace().count(), 40);
        assert_eq!(text.lines().count(), 3);
    }
}
