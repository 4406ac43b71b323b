//! The pictures of two looks at one face held against each other, fibre by fibre.

use crate::pipeline::Looked;
use grade::compare::{FaceSeen, Glass};
use rayon::prelude::*;
use report::FaceRecord;
use survey::Shot;
use terms::{Held, Point};

/// By position what the pictures say of each other; nothing where either face comes without its pictures. The faces are
/// seen alike.
pub fn held(before: (&Looked, &FaceSeen), after: (&Looked, &FaceSeen)) -> Vec<(u16, Held)> {
    let positions: Vec<u16> = before.1.fibres.iter().map(|f| f.position).collect();
    positions
        .into_par_iter()
        .filter_map(|position| {
            let both = (shot(before.0, before.1, position)?, shot(after.0, after.1, position)?);
            Some((position, survey::held(&both.0, &both.1)?))
        })
        .collect()
}

fn shot<'a>(face: &'a Looked, seen: &'a FaceSeen, position: u16) -> Option<Shot<'a>> {
    let Glass { diameter, blur, features, .. } = seen.at(position)?.glass.as_ref()?;
    let FaceRecord { positions, poses, .. } = &face.record;
    let at = positions.iter().find(|p| p.position == position)?;
    let source = at.source?;
    let [x, y] = at.centre_px?;
    Some(Shot {
        frame: face.frames.get(source)?,
        centre: Point::new(x, y),
        matrix: poses.get(source)?.px_per_um?,
        diameter: *diameter,
        blur: *blur,
        core_light: at.core_light,
        features,
    })
}
