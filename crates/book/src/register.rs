//! The records of a book sorted out: which faces there are, and what happened to them in the order of time.

use crate::chain::Link;
use crate::face::Face;
use crate::hash::Hash;
use crate::history::{Event, History};
use crate::moment::Moment;
use crate::record::{Cleaning, Inspection, Mating, Record, Role, Withdrawal};
use crate::store::{BookError, Recorded, Store, key};
use std::collections::{BTreeMap, BTreeSet};

/// A face that the book knows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Known {
    /// What it is called.
    pub face: Face,
    /// What it is for.
    pub role: Role,
}

/// What a record tells of the past.
#[derive(Clone, Debug, PartialEq)]
pub enum Past {
    /// A look.
    Look(Inspection),
    /// A mating.
    Met(Mating),
    /// A cleaning.
    Cleaned(Cleaning),
}

/// What was told of the past by mistake.
#[derive(Clone, Debug, PartialEq)]
pub struct Withdrawn {
    /// When it is said to have happened.
    pub when: Moment,
    /// What was told.
    pub past: Past,
    /// How it was withdrawn.
    pub by: Withdrawal,
}

impl Past {
    /// What a record tells, and when that was; none of one that tells of no event.
    pub(crate) fn of(record: Record) -> Option<(Moment, Past)> {
        match record {
            Record::Inspection(look) => Some((look.when.clone(), Past::Look(look))),
            Record::Mating(mating) => Some((mating.when.clone(), Past::Met(mating))),
            Record::Cleaning(cleaning) => Some((cleaning.when.clone(), Past::Cleaned(cleaning))),
            Record::Book { .. } | Record::Connector { .. } | Record::Merge { .. } | Record::Withdrawal(_) => {
                None
            }
        }
    }

    /// The faces that it happened to.
    pub fn faces(&self) -> Vec<&Face> {
        match self {
            Past::Look(look) => vec![&look.face],
            Past::Met(mating) => vec![&mating.a, &mating.b],
            Past::Cleaned(cleaning) => vec![&cleaning.face],
        }
    }

    /// By whom it was done, if that was told.
    pub fn who(&self) -> Option<&str> {
        match self {
            Past::Look(look) => look.who.as_deref(),
            Past::Met(mating) => mating.who.as_deref(),
            Past::Cleaned(cleaning) => cleaning.who.as_deref(),
        }
    }
}

/// A book, read whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Register {
    /// What the book is called.
    pub name: String,
    /// Every face in the order in which it was made known; the last word on its role counts.
    pub faces: Vec<Known>,
    /// What happened, oldest first: by the time that was told, then by place in the chain.
    pub past: Vec<(Moment, Link, Past)>,
    /// What was told and withdrawn, oldest first likewise; it counts for nothing.
    pub withdrawn: Vec<Withdrawn>,
}

impl Register {
    /// Reads a book.
    ///
    /// # Errors
    /// [`BookError`], of the first record that cannot be read.
    pub fn read(store: &Store) -> Result<Register, BookError> {
        let name = store.name()?;
        let mut register = Register { name, faces: vec![], past: vec![], withdrawn: vec![] };
        let mut numbers: BTreeMap<Face, usize> = BTreeMap::new();
        // What two merged books both tell happened once; of the roles that a face was given the last counts.
        let mut told = BTreeSet::new();
        for Recorded { link, record, withdrawn } in store.records()? {
            if let Some(by) = withdrawn {
                let past = Past::of(record);
                register.withdrawn.extend(past.map(|(when, past)| Withdrawn { when, past, by }));
                continue;
            }
            if !told.insert(key(&record)?) && !matches!(record, Record::Connector { .. }) {
                continue;
            }
            match record {
                Record::Connector { face, role } => {
                    let number = *numbers.entry(face.clone()).or_insert(register.faces.len());
                    match register.faces.get_mut(number) {
                        Some(known) => known.role = role,
                        None => register.faces.push(Known { face, role }),
                    }
                }
                other => register.past.extend(Past::of(other).map(|(when, past)| (when, link, past))),
            }
        }
        register.know_all();
        register.settle_times();
        // Stable, so that what was told of one second stays in the order of the chain.
        register.past.sort_by(|a, b| a.0.cmp(&b.0));
        register.withdrawn.sort_by(|a, b| a.when.cmp(&b.when));
        Ok(register)
    }

    /// A face that something happened to belongs to the job, even where a merged book had withdrawn that it was known.
    fn know_all(&mut self) {
        let mut known: BTreeSet<Face> = self.faces.iter().map(|known| known.face.clone()).collect();
        for face in self.past.iter().flat_map(|(_, _, past)| past.faces()) {
            if known.insert(face.clone()) {
                self.faces.push(Known { face: face.clone(), role: Role::Connector });
            }
        }
    }

    /// Pictures that were graded again, by other criteria or another view, are no new look at the face: they show it as it
    /// was when they were first told of.
    fn settle_times(&mut self) {
        let mut first: BTreeMap<(Face, Vec<Hash>), Moment> = BTreeMap::new();
        for (when, _, past) in &self.past {
            if let Past::Look(look) = past {
                first.entry((look.face.clone(), look.shown())).or_insert_with(|| when.clone());
            }
        }
        for (when, _, past) in &mut self.past {
            if let Past::Look(look) = past
                && let Some(at) = first.get(&(look.face.clone(), look.shown()))
            {
                (*when, look.when) = (at.clone(), at.clone());
            }
        }
    }

    /// What happened, as the trace needs it; the events' places are those of `past`.
    pub fn history(&self) -> History {
        let event = |past: &Past| match past {
            Past::Look(look) => {
                Event::Inspected { face: look.face.to_string(), verdict: look.verdict.into() }
            }
            Past::Met(mating) => Event::Mated { a: mating.a.to_string(), b: mating.b.to_string() },
            Past::Cleaned(cleaning) => Event::Cleaned { face: cleaning.face.to_string() },
        };
        History::new(self.past.iter().map(|(_, _, past)| event(past)).collect())
    }

    /// Every look at a face, oldest first.
    pub fn looks<'r>(&'r self, face: &'r Face) -> impl DoubleEndedIterator<Item = &'r Inspection> {
        self.past.iter().filter_map(move |(_, _, past)| match past {
            Past::Look(look) if look.face == *face => Some(look),
            _ => None,
        })
    }

    /// Whether the book knows a face of that name.
    pub fn knows(&self, face: &Face) -> bool {
        self.faces.iter().any(|known| known.face == *face)
    }
}
