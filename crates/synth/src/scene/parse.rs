//! The scene file: its tables and keys, and the scene they make.

use super::marks::read_mark;
use super::reader::{Section, line_of};
use super::{Dirt, Framing, Scene, StatedMark};
use crate::camera::{Bits, Camera, FocusTilt};
use crate::error::{Fault, SceneError};
use crate::face::{Cores, FacePlan, FibreType, GuideLook};
use crate::mark::DirtLevel;
use terms::Key;
use toml::de::DeTable;

const TOP: &[&str] = &["title", "layout", "criteria", "face", "camera", "dirt", "marks"];
const FACE: &[&str] = &[
    "seed",
    "fibre",
    "cores",
    "lit",
    "guides",
    "ferrule_level",
    "ferrule_contrast",
    "polish",
    "eccentricity_um",
    "gap_um",
    "empty",
];
const CAMERA: &[&str] = &[
    "um_per_px",
    "width_px",
    "height_px",
    "margin_um",
    "middle_um",
    "turn_deg",
    "key",
    "mirrored",
    "blur_um",
    "tilt_um_per_mm",
    "tilt_deg",
    "focus_line_um",
    "smear_um",
    "smear_deg",
    "distortion",
    "slope",
    "slope_deg",
    "vignette",
    "exposure",
    "signal_to_noise",
    "shot_share",
    "hot_pixels",
    "bits",
    "seed",
];

/// Reads a scene file (TOML). `name` is used in messages only.
///
/// # Errors
/// A [`SceneError`] with every fault of the file and its line: broken TOML, unknown keys, wrong types, values
/// out of range, missing keys. Whether the layout has the positions named shows when the scene is rendered.
pub fn parse_scene(name: &str, text: &str) -> Result<Scene, SceneError> {
    let root = match DeTable::parse(text) {
        Ok(root) => root,
        Err(broken) => {
            let line = broken.span().map(|s| line_of(text, s.start));
            let text = format!("this is not valid TOML: {}", broken.message());
            return Err(SceneError::new(name, vec![Fault { line, text }]));
        }
    };
    let mut top = Section::new(text, "the scene", 0, root.get_ref());
    let mut faults = Vec::new();
    let title = top.text("title").unwrap_or_default();
    let layout = top.text("layout");
    if layout.is_none() && !top.has("layout") {
        top.missing("layout", "the id of the layout that the face is made for");
    }
    let criteria = top.text("criteria");
    let face = top.table("face").map_or_else(FacePlan::default, |s| read_face(s, &mut faults));
    let (camera, framing) = match top.table("camera") {
        Some(section) => read_camera(section, &mut faults),
        None => (Camera::default(), Framing::default()),
    };
    let dirt = top.table("dirt").map(|s| read_dirt(s, &mut faults));
    let marks: Vec<StatedMark> = top
        .tables("marks")
        .into_iter()
        .enumerate()
        .filter_map(|(k, section)| read_mark(section, k as u64, &mut faults))
        .collect();
    faults.extend(top.finish(TOP));
    match layout {
        Some(layout) if faults.is_empty() => {
            Ok(Scene { name: name.to_owned(), title, layout, criteria, face, framing, camera, marks, dirt })
        }
        _ => Err(SceneError::new(name, faults)),
    }
}

fn seed(section: &mut Section, into: &mut u64) {
    if let Some(seed) = section.whole("seed", 0, i64::MAX as u64) {
        *into = seed;
    }
}

fn read_face(mut s: Section, faults: &mut Vec<Fault>) -> FacePlan {
    let mut plan = FacePlan::default();
    seed(&mut s, &mut plan.seed);
    let fibres =
        [("mm50", FibreType::Multimode50), ("mm62.5", FibreType::Multimode62), ("sm", FibreType::SingleMode)];
    s.word("fibre", &fibres, &mut plan.fibre);
    let cores = [("dark", Cores::Dark), ("lit", Cores::Lit), ("mixed", Cores::Mixed)];
    s.word("cores", &cores, &mut plan.cores);
    plan.lit = s.positions("lit").unwrap_or_default();
    s.word("guides", &[("open", GuideLook::Open), ("pins", GuideLook::Pins)], &mut plan.guides);
    s.number("ferrule_level", &mut plan.ferrule_level);
    s.number("ferrule_contrast", &mut plan.ferrule_contrast);
    s.number("polish", &mut plan.polish);
    s.number("eccentricity_um", &mut plan.eccentricity_um);
    s.number("gap_um", &mut plan.gap_um);
    plan.empty = s.positions("empty").unwrap_or_default();
    s.note(plan.check());
    faults.extend(s.finish(FACE));
    plan
}

