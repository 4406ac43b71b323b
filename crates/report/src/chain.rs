//! What is told of a chain of cables and adapters: the versioned record. Decides nothing.

use crate::record::Tool;
use grade::chain::{Chain, Contradiction, Joined, Link, Order, Pairs};
use grade::lanes::{Direction, Lane};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Name and version of the format of [`ChainRecord`].
pub const CHAIN_FORMAT: &str = "pitchline.chain/1";

/// Cables and adapters from end to end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Chain of cables and adapters")]
pub struct ChainRecord {
    /// Name and version of this format.
    #[schemars(extend("const" = CHAIN_FORMAT))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// Id of the layout of every connector.
    pub layout: String,
    /// Id of the application whose lanes were checked; null if none was stated.
    pub application: Option<String>,
    /// The members from the near to the far end.
    pub members: Vec<MemberRecord>,
    /// Each near position and where it comes out; none if members do not meet.
    pub strands: Vec<StrandRecord>,
    /// What each fibre joins that carries a lane of the application at either end, in order of near position; empty
    /// without an application, or if members do not meet.
    #[serde(default)]
    pub lanes: Vec<JoinedRecord>,
    /// How often the order is reversed on the way. Without an application, for connectors of one row: odd, and transmit
    /// meets receive in parallel optics; even, and transmit meets transmit. Null if a member does something else to the
    /// order, or if members do not meet.
    pub reversals: Option<usize>,
    /// How duplex pairs arrive; null if not as pairs, or if members do not meet.
    pub pairs: Option<PairsWord>,
    /// What is wrong, the first first; each one sentence.
    pub contradictions: Vec<String>,
}

/// A member of the chain.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct MemberRecord {
    /// `cable` or `adapter`.
    #[schemars(regex(pattern = "^(cable|adapter)$"))]
    pub what: String,
    /// Its type.
    pub id: String,
    /// What it does to the order of positions.
    pub order: OrderWord,
}

/// What a member does to the order of positions in a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum OrderWord {
    /// Left stays left.
    Kept,
    /// Left becomes right.
    Reversed,
    /// Something else, as a type C cable does.
    Other,
}

/// How duplex pairs arrive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum PairsWord {
    /// First where a first is due: one of the two duplex cords must cross.
    Straight,
    /// First where a second is due: both duplex cords cross alike.
    Crossed,
}

/// One fibre from end to end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct StrandRecord {
    /// Position at the near end.
    pub near: u16,
    /// Position at the far end.
    pub far: u16,
}

/// What one fibre joins.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct JoinedRecord {
    /// Position at the near end.
    pub near: u16,
    /// Its lane, told from the near module: `Tx1`; null if it carries none.
    pub near_lane: Option<String>,
    /// Position at the far end.
    pub far: u16,
    /// Its lane, told from the far module.
    pub far_lane: Option<String>,
    /// Whether what goes out of one module comes into the other one.
    pub meets: bool,
}

impl ChainRecord {
    /// The record of a chain.
    pub fn new(
        links: &[Link],
        chain: &Chain,
        layout: &str,
        application: Option<&str>,
        tool_version: &str,
    ) -> ChainRecord {
        let strand = |s: &grade::Strand| StrandRecord { near: s.near, far: s.far };
        ChainRecord {
            schema: CHAIN_FORMAT.to_owned(),
            tool: Tool { name: "pitchline".to_owned(), version: tool_version.to_owned() },
            layout: layout.to_owned(),
            application: application.map(str::to_owned),
            members: links.iter().zip(&chain.orders).map(|(link, order)| member(link, *order)).collect(),
            strands: chain.strands.iter().map(strand).collect(),
            lanes: chain.joined.iter().map(joined).collect(),
            reversals: chain.reversals,
            pairs: chain.pairs.map(|pairs| match pairs {
                Pairs::Straight => PairsWord::Straight,
                Pairs::Crossed => PairsWord::Crossed,
            }),
            contradictions: chain.contradictions.iter().map(|what| words(what, &chain.joined)).collect(),
        }
    }

    /// The document as JSON text, a newline at the end.
    ///
    /// # Errors
    /// As [`crate::json::to_text`].
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        crate::json::to_text(self)
    }
}

fn member(link: &Link, order: Order) -> MemberRecord {
    let (what, id) = match link {
        Link::Cable(cable) => ("cable", cable.id()),
        Link::Adapter(adapter) => ("adapter", adapter.word()),
    };
    let order = match order {
        Order::Kept => OrderWord::Kept,
        Order::Reversed => OrderWord::Reversed,
        Order::Other => OrderWord::Other,
    };
    MemberRecord { what: what.to_owned(), id: id.to_owned(), order }
}

fn joined(joined: &Joined) -> JoinedRecord {
    let word = |lane: Option<Lane>| lane.map(|lane| lane.to_string());
    let (near_lane, far_lane) = (word(joined.near), word(joined.far));
    let (near, far) = (joined.strand.near, joined.strand.far);
    JoinedRecord { near, near_lane, far, far_lane, meets: joined.meets() }
}

fn words(contradiction: &Contradiction, joined: &[Joined]) -> String {
    let at = |strand: &grade::Strand| joined.iter().find(|joined| joined.strand == *strand);
    let near = |strand| at(strand)?.near;
    let far = |strand| at(strand)?.far;
    let word = |lane: Option<Lane>| lane.map_or_else(|| "no lane".to_owned(), |lane| lane.to_string());
    match contradiction {
        Contradiction::NoAdapter(number) => {
            format!("member {number} is a cable right after a cable: put an adapter between the two")
        }
        Contradiction::NoCable(number) => {
            format!(
                "member {number} is an adapter without a cable on each side of it: put a cable there, or leave it out"
            )
        }
        Contradiction::SameWay(strand) => {
            let transmits = near(strand).is_some_and(|lane| lane.direction == Direction::Transmit);
            format!(
                "near position {} comes out at far position {}: {} meets {}, and both {}",
                strand.near,
                strand.far,
                word(near(strand)),
                word(far(strand)),
                if transmits { "transmit" } else { "receive" }
            )
        }
        Contradiction::Unused(strand) => format!(
            "near position {} comes out at far position {}: {} meets {}, so that what is transmitted is received nowhere",
            strand.near,
            strand.far,
            word(near(strand)),
            word(far(strand))
        ),
        Contradiction::SplitPair([a, b], [c, d]) => {
            format!("the duplex pair {a}, {b} comes out at {c} and {d}, which are no pair")
        }
    }
}
