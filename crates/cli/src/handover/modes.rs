//! Whether the ends of a cable hold fibres of one kind. Told of the criteria that came with the program: what a file of
//! one's own is for, a record does not say.

use grade::Mode;
use handover::Connector;
use report::FaceRecord;

/// What contradicts, if by the looks that count one end is multimode and another single mode.
pub fn differ(connectors: &[Connector]) -> Option<String> {
    let of = |mode: Mode| {
        connectors.iter().find_map(|connector| {
            let face = &connector.last()?.face;
            let (known, why) = told(face)?;
            (known == mode).then(|| format!("connector {} {why}", connector.identifier))
        })
    };
    let (multi, single) = (of(Mode::Multi)?, of(Mode::Single)?);
    Some(format!(
        "{multi} and {single}, and both are ends of one cable: find out which holds, and grade the other end again"
    ))
}

/// What a face is by its cores where they contradict its criteria, else by these; and how that is known.
fn told(face: &FaceRecord) -> Option<(Mode, String)> {
    let id = &face.criteria.id;
    let graded = profile::criteria(id)?.criteria.class.mode;
    let word = |mode: Mode| match mode {
        Mode::Multi => "multimode",
        Mode::Single => "single mode",
    };
    let contradicted = face.positions.iter().flat_map(|p| &p.reasons).any(|reason| reason.is_other_mode());
    Some(match (contradicted, graded) {
        (false, mode) => (mode, format!("was graded as {} ({id})", word(mode))),
        (true, mode) => {
            let seen = if mode == Mode::Multi { Mode::Single } else { Mode::Multi };
            (seen, format!("has the cores of {} by its picture (not graded by {id})", word(seen)))
        }
    })
}
