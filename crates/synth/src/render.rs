//! One face seen by one camera: the picture and its truth.

use crate::camera::Camera;
use crate::error::{Fault, SceneError};
use crate::face::Face;
use crate::mark::{Placed, place};
use crate::optics::Optics;
use crate::paint::{Grid, reflectance};
use crate::scene::Scene;
use crate::sensor::expose;
use crate::truth::{Truth, tell};
use imaging::Frame;
use terms::Layout;

/// A picture with its truth.
#[derive(Clone, Debug)]
pub struct Rendered {
    /// The picture.
    pub frame: Frame,
    /// What is truly on the face and where it lies in the picture.
    pub truth: Truth,
}

/// Renders a scene.
///
/// The order is that of optics: reflectance on a fine grid, blur in um, average over each pixel, light, noise,
/// converter. The same scene gives the same bytes on any number of threads.
///
/// # Errors
/// A [`SceneError`] if the scene names positions that the layout does not have, or holds values that cannot be.
pub fn render(scene: &Scene, layout: &Layout) -> Result<Rendered, SceneError> {
    let named = |e: SceneError| SceneError { name: scene.name.clone(), ..e };
    let face = scene.face_on(layout)?;
    let mut rendered = render_face(&face, &scene.camera_on(layout)).map_err(named)?;
    rendered.truth.layout.clone_from(&layout.id);
    rendered.truth.criteria.clone_from(&scene.criteria);
    Ok(rendered)
}

/// Renders one view of a face. The truth leaves the names of layout and criteria open.
///
/// # Errors
/// A [`SceneError`] if camera or marks hold values that cannot be, or a mark names a position without a fibre.
pub fn render_face(face: &Face, camera: &Camera) -> Result<Rendered, SceneError> {
    let mut faults: Vec<Fault> =
        camera.check().into_iter().map(|w| Fault { line: None, text: format!("camera: {w}") }).collect();
    let mut marks: Vec<Placed> = Vec::with_capacity(face.marks.len());
    for (k, mark) in face.marks.iter().enumerate() {
        match place(face, mark) {
            Ok(placed) => marks.push(placed),
            Err(why) => {
                let text = format!("mark {} ({}): {why}", k + 1, mark.what.word());
                faults.push(Fault { line: None, text });
            }
        }
    }
    let picture = if faults.is_empty() { picture(face, &marks, camera) } else { None };
    match picture {
        Some(frame) => Ok(Rendered { frame, truth: tell(face, &marks, camera) }),
        None => Err(SceneError::new("face", faults)),
    }
}

fn picture(face: &Face, marks: &[Placed], camera: &Camera) -> Option<Frame> {
    let grid = Grid::new(camera, Optics::pad_px(camera));
    let optics = Optics::new(camera, &grid);
    let scene = reflectance(face, marks, &grid);
    expose(&optics.gather(scene, camera, &grid), camera)
}
