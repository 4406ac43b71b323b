//! Taking back what was entered by mistake: the record stays, and a further one says that it counts no more.

use super::read::{Recorded, records};
use super::write::{append, index};
use super::{BookError, Noted, Store};
use crate::face::Face;
use crate::record::{Record, Withdrawal};
use rusqlite::{Transaction, TransactionBehavior};

/// Why a record is not withdrawn.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoWithdrawal {
    /// There is none of that name.
    #[error("the book has no such record; `pitchline book list BOOK FACE` tells those of a face")]
    Unknown,
    /// The first signs are not enough.
    #[error("{0} records begin so; write more of its signs")]
    Several(usize),
    /// It counts no more already.
    #[error("it was withdrawn already")]
    Already,
    /// It is what the chain itself is made of.
    #[error("it makes the book itself; only faces, looks, matings and cleanings can be withdrawn")]
    Needed,
    /// Something happened to the face.
    #[error("it makes {0} known, of which other records tell; withdraw those first")]
    InUse(Face),
    /// The book cannot be used.
    #[error(transparent)]
    Book(#[from] BookError),
}

impl From<rusqlite::Error> for NoWithdrawal {
    fn from(error: rusqlite::Error) -> NoWithdrawal {
        NoWithdrawal::Book(error.into())
    }
}

impl Store {
    /// The one record whose link begins with these signs of hexadecimal.
    ///
    /// # Errors
    /// [`NoWithdrawal::Unknown`], [`NoWithdrawal::Several`], or of the book.
    pub fn find(&self, signs: &str) -> Result<Recorded, NoWithdrawal> {
        let begins = |recorded: &Recorded| recorded.link.to_string().starts_with(signs);
        let mut found: Vec<Recorded> = self.records()?.into_iter().filter(begins).collect();
        match (found.len(), found.pop()) {
            (1, Some(one)) => Ok(one),
            (_, None) => Err(NoWithdrawal::Unknown),
            (several, _) => Err(NoWithdrawal::Several(several)),
        }
    }

    /// Withdraws a record. A face can be withdrawn once nothing tells of it any more; the same look, mating or cleaning
    /// can be entered again.
    ///
    /// # Errors
    /// [`NoWithdrawal`]; the book is as it was then.
    pub fn withdraw(&mut self, withdrawal: &Withdrawal, noted: &Noted) -> Result<(), NoWithdrawal> {
        let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        allowed(&records(&step)?, withdrawal)?;
        append(&step, &Record::Withdrawal(withdrawal.clone()), noted)?;
        index_anew(&step)?;
        step.commit()?;
        Ok(())
    }
}

fn allowed(records: &[Recorded], withdrawal: &Withdrawal) -> Result<(), NoWithdrawal> {
    let named = records.iter().find(|recorded| recorded.link == withdrawal.record);
    let named = named.ok_or(NoWithdrawal::Unknown)?;
    if named.withdrawn.is_some() {
        return Err(NoWithdrawal::Already);
    }
    match &named.record {
        Record::Book { .. } | Record::Merge { .. } | Record::Withdrawal(_) => Err(NoWithdrawal::Needed),
        Record::Connector { face, .. } => {
            let happened = |r: &Recorded| r.withdrawn.is_none() && r.record.faces().contains(&face);
            match records.iter().any(happened) {
                true => Err(NoWithdrawal::InUse(face.clone())),
                false => Ok(()),
            }
        }
        Record::Inspection(_) | Record::Mating(_) | Record::Cleaning(_) => Ok(()),
    }
}

/// Makes the tables that follow from the records anew: what was withdrawn is not known any more.
pub(super) fn index_anew(step: &Transaction<'_>) -> Result<(), BookError> {
    step.execute_batch("DELETE FROM known; DELETE FROM face;")?;
    for Recorded { link, record, .. } in records(step)?.iter().filter(|r| r.withdrawn.is_none()) {
        index(step, *link, record)?;
    }
    Ok(())
}
