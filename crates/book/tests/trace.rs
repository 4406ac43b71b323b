//! An invented history whose dirt is known: cord K spoils A, A spoils M, and nothing else is touched by it.

use book::{Debt, Event, Exposure, Finding, History, owed, trace};
use grade::Verdict::{self, Fail, Pass, Ungraded};

fn look(face: &str, verdict: Verdict) -> Event {
    Event::Inspected { face: face.into(), verdict }
}

fn mate(a: &str, b: &str) -> Event {
    Event::Mated { a: a.into(), b: b.into() }
}

/// K passes at 4, is mated with A at 6, B at 8 and fails at 11.
fn history() -> History {
    History::new(vec![
        look("A", Pass),
        look("B", Fail),
        look("Z", Pass),
        mate("K", "Z"),
        look("K", Pass),
        mate("M", "A"),
        mate("K", "A"),
        Event::Cleaned { face: "A".into() },
        mate("B", "K"),
        mate("A", "N"),
        look("A", Fail),
        look("K", Fail),
        look("N", Ungraded),
        look("B", Pass),
        mate("B", "P"),
        mate("K", "Q"),
        look("K", Pass),
        mate("K", "R"),
    ])
}

fn told(exposure: &Exposure) -> (&str, &str, usize, u32) {
    (&exposure.face, &exposure.by, exposure.at, exposure.generation)
}

#[test]
fn a_trace_lists_exactly_the_exposed_through_two_generations() {
    let traced = trace(&history(), "K").unwrap();
    assert_eq!((traced.passed_at, traced.failed_at), (Some(4), 11));
    let all: Vec<_> = traced.exposures.iter().map(told).collect();
    assert_eq!(all, [("A", "K", 6, 1), ("B", "K", 8, 1), ("N", "A", 9, 2), ("Q", "K", 15, 1)]);
}

#[test]
fn exposures_are_ranked_by_what_was_found_before_and_after() {
    let traced = trace(&history(), "K").unwrap();
    let ranked: Vec<_> = traced.ranked().into_iter().map(|e| (e.face.as_str(), e.finding())).collect();
    let wanted = [
        ("A", Finding::Spoilt),
        ("Q", Finding::NotLookedAt),
        ("N", Finding::Ungraded),
        ("B", Finding::Passes),
    ];
    assert_eq!(ranked, wanted);
}

#[test]
fn a_face_that_passed_can_be_exposed_again() {
    let events = vec![
        look("K", Pass),
        mate("K", "A"),
        look("A", Pass),
        mate("K", "A"),
        look("A", Fail),
        look("K", Fail),
    ];
    let traced = trace(&History::new(events), "K").unwrap();
    assert_eq!(traced.exposures.iter().map(|e| e.at).collect::<Vec<_>>(), [1, 3]);
    assert_eq!(
        traced.exposures.iter().map(Exposure::finding).collect::<Vec<_>>(),
        [Finding::Passes, Finding::Spoilt]
    );
}

#[test]
fn a_face_that_never_failed_has_no_trace() {
    assert_eq!(trace(&history(), "Z"), None);
    assert_eq!(trace(&history(), "not there"), None);
}

#[test]
fn every_reason_to_look_again_is_named() {
    let names = |list: &[&str]| list.iter().map(|n| (*n).to_owned()).collect::<Vec<_>>();
    let found = owed(&history(), &names(&["A", "B", "N", "Q", "Z", "K"]), &names(&["K"]));
    let found: Vec<_> = found.into_iter().map(|o| (o.face, o.debts)).collect();
    let wanted = [
        ("A".to_owned(), vec![Debt::Failing]),
        ("B".to_owned(), vec![Debt::MatedSince(names(&["P"]))]),
        ("N".to_owned(), vec![Debt::Ungraded]),
        (
            "Q".to_owned(),
            vec![Debt::NeverInspected, Debt::Exposed { sources: names(&["K"]), by: "K".into(), at: 15 }],
        ),
        ("Z".to_owned(), vec![Debt::MatedSince(names(&["K"]))]),
        ("K".to_owned(), vec![Debt::MatedSince(names(&["R"]))]),
    ];
    assert_eq!(found, wanted);
}

/// A further failure takes nothing back of what the one before exposed.
#[test]
fn what_an_earlier_failure_exposed_is_owed_still() {
    let mut events = vec![look("K", Pass), look("A", Pass), mate("A", "K"), look("A", Fail), look("A", Pass)];
    for _ in 0..2 {
        let history = History::new(events.clone());
        let owed = owed(&history, &["K".to_owned()], &["A".to_owned(), "K".to_owned()]);
        let exposed = Debt::Exposed { sources: vec!["A".to_owned()], by: "A".to_owned(), at: 2 };
        assert!(owed.iter().any(|owed| owed.debts.contains(&exposed)), "{owed:?}");
        events.extend([look("A", Fail), look("A", Pass)]);
    }
    events.push(look("K", Pass));
    assert!(owed(&History::new(events), &["K".to_owned()], &["A".to_owned()]).is_empty());
}

#[test]
fn nothing_is_owed_once_all_passed_last() {
    let events = vec![mate("A", "K"), look("K", Fail), look("A", Pass), look("K", Pass)];
    assert_eq!(owed(&History::new(events), &["A".into(), "K".into()], &["K".into()]), []);
}
