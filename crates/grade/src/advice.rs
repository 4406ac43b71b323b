//! What to do about what was found: rules as data, chosen by what a mark is, how large, where it lies and what was
//! done to it before. The first rule that fits a mark speaks for it; warnings and doubts are said besides. The sentences
//! are the data's.

use crate::criteria::Source;
use std::collections::BTreeSet;
use terms::{Kind, Um};

/// What was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Matter {
    /// A mark on a fibre.
    Mark(Kind),
    /// A mark on the ferrule.
    Dirt,
}

/// Where it lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// In the innermost zone.
    Core,
    /// On the fibre outside it.
    Fibre,
    /// On the ferrule.
    Ferrule,
    /// At a guide hole or pin.
    Guide,
}

/// What was done before.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum History {
    /// Not cleaned yet.
    #[default]
    First,
    /// Cleaned dry only.
    Dry,
    /// Cleaned wet only.
    Wet,
    /// Cleaned dry and wet.
    Both,
    /// It lay in the same place before and after a wet clean.
    Stayed,
    /// It was not there before.
    New,
    /// Cleaned wet as often as is sensible.
    Tried,
}

/// One way of cleaning that was tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cleaned {
    /// Dry.
    Dry,
    /// With solvent, then dry.
    Wet,
}

/// Where a piece of advice leads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Course {
    /// Cleaning takes it away.
    #[default]
    Clean,
    /// It looks as if cleaning could not take it away, and one picture cannot tell. Said only where such marks alone,
    /// with those that are known to stay, break a limit; they are cleaned like the others all the same.
    Doubt,
    /// Cleaning is at its end. Said only where such marks alone break a limit, and then nothing else is said of the
    /// position but warnings.
    Replace,
    /// A warning, said besides whatever else is.
    Warn,
}

/// One piece of advice. An empty list means any.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    /// What it is for.
    pub matters: Vec<Matter>,
    /// For marks larger than this.
    pub over: Um,
    /// Where.
    pub spots: Vec<Spot>,
    /// After what.
    pub history: Vec<History>,
    /// Where it leads.
    pub course: Course,
    /// The sentence; `{at}` stands for the positions, `{what}` for what was found.
    pub say: String,
    /// Topics of the cautions that go with it.
    pub mind: Vec<String>,
    /// Where it comes from.
    pub source: Source,
}

impl Remedy {
    fn fits(&self, found: &Found) -> bool {
        self.matters.contains(&found.matter)
            && (found.size > self.over || self.over == Um(0.0))
            && (self.spots.is_empty() || self.spots.contains(&found.spot))
            && (self.history.is_empty() || self.history.contains(&found.history))
    }
}

/// The rules in the order in which they are tried, and what goes with them.
#[derive(Clone, Debug, PartialEq)]
pub struct Counsel {
    /// Wet cleanings after which to stop.
    pub tries: usize,
    /// Whose word comes before this advice, as a sentence.
    pub defers: String,
    /// The rules.
    pub rules: Vec<Remedy>,
    /// Cautions by topic.
    pub cautions: Vec<(String, String)>,
}

/// A mark that something must be done about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    /// Its position; none on the ferrule.
    pub position: Option<u16>,
    /// Its number on the face; 0 on the ferrule.
    pub id: u32,
    /// What it is.
    pub matter: Matter,
    /// How large.
    pub size: Um,
    /// Where it lies.
    pub spot: Spot,
    /// What was done before.
    pub history: History,
    /// Whether it is within the limits: only warnings speak of it then.
    pub within: bool,
}

/// A rule with what it speaks for.
#[derive(Clone, Debug, PartialEq)]
pub struct Advised<'a> {
    /// The rule.
    pub rule: &'a Remedy,
    /// Each mark, in the order in which they were given.
    pub found: Vec<Found>,
}

