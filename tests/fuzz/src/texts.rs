//! Files that people write: read, and put to the use that the program makes of them.

use crate::check_refusal;
use grade::chain::{Link, follow};
use grade::lanes::SeenAt;
use grade::{Acceptance, Risk, grade_marks};
use report::FaceRecord;
use report::terminal::{self, Style};
use std::sync::OnceLock;
use terms::{Feature, Layout};

/// Features of a graded face.
fn features() -> &'static [Feature] {
    static FEATURES: OnceLock<Vec<Feature>> = OnceLock::new();
    FEATURES.get_or_init(|| {
        let face = FaceRecord::parse(crate::faces::BASE).unwrap().seen();
        face.fibres.into_iter().filter_map(|f| f.glass).flat_map(|glass| glass.features).collect()
    })
}

fn layouts() -> impl Iterator<Item = Layout> {
    profile::layout_ids().into_iter().filter_map(|id| profile::layout(id))
}

/// Reads criteria, shows them and grades a face's features by them.
pub fn criteria(text: &str) {
    match profile::parse_criteria("mine.toml", text) {
        Ok(file) => {
            let _ = terminal::criteria(&file.criteria, Style::default());
            let _ = (profile::limit_rows(&file.criteria), profile::setting_rows(&file));
            assert!(!features().is_empty());
            for acceptance in [Acceptance::Simple, Acceptance::Guarded(Risk::new(0.05).unwrap())] {
                let _ = grade_marks(1, features(), &file.criteria, acceptance);
            }
        }
        Err(why) => check_refusal(&why.to_string()),
    }
}

/// Reads a layout and looks for cables and lanes that fit it.
pub fn layout(text: &str) {
    match profile::parse_layout("mine.toml", text) {
        Ok(layout) => {
            assert!(layout.places.len() >= 2 && layout.places.len() <= 64 * 64);
            for cable in profile::cable_ids() {
                let _ = profile::cable(cable, &layout);
            }
            let _ = follow(&[], &layout, None);
        }
        Err(why) => check_refusal(&why.to_string()),
    }
}

/// Reads a cable and puts it into a chain with itself, for every layout that it fits.
pub fn cable(text: &str) {
    match profile::parse_cable("mine.toml", text) {
        Ok(file) => {
            for layout in layouts() {
                let Some(map) = file.map_for(&layout) else { continue };
                let _ = follow(&[Link::Cable(map.clone()), Link::Cable(map.clone())], &layout, None);
            }
        }
        Err(why) => check_refusal(&why.to_string()),
    }
}

/// Reads an application and asks for its lanes in every layout.
pub fn application(text: &str) {
    match profile::parse_application("mine.toml", text) {
        Ok(file) => {
            for layout in layouts() {
                for seen in [SeenAt::Plug, SeenAt::Module] {
                    let lanes = file.map_for(&layout, seen);
                    let _ = follow(&[], &layout, lanes);
                }
            }
        }
        Err(why) => check_refusal(&why.to_string()),
    }
}

/// Reads rules of advice and adds what they come with.
pub fn advice(text: &str) {
    match profile::parse_advice("mine.toml", text) {
        Ok(file) => {
            assert!(!file.rules.is_empty());
            let _ = profile::with_cautions(file);
        }
        Err(why) => check_refusal(&why.to_string()),
    }
}

/// Reads a scene and puts its marks on the face; nothing is rendered.
pub fn scene(text: &str) {
    match synth::parse_scene("mine.toml", text) {
        Ok(scene) => {
            for layout in layouts().filter(|l| l.id == scene.layout) {
                if let Err(why) = scene.face_on(&layout) {
                    check_refusal(&why.to_string());
                }
            }
        }
        Err(why) => check_refusal(&why.to_string()),
    }
}
