//! What is allowed: zones, bands of size with the number allowed in each, and the rules of counting. Made
//! from a file by `profile`, which checks that bands neither overlap nor leave a gap.

use terms::{Kind, Um};

/// How sure a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Faith {
    /// Two or more independent public restatements agree.
    Verified,
    /// One public restatement.
    SingleSource,
    /// The standards body's own abstract.
    Abstract,
    /// Recalled; no public restatement was found.
    FromMemory,
    /// The user's own rule.
    House,
}

impl Faith {
    /// Every faith, surest first.
    pub const ALL: [Faith; 5] =
        [Faith::Verified, Faith::SingleSource, Faith::Abstract, Faith::FromMemory, Faith::House];

    /// The word used in files and outputs.
    pub const fn word(self) -> &'static str {
        match self {
            Faith::Verified => "verified",
            Faith::SingleSource => "single-source",
            Faith::Abstract => "abstract",
            Faith::FromMemory => "from-memory",
            Faith::House => "house",
        }
    }
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// How sure it is.
    pub faith: Faith,
    /// The document or restatement, in a few words.
    pub text: String,
}

/// Which fibres the criteria are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// Multimode.
    Multi,
    /// Single mode.
    Single,
}

/// The connector class that a file is for.
#[derive(Clone, Debug, PartialEq)]
pub struct ConnectorClass {
    /// Multimode or single mode.
    pub mode: Mode,
    /// Whether the end face is angled.
    pub angled: bool,
    /// The return loss that the class promises, dB, where it names one.
    pub return_loss_db: Option<f64>,
}

/// A ring about the cladding's centre; limits are diameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// "A", "B".
    pub name: String,
    /// Inner diameter, 0 for the core zone.
    pub from: Um,
    /// Outer diameter.
    pub to: Um,
    /// Where the limits come from.
    pub source: Source,
}

/// What a rule counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// Scratches, by width.
    Scratches,
    /// Everything else, by size.
    Defects,
}

impl Subject {
    /// Both subjects, in the order of the standard's tables.
    pub const ALL: [Subject; 2] = [Subject::Scratches, Subject::Defects];

    /// What a kind of feature is counted as.
    pub const fn of(kind: Kind) -> Subject {
        match kind {
            Kind::Scratch => Subject::Scratches,
            Kind::Particle | Kind::Pit | Kind::Film | Kind::Chip => Subject::Defects,
        }
    }

    /// The word used in files and outputs.
    pub const fn word(self) -> &'static str {
        match self {
            Subject::Scratches => "scratches",
            Subject::Defects => "defects",
        }
    }
}

/// How many are allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Allowed {
    /// Any number.
    Any,
    /// At most so many; 0 is none.
    AtMost(u32),
    /// The document does not say: a feature in this band makes the position ungraded.
    Undecided,
}

/// A band of sizes: from `low` to `high`, each end inside or outside.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Lower end, um.
    pub low: Um,
    /// Whether a size of exactly `low` belongs to the band.
    pub low_included: bool,
    /// Upper end, um; none is no end.
    pub high: Option<Um>,
    /// Whether a size of exactly `high` belongs to the band.
    pub high_included: bool,
    /// How many features of the band are allowed on one fibre.
    pub allowed: Allowed,
    /// Where the limit comes from.
    pub source: Source,
}

impl Band {
    /// Whether a size belongs to the band; a size that is no number belongs to none.
    pub fn holds(&self, size: Um) -> bool {
        let above = if self.low_included { size >= self.low } else { size > self.low };
        let below = self.high.is_none_or(|high| if self.high_included { size <= high } else { size < high });
        above && below
    }
}

impl Band {
    /// Whether any size from `low` to `high` belongs to the band.
    pub(crate) fn meets(&self, low: Um, high: Um) -> bool {
        let reaches_up = if self.low_included { high >= self.low } else { high > self.low };
        let reaches_down =
            self.high.is_none_or(|end| if self.high_included { low <= end } else { low < end });
        reaches_up && reaches_down
    }
}

/// The bands for one subject in one zone; together they cover every size from 0 up, once.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Name of the zone.
    pub zone: String,
    /// What is counted.
    pub subject: Subject,
    /// In ascending order of size.
    pub bands: Vec<Band>,
}

/// How a feature that touches two zones is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CrossingRule {
    /// To the innermost zone it touches.
    Innermost,
    /// To every zone it touches.
    Every,
    /// To the zone of its centre.
    Centre,
}

/// How a defect's size is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Diameter of the smallest circle that holds it.
    EnclosingCircle,
}

/// The rules of counting that the document leaves open, as chosen for this file.
#[derive(Clone, Debug, PartialEq)]
pub struct Counting {
    /// Defects that touch two zones.
    pub defects_across: CrossingRule,
    /// Scratches that touch two zones.
    pub scratches_across: CrossingRule,
    /// How defects are sized.
    pub measure: Measure,
    /// Features smaller than this are listed and not counted.
    pub smallest_counted: Um,
    /// The smallest mark that a picture must be able to show to be graded by this file.
    pub must_see: Um,
    /// Where these choices come from.
    pub source: Source,
}

/// A checked set of criteria.
#[derive(Clone, Debug, PartialEq)]
pub struct Criteria {
    /// `iec-61300-3-35-ed2-mm` or the user's own.
    pub id: String,
    /// A line for people.
    pub title: String,
    /// The document, `IEC 61300-3-35`.
    pub document: String,
    /// Its edition, `2 (2015)`.
    pub edition: String,
    /// Which connectors it is for.
    pub class: ConnectorClass,
    /// From the inside out; they neither overlap nor leave a gap.
    pub zones: Vec<Zone>,
    /// One for each zone and subject.
    pub rules: Vec<Rule>,
    /// How to count.
    pub counting: Counting,
}

impl Criteria {
    /// The zone of that name.
    pub fn zone(&self, name: &str) -> Option<&Zone> {
        self.zones.iter().find(|zone| zone.name == name)
    }

    /// The rule for one subject in one zone.
    pub fn rule(&self, zone: &str, subject: Subject) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.zone == zone && rule.subject == subject)
    }
}
