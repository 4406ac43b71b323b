//! What became of a connector's marks from the look before the last to the last one, where both were graded alike.

use super::pictures;
use crate::compared;
use crate::pipeline::Looked;
use handover::Inspection;
use report::compare::CompareRecord;
use report::{Care, FaceRecord, SourceInfo};
use std::path::PathBuf;

/// The comparison, or why the two cannot be of one face; neither where there is no look before or the two were not graded
/// alike. `find` tells where a picture of the look of that index lies.
pub fn since(
    looks: &[Inspection],
    find: impl Fn(usize, &SourceInfo) -> Option<PathBuf>,
) -> Option<Result<CompareRecord, String>> {
    let [.., before, last] = looks else { return None };
    if !alike(&before.face, &last.face) {
        return None;
    }
    let looked = |look: &Inspection, at: usize| Looked {
        record: look.face.clone(),
        frames: pictures::frames(&look.face, |source| find(at, source)),
        whole: None,
    };
    let at = looks.len() - 2;
    let (first, mut second) = (looked(before, at), looked(last, at + 1));
    let counsel = profile::counsel();
    let care = counsel.as_ref().map(|counsel| Care { counsel, cleaned: &[] });
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
