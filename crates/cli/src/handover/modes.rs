//! Whether the ends of a cable were graded as fibres of one kind. Told of the criteria that came with the program: what a
//! file of one's own is for, a record does not say.

use grade::Mode;
use handover::Connector;

/// What contradicts, if one end was graded as multimode and another as single mode by the looks that count.
pub fn differ(connectors: &[Connector]) -> Option<String> {
    let graded = |mode: Mode| {
        connectors.iter().find_map(|connector| {
            let id = &connector.last()?.face.criteria.id;
            let known = profile::criteria(id)?.criteria.class.mode;
            (known == mode).then_some((&connector.identifier, id))
        })
    };
    let ((multi, by), (single, by_single)) = (graded(Mode::Multi)?, graded(Mode::Single)?);
    Some(format!(
        "connector {multi} was graded as multimode ({by}) and connector {single} as single mode ({by_single}), and both \
         are ends of one cable: find out which holds, and grade the other end again"
    ))
}
