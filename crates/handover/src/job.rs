//! A job as plain values: cables, their connectors with every inspection, what met what, what was measured through
//! them, what is owed. Whoever fills it answers for it; nothing here is checked again.

use links::Measured;
use report::FaceRecord;
use report::compare::CompareRecord;
use report::record::Verdict;

/// A whole job.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Its name.
    pub title: String,
    /// The date stated for the hand-over.
    pub date: String,
    /// The program that writes it.
    pub version: String,
    /// The cables, in the order they are told.
    pub cables: Vec<Cable>,
    /// What met what, in order of time.
    pub matings: Vec<Mating>,
    /// What is still to be done before the job may be called done, beside what the last verdicts tell.
    pub owed: Vec<Owed>,
    /// Lines and files that belong to no cable, one sentence each.
    pub unjoined: Vec<String>,
    /// The reference cords, in the order they became known.
    pub cords: Vec<Cord>,
    /// How the owner can prove the hand-over against the book, in whole sentences; none without a book.
    pub proof: Option<String>,
    /// What was withdrawn or changed its role in the book, one sentence each, whatever became of its face.
    pub taken_back: Vec<String>,
    /// What to mind when handling the cables.
    pub cautions: Vec<String>,
    /// What the hand-over was made from, beside faces and pictures: tables, traces, the chain of a book.
    pub origins: Vec<Origin>,
}

/// What something was taken from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Origin {
    /// Its name: a file's, or what it is.
    pub file: String,
    /// SHA-256 of its bytes, or of the last record of its chain; lower-case hexadecimal.
    pub sha256: String,
}

/// One cable.
#[derive(Clone, Debug, PartialEq)]
pub struct Cable {
    /// Its identifier, as given.
    pub identifier: String,
    /// Its connectors.
    pub connectors: Vec<Connector>,
    /// Tier 1 and 2.
    pub measured: Measured,
    /// What was wrong with the evidence of its faces, one sentence each.
    pub doubts: Vec<String>,
}

/// One connector and every look at it.
#[derive(Clone, Debug, PartialEq)]
pub struct Connector {
    /// Its identifier, as given.
    pub identifier: String,
    /// In order of time; the last one counts.
    pub inspections: Vec<Inspection>,
    /// What is told to have happened to it, in order of time; nothing where no book was kept.
    pub past: Vec<Happening>,
    /// What became of its marks from the look before the last; none where there is none, or the two were graded otherwise.
    pub since: Option<CompareRecord>,
}

/// One thing that happened to a connector.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Happening {
    /// When.
    pub when: String,
    /// What.
    pub what: String,
    /// By whom, if it was told.
    pub who: Option<String>,
    /// Why and by whom it was withdrawn, if it was: it counts for nothing then.
    pub withdrawn: Option<String>,
}

/// One look at a face.
#[derive(Clone, Debug, PartialEq)]
pub struct Inspection {
    /// What it is called: a time, or the name of its folder.
    pub when: String,
    /// What was found.
    pub face: FaceRecord,
    /// SHA-256 of the record's bytes.
    pub sha256: String,
    /// The row as a picture, if it is at hand.
    pub row: Option<Picture>,
    /// Positions as pictures: those that fail, or the worst that passes.
    pub fibres: Vec<(u16, Picture)>,
    /// Why nothing proves its verdict any more, in words without the end of a sentence; none while its pictures do.
    pub unproven: Option<String>,
}

/// A picture at the size of a report.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// JPEG, grey.
    pub jpeg: Vec<u8>,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

/// Why a connector must be looked at again though its last look may pass.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Owed {
    /// Index of the cable, then of the connector.
    pub connector: (usize, usize),
    /// In words, without the end of a sentence.
    pub why: String,
}

/// A reference cord: not handed over, and what it touched depends on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cord {
    /// Its identifier, as given.
    pub identifier: String,
    /// When it was last looked at, and what was found; none if it never was.
    pub last: Option<(String, Verdict)>,
    /// How many faces that are handed over it met.
    pub met: usize,
    /// Why it must be looked at before it touches anything more, in words; empty if it need not.
    pub owed: String,
}

/// One mating, as the statistics of cords need it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mating {
    /// Index of the cable, then of the connector.
    pub connector: (usize, usize),
    /// Identifier of the cord that it met.
    pub cord: String,
}

impl Connector {
    /// The look that counts.
    pub fn last(&self) -> Option<&Inspection> {
        self.inspections.last()
    }

    /// The verdict that counts; none if it was never looked at.
    pub fn verdict(&self) -> Option<Verdict> {
        self.last().map(|look| look.face.verdict)
    }

    /// The verdict of the first look.
    pub fn first_verdict(&self) -> Option<Verdict> {
        self.inspections.first().map(|look| look.face.verdict)
    }
}

impl Job {
    /// Why a connector must be looked at again before hand-over; none if its last look passes and nothing came after.
    pub fn owed(&self, cable: usize, connector: usize) -> Option<String> {
        let face = self.cables.get(cable)?.connectors.get(connector)?;
        let (verdict, withdrawn) = (face.verdict(), face.past.iter().any(|past| past.withdrawn.is_some()));
        let by_verdict = match verdict {
            None if withdrawn => Some("no inspection of it counts, see what was taken back"),
            None => Some("it was never inspected"),
            Some(Verdict::Fail) => Some("its last look fails"),
            Some(Verdict::Ungraded) => Some("it could not be graded; see why, and mend it"),
            Some(Verdict::Pass) => None,
        };
        let more = self
            .owed
            .iter()
            .filter(|owed| owed.connector == (cable, connector))
            .map(|owed| owed.why.as_str())
            .chain(face.last().and_then(|look| look.unproven.as_deref()));
        let why: Vec<&str> = by_verdict.into_iter().chain(more).collect();
        (!why.is_empty()).then(|| why.join("; "))
    }

    /// Everything that is owed: cable, connector, why.
    pub fn all_owed(&self) -> impl Iterator<Item = (&Cable, &Connector, String)> {
        let each = self.cables.iter().enumerate().flat_map(|(c, cable)| {
            cable.connectors.iter().enumerate().map(move |(k, connector)| (c, k, cable, connector))
        });
        each.filter_map(|(c, k, cable, connector)| Some((cable, connector, self.owed(c, k)?)))
    }

    /// Every connector with its cable.
    pub fn connectors(&self) -> impl Iterator<Item = (&Cable, &Connector)> {
        self.cables.iter().flat_map(|cable| cable.connectors.iter().map(move |c| (cable, c)))
    }
}