impl Counsel {
    /// The rules that speak, in their own order, each with what it speaks for; rules of the same words speak as one, in
    /// the place of the first. `break_alone` says whether the marks of these numbers would break a limit of their
    /// position if they were all that lay there.
    pub fn advise(&self, found: &[Found], break_alone: impl Fn(u16, &[u32]) -> bool) -> Vec<Advised<'_>> {
        let mut advised: Vec<Advised> =
            self.rules.iter().map(|rule| Advised { rule, found: Vec::new() }).collect();
        for mark in found {
            self.assign(mark, &mut advised);
        }
        let positions: BTreeSet<u16> = found.iter().filter_map(|mark| mark.position).collect();
        for position in positions {
            let silent = silent(&advised, position, &break_alone);
            for advised in advised.iter_mut().filter(|a| silent.contains(&a.rule.course)) {
                advised.found.retain(|mark| mark.position != Some(position));
            }
        }
        advised.retain(|a| !a.found.is_empty());
        advised
    }

    /// Gives a mark to the rules that speak for it: behind a warning the next one that fits does as well, behind a doubt
    /// the next that cleans.
    fn assign(&self, mark: &Found, advised: &mut [Advised]) {
        let mut doubted = false;
        for rule in self.rules.iter().filter(|rule| rule.fits(mark)) {
            if (doubted && rule.course != Course::Clean) || (mark.within && rule.course != Course::Warn) {
                continue;
            }
            if let Some(first) = advised.iter_mut().find(|a| a.rule.say == rule.say) {
                first.found.push(*mark);
            }
            match rule.course {
                Course::Warn => {}
                Course::Doubt => doubted = true,
                Course::Clean | Course::Replace => return,
            }
        }
    }

    /// The cautions that go with a rule, in its order.
    pub fn cautions_of<'a>(&'a self, rule: &'a Remedy) -> impl Iterator<Item = &'a str> {
        rule.mind.iter().flat_map(move |topic| self.cautions_about(topic))
    }

    /// The cautions about a topic.
    pub fn cautions_about<'a>(&'a self, topic: &'a str) -> impl Iterator<Item = &'a str> {
        self.cautions.iter().filter(move |(of, _)| of == topic).map(|(_, say)| say.as_str())
    }

    /// Every caution, and whose word comes first.
    pub fn to_mind(&self) -> Vec<String> {
        self.cautions.iter().map(|(_, say)| say).chain([&self.defers]).cloned().collect()
    }

    /// What cleanings come to for a mark that was not looked at between them.
    pub fn after(&self, cleaned: &[Cleaned]) -> History {
        let wet = cleaned.iter().filter(|c| **c == Cleaned::Wet).count();
        match (cleaned.len() - wet, wet) {
            (0, 0) => History::First,
            (_, 0) => History::Dry,
            (_, n) if n >= self.tries => History::Tried,
            (0, _) => History::Wet,
            _ => History::Both,
        }
    }

    /// The history of a mark that lies where it lay before these cleanings; without a word about them, one dry clean
    /// is taken for granted.
    pub fn of_what_stayed(&self, cleaned: &[Cleaned]) -> History {
        if cleaned.contains(&Cleaned::Wet) { History::Stayed } else { History::Dry }
    }
}

