//! The words of closed lists in a document, each with its meaning for the schema.

use grade::advice::Cleaned;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A verdict. An ungraded position or array is never a pass.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Every rule is held.
    Pass,
    /// At least one rule is broken.
    Fail,
    /// The picture or the criteria do not allow a verdict.
    Ungraded,
}

impl From<grade::Verdict> for Verdict {
    fn from(verdict: grade::Verdict) -> Verdict {
        match verdict {
            grade::Verdict::Pass => Verdict::Pass,
            grade::Verdict::Fail => Verdict::Fail,
            grade::Verdict::Ungraded => Verdict::Ungraded,
        }
    }
}

impl Verdict {
    /// The word as it stands in the document.
    pub const fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::Fail => "fail",
            Verdict::Ungraded => "ungraded",
        }
    }

    /// The one letter shown where there is no room for the word.
    pub const fn letter(self) -> char {
        match self {
            Verdict::Pass => 'P',
            Verdict::Fail => 'F',
            Verdict::Ungraded => 'U',
        }
    }
}

/// What a feature looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A line; the criteria limit its width.
    Scratch,
    /// Something on the surface.
    Particle,
    /// A small, round, deep hole in the glass.
    Pit,
    /// A wide, faint layer: residue, smear, droplet.
    Film,
    /// Glass missing at the cladding's edge.
    Chip,
}

impl From<terms::Kind> for Kind {
    fn from(kind: terms::Kind) -> Kind {
        match kind {
            terms::Kind::Scratch => Kind::Scratch,
            terms::Kind::Particle => Kind::Particle,
            terms::Kind::Pit => Kind::Pit,
            terms::Kind::Film => Kind::Film,
            terms::Kind::Chip => Kind::Chip,
        }
    }
}

impl Kind {
    /// The word as it stands in the document.
    pub const fn word(self) -> &'static str {
        match self {
            Kind::Scratch => "scratch",
            Kind::Particle => "particle",
            Kind::Pit => "pit",
            Kind::Film => "film",
            Kind::Chip => "chip",
        }
    }
}

/// Where the key is in the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Key {
    /// The picture shows the face with its key up.
    Up,
    /// The picture shows the face turned by 180 degrees.
    Down,
}

/// Where the scale came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum ScaleMethod {
    /// Measured from the lattice of fibres.
    Lattice,
    /// Stated by the user and checked against the picture.
    Stated,
}

/// How the core looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Core {
    /// Brighter than the cladding.
    Lit,
    /// As bright as the cladding or darker.
    Dark,
    /// It cannot be told.
    Unknown,
}

impl From<terms::Core> for Core {
    fn from(core: terms::Core) -> Core {
        match core {
            terms::Core::Lit => Core::Lit,
            terms::Core::Dark => Core::Dark,
            terms::Core::Unknown => Core::Unknown,
        }
    }
}

/// What shows at the guide holes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Guides {
    /// Open holes.
    Holes,
    /// Pins in the holes.
    Pins,
    /// The picture does not reach them.
    NotInView,
}

impl From<terms::Guides> for Guides {
    fn from(guides: terms::Guides) -> Guides {
        match guides {
            terms::Guides::Holes => Guides::Holes,
            terms::Guides::Pins => Guides::Pins,
            terms::Guides::NotInView => Guides::NotInView,
        }
    }
}

/// One way of cleaning that was tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum CleanedWord {
    /// Dry.
    Dry,
    /// With solvent, then dry.
    Wet,
}

impl From<Cleaned> for CleanedWord {
    fn from(how: Cleaned) -> CleanedWord {
        match how {
            Cleaned::Dry => CleanedWord::Dry,
            Cleaned::Wet => CleanedWord::Wet,
        }
    }
}

impl From<CleanedWord> for Cleaned {
    fn from(how: CleanedWord) -> Cleaned {
        match how {
            CleanedWord::Dry => Cleaned::Dry,
            CleanedWord::Wet => Cleaned::Wet,
        }
    }
}

/// How sure a value of the criteria is, from the surest down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Faith {
    /// The user's own rule.
    House,
    /// Two or more independent public restatements agree.
    Verified,
    /// The standards body's own abstract.
    Abstract,
    /// One public restatement.
    SingleSource,
    /// Recalled; no public restatement was found.
    FromMemory,
}

impl From<grade::Faith> for Faith {
    fn from(faith: grade::Faith) -> Faith {
        match faith {
            grade::Faith::House => Faith::House,
            grade::Faith::Verified => Faith::Verified,
            grade::Faith::Abstract => Faith::Abstract,
            grade::Faith::SingleSource => Faith::SingleSource,
            grade::Faith::FromMemory => Faith::FromMemory,
        }
    }
}

impl Faith {
    /// In words for people.
    pub const fn words(self) -> &'static str {
        match self {
            Faith::House => "own rule",
            Faith::Verified => "two sources",
            Faith::Abstract => "abstract",
            Faith::SingleSource => "one source",
            Faith::FromMemory => "from memory",
        }
    }
}

/// How a feature that touches two zones is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Crossing {
    /// To the innermost zone it touches.
    Innermost,
    /// To every zone it touches.
    Every,
    /// To the zone of its centre.
    Centre,
}

impl From<grade::CrossingRule> for Crossing {
    fn from(rule: grade::CrossingRule) -> Crossing {
        match rule {
            grade::CrossingRule::Innermost => Crossing::Innermost,
            grade::CrossingRule::Every => Crossing::Every,
            grade::CrossingRule::Centre => Crossing::Centre,
        }
    }
}

/// How a defect's size is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Measure {
    /// Diameter of the smallest circle that holds it.
    EnclosingCircle,
}

impl From<grade::Measure> for Measure {
    fn from(measure: grade::Measure) -> Measure {
        match measure {
            grade::Measure::EnclosingCircle => Measure::EnclosingCircle,
        }
    }
}

/// What a rule counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Subject {
    /// Scratches, by width.
    Scratches,
    /// Everything else, by size.
    Defects,
}

impl From<grade::Subject> for Subject {
    fn from(subject: grade::Subject) -> Subject {
        match subject {
            grade::Subject::Scratches => Subject::Scratches,
            grade::Subject::Defects => Subject::Defects,
        }
    }
}

impl Subject {
    /// The word as it stands in the document.
    pub const fn word(self) -> &'static str {
        match self {
            Subject::Scratches => "scratches",
            Subject::Defects => "defects",
        }
    }
}
