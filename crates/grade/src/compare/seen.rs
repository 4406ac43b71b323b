//! A graded face as comparing needs it: where each fibre lies, what was seen on it, how faint a mark would
//! still have been seen. Made from a record or a survey by others; knows no picture.

use crate::verdict::Verdict;
use terms::{Face, Feature, FibreFrame, Hint, Point, Um};

/// One face.
#[derive(Clone, Debug, PartialEq)]
pub struct FaceSeen {
    /// One for every populated position of the layout, in ascending order.
    pub fibres: Vec<FibreSeen>,
}

/// One populated position.
#[derive(Clone, Debug, PartialEq)]
pub struct FibreSeen {
    /// The standard's number.
    pub position: u16,
    /// The layout's site for it.
    pub nominal: Point<Face>,
    /// Its verdict.
    pub verdict: Verdict,
    /// The fibre, if one was found.
    pub glass: Option<Glass>,
}

/// A fibre that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Glass {
    /// Measured centre of the cladding less the nominal site.
    pub offset: Point<Face>,
    /// Standard uncertainty of the centre, per axis.
    pub centre_u: Um,
    /// Measured diameter of the cladding.
    pub diameter: Um,
    /// Standard deviation of the picture's blur here.
    pub blur: Um,
    /// Height of the faintest compact mark seen nine times in ten, a share of the clean glass's level.
    pub faintest: f64,
    /// What was seen on it.
    pub features: Vec<Feature>,
    /// What may be marks too faint to be told; none if it was not asked for.
    pub hints: Option<Vec<Hint>>,
}

#[cfg(test)]
impl Glass {
    /// A fibre on its site that shows these marks.
    pub fn sample(features: Vec<Feature>) -> Glass {
        Glass {
            offset: Point::new(0.0, 0.0),
            centre_u: Um(0.02),
            diameter: Um(125.0),
            blur: Um(0.5),
            faintest: 0.05,
            features,
            hints: None,
        }
    }
}

/// How a face is to be looked at differently from what was stated: signs of its axes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flip {
    /// As stated.
    None,
    /// Turned by 180 degrees: the key lies on the other side.
    HalfTurn,
    /// Left and right exchanged.
    Mirror,
    /// Both.
    MirrorAndHalfTurn,
}

impl Flip {
    /// All of them, the plain one first.
    pub const ALL: [Flip; 4] = [Flip::None, Flip::HalfTurn, Flip::Mirror, Flip::MirrorAndHalfTurn];

    /// What the face's x and y are multiplied by.
    pub const fn signs(self) -> (f64, f64) {
        match self {
            Flip::None => (1.0, 1.0),
            Flip::HalfTurn => (-1.0, -1.0),
            Flip::Mirror => (-1.0, 1.0),
            Flip::MirrorAndHalfTurn => (1.0, -1.0),
        }
    }
}

impl FaceSeen {
    /// The fibre of that position.
    pub fn at(&self, position: u16) -> Option<&FibreSeen> {
        self.fibres.iter().find(|f| f.position == position)
    }

    /// The position whose nominal site lies there, within a micrometre.
    pub fn position_at(&self, place: Point<Face>) -> Option<u16> {
        self.fibres.iter().find(|f| f.nominal.distance(place) < 1.0).map(|f| f.position)
    }

    /// The same face looked at differently; none if a site would fall where the layout has none.
    pub fn flipped(&self, flip: Flip) -> Option<FaceSeen> {
        let (sx, sy) = flip.signs();
        let there = |f: &FibreSeen| self.position_at(Point::new(sx * f.nominal.x, sy * f.nominal.y));
        let mut fibres = Vec::with_capacity(self.fibres.len());
        for fibre in &self.fibres {
            let position = there(fibre)?;
            fibres.push(FibreSeen {
                position,
                nominal: self.at(position)?.nominal,
                verdict: fibre.verdict,
                glass: fibre.glass.as_ref().map(|glass| glass.flipped(sx, sy)),
            });
        }
        fibres.sort_by_key(|f| f.position);
        Some(FaceSeen { fibres })
    }
}

impl Glass {
    fn flipped(&self, sx: f64, sy: f64) -> Glass {
        let features = self.features.iter().map(|f| flipped(f, sx, sy)).collect();
        let offset = Point::new(sx * self.offset.x, sy * self.offset.y);
        let hints = self.hints.as_ref().map(|hints| hints.iter().map(|h| hint_flipped(h, sx, sy)).collect());
        Glass { offset, features, hints, ..self.clone() }
    }
}

fn hint_flipped(hint: &Hint, sx: f64, sy: f64) -> Hint {
    Hint { at: Point::new(sx * hint.at.x, sy * hint.at.y), ..*hint }
}

fn flipped(feature: &Feature, sx: f64, sy: f64) -> Feature {
    let flip = |p: &Point<FibreFrame>| Point::new(sx * p.x, sy * p.y);
    Feature {
        centre: flip(&feature.centre),
        outline: feature.outline.iter().map(flip).collect(),
        ..feature.clone()
    }
}
