//! Whether the records of a book are as they were written: every link, every place, every document, and nothing that
//! its own chain does not know of. Pictures are held to their hashes by whoever can read them.

mod index;

use crate::chain::{Link, link};
use crate::hash::Hash;
use crate::record::{Inspection, Record};
use crate::store::{BookError, Entry, Store};
use index::Indexed;
use std::collections::{BTreeMap, BTreeSet};

/// What is wrong with a record.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Flaw {
    /// Its bytes, or what it follows, are not those that were written.
    #[error("it was changed, or the order before it: its link is not that of its bytes")]
    Changed,
    /// The record that it follows is gone.
    #[error("the record before it is missing")]
    Orphan,
    /// The records that it took over are gone.
    #[error("the records of the book that it merged are missing")]
    NotMerged,
    /// It is said to stand where it does not.
    #[error("its place was changed")]
    Place,
    /// Its bytes are no record.
    #[error("it cannot be read: {0}")]
    Unread(String),
    /// The book's own chain does not lead to it.
    #[error(
        "the book's own chain does not lead to it: it was put in from outside, or the chain was cut behind it"
    )]
    Stray,
    /// The tables of what is known leave it out.
    #[error("the book's index leaves it out, so that it could be entered twice: it was changed")]
    Unindexed,
    /// The tables of what is known take it for something else.
    #[error(
        "the book's index takes it for another record, which would then be taken for known: it was changed"
    )]
    Misindexed,
    /// The tables of what is known name a record that is not there.
    #[error("the book's index takes something for known by this record, which is not there: it was changed")]
    NoRecord,
    /// A document is gone.
    #[error("its document {0} is missing")]
    NoDocument(Hash),
    /// A document has other bytes.
    #[error("its document {0} was changed: its hash is not that of its bytes")]
    Document(Hash),
}

/// A flaw and where it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flawed {
    /// Place of the record in its chain, from 0.
    pub place: i64,
    /// Its link.
    pub link: Link,
    /// What is wrong.
    pub flaw: Flaw,
}

/// What was found in a book.
#[derive(Clone, Debug, PartialEq)]
pub struct Audit {
    /// How many records there are.
    pub records: usize,
    /// The last link of its own chain.
    pub head: Link,
    /// Every link that its own chain leads to, merged books included.
    pub reached: BTreeSet<Link>,
    /// The looks that can be read, in order, with the places of their records.
    pub looks: Vec<(i64, Link, Inspection)>,
    /// What is wrong, in order of place.
    pub flaws: Vec<Flawed>,
}

/// Walks a book.
///
/// # Errors
/// [`BookError`] where the file itself cannot be read.
pub fn audit(store: &Store) -> Result<Audit, BookError> {
    let (entries, head) = (store.entries()?, store.head()?);
    let places: BTreeMap<Link, i64> = entries.iter().map(|e| (e.link, e.place)).collect();
    let mut audit = Audit {
        records: entries.len(),
        head,
        reached: reached(&entries, head),
        looks: vec![],
        flaws: vec![],
    };
    let mut sound = BTreeMap::new();
    let index = Indexed::read(store, &entries)?;
    for entry in &entries {
        let mut flaws = chained(entry, &places);
        if !audit.reached.contains(&entry.link) {
            flaws.push(Flaw::Stray);
        }
        match entry.record() {
            Err(why) => flaws.push(Flaw::Unread(why.to_string())),
            Ok(Record::Inspection(look)) => {
                for sha256 in [look.by.layout, look.by.criteria, look.document] {
                    flaws.extend(document(store, sha256, &mut sound)?);
                }
                audit.looks.push((entry.place, entry.link, look));
            }
            Ok(Record::Merge { head }) if !places.contains_key(&head) => flaws.push(Flaw::NotMerged),
            Ok(_) => {}
        }
        flaws.extend(index.flaw(entry));
        let found = |flaw| Flawed { place: entry.place, link: entry.link, flaw };
        audit.flaws.extend(flaws.into_iter().map(found));
    }
    let nowhere = index.claimed().filter(|link| !places.contains_key(link));
    audit.flaws.extend(nowhere.map(|link| Flawed { place: 0, link, flaw: Flaw::NoRecord }));
    Ok(audit)
}

/// What is wrong with a record as a member of its chain.
fn chained(entry: &Entry, places: &BTreeMap<Link, i64>) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    if link(entry.before, &entry.body) != entry.link {
        flaws.push(Flaw::Changed);
    }
    match entry.before.map(|before| places.get(&before)) {
        Some(None) => flaws.push(Flaw::Orphan),
        Some(Some(before)) if before.checked_add(1) != Some(entry.place) => flaws.push(Flaw::Place),
        None if entry.place != 0 => flaws.push(Flaw::Place),
        _ => {}
    }
    flaws
}

/// Every link that leads to the head, by what came before and by what was merged.
fn reached(entries: &[Entry], head: Link) -> BTreeSet<Link> {
    let by_link: BTreeMap<Link, &Entry> = entries.iter().map(|e| (e.link, e)).collect();
    let (mut reached, mut open) = (BTreeSet::new(), vec![head]);
    while let Some(next) = open.pop() {
        let Some(entry) = by_link.get(&next) else { continue };
        if reached.insert(next) {
            open.extend(entry.before);
            if let Ok(Record::Merge { head }) = entry.record() {
                open.push(head);
            }
        }
    }
    reached
}

/// Each document is hashed once, however many records name it.
fn document(
    store: &Store,
    sha256: Hash,
    sound: &mut BTreeMap<Hash, Option<Flaw>>,
) -> Result<Option<Flaw>, BookError> {
    if let Some(known) = sound.get(&sha256) {
        return Ok(known.clone());
    }
    let flaw = match store.document(sha256)? {
        None => Some(Flaw::NoDocument(sha256)),
        Some(bytes) if Hash::of(&bytes) != sha256 => Some(Flaw::Document(sha256)),
        Some(_) => None,
    };
    sound.insert(sha256, flaw.clone());
    Ok(flaw)
}
