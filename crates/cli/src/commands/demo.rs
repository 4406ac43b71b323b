//! `pitchline demo`: renders the faces of an invented site, grades them as `grade` would, and says what was
//! found and what to open.

use crate::args::DemoArgs;
use crate::failure::Failure;
use crate::folder::{NamedFile, Staged};
use crate::inputs;
use crate::output::{self, word, wrapped};
use crate::own::spare_strangers;
use crate::picture::encoded;
use crate::pipeline::{self, Job};
use crate::profiles;
use crate::progress::Progress;
use report::FaceRecord;
use report::record::Verdict;
use std::path::Path;
use synth::demo::{DemoFace, Scenario, scenario};

/// Where the verdicts stand.
const COLUMN: usize = 29;

/// Renders and grades every face; the verdicts are told, not returned.
pub fn run(args: &DemoArgs) -> Result<u8, Failure> {
    let progress = Progress::new(args.quiet);
    let site = scenario();
    let mut files = Vec::new();
    let mut records = Vec::new();
    for (number, face) in (1..).zip(&site.faces) {
        progress.step(&format!("{} ({number} of {})", face.cable, site.faces.len()));
        let (record, made) = graded(face, &progress)?;
        let folder = face.name;
        files.extend(made.into_iter().map(|(name, bytes)| (format!("{folder}/{name}"), bytes)));
        records.push(record);
    }
    spare_strangers(&args.out, &files)?;
    let staged = Staged::new(&args.out, &files)?;
    drop(progress);
    if !args.quiet {
        output::print(&told(&site, &records, &args.out))?;
    }
    staged.commit(&[])?;
    Ok(0)
}

/// One face from its scene to its record, with every file of its folder.
fn graded(face: &DemoFace, progress: &Progress) -> Result<(FaceRecord, Vec<NamedFile>), Failure> {
    let (scene, layout) = (face.scene()?, profiles::layout(face.layout)?);
    let view = scene.camera.view;
    let made = synth::render(&scene, &layout)?;
    let picture = (format!("{}.png", face.name), encoded(&made.frame)?);
    let sources = inputs::known_sources(&[(Path::new(&picture.0), &picture.1)])?;
    let criteria = profiles::criteria(face.criteria)?;
    let job = Job::plain(layout, criteria, view);
    let graded = pipeline::grade_face(sources, &job, true, progress)?;
    let truth = report::json::to_text(&made.truth)?;
    let mut files = graded.files;
    files.push(picture);
    files.push((format!("{}.toml", face.name), face.text.as_bytes().to_vec()));
    files.push((format!("{}.truth.json", face.name), truth.into_bytes()));
    Ok((graded.record, files))
}

/// What was found and what to open.
fn told(site: &Scenario, records: &[FaceRecord], out: &Path) -> String {
    let mut text = wrapped(&format!("{} (an invented site): {}.", site.site, site.story), 0);
    text.push('\n');
    for (face, record) in site.faces.iter().zip(records) {
        let verdict = wrapped(&found(record), COLUMN);
        text.push_str(&format!("{:<COLUMN$}{}", face.cable, verdict.trim_start_matches(' ')));
    }
    let first = site.faces.iter().zip(records).find(|(_, r)| r.verdict == Verdict::Fail);
    if let Some((face, record)) = first {
        let folder = out.join(face.name);
        text.push_str(&format!("\nOpen {} to see why.\n", folder.join("map.png").display()));
        text.push_str(
            "Beside it: the picture, its scene and truth, face.json and map.svg. Grade it again:\n",
        );
        let picture = folder.join(format!("{}.png", face.name));
        text.push_str(&format!("  {}\n", command(&picture, record, &out.join("again"))));
    }
    text
}

/// The verdict of a face in a line.
fn found(record: &FaceRecord) -> String {
    let at = |verdict| {
        let positions: Vec<String> = record.with_verdict(verdict).map(|p| p.position.to_string()).collect();
        format!("position{} {}", if positions.len() == 1 { "" } else { "s" }, positions.join(", "))
    };
    let all = record.positions.len();
    match record.verdict {
        Verdict::Pass => format!("(P) all {all} positions pass"),
        Verdict::Fail => format!("[F] fails at {} (of {all})", at(Verdict::Fail)),
        Verdict::Ungraded => format!("<U> ungraded at {} (of {all})", at(Verdict::Ungraded)),
    }
}

/// How to grade a picture as it was graded here.
fn command(picture: &Path, record: &FaceRecord, out: &Path) -> String {
    let key = if record.view.key == report::record::Key::Down { " --key down" } else { "" };
    let mirrored = if record.view.mirrored { " --mirrored" } else { "" };
    format!(
        "pitchline grade {} --layout {} --criteria {}{key}{mirrored} --out {}",
        word(picture),
        record.layout,
        record.criteria.id,
        word(out)
    )
}
