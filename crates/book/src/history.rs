//! What happened to the faces of a job, in the order in which it happened. Times and hands are told elsewhere.

use grade::Verdict;

/// One thing that happened. A face is called by its identifier, as it was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// A face was looked at.
    Inspected {
        /// The face.
        face: String,
        /// What it was found to be.
        verdict: Verdict,
    },
    /// Two faces touched.
    Mated {
        /// One of them.
        a: String,
        /// The other.
        b: String,
    },
    /// A face was cleaned. That alone clears nobody: only a look that passes does.
    Cleaned {
        /// The face.
        face: String,
    },
}

/// Events, oldest first; an event's index is its place in time.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct History(Vec<Event>);

impl History {
    /// A history of events that are in order of time already.
    pub fn new(events: Vec<Event>) -> Self {
        Self(events)
    }

    /// Every event with its place in time, from a place on.
    pub fn since(&self, start: usize) -> impl Iterator<Item = (usize, &Event)> {
        self.0.iter().enumerate().skip(start)
    }

    /// Every look at a face with its place in time, oldest first.
    pub fn looks<'a>(&'a self, wanted: &'a str) -> impl DoubleEndedIterator<Item = (usize, Verdict)> + 'a {
        self.0.iter().enumerate().filter_map(move |(at, event)| match event {
            Event::Inspected { face, verdict } if face == wanted => Some((at, *verdict)),
            _ => None,
        })
    }

    /// The last look at a face before a place in time.
    pub fn before(&self, face: &str, place: usize) -> Option<Verdict> {
        self.looks(face).rfind(|(at, _)| *at < place).map(|(_, verdict)| verdict)
    }

    /// The first look at a face after a place in time.
    pub fn after(&self, face: &str, place: usize) -> Option<Verdict> {
        self.looks(face).find(|(at, _)| *at > place).map(|(_, verdict)| verdict)
    }
}
