//! What the dirt of one face would do to the other if all of it went over: each mark is laid on the fibre that
//! it faces and graded there. Damage does not go over; dirt off the fibres is told where it lies near one.

use super::chance::leaves;
use super::meeting::{Meeting, Seat};
use super::{MatedFace, Which};
use crate::compare::{FibreSeen, Glass};
use crate::conformity::Acceptance;
use crate::criteria::Criteria;
use crate::engine;
use crate::verdict::{Reason, Verdict};
use terms::{Face, Feature, FeatureId, FibreFrame, Kind, Point, Reach, Um};

/// Dirt on a ferrule that lies within so much of a fibre's centre may be pressed onto the fibre or keep it from
/// touching its partner, um: half the pitch. Common practice, no source.
const NEAR: f64 = 125.0;

/// Dirt on a ferrule, off its fibres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaceDirt {
    /// Where on its face.
    pub centre: Point<Face>,
    /// Smallest enclosing circle (diameter).
    pub size: Um,
}

/// A position that the other face's dirt endangers.
#[derive(Clone, Debug, PartialEq)]
pub struct AtRisk {
    /// The face that is endangered.
    pub face: Which,
    /// Its position.
    pub position: u16,
    /// Why; at least one.
    pub reasons: Vec<Reason>,
    /// What.
    pub risks: Vec<Risk>,
    /// The marks on the other ferrule that lie near.
    pub ferrule: Vec<NearMark>,
}

/// A mark on the other ferrule that would lie near a fibre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearMark {
    /// Its size.
    pub size: Um,
    /// How far from the fibre's centre its own would lie.
    pub gap: Um,
}

/// One mark of the other face that endangers a position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risk {
    /// Its position and number on the other face.
    pub from: (u16, FeatureId),
    /// Where it would be pressed to.
    pub centre: Point<FibreFrame>,
}

/// The positions of a face that the dirt of `other` endangers, in order; `meeting` carries the other face onto
/// this one.
pub fn on(
    face: Which,
    own: &MatedFace,
    other: &MatedFace,
    meeting: &Meeting,
    by: (&Criteria, Acceptance),
) -> Vec<AtRisk> {
    let at = |fibre: &FibreSeen| {
        let here = Here { face, fibre, seat: seat(fibre), meeting, by };
        let facing = own_partner(fibre, other, meeting);
        let (mut reasons, risks) = here.by_glass(facing);
        let ferrule: Vec<NearMark> = other.dirt.iter().filter_map(|dirt| here.by_ferrule(dirt)).collect();
        reasons.extend(ferrule.iter().map(NearMark::reason));
        (!reasons.is_empty()).then_some(AtRisk { face, position: fibre.position, reasons, risks, ferrule })
    };
    own.seen.fibres.iter().filter_map(at).collect()
}

/// The fibre of the other face that faces this one.
fn own_partner<'a>(fibre: &FibreSeen, other: &'a MatedFace, meeting: &Meeting) -> Option<&'a FibreSeen> {
    // The mirror map is its own inverse.
    let there = other.seen.position_at(meeting.adapter.across(fibre.nominal))?;
    other.seen.at(there)
}

/// Where a fibre lies; at its site if it was not found.
fn seat(fibre: &FibreSeen) -> Seat {
    match &fibre.glass {
        Some(glass) => Seat::of(fibre.nominal, glass),
        None => Seat { centre: fibre.nominal },
    }
}

struct Here<'a> {
    face: Which,
    fibre: &'a FibreSeen,
    seat: Seat,
    meeting: &'a Meeting,
    by: (&'a Criteria, Acceptance),
}

impl Here<'_> {
    /// What the facing fibre's dirt would break here, and which marks of it are counted by that.
    fn by_glass(&self, facing: Option<&FibreSeen>) -> (Vec<Reason>, Vec<Risk>) {
        let Some((there, glass)) = facing.and_then(|f| Some((f, f.glass.as_ref()?))) else {
            return (Vec::new(), Vec::new());
        };
        let pressed = self.pressed(there, glass);
        let grade = engine::grade_marks(self.fibre.position, &pressed, self.by.0, self.by.1);
        if grade.verdict != Verdict::Fail {
            return (Vec::new(), Vec::new());
        }
        let broken = grade.findings.iter().filter(|f| f.verdict == Verdict::Fail);
        let mut counted: Vec<FeatureId> = broken.flat_map(|f| f.counted.clone()).collect();
        counted.sort();
        counted.dedup();
        let at = |id: &FeatureId| pressed.iter().find(|f| f.id == *id).map(|f| (*id, f.centre));
        let risks = counted.iter().filter_map(at);
        let from = there.position;
        let name = match self.face {
            Which::A => 'B',
            Which::B => 'A',
        };
        let reasons = grade.reasons.into_iter().map(|reason| Reason {
            code: "facing-dirt".to_owned(),
            text: format!("from {name} {from}: {}", reason.text),
        });
        (reasons.collect(), risks.map(|(id, centre)| Risk { from: (from, id), centre }).collect())
    }

    /// The dirt of the facing fibre as it would lie here.
    fn pressed(&self, there: &FibreSeen, glass: &Glass) -> Vec<Feature> {
        let from = Seat::of(there.nominal, glass);
        let loose = |f: &&Feature| leaves(f.kind) > 0.0 && f.kind != Kind::Chip;
        let across = |f: &Feature| {
            let centre = self.meeting.about(f.centre, &from, &self.seat);
            let outline: Vec<_> =
                f.outline.iter().map(|p| self.meeting.about(*p, &from, &self.seat)).collect();
            Feature { centre, reach: reach(centre, f.size.0, &outline), outline, ..f.clone() }
        };
        glass.features.iter().filter(loose).map(across).collect()
    }

    fn by_ferrule(&self, dirt: &FaceDirt) -> Option<NearMark> {
        let lands = self.meeting.place(dirt.centre);
        let gap = lands.distance(self.seat.centre);
        (gap - dirt.size.0 / 2.0 < NEAR).then_some(NearMark { size: dirt.size, gap: Um(gap) })
    }
}

impl NearMark {
    fn reason(&self) -> Reason {
        Reason {
            code: "ferrule-dirt".to_owned(),
            text: format!(
                "a mark of {:.0} um on the other ferrule would lie {:.0} um from this fibre's centre and may keep it \
                 from touching",
                self.size.0, self.gap.0
            ),
        }
    }
}

/// How near to and far from the centre a mark reaches.
fn reach(centre: Point<FibreFrame>, size: f64, outline: &[Point<FibreFrame>]) -> Reach {
    let radius = centre.radius();
    let corners = || outline.iter().map(|p| p.radius());
    let covers = outline.is_empty() || terms::geometry::point_in_polygon(Point::new(0.0, 0.0), outline);
    let inner = match covers {
        true => (radius - size / 2.0).max(0.0),
        false => corners().fold(f64::INFINITY, f64::min),
    };
    let outer = corners().fold(if outline.is_empty() { radius + size / 2.0 } else { 0.0 }, f64::max);
    Reach { inner: Um(inner), outer: Um(outer.max(inner)) }
}
