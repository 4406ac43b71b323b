//! Where the fibres of a face lead and what they carry: the array's verdicts told by channel and by lane.

use super::{SourceNote, Verdict};
use grade::lanes::{Carried, LaneMap, carried};
use grade::{ArrayGrade, CableMap};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What is known of where the fibres lead.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wiring<'a> {
    /// The cable behind the face, if one was stated.
    pub cable: Option<&'a CableMap>,
    /// What the positions carry, if an application was stated.
    pub lanes: Option<&'a LaneMap>,
    /// Names of colours by the number of the fibre, from 1.
    pub colours: &'a [String],
}

/// The array's verdicts told by the channels of the cable behind the face.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct PolarityRecord {
    /// Id of the cable's polarity type.
    pub cable: String,
    /// The type in a line for people.
    pub title: String,
    /// Where the map comes from.
    pub source: SourceNote,
    /// One for each fibre of the cable, in order of its near position.
    pub channels: Vec<ChannelRecord>,
}

/// One fibre of the cable behind the face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ChannelRecord {
    /// Position on this face.
    pub near: u16,
    /// Position at the other end of the cable.
    pub far: u16,
    /// Verdict of the near position.
    pub verdict: Verdict,
    /// The duplex channel it belongs to; null if to none.
    pub duplex: Option<DuplexRecord>,
}

/// The two fibres of a duplex channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct DuplexRecord {
    /// Its number, from 1.
    pub number: u16,
    /// The other near position of the channel.
    pub partner: u16,
    /// Fails if one of the two near positions does; else ungraded if one is; else passes.
    pub verdict: Verdict,
}

/// The array's verdicts told by the lanes of an application. Positions without a lane are told apart and count in
/// the array's verdict as any other.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ApplicationRecord {
    /// Id of the application.
    pub id: String,
    /// The application in a line for people.
    pub title: String,
    /// Where the positions are counted.
    pub seen: SeenAt,
    /// Where the map comes from.
    pub source: SourceNote,
    /// One for each position, in order.
    pub lanes: Vec<LaneRecord>,
}

/// The two faces that meet in a module mirror each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum SeenAt {
    /// In the module's receptacle, looking in with the keyway up.
    Module,
    /// On the plug that goes into it, looking at its end face with the key up.
    Plug,
}

impl SeenAt {
    /// In words.
    pub(crate) const fn words(self) -> &'static str {
        match self {
            SeenAt::Module => "in the module",
            SeenAt::Plug => "on the plug",
        }
    }
}

/// What one position carries.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct LaneRecord {
    /// The position.
    pub position: u16,
    /// Its lane, `Tx1` out of the module, `Rx1` into it; null if the application leaves it unused.
    pub lane: Option<String>,
    /// Its verdict.
    pub verdict: Verdict,
    /// Where it comes out at the far end of the cable; null without a cable, or if this face is a module's.
    pub far: Option<u16>,
    /// The lane there; null if unused or not known.
    pub far_lane: Option<String>,
    /// Whether the fibre joins two lanes of one direction, or a lane and an unused position: then this cable alone
    /// does not connect two modules.
    pub crossed: bool,
}

pub(super) fn polarity(cable: &CableMap, grade: &ArrayGrade) -> PolarityRecord {
    let channels = grade::channels(grade, cable).into_iter().map(|channel| ChannelRecord {
        near: channel.near,
        far: channel.far,
        verdict: channel.verdict.into(),
        duplex: channel.duplex.map(|duplex| DuplexRecord {
            number: duplex.number,
            partner: duplex.partner,
            verdict: duplex.verdict.into(),
        }),
    });
    PolarityRecord {
        cable: cable.id().to_owned(),
        title: cable.title().to_owned(),
        source: cable.source().into(),
        channels: channels.collect(),
    }
}

pub(super) fn application(
    lanes: &LaneMap,
    cable: Option<&CableMap>,
    grade: &ArrayGrade,
) -> ApplicationRecord {
    ApplicationRecord {
        id: lanes.id().to_owned(),
        title: lanes.title().to_owned(),
        seen: match lanes.seen() {
            grade::lanes::SeenAt::Module => SeenAt::Module,
            grade::lanes::SeenAt::Plug => SeenAt::Plug,
        },
        source: lanes.source().into(),
        lanes: carried(grade, lanes, cable).iter().map(lane).collect(),
    }
}

fn lane(carried: &Carried) -> LaneRecord {
    LaneRecord {
        position: carried.position,
        lane: carried.lane.map(|lane| lane.to_string()),
        verdict: carried.verdict.into(),
        far: carried.far.map(|(far, _)| far),
        far_lane: carried.far.and_then(|(_, lane)| lane).map(|lane| lane.to_string()),
        crossed: carried.is_crossed(),
    }
}
