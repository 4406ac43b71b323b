//! A job from a folder: CABLE/CONNECTOR/face.json, or CABLE/CONNECTOR/INSPECTION/face.json in the order of names. A
//! connector's folder without any is a connector that was never inspected.

use super::since::{LastTwo, since};
use super::{modes, pictures};
use crate::args::HandoverArgs;
use crate::failure::Failure;
use crate::progress::Progress;
use crate::{compared, inputs, read};
use grade::advice::Cleaned;
use handover::{Cable, Connector, Inspection, Job};
use imaging::Frame;
use links::Measured;
use report::FACE_PICTURE;
use std::path::Path;

/// The job without what was measured.
pub fn job(args: &HandoverArgs, progress: &Progress) -> Result<Job, Failure> {
    let mut cables = Vec::new();
    for folder in inputs::folders_in(&args.site)? {
        progress.step(&name(&folder));
        cables.push(cable(&folder)?);
    }
    cables.retain(|cable: &Cable| !cable.connectors.is_empty());
    if cables.is_empty() {
        return Err(Failure::NoCables { path: args.site.clone() });
    }
    let cautions = profile::counsel().map(|c| c.to_mind()).unwrap_or_default();
    Ok(Job {
        title: args.title.clone().unwrap_or_else(|| name(&args.site)),
        date: args.date.clone(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        cables,
        matings: Vec::new(),
        owed: Vec::new(),
        unjoined: Vec::new(),
        cords: Vec::new(),
        proof: None,
        taken_back: Vec::new(),
        cautions,
        origins: Vec::new(),
    })
}

fn name(path: &Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

fn cable(folder: &Path) -> Result<Cable, Failure> {
    let (mut connectors, mut doubts) = (Vec::new(), Vec::new());
    for folder in inputs::folders_in(folder)? {
        connectors.push(connector(&folder, &mut doubts)?);
    }
    doubts.extend(modes::differ(&connectors));
    Ok(Cable { identifier: name(folder), connectors, measured: Measured::default(), doubts })
}

fn connector(folder: &Path, doubts: &mut Vec<String>) -> Result<Connector, Failure> {
    let identifier = name(folder);
    let (mut inspections, mut last_two) = (Vec::new(), LastTwo::default());
    for visit in inputs::folders_in(folder)?.iter().map(|f| f.as_path()).chain([folder]) {
        if visit.join("face.json").is_file() {
            let when = if visit == folder { String::new() } else { name(visit) };
            let (inspection, frames) = inspection(visit, when, &identifier, doubts)?;
            inspections.push(inspection);
            last_two.push(frames);
        }
    }
    let since = since(&inspections, last_two, &cleaned(&inspections));
    doubts
        .extend(since.iter().filter_map(|s| Some(format!("connector {identifier}: {}", s.as_ref().err()?))));
    Ok(Connector { identifier, inspections, past: vec![], since: since.and_then(Result::ok) })
}

/// How a face was cleaned between its last two looks.
fn cleaned(looks: &[Inspection]) -> Vec<Cleaned> {
    let [.., before, last] = looks else { return Vec::new() };
    compared::cleaned(&before.face, &last.face)
}

fn inspection(
    folder: &Path,
    when: String,
    connector: &str,
    doubts: &mut Vec<String>,
) -> Result<(Inspection, Vec<Frame>), Failure> {
    let (face, bytes) = read::record(&folder.join("face.json"))?;
    let shown =
        pictures::of(&face, |source| pictures::beside(folder, source), Some(folder.join(FACE_PICTURE)))?;
    let unproven = shown.unproven();
    let named = format!("connector {connector} {when}");
    doubts.extend(shown.doubts.into_iter().map(|doubt| format!("{}: {doubt}", named.trim_end())));
    let sha256 = inputs::hash(&bytes);
    let (row, fibres, frames) = (shown.row, shown.fibres, shown.frames);
    Ok((Inspection { when, sha256, row, fibres, face, unproven }, frames))
}