fn read_camera(mut s: Section, faults: &mut Vec<Fault>) -> (Camera, Framing) {
    let mut camera = Camera::default();
    s.number("um_per_px", &mut camera.um_per_px);
    s.place("middle_um", &mut camera.middle_um);
    s.number("turn_deg", &mut camera.turn_deg);
    s.word("key", &[("up", Key::Up), ("down", Key::Down)], &mut camera.view.key);
    s.flag("mirrored", &mut camera.view.mirrored);
    s.number("blur_um", &mut camera.blur_um);
    camera.tilt = read_tilt(&mut s);
    s.number("smear_um", &mut camera.smear_um);
    s.number("smear_deg", &mut camera.smear_deg);
    s.number("distortion", &mut camera.distortion);
    s.number("slope", &mut camera.light.slope);
    s.number("slope_deg", &mut camera.light.slope_deg);
    s.number("vignette", &mut camera.light.vignette);
    s.number("exposure", &mut camera.exposure);
    s.number("signal_to_noise", &mut camera.signal_to_noise);
    s.number("shot_share", &mut camera.shot_share);
    camera.hot_pixels = s.whole("hot_pixels", 0, 100_000).unwrap_or(0) as usize;
    camera.bits = match s.whole("bits", 8, 16) {
        Some(16) => Bits::Sixteen,
        Some(8) | None => Bits::Eight,
        Some(other) => {
            s.note(vec![crate::check::Wrong {
                field: "bits",
                text: format!("`bits` must be 8 or 16, not {other}"),
            }]);
            Bits::Eight
        }
    };
    seed(&mut s, &mut camera.seed);
    let framing = read_framing(&mut s);
    s.note(camera.check_look());
    faults.extend(s.finish(CAMERA));
    (camera, framing)
}

fn read_tilt(s: &mut Section) -> Option<FocusTilt> {
    let mut tilt = FocusTilt { um_per_mm: 0.0, direction_deg: 90.0, line_um: 0.0 };
    let tilted = s.number("tilt_um_per_mm", &mut tilt.um_per_mm);
    let turned = s.number("tilt_deg", &mut tilt.direction_deg);
    let moved = s.number("focus_line_um", &mut tilt.line_um);
    if !tilted && (turned || moved) {
        s.missing("tilt_um_per_mm", "without which `tilt_deg` and `focus_line_um` do nothing");
    }
    tilted.then_some(tilt)
}

fn read_framing(s: &mut Section) -> Framing {
    let width = s.whole("width_px", 16, 30_000);
    let height = s.whole("height_px", 16, 30_000);
    let mut margin = match Framing::default() {
        Framing::Around { x_um, y_um } => (x_um, y_um),
        Framing::Pixels { .. } => (0.0, 0.0),
    };
    let stated = s.place("margin_um", &mut margin);
    let far = |v: f64| !(-2000.0..=3000.0).contains(&v);
    if far(margin.0) || far(margin.1) {
        let text = format!("`margin_um` must be from -2000 to 3000 each, not {margin:?}");
        s.note(vec![crate::check::Wrong { field: "margin_um", text }]);
    }
    let one_only = s.has("width_px") != s.has("height_px");
    if one_only || (s.has("width_px") && stated) {
        let text = "give the picture's size either by `width_px` and `height_px` or by `margin_um`".into();
        let field = if s.has("width_px") { "width_px" } else { "height_px" };
        s.note(vec![crate::check::Wrong { field, text }]);
    }
    match (width, height) {
        (Some(width), Some(height)) => Framing::Pixels { width: width as usize, height: height as usize },
        _ => Framing::Around { x_um: margin.0, y_um: margin.1 },
    }
}

fn read_dirt(mut s: Section, faults: &mut Vec<Fault>) -> Dirt {
    let mut dirt = Dirt { level: DirtLevel::Light, seed: 1 };
    let levels = [
        ("light", DirtLevel::Light),
        ("moderate", DirtLevel::Moderate),
        ("heavy", DirtLevel::Heavy),
        ("filthy", DirtLevel::Filthy),
    ];
    s.word("level", &levels, &mut dirt.level);
    seed(&mut s, &mut dirt.seed);
    faults.extend(s.finish(&["level", "seed"]));
    dirt
}
