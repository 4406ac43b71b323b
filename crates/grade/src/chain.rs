//! Cables and adapters in a row: where each position comes out at the far end, how often the order is reversed
//! on the way, and what contradicts itself first.
//!
//! Parallel optics: from plug to plug the order must be reversed an odd number of times (cables of type B and
//! adapters with aligned keys each reverse it once), or transmit meets transmit. By geometry: modules at both ends
//! meet their plugs key up to key up and look alike. The rule is one of single rows and of lanes that lie as in a row's
//! mirror image: where an application is stated, its lanes decide in its place, each followed to the far end.

use crate::lanes::{Direction, Lane, LaneMap};
use crate::mated::Adapter;
use crate::polarity::{CableMap, Strand};
use terms::{Layout, Place};

/// One member of a chain.
#[derive(Clone, Debug, PartialEq)]
pub enum Link {
    /// A cable, from its near to its far plug.
    Cable(CableMap),
    /// An adapter between two plugs.
    Adapter(Adapter),
}

/// What a member does to the order of the positions in a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// Left stays left.
    Kept,
    /// Left becomes right.
    Reversed,
    /// Something else, as a type C cable does with its pairs.
    Other,
}

/// How duplex pairs arrive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pairs {
    /// The first of a pair where a first is due: one of the two duplex cords must cross.
    Straight,
    /// The first where a second is due: cords that cross at both ends.
    Crossed,
}

/// What is wrong with a chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contradiction {
    /// Two cables meet without an adapter; the number of the second member, from 1.
    NoAdapter(usize),
    /// Two adapters meet, or an adapter stands at an end; its number.
    NoCable(usize),
    /// A fibre whose far end carries a lane of the same direction.
    SameWay(Strand),
    /// A fibre that joins a lane going out with a position that carries none.
    Unused(Strand),
    /// A duplex pair whose fibres arrive in two pairs.
    SplitPair([u16; 2], [u16; 2]),
}

/// What one fibre joins, each told from the module at that end: both ends are plugs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Joined {
    /// The fibre.
    pub strand: Strand,
    /// The lane at its near end; none if that position carries none.
    pub near: Option<Lane>,
    /// The lane at its far end.
    pub far: Option<Lane>,
}

impl Joined {
    /// Whether what goes out of one module comes into the other one.
    pub fn meets(&self) -> bool {
        self.near.zip(self.far).is_some_and(|(near, far)| near.direction != far.direction)
    }
}

/// A chain from end to end.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// What each member does to the order.
    pub orders: Vec<Order>,
    /// Each near position and where it comes out, in order; none if members do not meet.
    pub strands: Vec<Strand>,
    /// How often the order is reversed; none if a member does something else to it, or members do
    /// not meet.
    pub reversals: Option<usize>,
    /// How duplex pairs arrive; none if they do not arrive as pairs, or members do not meet.
    pub pairs: Option<Pairs>,
    /// What each fibre joins that carries a lane of the application at either end, in order of near position; none
    /// without an application.
    pub joined: Vec<Joined>,
    /// What is wrong, the first first.
    pub contradictions: Vec<Contradiction>,
}

/// Follows a chain of members for connectors of one layout; with an application's lanes on a plug, these alone
/// decide, and duplex pairs are only told. A chain whose members do not meet is not followed.
pub fn follow(links: &[Link], layout: &Layout, lanes: Option<&LaneMap>) -> Chain {
    let maps: Vec<Vec<Strand>> = links.iter().map(|link| map(link, layout)).collect();
    let end = |near: u16| maps.iter().try_fold(near, |at, map| far(map, at));
    let orders: Vec<Order> = maps.iter().map(|map| order(map, layout)).collect();
    let broken = joints(links);
    if !broken.is_empty() {
        let (strands, joined) = (vec![], vec![]);
        return Chain { orders, strands, reversals: None, pairs: None, joined, contradictions: broken };
    }
    let nears = layout.places.iter().map(|place| place.position);
    let strands: Vec<Strand> = nears.filter_map(|near| Some(Strand { near, far: end(near)? })).collect();
    let count = |wanted| orders.iter().filter(|o| **o == wanted).count();
    let duplex = first_cable(links).map(|cable| pairs(cable, &strands));
    let reversals = (count(Order::Other) == 0).then(|| count(Order::Reversed));
    let joined: Vec<Joined> = lanes.map(|lanes| joined(&strands, lanes)).unwrap_or_default();
    let contradictions = match lanes {
        Some(_) => joined.iter().filter_map(clash).collect(),
        None => duplex.and_then(Result::err).into_iter().collect(),
    };
    Chain { reversals, orders, pairs: duplex.and_then(Result::ok), joined, strands, contradictions }
}

