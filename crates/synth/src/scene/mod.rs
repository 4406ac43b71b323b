//! A scene: a face as planned, the marks on it and the camera that looks at it; all that one picture with its
//! truth is made from. Read from a scene file by `parse`, or built by a program.

mod marks;
mod parse;
mod reader;

pub use parse::parse_scene;

use crate::camera::Camera;
use crate::error::{Fault, SceneError};
use crate::face::{Face, FacePlan};
use crate::mark::{DirtLevel, Mark, On, strew};
use terms::Layout;

/// How large the picture is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Framing {
    /// So many columns and rows.
    Pixels {
        /// Columns.
        width: usize,
        /// Rows.
        height: usize,
    },
    /// As large as needed to show the nominal centres of all fibres with these margins, um, turn included.
    Around {
        /// Margin left and right of the outermost centres.
        x_um: f64,
        /// Margin above and below them.
        y_um: f64,
    },
}

impl Default for Framing {
    fn default() -> Self {
        Framing::Around { x_um: 200.0, y_um: 220.0 }
    }
}

/// A mark with the line of the scene file that it stands in.
#[derive(Clone, Debug, PartialEq)]
pub struct StatedMark {
    /// The mark.
    pub mark: Mark,
    /// Its line, from 1; none if a program made it.
    pub line: Option<usize>,
}

impl From<Mark> for StatedMark {
    fn from(mark: Mark) -> Self {
        StatedMark { mark, line: None }
    }
}

/// Dirt strewn by chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dirt {
    /// How much.
    pub level: DirtLevel,
    /// Seed of it.
    pub seed: u64,
}

/// Everything that one picture is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Name of the scene, for messages.
    pub name: String,
    /// A line for people.
    pub title: String,
    /// Id of the layout that it is made for.
    pub layout: String,
    /// Id of the criteria that it is to be graded by, if it says.
    pub criteria: Option<String>,
    /// The clean face.
    pub face: FacePlan,
    /// Size of the picture.
    pub framing: Framing,
    /// The camera; its own width and height give way to `framing`.
    pub camera: Camera,
    /// Marks, in the order in which they are put on the face.
    pub marks: Vec<StatedMark>,
    /// Dirt that is strewn over it afterwards.
    pub dirt: Option<Dirt>,
}

impl Scene {
    /// The face with all its marks.
    ///
    /// # Errors
    /// A [`SceneError`] that names every position that the layout does not have.
    pub fn face_on(&self, layout: &Layout) -> Result<Face, SceneError> {
        let known = |n: u16| layout.places.iter().any(|p| p.position == n);
        let mut faults = Vec::new();
        for n in self.face.empty.iter().filter(|n| !known(**n)) {
            let text = format!("`empty` names position {n}, which layout {} does not have", layout.id);
            faults.push(Fault { line: None, text });
        }
        for stated in &self.marks {
            if let On::Fibre(n) = stated.mark.on
                && !known(n)
            {
                let text =
                    format!("this mark lies at position {n}, which layout {} does not have", layout.id);
                faults.push(Fault { line: stated.line, text });
            }
        }
        if !faults.is_empty() {
            return Err(SceneError::new(&self.name, faults));
        }
        let mut face = Face::new(layout, &self.face);
        face.marks.extend(self.marks.iter().map(|m| m.mark.clone()));
        if let Some(dirt) = self.dirt {
            let strewn = strew(&face, dirt.level, dirt.seed);
            face.marks.extend(strewn);
        }
        Ok(face)
    }

    /// The camera with the size of its picture.
    pub fn camera_on(&self, layout: &Layout) -> Camera {
        let (width_px, height_px) = match self.framing {
            Framing::Pixels { width, height } => (width, height),
            Framing::Around { x_um, y_um } => self.camera.size_around(layout, x_um, y_um),
        };
        Camera { width_px, height_px, ..self.camera.clone() }
    }
}
