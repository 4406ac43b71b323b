//! Whether the tables of what is known follow from the records: they decide what counts as entered already.

use super::Flaw;
use crate::chain::Link;
use crate::record::Record;
use crate::store::{BookError, Entry, Index, Store, key};
use std::collections::{BTreeMap, BTreeSet};

/// The tables turned round: by what each record is known.
pub(super) struct Indexed {
    index: Index,
    withdrawn: BTreeSet<Link>,
    claims: BTreeMap<Link, Index>,
}

impl Indexed {
    pub(super) fn read(store: &Store, entries: &[Entry]) -> Result<Indexed, BookError> {
        let index = store.index()?;
        let mut claims: BTreeMap<Link, Index> = BTreeMap::new();
        for (key, link) in &index.keys {
            claims.entry(*link).or_default().keys.insert(*key, *link);
        }
        for (face, link) in &index.faces {
            claims.entry(*link).or_default().faces.insert(face.clone(), *link);
        }
        let withdrawn = entries.iter().filter_map(|entry| match entry.record() {
            Ok(Record::Withdrawal(withdrawal)) => Some(withdrawal.record),
            _ => None,
        });
        Ok(Indexed { withdrawn: withdrawn.collect(), index, claims })
    }

    /// Every record that the tables name.
    pub(super) fn claimed(&self) -> impl Iterator<Item = Link> {
        self.claims.keys().copied()
    }

    /// What the tables say wrongly of a record; one that cannot be read has a flaw of its own.
    pub(super) fn flaw(&self, entry: &Entry) -> Option<Flaw> {
        let record = entry.record().ok()?;
        let own = key(&record).ok()?;
        let counts = !self.withdrawn.contains(&entry.link);
        let face = match &record {
            Record::Connector { face, .. } => Some(face.to_string()),
            _ => None,
        };
        let lacks = !self.index.keys.contains_key(&own)
            || face.as_ref().is_some_and(|face| !self.index.faces.contains_key(face));
        if counts && lacks {
            return Some(Flaw::Unindexed);
        }
        let claims = self.claims.get(&entry.link)?;
        let right = counts
            && claims.keys.keys().all(|key| *key == own)
            && claims.faces.keys().all(|name| Some(name) == face.as_ref());
        (!right).then_some(Flaw::Misindexed)
    }
}
