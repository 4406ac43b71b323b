//! The job itself, step by step: from the pictures of one face to its record and its map.

use crate::args::{self, GradeBy};
use crate::crops;
use crate::failure::Failure;
use crate::folder::NamedFile;
use crate::inputs::{self, Origin, Source};
use crate::picture::encoded;
use crate::profiles;
use crate::progress::Progress;
use crate::whole_faces;
use grade::advice::{Cleaned, Counsel};
use grade::lanes::LaneMap;
use grade::{Acceptance, CableMap};
use imaging::Frame;
use profile::CriteriaFile;
use report::{Care, FACE_PICTURE, FaceInputs, FaceRecord, Wiring, map};
use survey::FacePicture;
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
    /// How sizes are held to the limits.
    pub acceptance: Acceptance,
    /// What the positions carry, if an application is stated.
    pub lanes: Option<LaneMap>,
    /// What to do about what is found.
    pub counsel: Option<Counsel>,
    /// How the face was cleaned, in order.
    pub cleaned: Vec<Cleaned>,
}

impl Job {
    /// Reads the layout, criteria and cable that are named.
    pub fn new(by: &GradeBy) -> Result<Job, Failure> {
        let layout = profiles::layout(&by.layout)?;
        let view = View { key: by.key.into(), mirrored: by.mirrored };
        Ok(Job {
            scale: by.scale,
            acceptance: by.guard.map_or(Acceptance::Simple, Acceptance::Guarded),
            ..Job::plain(layout, profiles::criteria(&by.criteria)?, view)
        })
    }

    /// A job of which only the layout, the criteria and the view are known.
    pub fn plain(layout: Layout, criteria: CriteriaFile, view: View) -> Job {
        Job {
            layout,
            criteria,
            view,
            scale: None,
            cable: None,
            acceptance: Acceptance::Simple,
            lanes: None,
            counsel: profile::counsel(),
            cleaned: Vec::new(),
        }
    }

    /// Takes on the cable behind the face.
    pub fn behind(mut self, behind: &args::Behind) -> Result<Job, Failure> {
        self.cable = behind.cable.as_deref().map(|name| profiles::cable(name, &self.layout)).transpose()?;
        Ok(self)
    }

    /// Takes on how the face was cleaned, and the user's own rules of advice.
    pub fn cared_for(mut self, care: &args::Care) -> Result<Job, Failure> {
        self.cleaned = care.cleaned.iter().map(|how| (*how).into()).collect();
        if let Some(path) = &care.advice {
            self.counsel = Some(profiles::counsel(path)?);
        }
        Ok(self)
    }

    /// What to mind about a topic.
    pub fn cautions_about(&self, topic: &str) -> Vec<String> {
        self.counsel.iter().flat_map(|counsel| counsel.cautions_about(topic)).map(str::to_owned).collect()
    }

    /// What advice rests on.
    pub fn care(&self) -> Option<Care<'_>> {
        self.counsel.as_ref().map(|counsel| Care { counsel, cleaned: &self.cleaned })
    }
}

/// A graded face and the files that tell it.
pub struct Graded {
    /// The record.
    pub record: FaceRecord,
    /// `face.json` and, if wanted, `map.svg` and `map.png`.
    pub files: Vec<NamedFile>,
}

/// A graded face with the pictures that it was seen in.
pub struct Looked {
    /// The record.
    pub record: FaceRecord,
    /// In the order of the record's sources; empty where they are not wanted.
    pub frames: Vec<Frame>,
    /// The picture of the whole face, put together from those of a stepped run.
    pub whole: Option<FacePicture>,
}

impl Looked {
    /// The picture of the whole face as the PNG that is kept, which the record names by its hash from then on; none for
    /// a single picture.
    pub fn face_picture(&mut self) -> Result<Option<Vec<u8>>, Failure> {
        let picture = kept(self.whole.as_ref())?;
        Ok(named(picture, &mut self.record))
    }
}

/// The PNG of a composed picture, and its hash.
fn kept(whole: Option<&FacePicture>) -> Result<Option<(Vec<u8>, String)>, Failure> {
    let Some(face) = whole else { return Ok(None) };
    let bytes = encoded(&face.frame)?;
    let hash = inputs::hash(&bytes);
    Ok(Some((bytes, hash)))
}

fn named(picture: Option<(Vec<u8>, String)>, record: &mut FaceRecord) -> Option<Vec<u8>> {
    let (bytes, hash) = picture?;
    record.stitch.as_mut()?.picture_sha256 = Some(hash);
    Some(bytes)
}

/// Grades the face that the sources show, and draws its map; there is at least one source.
pub fn grade_face(
    sources: Vec<Source>,
    job: &Job,
    with_map: bool,
    progress: &Progress,
) -> Result<Graded, Failure> {
    let Looked { mut record, frames, whole } = look(sources, job, progress)?;
    let map = || {
        if !with_map {
            return Ok(Vec::new());
        }
        progress.step("drawing");
        let pictures = crops::pictures(&frames, whole.as_ref(), &record, &map::windows(&record));
        drawn(&map::compose(&record, &pictures))
    };
    let (picture, map) = rayon::join(|| kept(whole.as_ref()), map);
    let picture = named(picture?, &mut record);
    let mut files = vec![("face.json".to_owned(), record.to_json()?.into_bytes())];
    files.extend(picture.map(|bytes| (FACE_PICTURE.to_owned(), bytes)));
    files.extend(map?);
    Ok(Graded { record, files })
}

/// Surveys and grades the face that the sources show; there is at least one.
pub fn look(sources: Vec<Source>, job: &Job, progress: &Progress) -> Result<Looked, Failure> {
    let path = sources.first().map(|s| s.origin.path.clone()).unwrap_or_default();
    let origins: Vec<Origin> = sources.iter().map(|s| s.origin.clone()).collect();
    let (infos, frames): (Vec<_>, Vec<_>) = sources.into_iter().map(|s| (s.info, s.frame)).unzip();

    progress.step("looking");
    let survey = survey::survey(&frames, &job.layout, job.view, job.scale, &job.criteria.settings)
        .map_err(|why| Failure::Survey { path, more: frames.len().saturating_sub(1), why })?;

    whole_faces::refuse(&origins, &frames, &survey, &job.layout)?;

    progress.step("grading");
    let grade = grade::grade_by(&survey, &job.criteria.criteria, job.acceptance);
    let colours = profile::colours();
    let record = FaceRecord::new(FaceInputs {
        survey: &survey,
        grade: &grade,
        criteria: &job.criteria.criteria,
        layout: &job.layout,
        sources: infos,
        tool_version: env!("CARGO_PKG_VERSION"),
        wiring: Wiring {
            cable: job.cable.as_ref(),
            lanes: job.lanes.as_ref(),
            colours: colours.as_ref().map_or(&[], |c| c.names()),
        },
        care: job.care(),
    });
    let whole = survey::face_picture(&frames, &survey);
    Ok(Looked { record, frames, whole })
}

/// A drawing as the files `map.svg` and `map.png`.
pub fn drawn(drawing: &map::Drawing) -> Result<Vec<NamedFile>, Failure> {
    let (svg, png) = rayon::join(|| map::svg(drawing), || map::png(drawing));
    Ok(vec![("map.svg".to_owned(), svg.into_bytes()), ("map.png".to_owned(), png?)])
}
