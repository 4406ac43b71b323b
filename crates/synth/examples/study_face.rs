//! Writes the pictures of one face of a study with their truths, to look at a verdict that was wrong:
//! `cargo run --release -p synth --example study_face -- SEED NUMBER FOLDER`; then
//! `pitchline grade FOLDER/1.1.png --layout mpo-12 --criteria ...` as it prints.

use imaging::Samples;
use std::path::Path;

#[path = "../tests/common/mod.rs"]
mod common;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [seed, number, folder] = args.as_slice() else {
        return Err("usage: study_face SEED NUMBER FOLDER".into());
    };
    let made = synth::study::face(&common::layout("mpo-12"), seed.parse()?, number.parse()?);
    println!("{:?}, --criteria {}", made.role, made.criteria);
    std::fs::create_dir_all(folder)?;
    for (s, set_up) in (1..).zip(&made.cameras) {
        for (t, camera) in (1..).zip(set_up) {
            let rendered = synth::render_face(&made.face, camera)?;
            let path = Path::new(folder).join(format!("{s}.{t}.png"));
            if let Samples::Eight(v) = rendered.frame.samples() {
                let (width, height) = (rendered.frame.width() as u32, rendered.frame.height() as u32);
                image::save_buffer(&path, v, width, height, image::ColorType::L8)?;
            }
            let mut truth = rendered.truth;
            truth.layout = "mpo-12".to_owned();
            truth.criteria = Some(made.criteria.to_owned());
            std::fs::write(path.with_extension("truth.json"), serde_json::to_string_pretty(&truth)?)?;
        }
    }
    Ok(())
}
