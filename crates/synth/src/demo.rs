//! The demo: a small invented site whose cables are inspected on the morning of their use, one face each.

use crate::error::SceneError;
use crate::scene::{Scene, parse_scene};

/// One end face of the site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DemoFace {
    /// Short name, fit for a folder or a file.
    pub name: &'static str,
    /// The cable and the end of it.
    pub cable: &'static str,
    /// A line of story.
    pub story: &'static str,
    /// Id of its layout.
    pub layout: &'static str,
    /// Id of the criteria that it is graded by.
    pub criteria: &'static str,
    /// The scene file, as text.
    pub text: &'static str,
}

impl DemoFace {
    /// The scene of this face.
    ///
    /// # Errors
    /// None with the files as they are; the tests read them all.
    pub fn scene(&self) -> Result<Scene, SceneError> {
        parse_scene(self.name, self.text)
    }
}

/// The invented site.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scenario {
    /// What the site is called.
    pub site: &'static str,
    /// A line on what is done there.
    pub story: &'static str,
    /// Its faces, in the order in which they are inspected.
    pub faces: Vec<DemoFace>,
}

/// The demo's site and its four faces.
pub fn scenario() -> Scenario {
    Scenario {
        site: "Ferry House, store room to printing floor",
        story: "three trunks and a reference cord are inspected before the link is brought up",
        faces: vec![
            DemoFace {
                name: "trunk-1-store",
                cable: "trunk 1, store room end",
                story: "fresh out of its bag: a few specks and a hairline, all within the limits",
                layout: "mpo-12",
                criteria: "iec-61300-3-35-ed2-mm",
                text: include_str!("../scenes/trunk-1-store.toml"),
            },
            DemoFace {
                name: "reference-cord",
                cable: "reference cord, test end",
                story: "mated forty times: dirt on positions 3 and 8, a scratch across the core of 10",
                layout: "mpo-12",
                criteria: "iec-61300-3-35-ed2-sm-pc-rl45",
                text: include_str!("../scenes/reference-cord.toml"),
            },
            DemoFace {
                name: "trunk-2-floor",
                cable: "trunk 2, printing floor end",
                story: "two rows, left open over the weekend: dusty, with a print of somebody's finger",
                layout: "mpo-24",
                criteria: "iec-61300-3-35-ed2-mm",
                text: include_str!("../scenes/trunk-2-floor.toml"),
            },
            DemoFace {
                name: "trunk-3-floor",
                cable: "trunk 3, printing floor end",
                story: "clean, but the picture was taken in haste: its border cuts the last position",
                layout: "mpo-12",
                criteria: "iec-61300-3-35-ed2-mm",
                text: include_str!("../scenes/trunk-3-floor.toml"),
            },
        ],
    }
}
