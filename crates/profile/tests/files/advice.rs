//! The built-in advice against the order that public tutorials agree on (the inspect-and-clean flow of IEC
//! 61300-3-35 as they restate it: dry, look, wet and dry, look, replace; damage is not cleaned), and bad advice files.

use crate::refused::refused;
use grade::advice::{Cleaned, Counsel, Course, Found, History, Matter, Spot};
use profile::parse_advice;
use terms::{Kind, Um};

const ALL: [Kind; 5] = [Kind::Scratch, Kind::Particle, Kind::Pit, Kind::Film, Kind::Chip];
const DAMAGE: [Kind; 3] = [Kind::Scratch, Kind::Pit, Kind::Chip];
const HISTORIES: [History; 7] = [
    History::First,
    History::Dry,
    History::Wet,
    History::Both,
    History::Stayed,
    History::New,
    History::Tried,
];

fn counsel() -> Counsel {
    profile::counsel().unwrap()
}

fn mark(id: u32, kind: Kind, size: f64, history: History) -> Found {
    let matter = Matter::Mark(kind);
    Found { position: Some(1), id, matter, size: Um(size), spot: Spot::Core, history, within: false }
}

/// All that is said of one mark, a sentence to a line.
fn said(kind: Kind, size: f64, history: History) -> String {
    let counsel = counsel();
    let advised = counsel.advise(&[mark(1, kind, size, history)], |_, marks| !marks.is_empty());
    advised.iter().map(|a| a.rule.say.as_str()).collect::<Vec<_>>().join("\n")
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
            within: false,
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
    assert!(after(&[Cleaned::Dry]).contains("wet and dry it at once"));
    assert!(after(&[Cleaned::Dry, Cleaned::Wet]).starts_with("Stop"));
    assert!(said(Kind::Particle, 6.0, counsel.after(&[Cleaned::Wet; 3])).starts_with("Stop"));
    assert!(said(Kind::Film, 60.0, History::First).contains("wet"));
    for kind in DAMAGE {
        let says = |history| said(kind, 6.0, history);
        let (first, dry, wet) = (says(History::First), says(History::Dry), says(History::Wet));
        assert!(first.contains("clean it first, look again") && first.contains("face dry"), "{first}");
        assert!(dry.contains("face wet and dry") && wet.contains("face wet and dry"), "{dry} {wet}");
        for history in [History::Both, History::Tried] {
            let text = says(history);
            assert!(text.contains("compare with a picture from before") && !text.contains("Clean"), "{text}");
        }
        for history in HISTORIES {
            let (text, known) = (says(history), history == History::Stayed);
            assert_eq!(text.contains("polish again or replace"), known, "one picture cannot tell: {text}");
            assert!(known || text.contains("ooks like damage") || text.starts_with("Stop"), "{text}");
        }
    }
    assert!(said(Kind::Scratch, 2.0, History::New).contains("grit"));
}

/// Prints and oil at the edge of a fibre look like scratches and chips: whatever else a fibre carries, what can be
/// cleaned is to be cleaned, and by the same sentence.
#[test]
fn dirt_is_cleaned_beside_what_looks_like_damage() {
    let counsel = counsel();
    for dirt in [Kind::Film, Kind::Particle] {
        for like in DAMAGE {
            for history in [History::First, History::Dry, History::Wet, History::Both] {
                let found = [mark(1, like, 12.0, history), mark(2, dirt, 12.0, history)];
                let advised = counsel.advise(&found, |_, marks| !marks.is_empty());
                let clean: Vec<_> = advised.iter().filter(|a| a.rule.course == Course::Clean).collect();
                let cleaned = |id| clean.iter().any(|a| a.found.iter().any(|f| f.id == id));
                assert!(cleaned(2), "{dirt:?} beside {like:?} {history:?}");
                assert_eq!(cleaned(1), history != History::Both, "{dirt:?} beside {like:?} {history:?}");
                let first = history == History::First;
                assert!(first || clean.len() == 1, "{dirt:?} beside {like:?} {history:?}");
            }
        }
    }
}

#[test]
fn whatever_is_advised_the_light_is_minded() {
    let counsel = counsel();
    assert!(counsel.defers.contains("Local codes, licensed practice and the cable owner's procedure"));
    for remedy in &counsel.rules {
        assert!(counsel.cautions_of(remedy).any(|c| c.contains("dark does not mean off")), "{}", remedy.say);
    }
}

#[test]
fn wet_advice_comes_with_a_caution_about_the_solvent() {
    let counsel = counsel();
    for remedy in counsel.rules.iter().filter(|r| r.say.contains("wet") && r.course == Course::Clean) {
        let cautions: Vec<&str> = counsel.cautions_of(remedy).collect();
        let later = remedy.say.ends_with("then wet and dry.");
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
