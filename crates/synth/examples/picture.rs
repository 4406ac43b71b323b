//! Renders one scene file to a PNG, with a single or double row of twelve, eight or sixteen as its layout:
//! `cargo run --release -p synth --example picture -- scene.toml out.png`.

use imaging::Samples;
use std::time::Instant;

#[path = "../tests/common/mod.rs"]
mod common;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let (Some(scene), Some(out)) = (args.next(), args.next()) else {
        return Err("usage: picture SCENE.toml OUT.png".into());
    };
    let scene = synth::parse_scene(&scene, &std::fs::read_to_string(&scene)?)?;
    let layout = common::layout(&scene.layout);
    let start = Instant::now();
    let made = synth::render(&scene, &layout)?;
    println!("{} x {} in {:.2?}", made.frame.width(), made.frame.height(), start.elapsed());
    let (w, h) = (made.frame.width() as u32, made.frame.height() as u32);
    match made.frame.samples() {
        Samples::Eight(v) => image::save_buffer(&out, v, w, h, image::ColorType::L8)?,
        Samples::Sixteen(v) => {
            let bytes: Vec<u8> = v.iter().flat_map(|s| s.to_ne_bytes()).collect();
            image::save_buffer(&out, &bytes, w, h, image::ColorType::L16)?;
        }
    }
    std::fs::write(format!("{out}.json"), serde_json::to_string_pretty(&made.truth)?)?;
    Ok(())
}
