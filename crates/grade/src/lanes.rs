//! Which lane of an application lies at which position, and an array's verdicts told by them. The maps are data;
//! `profile` reads them. A position without a lane is told as unused and counts in the array's verdict as any other.

use crate::criteria::Source;
use crate::polarity::CableMap;
use crate::verdict::{ArrayGrade, Verdict};
use std::fmt;

/// Where positions are counted: the two faces that meet in a module mirror each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeenAt {
    /// In the module's receptacle, looking in with the keyway up.
    Module,
    /// On the plug that goes into it, looking at its end face with the key up.
    Plug,
}

impl SeenAt {
    /// The word used in files and outputs.
    pub const fn word(self) -> &'static str {
        match self {
            SeenAt::Module => "module",
            SeenAt::Plug => "plug",
        }
    }
}

/// Which way the light of a lane goes, told from the module.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Out of it.
    Transmit,
    /// Into it.
    Receive,
}

/// A lane of an application.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lane {
    /// Which way.
    pub direction: Direction,
    /// Its number, from 1.
    pub number: u16,
}

impl fmt::Display for Lane {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let way = if self.direction == Direction::Transmit { "Tx" } else { "Rx" };
        write!(f, "{way}{}", self.number)
    }
}

/// The lanes of an application in one view. Checked when made.
#[derive(Clone, Debug, PartialEq)]
pub struct LaneMap {
    id: String,
    title: String,
    seen: SeenAt,
    source: Source,
    places: Vec<(u16, Option<Lane>)>,
}

/// Why a map of lanes cannot be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LaneError {
    /// No lane.
    #[error("the map has no lane")]
    Empty,
    /// As many lanes must go out as come in.
    #[error("{0} lanes transmit and {1} receive; each lane has both")]
    Uneven(usize, usize),
    /// A position with two meanings.
    #[error("position {0} appears twice")]
    Twice(u16),
}

impl LaneMap {
    /// From the positions of the lanes out, of those in, each in order of lane, and of those without.
    ///
    /// # Errors
    /// The first [`LaneError`] found.
    pub fn new(
        (id, title): (String, String),
        seen: SeenAt,
        source: Source,
        (transmit, receive, unused): (&[u16], &[u16], &[u16]),
    ) -> Result<LaneMap, LaneError> {
        if transmit.len() != receive.len() {
            return Err(LaneError::Uneven(transmit.len(), receive.len()));
        }
        if transmit.is_empty() {
            return Err(LaneError::Empty);
        }
        let lanes = |direction, positions: &[u16]| -> Vec<(u16, Option<Lane>)> {
            let lane = |(number, &position)| (position, Some(Lane { direction, number }));
            (1..).zip(positions).map(lane).collect()
        };
        let mut places = lanes(Direction::Transmit, transmit);
        places.extend(lanes(Direction::Receive, receive));
        places.extend(unused.iter().map(|&position| (position, None)));
        places.sort_by_key(|(position, _)| *position);
        match places.windows(2).find(|pair| pair[0].0 == pair[1].0) {
            Some(pair) => Err(LaneError::Twice(pair[0].0)),
            None => Ok(LaneMap { id, title, seen, source, places }),
        }
    }

    /// `40gbase-sr4`.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// A line for people.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Which view it is.
    pub fn seen(&self) -> SeenAt {
        self.seen
    }

    /// Where the map comes from.
    pub fn source(&self) -> &Source {
        &self.source
    }

    /// Whether the map says what a position carries, be it nothing.
    pub fn knows(&self, position: u16) -> bool {
        self.places.iter().any(|(known, _)| *known == position)
    }

    /// The lane at a position; none if it carries none.
    pub fn lane(&self, position: u16) -> Option<Lane> {
        self.places.iter().find(|(known, _)| *known == position)?.1
    }

    /// Every position that carries a lane, in order.
    pub fn used(&self) -> impl Iterator<Item = u16> {
        self.places.iter().filter(|(_, lane)| lane.is_some()).map(|(position, _)| *position)
    }

    /// The position of a lane.
    pub fn position(&self, lane: Lane) -> Option<u16> {
        self.places.iter().find(|(_, at)| *at == Some(lane)).map(|(position, _)| *position)
    }
}

/// What one position of an array carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Carried {
    /// The position.
    pub position: u16,
    /// Its lane; none if it is unused.
    pub lane: Option<Lane>,
    /// Where it comes out at the far end of the cable, and the lane there, if a cable is stated.
    pub far: Option<(u16, Option<Lane>)>,
    /// The position's verdict.
    pub verdict: Verdict,
}

impl Carried {
    /// Whether light out of one module would not come into the other one through this fibre alone.
    pub fn is_crossed(&self) -> bool {
        match (self.lane, self.far) {
            (Some(near), Some((_, Some(far)))) => near.direction == far.direction,
            (Some(_), Some((_, None))) | (None, Some((_, Some(_)))) => true,
            _ => false,
        }
    }
}

/// An array's verdicts told by lane, in order of position. Far lanes are told where the face is a plug: then the
/// other end of the cable is one as well.
pub fn carried(array: &ArrayGrade, lanes: &LaneMap, cable: Option<&CableMap>) -> Vec<Carried> {
    let cable = cable.filter(|_| lanes.seen == SeenAt::Plug);
    let one = |grade: &crate::FibreGrade| {
        let far = cable.and_then(|cable| cable.far(grade.position));
        Carried {
            position: grade.position,
            lane: lanes.lane(grade.position),
            far: far.map(|far| (far, lanes.lane(far))),
            verdict: grade.verdict,
        }
    };
    array.positions.iter().map(one).collect()
}
