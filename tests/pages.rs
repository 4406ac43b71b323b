//! The pages of a TIFF as a run of steps: graded as the same pictures are in files, told by their pages, and refused by
//! them.

use crate::handmade::{TiffPage, tiff_pages};
use crate::run::{self, MM, Run};
use imaging::{Frame, Samples};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use synth::{Camera, Face, FacePlan, Form, Mark, On, What};

const WIDTH: u32 = 857;
const HEIGHT: u32 = 457;

/// Ten pictures that step along a face, the third position with a large particle.
fn steps(layout: &str, seed: u64) -> Vec<Frame> {
    let layout = profile::layout(layout).unwrap();
    let mut face = Face::new(&layout, &FacePlan { seed: 11, ..FacePlan::default() });
    let what = What::Particle { at: (12.0, 15.0), size_um: 14.0, contrast: -0.6, form: Form::Rounded };
    face.put(Mark { on: On::Fibre(3), what, seed: 4 });
    let camera = |i: usize| Camera {
        width_px: WIDTH as usize,
        height_px: HEIGHT as usize,
        um_per_px: 0.7,
        middle_um: (-1495.0 + 332.2 * i as f64, (i % 3) as f64),
        blur_um: 0.56,
        seed: seed + i as u64,
        ..Camera::default()
    };
    (0..10).map(|i| synth::render_face(&face, &camera(i)).unwrap().frame).collect()
}

fn page(frame: &Frame) -> TiffPage {
    let Samples::Eight(pixels) = frame.samples() else { panic!("16 bit") };
    TiffPage { kind: 2, width: frame.width() as u32, pixels: pixels.clone() }
}

fn write(path: &Path, pages: &[TiffPage]) -> PathBuf {
    fs::write(path, tiff_pages(pages).0).unwrap();
    path.to_owned()
}

fn plain(run: &Run) -> String {
    run.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What a record says beside the names of its pictures.
fn without_names(folder: &Path) -> Value {
    let mut record = run::record(folder);
    let sources = record.as_object_mut().unwrap().remove("sources").unwrap();
    assert_eq!(sources.as_array().unwrap().len(), 10);
    record
}

#[test]
fn pages_are_graded_as_the_same_pictures_in_files() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let frames = steps("mpo-8", 0);
    fs::create_dir(at("files")).unwrap();
    for (i, frame) in frames.iter().enumerate() {
        run::write_png(frame, &at(&format!("files/{i}.png")));
    }
    let mut pages: Vec<TiffPage> = frames.iter().map(page).collect();
    // A preview of the first, as cameras store it.
    pages.insert(1, TiffPage { kind: 1, width: 4, pixels: vec![0; 16] });
    let tiff = write(&at("run.tif"), &pages);
    let by_files = run::grade(&at("files"), "mpo-8", &at("one"), &["--no-map"]);
    let by_pages = run::grade(&tiff, "mpo-8", &at("other"), &[]);
    assert_eq!((by_files.status, by_pages.status), (1, 1), "{}", by_pages.stderr);
    assert_eq!(without_names(&at("one")), without_names(&at("other")));
    let sources = &run::record(&at("other"))["sources"];
    assert_eq!((&sources[7]["file"], &sources[7]["page"]), (&"run.tif".into(), &8.into()));
    assert_eq!(run::record(&at("one"))["sources"][7].get("page"), None);
    assert!(at("other/map.png").exists());

    // Told again from its record, the file beside it, and held against another run.
    fs::copy(&tiff, at("other/run.tif")).unwrap();
    let later = write(&at("later.tif"), &steps("mpo-8", 50).iter().map(page).collect::<Vec<_>>());
    let compared = |before: &Path| {
        let mut command = run::program();
        command.arg("compare").args([before, &later]).args(["--layout", "mpo-8", "--criteria", MM, "--out"]);
        Run::from(command.arg(at("compared")).output().unwrap())
    };
    let run = compared(&at("other/face.json"));
    assert_eq!(run.status, 1, "{}", run.stderr);
    let told: Value = serde_json::from_slice(&fs::read(at("compared/compare.json")).unwrap()).unwrap();
    assert_eq!(told["before"]["sources"][9]["page"], 10, "{}", told["before"]);
    assert!(at("compared/map.png").exists());
    write(&at("other/run.tif"), &pages[2..]);
    let run = compared(&at("other/face.json"));
    assert_eq!(run.status, 2);
    assert!(
        run.stderr.contains("run.tif beside") && run.stderr.contains("is not the picture"),
        "{}",
        run.stderr
    );

    // A book takes it for one face.
    let mut book = run::program();
    book.args(["book", "new"]).arg(at("site"));
    assert_eq!(Run::from(book.output().unwrap()).status, 0);
    fs::create_dir(at("taken")).unwrap();
    fs::copy(&tiff, at("taken/TR-1@A.tif")).unwrap();
    let mut book = run::program();
    book.args(["book", "add"]).args([at("site"), at("taken")]).args(["--layout", "mpo-8", "--criteria", MM]);
    let run = Run::from(book.output().unwrap());
    assert_eq!(run.status, 0, "{}", run.stderr);
    assert!(plain(&run).contains("1 input: 1 graded (0 pass, 1 fail, 0 ungraded)"), "{}", run.stdout);
}

