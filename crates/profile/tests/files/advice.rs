//! The built-in advice against the order that public tutorials agree on (the inspect-and-clean flow of IEC
//! 61300-3-35 as they restate it: dry, look, wet and dry, look, replace; damage is not cleaned), and bad advice files.

use crate::refused::refused;
use grade::advice::{Cleaned, Counsel, Course, Found, History, Matter, Spot};
use profile::parse_advice;
use terms::{Kind, Um};

const ALL: [Kind; 5] = [Kind::Scratch, Kind::Particle, Kind::Pit, Kind::Film, Kind::Chip];
const HISTORIES: [History; 6] =
    [History::First, History::Dry, History::Wet, History::Stayed, History::New, History::Tried];

fn counsel() -> Counsel {
    profile::counsel().unwrap()
}

fn said(kind: Kind, size: f64, history: History) -> String {
    let found = Found {
        position: Some(1),
        id: 1,
        matter: Matter::Mark(kind),
        size: Um(size),
        spot: Spot::Core,
        history,
    };
    let counsel = counsel();
    let advised = counsel.advise(&[found], |_, marks| !marks.is_empty());
    assert_eq!(advised.len(), 1, "{kind:?} {history:?}");
    advised[0].rule.say.clone()
}

#[test]
fn every_mark_after_every_history_has_advice() {
    for kind in ALL {
        for history in HISTORIES {
            for size in [1.0, 50.0] {
                assert!(said(kind, size, history).contains("{at}"), "{kind:?} {history:?}");
            }
        }
    }
    for spot in [Spot::Ferrule, Spot::Guide] {
        let dirt = Found {
            position: None,
            id: 0,
            matter: Matter::Dirt,
            size: Um(20.0),
            spot,
            history: History::First,
        };
        let counsel = counsel();
        let text = counsel.advise(&[dirt], |_, _| false)[0].rule.say.clone();
        assert_eq!(text.contains("guide hole"), spot == Spot::Guide, "{text}");
    }
}

#[test]
fn the_order_is_dry_then_wet_then_stop() {
    let counsel = counsel();
    let after = |cleaned: &[Cleaned]| said(Kind::Particle, 6.0, counsel.of_what_stayed(cleaned));
    assert!(said(Kind::Particle, 6.0, History::First).contains("dry"));
    assert!(after(&[Cleaned::Dry]).contains("wet and then dry"));
    assert!(after(&[Cleaned::Dry, Cleaned::Wet]).starts_with("Stop"));
    assert!(said(Kind::Particle, 6.0, counsel.after(&[Cleaned::Wet; 3])).starts_with("Stop"));
    assert!(said(Kind::Film, 60.0, History::First).contains("wet"));
    for kind in [Kind::Scratch, Kind::Pit, Kind::Chip] {
        let text = said(kind, 6.0, History::First);
        assert!(text.contains("clean it first, look again") && !text.contains("replace"), "{text}");
        for history in [History::Dry, History::Wet, History::Stayed, History::Tried] {
            let text = said(kind, 6.0, history);
            assert!(text.contains("polish again or replace") && !text.contains("lean it"), "{text}");
        }
    }
    assert!(said(Kind::Scratch, 2.0, History::New).contains("grit"));
}

#[test]
fn wet_advice_comes_with_a_caution_about_the_solvent() {
    let counsel = counsel();
    for remedy in counsel.rules.iter().filter(|r| r.say.contains("wet") && !r.say.starts_with("Stop")) {
        let cautions: Vec<&str> = counsel.cautions_of(remedy).collect();
        let later = remedy.history == [History::First];
        assert!(later || cautions.iter().any(|c| c.contains("Solvents burn")), "{}", remedy.say);
    }
}

const OURS: &str = r#"id = "ours"
title = "Our own"
tries = 2
defers = "The foreman decides."
source = "us"
[sources.us]
faith = "house"
text = "House rule 9"
[[rules]]
kinds = ["particle"]
say = "Wipe {at}."
source = "us"
"#;

#[test]
fn what_says_replace_leads_there_and_what_says_clean_does_not() {
    for remedy in counsel().rules {
        assert_eq!(remedy.say.contains("replace"), remedy.course == Course::Replace, "{}", remedy.say);
        assert!(
            remedy.course != Course::Replace || !remedy.history.contains(&History::First),
            "{}",
            remedy.say
        );
    }
}

#[test]
fn bad_advice_says_what_to_mend() {
    refused(
        OURS,
        parse_advice,
        &[
            (
                "say = \"Wipe {at}.\"",
                "course = \"polish\"\nsay = \"Wipe {at}.\"",
                &["line 11: `course` is \"polish\"; the words here are clean, doubt, replace, warn"],
            ),
            (
                "[\"particle\"]",
                "[\"dust\"]",
                &[
                    "line 10: `kinds` holds \"dust\"; the words here are scratch, particle, pit, film, chip, dirt",
                ],
            ),
            (
                "tries = 2",
                "tries = 0",
                &["line 3: `tries` is 0; write a whole number from 1 to 100, such as 3"],
            ),
            (
                "say = \"Wipe {at}.\"",
                "tell = \"Wipe {at}.\"",
                &[
                    "line 9: `say` is missing in [[rules]]; add `say = \"Clean {at} ({what}).\"`",
                    "line 11: unknown key `tell` in [[rules]]; the keys here are kinds, places, history, mind, over, \
                     course, say, source",
                ],
            ),
        ],
    );
}