/// The courses that are not to be spoken of at a position: what cannot be cleaned away is named only where it would
/// break a limit with everything else cleaned away, and what is to be replaced is not to be cleaned.
fn silent(
    advised: &[Advised],
    position: u16,
    break_alone: impl Fn(u16, &[u32]) -> bool,
) -> &'static [Course] {
    let broken_by = |courses: &[Course]| {
        let speaking = advised.iter().filter(|a| courses.contains(&a.rule.course));
        let marks = speaking.flat_map(|a| &a.found).filter(|mark| mark.position == Some(position));
        break_alone(position, &marks.map(|mark| mark.id).collect::<Vec<_>>())
    };
    if broken_by(&[Course::Replace]) {
        &[Course::Doubt, Course::Clean]
    } else if broken_by(&[Course::Replace, Course::Doubt]) {
        &[Course::Replace]
    } else {
        &[Course::Replace, Course::Doubt]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::criteria::Faith;

    fn rule(matters: &[Matter], over: f64, history: &[History], say: &str) -> Remedy {
        let source = Source { faith: Faith::House, text: String::new() };
        let (matters, history) = (matters.to_vec(), history.to_vec());
        let mind = vec!["solvent".to_owned()];
        let course = Course::default();
        Remedy { matters, over: Um(over), spots: vec![], history, course, say: say.to_owned(), mind, source }
    }

    fn counsel() -> Counsel {
        const SPECK: Matter = Matter::Mark(Kind::Particle);
        Counsel {
            tries: 2,
            defers: String::new(),
            rules: vec![
                rule(&[Matter::Mark(Kind::Pit)], 0.0, &[], "leave"),
                rule(&[SPECK], 0.0, &[History::Stayed, History::Tried], "stop"),
                rule(&[SPECK], 20.0, &[History::First], "lift"),
                rule(&[SPECK, Matter::Dirt], 0.0, &[], "clean"),
            ],
            cautions: vec![("solvent".to_owned(), "It burns.".to_owned())],
        }
    }

    fn speck(position: u16, size: f64, history: History) -> Found {
        let matter = Matter::Mark(Kind::Particle);
        let position = Some(position);
        Found { position, id: 1, matter, size: Um(size), spot: Spot::Fibre, history, within: false }
    }

    #[test]
    fn the_first_rule_that_fits_speaks_for_a_mark() {
        let counsel = counsel();
        let found = [
            speck(1, 5.0, History::First),
            speck(2, 21.0, History::First),
            speck(3, 20.0, History::First),
            speck(4, 30.0, History::Stayed),
            Found { position: None, matter: Matter::Dirt, ..speck(0, 9.0, History::First) },
            Found { matter: Matter::Mark(Kind::Film), ..speck(6, 9.0, History::First) },
        ];
        let said: Vec<(&str, Vec<Option<u16>>)> = counsel
            .advise(&found, |_, marks| !marks.is_empty())
            .iter()
            .map(|a| (a.rule.say.as_str(), a.found.iter().map(|f| f.position).collect()))
            .collect();
        let expected =
            vec![("stop", vec![Some(4)]), ("lift", vec![Some(2)]), ("clean", vec![Some(1), Some(3), None])];
        assert_eq!(said, expected, "and a film, for which there is no rule, gives none");
        assert_eq!(counsel.cautions_of(&counsel.rules[0]).collect::<Vec<_>>(), ["It burns."]);
    }

    /// Two kinds of lasting marks, one of them known to stay, and what can be cleaned, with at most one mark allowed.
    #[test]
    fn what_cannot_be_cleaned_is_named_only_where_it_breaks_a_limit_alone() {
        const PIT: Matter = Matter::Mark(Kind::Pit);
        const FILM: Matter = Matter::Mark(Kind::Film);
        let with = |course, rule| Remedy { course, ..rule };
        let rules = vec![
            with(Course::Warn, rule(&[Matter::Mark(Kind::Scratch)], 0.0, &[History::New], "warn")),
            with(Course::Doubt, rule(&[PIT], 0.0, &[History::First], "doubt")),
            with(Course::Replace, rule(&[PIT], 0.0, &[], "replace")),
            rule(&[FILM], 0.0, &[], "clean"),
        ];
        let counsel = Counsel { rules, ..counsel() };
        let mark = |id, matter, history| Found { id, matter, ..speck(1, 5.0, history) };
        let doubt = |id| mark(id, PIT, History::First);
        let stays = |id| mark(id, PIT, History::Wet);
        let film = |id| mark(id, FILM, History::First);
        let scratch = mark(9, Matter::Mark(Kind::Scratch), History::New);
        let cases: [(&[Found], &[&str]); 6] = [
            (&[stays(1), stays(2), doubt(3), film(4), scratch], &["warn", "replace"]),
            (&[stays(1), doubt(2), film(3), scratch], &["warn", "doubt", "clean"]),
            (&[doubt(1), doubt(2)], &["doubt"]),
            (&[stays(1), film(2)], &["clean"]),
            (&[doubt(1), film(2)], &["clean"]),
            (&[film(1), film(2)], &["clean"]),
        ];
        for (found, expected) in cases {
            let advised = counsel.advise(found, |_, marks| marks.len() > 1);
            let said: Vec<&str> = advised.iter().map(|a| a.rule.say.as_str()).collect();
            assert_eq!(said, expected, "{found:?}");
        }
    }

    /// A mark in doubt is cleaned like the others, by a sentence that is said once, and a warning hides nothing.
    #[test]
    fn warnings_and_doubts_are_said_besides() {
        const PIT: Matter = Matter::Mark(Kind::Pit);
        const SPECK: Matter = Matter::Mark(Kind::Particle);
        let with = |course, rule| Remedy { course, ..rule };
        let rules = vec![
            with(Course::Warn, rule(&[SPECK], 0.0, &[History::New], "warn")),
            with(Course::Doubt, rule(&[PIT], 0.0, &[], "doubt")),
            with(Course::Replace, rule(&[PIT], 0.0, &[], "replace")),
            rule(&[PIT], 0.0, &[], "wipe"),
            rule(&[SPECK], 5.0, &[], "lift"),
            rule(&[SPECK], 0.0, &[], "wipe"),
        ];
        let counsel = Counsel { rules, ..counsel() };
        let found = [
            Found { matter: PIT, ..speck(1, 5.0, History::First) },
            speck(1, 5.0, History::New),
            speck(2, 6.0, History::First),
            Found { within: true, ..speck(3, 6.0, History::New) },
            Found { within: true, ..speck(4, 6.0, History::First) },
        ];
        let advised = counsel.advise(&found, |_, marks| !marks.is_empty());
        let said: Vec<(&str, usize)> = advised.iter().map(|a| (a.rule.say.as_str(), a.found.len())).collect();
        assert_eq!(
            said,
            [("warn", 2), ("doubt", 1), ("wipe", 2), ("lift", 1)],
            "within the limits nothing is to be done"
        );
    }

    #[test]
    fn what_was_tried_makes_the_history() {
        use Cleaned::{Dry, Wet};
        let counsel = counsel();
        let cases: [(&[Cleaned], History, History); 6] = [
            (&[], History::First, History::Dry),
            (&[Dry, Dry], History::Dry, History::Dry),
            (&[Wet], History::Wet, History::Stayed),
            (&[Dry, Wet], History::Both, History::Stayed),
            (&[Wet, Wet], History::Tried, History::Stayed),
            (&[Wet, Dry, Wet, Wet], History::Tried, History::Stayed),
        ];
        for (cleaned, unseen, stayed) in cases {
            assert_eq!(
                (counsel.after(cleaned), counsel.of_what_stayed(cleaned)),
                (unseen, stayed),
                "{cleaned:?}"
            );
        }
    }
}