#[test]
fn what_pages_lack_is_told_by_their_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let mut frames = steps("mpo-12", 0);
    frames.drain(4..6);
    let tiff = write(&folder.path().join("run.tif"), &frames.iter().map(page).collect::<Vec<_>>());
    let run = run::grade(&tiff, "mpo-12", &folder.path().join("out"), &["--no-map"]);
    let told = plain(&run);
    assert!(
        told.contains("take one more between page 4 of run.tif and page 5 of run.tif, showing"),
        "{told}"
    );
}

#[test]
fn a_page_that_is_no_picture_of_the_run_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let frames = steps("mpo-8", 0);
    let pages: Vec<TiffPage> = frames[..3].iter().map(page).collect();
    let out = folder.path().join("out");
    let refused = |bytes: &[u8]| {
        let tiff = folder.path().join("run.tif");
        fs::write(&tiff, bytes).unwrap();
        let run = run::grade(&tiff, "mpo-8", &out, &[]);
        assert_eq!((run.status, &*run.stdout), (2, ""), "{}", run.stderr);
        assert!(run.stderr.lines().count() == 1 && !out.exists(), "{}", run.stderr);
        let start = format!("pitchline: {}", tiff.display());
        run.stderr.strip_prefix(&start).unwrap_or_else(|| panic!("{}", run.stderr)).trim_end().to_owned()
    };
    let of = |pages: &[TiffPage]| tiff_pages(pages).0;

    let mut smaller = pages.clone();
    smaller[2].pixels.truncate(WIDTH as usize * 400);
    assert!(
        refused(&of(&smaller))
            .starts_with(": page 3 of the TIFF file is 857 x 400 pixels and page 1 857 x 457")
    );
    let mut broken = of(&pages);
    // The strip of the second page lies beyond the file: its eighth entry from the end of its directory.
    let (two, link_at) = tiff_pages(&pages[..2]);
    assert_eq!(two[..link_at], broken[..link_at]);
    let strip_at = link_at - 4 * 12 + 8;
    broken[strip_at..strip_at + 4].copy_from_slice(&[0xf0, 0xff, 0xff, 0x7f]);
    let said = refused(&broken);
    assert_eq!(said, ", page 2: the TIFF file is cut off before its end; copy or save the picture again");
    let twice = [&pages[..1], &pages[..1]].concat();
    let said = refused(&of(&twice));
    assert!(
        said.starts_with(", page 2 is the same picture as ") && said.contains("run.tif, page 1;"),
        "{said}"
    );
    let many = refused(&of(&vec![TiffPage { kind: 0, width: 2, pixels: vec![7; 4] }; 10_000]));
    assert!(many.contains("more than the 200 pages that are read"), "{many}");
    let (mut circle, link_at) = tiff_pages(&pages);
    circle.copy_within(4..8, link_at);
    assert_eq!(
        refused(&circle),
        ": the TIFF file is damaged in its list of pages; copy or save the picture again"
    );
}
