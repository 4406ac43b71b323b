//! Pictures that were given as steps along a face and are none: one of them shows the whole of it.

use crate::failure::Failure;
use crate::inputs::Origin;
use imaging::Frame;
use terms::{Layout, Pose, Survey};

/// Refuses several pictures of which one shows every position: where another shows the same fibres as they were before or
/// after, only one of the two would be graded, and what the other shows might not count.
pub fn refuse(origins: &[Origin], frames: &[Frame], survey: &Survey, layout: &Layout) -> Result<(), Failure> {
    let Some(stitch) = &survey.stitch else { return Ok(()) };
    let placed = stitch.placements.iter().map(|p| p.placed);
    let mut shown = origins.iter().zip(frames).zip(survey.poses.iter().zip(placed));
    let whole = shown.find(|((_, frame), (pose, placed))| *placed && shows_all(frame, pose, layout));
    whole.map_or(Ok(()), |((origin, _), _)| Err(Failure::WholeFace { picture: origin.clone() }))
}

/// Whether the whole cladding of every position lies in a picture.
fn shows_all(frame: &Frame, pose: &Pose, layout: &Layout) -> bool {
    let radius = 0.5 * layout.cladding.0;
    layout.places.iter().all(|place| {
        let corners = [(-radius, -radius), (radius, -radius), (-radius, radius), (radius, radius)];
        corners.into_iter().all(|(x, y)| {
            let at = pose.to_pixel(place.at.moved(x, y));
            (0.0..=frame.width() as f64 - 1.0).contains(&at.x)
                && (0.0..=frame.height() as f64 - 1.0).contains(&at.y)
        })
    })
}
