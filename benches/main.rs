//! Times of the steps of `grade` and `compare` on rendered faces at 0.5 um per pixel: `cargo bench -p cli`.
//! `against_opencv.py` beside this file compares the whole program with OpenCV and with a script over it.

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use image::codecs::jpeg::JpegEncoder;
use image::codecs::tiff::TiffEncoder;
use image::{ExtendedColorType, ImageEncoder, codecs::png::PngEncoder};
use imaging::door::{self, Limits};
use imaging::{Frame, Samples};
use profile::CriteriaFile;
use rayon::prelude::*;
use report::{FaceInputs, FaceRecord, map};
use std::hint::black_box;
use std::slice;
use survey::fibre;
use survey::locate::{self, Located};
use synth::{StepPlan, StepRun};
use terms::{Layout, Survey, View};

const SCENE: &str = "[face]\nseed = 3\n[camera]\num_per_px = 0.5\nturn_deg = 1\n\
                     [dirt]\nlevel = \"moderate\"\nseed = 3\n";

const CRITERIA: &str = "iec-61300-3-35-ed2-mm";

/// The face of a built-in layout.
fn face(layout: &str) -> Option<Frame> {
    let scene = synth::parse_scene("bench", &format!("layout = \"{layout}\"\n{SCENE}")).ok()?;
    Some(synth::render(&scene, &profile::layout(layout)?).ok()?.frame)
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

/// The door, and the whole of looking, grading and telling.
fn whole(bench: &mut Criterion) {
    let (Some(frame), Some(layout)) = (face("mpo-12"), profile::layout("mpo-12")) else { return };
    let Some(file) = profile::criteria(CRITERIA) else { return };
    for (name, bytes) in files(&frame) {
        bench.bench_function(&format!("decode {name}"), |b| {
            b.iter(|| door::open(black_box(&bytes), &Limits::default()))
        });
    }
    let frames = [frame];
    let look = || survey::survey(&frames, &layout, View::default(), None, &file.settings);
    let Ok(survey) = look() else { return };
    bench.bench_function("grade", |b| b.iter(|| grade::grade(&survey, &file.criteria)));
    let record = || record(&survey, &layout, &file);
    bench.bench_function("record as JSON", |b| b.iter(|| record().to_json()));
    let (record, pictures) = (record(), map::MapPictures::default());
    let drawing = map::compose(&record, &pictures);
    bench.bench_function("map without pictures, SVG", |b| b.iter(|| map::svg(&drawing)));
    bench.bench_function("map without pictures, PNG", |b| b.iter(|| map::png(&drawing)));
    bench.bench_function("compare a face with itself", |b| {
        b.iter(|| grade::compare::compare(&record.seen(), &record.seen()))
    });
}

fn record(survey: &Survey, layout: &Layout, file: &CriteriaFile) -> FaceRecord {
    FaceRecord::new(FaceInputs {
        survey,
        grade: &grade::grade(survey, &file.criteria),
        criteria: &file.criteria,
        layout,
        sources: Vec::new(),
        tool_version: "0",
        wiring: report::Wiring::default(),
        care: None,
    })
}

/// The stages of looking, all fibres of a face together: the cost goes with their number.
fn looking(bench: &mut Criterion) {
    for name in ["mpo-12", "mpo-24", "mpo-32"] {
        let (Some(frame), Some(layout)) = (face(name), profile::layout(name)) else { return };
        let Some(file) = profile::criteria(CRITERIA) else { return };
        let mut group = bench.benchmark_group(name);
        group.bench_function("survey", |b| {
            b.iter(|| survey::survey(slice::from_ref(&frame), &layout, View::default(), None, &file.settings))
        });
        group.bench_function("locate", |b| b.iter(|| locate::locate(&frame, &layout, View::default())));
        let Ok(lattice) = locate::locate(&frame, &layout, View::default()) else { return };
        let um_per_px = lattice.pose.um_per_px();
        let fit = || -> Vec<_> {
            let site = |site: &Located| match site {
                Located::Fibre { centre, radius } => {
                    fibre::edged(&frame, *centre, *radius, um_per_px).and_then(fibre::Edged::look)
                }
                Located::Missing(flaw) => Err(flaw.clone()),
            };
            lattice.sites.par_iter().map(site).collect()
        };
        group.bench_function("fit", |b| b.iter(fit));
        group.bench_function("features", |b| {
            b.iter_batched(
                fit,
                |mut seen| {
                    fibre::agree(&mut seen);
                    let fibres = seen.into_par_iter().flatten();
                    fibres.map(|s| fibre::measure(s, um_per_px, &file.settings)).collect::<Vec<_>>()
                },
                BatchSize::LargeInput,
            )
        });
    }
}

/// Stepped pictures put together and looked at: the cost goes with their number.
fn stepping(bench: &mut Criterion) {
    let Some(layout) = profile::layout("mpo-12") else { return };
    let Some(file) = profile::criteria(CRITERIA) else { return };
    let mut group = bench.benchmark_group("stepped");
    group.sample_size(10);
    for (plan, seed) in [(StepPlan::default(), 3), (StepPlan::default(), 8), (StepPlan::narrow(), 1)] {
        let run = StepRun::drawn(&layout, &plan, seed);
        let Ok(pictures) = run.pictures() else { return };
        group.bench_function(format!("survey of {} pictures", pictures.len()), |b| {
            b.iter(|| survey::survey(&pictures, &layout, run.view, None, &file.settings))
        });
    }
}

criterion_group!(benches, whole, looking, stepping);
criterion_main!(benches);
