//! Times of the steps of `grade` on one rendered face of 12 fibres at 0.5 um per pixel:
//! `cargo bench -p cli`. `against_opencv.py` beside this file compares the whole program with OpenCV.

use criterion::{Criterion, criterion_group, criterion_main};
use image::codecs::jpeg::JpegEncoder;
use image::codecs::tiff::TiffEncoder;
use image::{ExtendedColorType, ImageEncoder, codecs::png::PngEncoder};
use imaging::door::{self, Limits};
use imaging::{Frame, Samples};
use report::{FaceInputs, FaceRecord, map};
use std::hint::black_box;
use terms::View;

const SCENE: &str = "layout = \"mpo-12\"\n[face]\nseed = 3\n[camera]\num_per_px = 0.5\nturn_deg = 1\n\
                     [dirt]\nlevel = \"moderate\"\nseed = 3\n";

fn face() -> Option<Frame> {
    let scene = synth::parse_scene("bench", SCENE).ok()?;
    Some(synth::render(&scene, &profile::layout(&scene.layout)?).ok()?.frame)
}

/// The face in the formats that microscopes write.
fn files(frame: &Frame) -> Vec<(&'static str, Vec<u8>)> {
    let Samples::Eight(pixels) = frame.samples() else { return Vec::new() };
    let (width, height) = (frame.width() as u32, frame.height() as u32);
    let write = |encode: &dyn Fn(&mut Vec<u8>) -> image::ImageResult<()>| {
        let mut file = Vec::new();
        encode(&mut file).map(|()| file).unwrap_or_default()
    };
    let grey = ExtendedColorType::L8;
    vec![
        ("png", write(&|file| PngEncoder::new(file).write_image(pixels, width, height, grey))),
        (
            "jpeg",
            write(&|file| JpegEncoder::new_with_quality(file, 90).write_image(pixels, width, height, grey)),
        ),
        (
            "tiff",
            write(&|file| {
                TiffEncoder::new(std::io::Cursor::new(file)).write_image(pixels, width, height, grey)
            }),
        ),
    ]
}

fn steps(bench: &mut Criterion) {
    let (Some(frame), Some(layout)) = (face(), profile::layout("mpo-12")) else { return };
    let Some(file) = profile::criteria("iec-61300-3-35-ed2-mm") else { return };
    for (name, bytes) in files(&frame) {
        bench.bench_function(&format!("decode {name}"), |b| {
            b.iter(|| door::open(black_box(&bytes), &Limits::default()))
        });
    }
    let frames = [frame];
    let look = || survey::survey(&frames, &layout, View::default(), None, &file.settings);
    bench.bench_function("survey", |b| b.iter(look));
    let Ok(survey) = look() else { return };
    bench.bench_function("grade", |b| b.iter(|| grade::grade(&survey, &file.criteria)));
    let grade = grade::grade(&survey, &file.criteria);
    let record = || {
        FaceRecord::new(FaceInputs {
            survey: &survey,
            grade: &grade,
            criteria: &file.criteria,
            layout: &layout,
            sources: Vec::new(),
            tool_version: "0",
            wiring: report::Wiring::default(),
        })
    };
    bench.bench_function("record as JSON", |b| b.iter(|| record().to_json()));
    let (record, pictures) = (record(), map::MapPictures::default());
    let drawing = map::compose(&record, &pictures);
    bench.bench_function("map without pictures, SVG", |b| b.iter(|| map::svg(&drawing)));
    bench.bench_function("map without pictures, PNG", |b| b.iter(|| map::png(&drawing)));
}

criterion_group!(benches, steps);
criterion_main!(benches);
