//! What became of a connector's marks from the look before the last to the last one, where both were graded alike.

use crate::compared;
use crate::pipeline::Looked;
use grade::advice::Cleaned;
use handover::Inspection;
use imaging::Frame;
use report::compare::CompareRecord;
use report::{Care, FaceRecord, SourceInfo};

/// The pictures of the two last looks, the last one last.
#[derive(Default)]
pub struct LastTwo([Vec<Frame>; 2]);

impl LastTwo {
    /// Takes those of another look.
    pub fn push(&mut self, frames: Vec<Frame>) {
        let [_, last] = std::mem::take(&mut self.0);
        self.0 = [last, frames];
    }
}

/// The comparison of the two last looks, or why they cannot be of one face; neither where there is no look before or the
/// two were not graded alike. `cleaned` is what was done between them, in order.
pub fn since(
    looks: &[Inspection],
    LastTwo(frames): LastTwo,
    cleaned: &[Cleaned],
) -> Option<Result<CompareRecord, String>> {
    let [.., before, last] = looks else { return None };
    if !alike(&before.face, &last.face) {
        return None;
    }
    let [first, second] = frames;
    let looked = |look: &Inspection, frames| Looked { record: look.face.clone(), frames, whole: None };
    let (first, mut second) = (looked(before, first), looked(last, second));
    let counsel = profile::counsel();
    let care = counsel.as_ref().map(|counsel| Care { counsel, cleaned });
    let another = |another| {
        format!("{} and {} cannot be of one face: {}", before.when, last.when, compared::why(&another))
    };
    Some(compared::compared(&first, &mut second, None, care).map_err(another))
}

/// Whether two looks were graded by one layout and the same limits, in other pictures.
fn alike(before: &FaceRecord, last: &FaceRecord) -> bool {
    let positions = |face: &FaceRecord| face.positions.iter().map(|p| p.position).collect::<Vec<_>>();
    let shared = |source: &SourceInfo| before.sources.iter().any(|other| other.sha256 == source.sha256);
    before.layout == last.layout
        && before.criteria.id == last.criteria.id
        && before.guard_risk == last.guard_risk
        && positions(before) == positions(last)
        && !last.sources.iter().any(shared)
}
