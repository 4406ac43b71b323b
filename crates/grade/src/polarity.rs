//! Which position of the far end each position reaches through a cable, which two make a duplex channel,
//! and an array's verdicts told by them. The maps are data; `profile` reads them.

use crate::criteria::Source;
use crate::verdict::{ArrayGrade, Verdict};

/// One fibre of a cable: where it starts and where it ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Strand {
    /// Position at the near end, the one that is graded.
    pub near: u16,
    /// Position at the far end.
    pub far: u16,
}

/// The polarity map of an array cable (type A, B or C of TIA-568.3): a permutation of its positions, and
/// the near positions that make up its duplex channels. Checked when made.
#[derive(Clone, Debug, PartialEq)]
pub struct CableMap {
    id: String,
    title: String,
    source: Source,
    strands: Vec<Strand>,
    duplex: Vec<[u16; 2]>,
}

/// Why a cable map cannot be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CableError {
    /// No strand.
    #[error("the map has no fibre")]
    Empty,
    /// A near position with two far ones.
    #[error("near position {0} appears twice")]
    NearTwice(u16),
    /// A far position with two near ones.
    #[error("far position {0} is reached twice")]
    FarTwice(u16),
    /// The two ends do not have the same positions.
    #[error("far position {0} is no position of the near end; both ends have the same positions")]
    FarUnknown(u16),
    /// A duplex pair names a position that the map does not have.
    #[error("duplex position {0} is no position of the map")]
    DuplexUnknown(u16),
    /// A position belongs to two duplex pairs, or is paired with itself.
    #[error("position {0} appears in the duplex pairs more than once")]
    DuplexTwice(u16),
}

impl CableMap {
    /// Checks and makes a map from its strands, in any order, and its duplex pairs (near positions).
    ///
    /// # Errors
    /// The first [`CableError`] found.
    pub fn new(
        id: String,
        title: String,
        source: Source,
        mut strands: Vec<Strand>,
        duplex: Vec<[u16; 2]>,
    ) -> Result<CableMap, CableError> {
        strands.sort_by_key(|strand| strand.near);
        let near: Vec<u16> = strands.iter().map(|strand| strand.near).collect();
        let far: Vec<u16> = strands.iter().map(|strand| strand.far).collect();
        let paired: Vec<u16> = duplex.iter().flatten().copied().collect();
        if near.is_empty() {
            return Err(CableError::Empty);
        }
        twice(&near).map_or(Ok(()), |p| Err(CableError::NearTwice(p)))?;
        twice(&far).map_or(Ok(()), |p| Err(CableError::FarTwice(p)))?;
        stranger(&far, &near).map_or(Ok(()), |p| Err(CableError::FarUnknown(p)))?;
        stranger(&paired, &near).map_or(Ok(()), |p| Err(CableError::DuplexUnknown(p)))?;
        twice(&paired).map_or(Ok(()), |p| Err(CableError::DuplexTwice(p)))?;
        Ok(CableMap { id, title, source, strands, duplex })
    }

    /// `type-a`, `type-b` or `type-c`, or what the file calls it.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// A line for people: the type, how the keys lie, which variant.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Where the map comes from.
    pub fn source(&self) -> &Source {
        &self.source
    }

    /// The fibres, in ascending order of near position.
    pub fn strands(&self) -> &[Strand] {
        &self.strands
    }

    /// The far position that a near one reaches.
    pub fn far(&self, near: u16) -> Option<u16> {
        self.strands.iter().find(|strand| strand.near == near).map(|strand| strand.far)
    }

    /// Number of the duplex channel, from 1, and the other near position of it; none for a position that is
    /// in no pair.
    pub fn duplex(&self, near: u16) -> Option<(u16, u16)> {
        (1..).zip(&self.duplex).find_map(|(number, &[a, b])| match near {
            _ if near == a => Some((number, b)),
            _ if near == b => Some((number, a)),
            _ => None,
        })
    }
}

/// The first value that stands twice.
fn twice(values: &[u16]) -> Option<u16> {
    values.iter().enumerate().find(|(i, value)| values[..*i].contains(value)).map(|(_, value)| *value)
}

/// The first value that is not among the known.
fn stranger(values: &[u16], known: &[u16]) -> Option<u16> {
    values.iter().find(|value| !known.contains(value)).copied()
}

/// The duplex channel that a position belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Duplex {
    /// Its number, from 1 in the order of the map.
    pub number: u16,
    /// The other near position of the channel.
    pub partner: u16,
    /// Fails if one of its two near positions does; else ungraded if one is; else passes.
    pub verdict: Verdict,
}

/// One fibre of the cable behind a graded face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Channel {
    /// Position on the graded face.
    pub near: u16,
    /// Position at the other end of the cable.
    pub far: u16,
    /// The duplex channel it belongs to, if it does.
    pub duplex: Option<Duplex>,
    /// The verdict of the near position.
    pub verdict: Verdict,
}

/// An array's verdicts told by the channels of the cable behind it, in ascending order of near position.
/// The map is one for the array's layout; a position of the map that the array does not have is ungraded.
pub fn channels(array: &ArrayGrade, cable: &CableMap) -> Vec<Channel> {
    let verdict = |position| {
        let grade = array.positions.iter().find(|grade| grade.position == position);
        grade.map_or(Verdict::Ungraded, |grade| grade.verdict)
    };
    let duplex = |near| {
        cable.duplex(near).map(|(number, partner)| Duplex {
            number,
            partner,
            verdict: Verdict::of_parts([verdict(near), verdict(partner)]),
        })
    };
    cable
        .strands()
        .iter()
        .map(|&Strand { near, far }| Channel { near, far, duplex: duplex(near), verdict: verdict(near) })
        .collect()
}
