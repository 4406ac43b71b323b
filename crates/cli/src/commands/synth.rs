//! `pitchline synth`: a scene file in, a picture with its truth out.

use crate::args::SynthArgs;
use crate::failure::Failure;
use crate::folder::{self, Staged};
use crate::output::{self, word};
use crate::own::spare_strangers;
use crate::picture::encoded;
use crate::profiles;
use crate::progress::Progress;
use crate::read;
use std::path::Path;
use synth::Truth;

/// Renders a scene.
pub fn run(args: &SynthArgs) -> Result<u8, Failure> {
    let progress = Progress::new(args.quiet);
    progress.step("rendering");
    let name = args.scene.display().to_string();
    let scene = synth::parse_scene(&name, &read::text(&args.scene)?)?;
    let layout = profiles::layout(&scene.layout)?;
    let made = synth::render(&scene, &layout)?;
    progress.step("writing");
    let stem = args.scene.file_stem().unwrap_or_default().to_string_lossy();
    let (picture, told_as) = (format!("{stem}.png"), format!("{stem}.truth.json"));
    folder::spare(&args.out, &[&picture, &told_as], std::slice::from_ref(&args.scene))?;
    let truth = report::json::to_text(&made.truth)?;
    let files = [(picture.clone(), encoded(&made.frame)?), (told_as, truth.into_bytes())];
    spare_strangers(&args.out, &files)?;
    let staged = Staged::new(&args.out, &files)?;
    drop(progress);
    if !args.quiet {
        output::print(&told(&args.out, &picture, &made.truth))?;
    }
    staged.commit(&[])?;
    Ok(0)
}

/// What was made and how to grade it.
fn told(folder: &Path, picture: &str, truth: &Truth) -> String {
    let path = word(&folder.join(picture));
    let criteria = truth.criteria.as_deref().unwrap_or("CRITERIA");
    let key = if truth.view.key == "down" { " --key down" } else { "" };
    let mirrored = if truth.view.mirrored { " --mirrored" } else { "" };
    format!(
        "Wrote {path}, {} x {} pixels, and its truth beside it. To grade it:\n  pitchline grade {path} --layout {} \
         --criteria {criteria}{key}{mirrored} --out {}\n",
        truth.width_px,
        truth.height_px,
        truth.layout,
        word(&folder.join("graded")),
    )
}
