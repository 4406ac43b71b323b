//! Pictures that were given as steps along a face and are none: each of them shows the whole of it.

use crate::failure::Failure;
use crate::inputs::Origin;
use imaging::Frame;
use terms::{Layout, Pose, Survey};

/// Refuses several pictures that all show every position: of such only one would be graded, and what another shows, taken
/// before it or after, might not count.
pub fn refuse(origins: &[Origin], frames: &[Frame], survey: &Survey, layout: &Layout) -> Result<(), Failure> {
    let [first, .., last] = origins else { return Ok(()) };
    let placed = frames.iter().zip(&survey.poses);
    if survey.poses.len() != frames.len() || !placed.into_iter().all(|(f, pose)| shows_all(f, pose, layout)) {
        return Ok(());
    }
    Err(Failure::WholeFaces { first: first.clone(), last: last.clone() })
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
