//! The job itself, step by step: from the pictures of one face to its record and its map.

use crate::args::GradeBy;
use crate::crops;
use crate::failure::Failure;
use crate::folder::NamedFile;
use crate::inputs::Source;
use crate::profiles;
use crate::progress::Progress;
use grade::CableMap;
use profile::CriteriaFile;
use report::{FaceInputs, FaceRecord, map};
use terms::{Layout, View};

/// Everything that is settled before a picture is looked at.
pub struct Job {
    /// Which positions there are.
    pub layout: Layout,
    /// How to look, and what is allowed.
    pub criteria: CriteriaFile,
    /// How the camera shows the face.
    pub view: View,
    /// Micrometres per pixel, if stated.
    pub scale: Option<f64>,
    /// The cable behind the face, if stated.
    pub cable: Option<CableMap>,
}

impl Job {
    /// Reads the layout, criteria and cable that are named.
    pub fn new(by: &GradeBy) -> Result<Job, Failure> {
        let layout = profiles::layout(&by.layout)?;
        Ok(Job {
            criteria: profiles::criteria(&by.criteria)?,
            view: View { key: by.key.into(), mirrored: by.mirrored },
            scale: by.scale,
            cable: by.cable.as_deref().map(|name| profiles::cable(name, &layout)).transpose()?,
            layout,
        })
    }
}

/// A graded face and the files that tell it.
pub struct Graded {
    /// The record.
    pub record: FaceRecord,
    /// `face.json` and, if wanted, `map.svg` and `map.png`.
    pub files: Vec<NamedFile>,
}

/// Grades the face that the sources show; there is at least one.
pub fn grade_face(
    sources: Vec<Source>,
    job: &Job,
    with_map: bool,
    progress: &Progress,
) -> Result<Graded, Failure> {
    let path = sources.first().map(|s| s.path.clone()).unwrap_or_default();
    let (infos, frames): (Vec<_>, Vec<_>) = sources.into_iter().map(|s| (s.info, s.frame)).unzip();

    progress.step("looking");
    let survey = survey::survey(&frames, &job.layout, job.view, job.scale, &job.criteria.settings)
        .map_err(|why| Failure::Survey { path, why })?;

    progress.step("grading");
    let grade = grade::grade(&survey, &job.criteria.criteria);
    let record = FaceRecord::new(FaceInputs {
        survey: &survey,
        grade: &grade,
        criteria: &job.criteria.criteria,
        layout: &job.layout,
        sources: infos,
        tool_version: env!("CARGO_PKG_VERSION"),
        cable: job.cable.as_ref(),
    });

    let mut files = vec![("face.json".to_owned(), record.to_json().into_bytes())];
    if with_map {
        progress.step("drawing");
        let pictures = crops::pictures(&frames, &survey, &map::windows(&record));
        let drawing = map::compose(&record, &pictures);
        let (svg, png) = rayon::join(|| map::svg(&drawing), || map::png(&drawing));
        files.push(("map.svg".to_owned(), svg.into_bytes()));
        files.push(("map.png".to_owned(), png?));
    }
    Ok(Graded { record, files })
}