fn first_cable(links: &[Link]) -> Option<&CableMap> {
    links.iter().find_map(|link| match link {
        Link::Cable(cable) => Some(cable),
        Link::Adapter(_) => None,
    })
}

/// Each position and where a member brings it.
fn map(link: &Link, layout: &Layout) -> Vec<Strand> {
    match link {
        Link::Cable(cable) => cable.strands().to_vec(),
        Link::Adapter(adapter) => {
            let there = |place: &Place| {
                let at = adapter.across(place.at);
                let found = layout.places.iter().find(|p| p.at.distance(at) < 1.0)?;
                Some(Strand { near: place.position, far: found.position })
            };
            layout.places.iter().filter_map(there).collect()
        }
    }
}

fn far(map: &[Strand], near: u16) -> Option<u16> {
    map.iter().find(|strand| strand.near == near).map(|strand| strand.far)
}

fn order(map: &[Strand], layout: &Layout) -> Order {
    let x = |position| layout.places.iter().find(|p| p.position == position).map(|p| p.at.x);
    let all = |sign: f64| {
        map.iter().all(|s| x(s.near).zip(x(s.far)).is_some_and(|(near, far)| (far - sign * near).abs() < 1.0))
    };
    match (all(1.0), all(-1.0)) {
        (true, _) => Order::Kept,
        (_, true) => Order::Reversed,
        _ => Order::Other,
    }
}

/// Cables and adapters must take turns, with a cable at each end.
fn joints(links: &[Link]) -> Vec<Contradiction> {
    let is_cable = |link: &Link| matches!(link, Link::Cable(_));
    let mut wrong = Vec::new();
    for (number, link) in (1..).zip(links) {
        let before = (number > 1).then(|| is_cable(&links[number - 2]));
        let last = number == links.len();
        match (before, is_cable(link)) {
            (Some(true), true) => wrong.push(Contradiction::NoAdapter(number)),
            (None | Some(false), false) => wrong.push(Contradiction::NoCable(number)),
            (Some(true), false) if last => wrong.push(Contradiction::NoCable(number)),
            _ => {}
        }
    }
    wrong
}

/// What the fibres join that carry a lane.
fn joined(strands: &[Strand], lanes: &LaneMap) -> Vec<Joined> {
    let joined = strands.iter().map(|&strand| Joined {
        strand,
        near: lanes.lane(strand.near),
        far: lanes.lane(strand.far),
    });
    joined.filter(|joined| joined.near.is_some() || joined.far.is_some()).collect()
}

/// What is wrong with a fibre that joins what does not belong together. One that brings a module nothing is told by
/// the fibre that carries the light elsewhere.
fn clash(joined: &Joined) -> Option<Contradiction> {
    let transmits = |lane: Lane| lane.direction == Direction::Transmit;
    match (joined.near, joined.far) {
        (Some(_), Some(_)) if !joined.meets() => Some(Contradiction::SameWay(joined.strand)),
        (Some(lane), None) | (None, Some(lane)) if transmits(lane) => {
            Some(Contradiction::Unused(joined.strand))
        }
        _ => None,
    }
}

/// How the pairs of the near end arrive.
fn pairs(cable: &CableMap, strands: &[Strand]) -> Result<Pairs, Contradiction> {
    let mut crossed = false;
    for strand in strands {
        let Some((_, partner)) = cable.duplex(strand.near).filter(|(_, partner)| *partner > strand.near)
        else {
            continue;
        };
        let Some(other) = far(strands, partner) else { continue };
        if cable.duplex(strand.far).is_none_or(|(_, due)| due != other) {
            return Err(Contradiction::SplitPair([strand.near, partner], [strand.far, other]));
        }
        crossed |= strand.far > other;
    }
    Ok(if crossed { Pairs::Crossed } else { Pairs::Straight })
}
