//! What the program said of one picture, cut down to what a study counts.

use grade::{ArrayGrade, Verdict};
use terms::{Kind, Look, Survey};

/// One mark as seen; lengths in um.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeenMark {
    /// What it was taken for.
    pub kind: Kind,
    /// Its size.
    pub size: f64,
    /// Standard uncertainty of the size.
    pub u: f64,
    /// Its centre, fibre frame.
    pub centre: (f64, f64),
}

/// One position as seen.
#[derive(Clone, Debug, PartialEq)]
pub struct SeenFibre {
    /// The standard's number.
    pub position: u16,
    /// Its verdict.
    pub verdict: Verdict,
    /// Centre of the cladding, pixels of the picture; none if it was not found.
    pub centre_px: Option<(f64, f64)>,
    /// Marks that are held to a zone.
    pub marks: Vec<SeenMark>,
}

/// One picture as seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SeenFace {
    /// The smallest mark that the program says it would see, um; none if no fibre can be graded.
    pub smallest_gradable: Option<f64>,
    /// Every populated position; empty for a picture in which no row was found.
    pub fibres: Vec<SeenFibre>,
}

impl SeenFace {
    /// What a survey and its grade say of one picture.
    pub fn new(survey: &Survey, grade: &ArrayGrade) -> SeenFace {
        let fibres = survey.sites.iter().map(|site| {
            let graded = grade.positions.iter().find(|g| g.position == site.position);
            let zoned =
                |id| graded.is_some_and(|g| g.zones.iter().any(|(f, zone)| *f == id && zone.is_some()));
            let (centre_px, marks) = match &site.look {
                Look::Missing(_) => (None, Vec::new()),
                Look::Found(fibre) => {
                    let held = fibre.features.iter().filter(|f| zoned(f.id));
                    let marks = held.map(|f| SeenMark {
                        kind: f.kind,
                        size: f.size.0,
                        u: f.u.0,
                        centre: (f.centre.x, f.centre.y),
                    });
                    (Some((fibre.centre_px.x, fibre.centre_px.y)), marks.collect())
                }
            };
            SeenFibre {
                position: site.position,
                verdict: graded.map_or(Verdict::Ungraded, |g| g.verdict),
                centre_px,
                marks,
            }
        });
        SeenFace { smallest_gradable: survey.quality.smallest_visible.map(|s| s.0), fibres: fibres.collect() }
    }

    /// A position as seen; none in a picture in which no row was found.
    pub fn fibre(&self, position: u16) -> Option<&SeenFibre> {
        self.fibres.iter().find(|f| f.position == position)
    }

    /// The verdict of a position, ungraded where nothing was found.
    pub fn verdict(&self, position: u16) -> Verdict {
        self.fibre(position).map_or(Verdict::Ungraded, |f| f.verdict)
    }
}
