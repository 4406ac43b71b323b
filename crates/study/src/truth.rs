//! What truly is on a face, and the verdict that follows from it where small changes would not turn it.

use grade::{Acceptance, Criteria, Verdict, grade_marks};
use terms::{Feature, FeatureId, FibreFrame, Kind, Point, Reach, Um};

/// One mark as it is; lengths in um, places in the fibre frame.
#[derive(Clone, Debug, PartialEq)]
pub struct TrueMark {
    /// What it is.
    pub kind: Kind,
    /// A scratch's width, anything else's smallest enclosing circle (diameter).
    pub size: f64,
    /// Length of a scratch; the size of anything else.
    pub length: f64,
    /// Signed contrast against the clean surface.
    pub contrast: f64,
    /// Smallest and largest distance from the cladding's centre.
    pub reach: (f64, f64),
    /// Its centre.
    pub centre: (f64, f64),
    /// The line of a scratch or lint; empty for anything else.
    pub path: Vec<(f64, f64)>,
}

/// One position as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct TrueFibre {
    /// The standard's number.
    pub position: u16,
    /// Whether the picture must not be graded here: no fibre, not all of it in view, or a spoilt picture.
    pub must_refuse: bool,
    /// Centre of the cladding, pixels of the picture.
    pub centre_px: (f64, f64),
    /// Standard deviation of the blur, um.
    pub blur: f64,
    /// What touches the glass.
    pub marks: Vec<TrueMark>,
}

/// One picture as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct TrueFace {
    /// Micrometres per pixel.
    pub um_per_px: f64,
    /// Every populated position.
    pub fibres: Vec<TrueFibre>,
}

/// Factors that sizes are changed by, shifts of the zones' borders (um) and contrasts below which marks are left
/// out: where none of these turns the verdict, the truth is clear.
const SIZES: [f64; 3] = [0.85, 1.0, 1.15];
const SHIFTS: [f64; 3] = [-1.0, 0.0, 1.0];
const FAINTEST: [f64; 3] = [0.0, 0.05, 0.1];
/// A fibre whose marks all begin beyond this radius is clean, um.
const CLEAN_BEYOND: f64 = 64.0;

impl TrueMark {
    /// Contrast that is left of it under the fibre's blur, at its strongest place.
    pub fn height(&self, blur: f64) -> f64 {
        let left = match self.kind {
            Kind::Scratch => (self.size / (2.5 * blur)).min(1.0),
            _ => 1.0 - (-(self.size / blur).powi(2) / 8.0).exp(),
        };
        self.contrast.abs() * left
    }

    /// Whether it is of that size or larger; a scratch shows by its length, however narrow it is.
    fn is_at_least(&self, size: f64) -> bool {
        self.kind == Kind::Scratch || self.size >= size
    }

    fn feature(&self, size: f64, shift: f64) -> Feature {
        Feature {
            id: FeatureId(0),
            kind: self.kind,
            size: Um(size * self.size),
            u: Um(0.0),
            length: Um(self.length),
            centre: Point::<FibreFrame>::new(self.centre.0, self.centre.1),
            contrast: self.contrast,
            reach: Reach { inner: Um((self.reach.0 + shift).max(0.0)), outer: Um(self.reach.1 + shift) },
            outline: vec![],
        }
    }
}

impl TrueFibre {
    /// Whether nothing lies on or near the glass.
    pub fn is_clean(&self) -> bool {
        self.marks.iter().all(|m| m.reach.0 > CLEAN_BEYOND)
    }

    /// The verdict by the criteria; none where a change of all sizes by 15 %, of the zones by 1 um, the loss of the
    /// faintest marks or of all that are smaller than what the criteria ask a picture to show would give another.
    pub fn clear_verdict(&self, criteria: &Criteria) -> Option<Verdict> {
        let mut looks = Vec::new();
        let must_see = criteria.counting.must_see.0;
        let left_out = FAINTEST.map(|faintest| (faintest, 0.0)).into_iter().chain([(0.0, must_see)]);
        let left_out: Vec<(f64, f64)> = left_out.collect();
        for size in SIZES {
            for shift in SHIFTS {
                for &(faintest, smallest) in &left_out {
                    let shows = |m: &&TrueMark| m.height(self.blur) >= faintest && m.is_at_least(smallest);
                    let kept = self.marks.iter().filter(shows).map(|m| m.feature(size, shift));
                    let numbered = (1..).zip(kept);
                    looks.push(numbered.map(|(id, f)| Feature { id: FeatureId(id), ..f }).collect());
                }
            }
        }
        let mut verdicts = looks
            .iter()
            .map(|look: &Vec<Feature>| grade_marks(1, look, criteria, Acceptance::Simple).verdict);
        let first = verdicts.next()?;
        verdicts.all(|v| v == first).then_some(first)
    }
}
