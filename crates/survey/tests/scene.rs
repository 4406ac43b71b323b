//! A made-up face, a camera over it, and what the survey makes of the picture.

use image::codecs::jpeg::JpegEncoder;
use imaging::door::{self, Limits};
use imaging::{Frame, Samples};
use survey::{Settings, SurveyError};
use synth::{Camera, Face, FacePlan, FibreType, Mark, On, Truth, What};
use terms::{Feature, Fibre, Flaw, Layout, Look, Survey};

pub use crate::common::layout;

/// What is different about a camera.
pub type Change = fn(&mut Camera);

/// A face and a camera over it.
#[derive(Clone)]
pub struct Scene {
    pub layout: Layout,
    pub face: Face,
    pub camera: Camera,
}

/// A picture with its truth.
pub struct Shot {
    pub layout: Layout,
    pub camera: Camera,
    pub frame: Frame,
    pub truth: Truth,
}

impl Scene {
    /// A clean face of multimode fibres, seen as a strip of 0.5 um per pixel about its rows.
    pub fn new(id: &str) -> Scene {
        Scene::of(id, FacePlan::default())
    }

    /// The clean face of a plan.
    pub fn of(id: &str, plan: FacePlan) -> Scene {
        let layout = layout(id);
        Scene { face: Face::new(&layout, &plan), camera: Camera::default(), layout }.strip(120.0, 110.0)
    }

    /// Seen at another scale and as sharp as such pixels can tell.
    pub fn at(self, um_per_px: f64) -> Scene {
        self.seen(|c| {
            c.um_per_px = um_per_px;
            c.blur_um = c.blur_um.max(0.9 * um_per_px);
        })
    }

    /// The same with another camera.
    pub fn seen(self, change: impl FnOnce(&mut Camera)) -> Scene {
        let mut camera = self.camera;
        change(&mut camera);
        Scene { camera, ..self }
    }

    /// The camera's picture cut to the fibres' centres and these margins, um, its turn included.
    pub fn strip(self, x_um: f64, y_um: f64) -> Scene {
        let (width_px, height_px) = self.camera.size_around(&self.layout, x_um, y_um);
        Scene { camera: Camera { width_px, height_px, ..self.camera }, ..self }
    }

    /// With a mark on the fibre at a position.
    pub fn on(mut self, position: u16, what: What) -> Scene {
        let seed = self.face.marks.len() as u64 + 1;
        self.face.put(Mark { on: On::Fibre(position), what, seed });
        self
    }

    /// With a mark placed in the face frame.
    pub fn off(mut self, what: What) -> Scene {
        let seed = self.face.marks.len() as u64 + 1;
        self.face.put(Mark { on: On::Face, what, seed });
        self
    }

    pub fn shot(self) -> Shot {
        let synth::Rendered { frame, truth } = synth::render_face(&self.face, &self.camera).unwrap();
        Shot { layout: self.layout, camera: self.camera, frame, truth }
    }
}

impl Shot {
    pub fn read(&self, layout: &Layout, stated: Option<f64>) -> Result<Survey, SurveyError> {
        let frames = std::slice::from_ref(&self.frame);
        survey::survey(frames, layout, self.camera.view, stated, &Settings::default())
    }

    pub fn survey(&self) -> Survey {
        self.read(&self.layout, None).unwrap()
    }

    /// The picture of 8 bit after a lossy coder of that quality.
    pub fn coded(self, quality: u8) -> Shot {
        let Samples::Eight(levels) = self.frame.samples() else { panic!("a picture of 8 bit") };
        let (width, height) = (self.frame.width() as u32, self.frame.height() as u32);
        let mut bytes = Vec::new();
        JpegEncoder::new_with_quality(&mut bytes, quality)
            .encode(levels, width, height, image::ExtendedColorType::L8)
            .unwrap();
        Shot { frame: door::open(&bytes, &Limits::default()).unwrap(), ..self }
    }
}

pub fn single_mode() -> FacePlan {
    FacePlan { fibre: FibreType::SingleMode, ..FacePlan::default() }
}

/// The fibre found at a position.
pub fn fibre(survey: &Survey, position: u16) -> &Fibre {
    match &survey.sites.iter().find(|s| s.position == position).unwrap().look {
        Look::Found(fibre) => fibre,
        Look::Missing(flaw) => panic!("position {position} is missing: {flaw}"),
    }
}

/// Every position that was not found, with its flaw.
pub fn missing(survey: &Survey) -> Vec<(u16, Flaw)> {
    let flaw = |look: &Look| match look {
        Look::Found(_) => None,
        Look::Missing(flaw) => Some(flaw.clone()),
    };
    survey.sites.iter().filter_map(|s| Some((s.position, flaw(&s.look)?))).collect()
}

/// Marks are held to this radius, um. Nearer to the edge noise alone still makes a mark below 1 um on one
/// clean fibre in sixteen: a known shortfall, in the zone that no criteria limit.
pub const JUDGED: f64 = 59.0;

/// Every mark whose centre lies nearer than `within` um to its cladding's, with its position.
pub fn inner_marks(survey: &Survey, within: f64) -> Vec<(u16, &Feature)> {
    let mut all = Vec::new();
    for site in &survey.sites {
        if let Look::Found(fibre) = &site.look {
            let inner = fibre.features.iter().filter(|f| f.centre.radius() < within);
            all.extend(inner.map(|f| (site.position, f)));
        }
    }
    all
}

/// A mark in one line, for messages.
pub fn told(mark: &Feature) -> String {
    let Feature { kind, size, u, centre: at, contrast, .. } = mark;
    format!("{kind} {:.2} +- {:.2} um at {:.1}, {:.1}, contrast {contrast:.2}", size.0, u.0, at.x, at.y)
}
