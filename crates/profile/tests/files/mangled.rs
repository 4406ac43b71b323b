//! Mangled files are refused with a fault, or read; nothing a file can hold makes the program stop.

use crate::random::Random;
use profile::{criteria_ids, criteria_text, parse_cable, parse_criteria, parse_layout};

/// What a file may be mangled with: the signs of TOML, and values that belong nowhere.
const SCRAPS: [&str; 12] =
    ["[", "]", "{", "}", "\"", "=", "\n", ".", "-9", "nan", "1e999", "99999999999999999999"];

fn check(text: &str) {
    let lines = text.matches('\n').count() + 1;
    let results = [
        parse_criteria("file", text).err(),
        parse_layout("file", text).err(),
        parse_cable("file", text).err(),
    ];
    for error in results.into_iter().flatten() {
        assert!(!error.faults().is_empty(), "refused without a fault:\n{text}");
        assert!(error.faults().iter().all(|fault| (1..=lines).contains(&fault.line)), "{error}");
        assert!(!error.one_line().contains('\n'), "{error}");
    }
}

#[test]
fn cut_files_are_refused_with_a_fault() {
    let text = criteria_text("iec-61300-3-35-ed1-mm").unwrap();
    (0..text.len()).for_each(|end| check(&text[..end]));
}

#[test]
fn files_with_scraps_in_them_are_refused_with_a_fault_or_read() {
    for seed in 0..600 {
        let mut random = Random(seed);
        let mut text = criteria_text(criteria_ids()[random.below(8)]).unwrap().to_owned();
        for _ in 0..1 + random.below(3) {
            let from = random.below(text.len());
            let to = (from + random.below(6)).min(text.len());
            text.replace_range(from..to, SCRAPS[random.below(SCRAPS.len())]);
        }
        check(&text);
    }
}

#[test]
fn deep_nesting_is_refused() {
    check(&format!("id = {}", "[".repeat(200_000)));
    check(&format!("{} = 1", vec!["a"; 50_000].join(".")));
}
