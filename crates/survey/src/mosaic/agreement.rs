//! Pictures that show one fibre must agree. A mark that one shows and another does not, though it would show there,
//! is dirt on the camera's optics if it stays at the same pixels of all pictures; then what the other picture
//! shows at its place stands instead of it. Anything else that only one picture shows has moved, and counts.

use super::differ::{Difference, Shows, Stranger, near};
use super::optics;
use super::rigid::Spot;
use super::sights::Sight;
use crate::fibre::{self, Edged, Glimpse, Measured, Seen};
use crate::marks::Mark;
use crate::settings::Settings;
use rayon::prelude::*;
use terms::{Flaw, OpticsSpot, Pixel, Point, Pose};

/// Other pictures of a fibre that are held against the one it is graded in, at most.
pub(crate) const OTHERS: usize = 2;

/// A mark that the pictures do not agree on, in pixels of the picture that the fibre is graded in, about its centre.
#[derive(Clone, Debug)]
pub(crate) struct Doubt {
    pub mark: Mark,
    pub shown_in: usize,
    pub absent_in: Option<usize>,
    pub optics: Option<usize>,
    pub set_aside: bool,
}

/// A fibre in the picture that it is graded in.
pub(crate) struct Judged {
    pub source: usize,
    pub measured: Measured,
    pub doubts: Vec<Doubt>,
}

/// A fibre with the other pictures that show it.
pub(crate) struct Shown {
    pub source: usize,
    pub measured: Measured,
    pub glimpse: Glimpse,
    pub others: Vec<Other>,
}

/// Another picture of a fibre.
pub(crate) struct Other {
    pub source: usize,
    pub centre: Point<Pixel>,
    glimpse: Glimpse,
    /// None once it is measured.
    edged: Option<Edged>,
}

impl From<Sight> for Other {
    fn from(sight: Sight) -> Other {
        let edged = sight.edged;
        Other { source: sight.source, centre: edged.centre(), glimpse: edged.glimpse(), edged: Some(edged) }
    }
}

/// Place in its picture, size and contrast of each mark, pixels.
pub(crate) fn marks(fibres: &[Result<Shown, Flaw>]) -> impl Iterator<Item = (Spot, f64, f64)> + '_ {
    fibres.iter().flatten().flat_map(|f| {
        let centre = f.measured.centre;
        let place = move |m: &Mark| (centre.x + m.centre.0, centre.y + m.centre.1);
        f.measured.marks.iter().map(move |m| (place(m), m.size.max(m.length), m.contrast))
    })
}

/// What is said of one mark.
struct Told {
    /// The spot of the optics over it.
    spot: Option<usize>,
    /// The first of the other pictures that tells, and what it tells.
    by: Option<(usize, Shows)>,
}

/// What the other pictures say of the marks.
#[derive(Default)]
struct Said {
    marks: Vec<Told>,
    differences: Vec<Option<Difference>>,
    strangers: Vec<Vec<Stranger>>,
}

/// What a run's pictures have in common.
pub(crate) struct Common<'a> {
    pub spots: &'a [OpticsSpot],
    pub poses: &'a [Pose],
    pub um_per_px: f64,
    pub settings: &'a Settings,
}

impl Common<'_> {
    /// The fibres as all their pictures show them.
    pub fn judged(&self, fibres: Vec<Result<Shown, Flaw>>) -> Vec<Result<Judged, Flaw>> {
        let said: Vec<Said> = fibres
            .par_iter()
            .map(|f| f.as_ref().map_or_else(|_| Said::default(), |s| self.said(s)))
            .collect();
        let mut fibres = fibres;
        let measured = self.measured_others(&mut fibres, &said);
        let all = fibres.into_iter().zip(said).zip(measured);
        all.map(|((fibre, said), others)| fibre.map(|f| self.settled(f, said, others))).collect()
    }

    /// Vectors of picture `a` carried into picture `b`.
    fn turn(&self, a: usize, b: usize) -> [[f64; 2]; 2] {
        let carried = |x: f64, y: f64| {
            let (u, v) = self.poses[a].vector_back(x, y);
            self.poses[b].vector(u, v)
        };
        let (p, q) = (carried(1.0, 0.0), carried(0.0, 1.0));
        [[p.0, q.0], [p.1, q.1]]
    }

    fn spot_over(&self, centre: Point<Pixel>, mark: &Mark) -> Option<usize> {
        let at = (centre.x + mark.centre.0, centre.y + mark.centre.1);
        optics::over(self.spots, at, mark.size.max(mark.length), mark.contrast)
    }

    fn said(&self, fibre: &Shown) -> Said {
        let differences: Vec<Option<Difference>> = fibre
            .others
            .iter()
            .map(|o| {
                let turn = self.turn(fibre.source, o.source);
                Difference::new(&fibre.glimpse, &o.glimpse, turn, self.um_per_px)
            })
            .collect();
        let told = |mark: &Mark| {
            let each = differences.iter().enumerate();
            each.filter_map(|(i, d)| Some((i, d.as_ref()?.shows(mark)))).find(|(_, s)| *s != Shows::Untold)
        };
        let own = &fibre.measured.marks;
        let marks = own
            .iter()
            .map(|m| Told { spot: self.spot_over(fibre.measured.centre, m), by: told(m) })
            .collect();
        let strangers = |(o, d): (&Other, &Option<Difference>)| {
            let Some(d) = d else { return Vec::new() };
            let mut found = d.strangers(own, self.um_per_px);
            found.retain(|s| !self.at_optics(fibre, o, s));
            found
        };
        let strangers = fibre.others.iter().zip(&differences).map(strangers).collect();
        Said { marks, differences, strangers }
    }

    /// Whether the optics are dirty where the other picture shows what the first does not, in either of them.
    fn at_optics(&self, fibre: &Shown, other: &Other, stranger: &Stranger) -> bool {
        let there = turned(self.turn(fibre.source, other.source), stranger.at);
        let on = |centre: Point<Pixel>, (x, y): (f64, f64)| {
            let at = Point::new(centre.x + x, centre.y + y);
            self.spots.iter().any(|s| s.centre.distance(at) < s.size_px + 2.0)
        };
        on(fibre.measured.centre, stranger.at) || on(other.centre, there)
    }

    /// What was measured in the other pictures that are needed: of each fibre those that show what its own does not,
    /// and those that must stand in for it.
    fn measured_others(
        &self,
        fibres: &mut [Result<Shown, Flaw>],
        said: &[Said],
    ) -> Vec<Vec<Option<Measured>>> {
        let needs = |s: &Said, i: usize| {
            let stands_in = s.marks.iter().any(|t| t.spot.is_some() && t.by == Some((i, Shows::One)));
            stands_in || s.strangers.get(i).is_some_and(|s| !s.is_empty())
        };
        let mut out: Vec<Vec<Option<Measured>>> = said.iter().map(|_| Vec::new()).collect();
        for i in 0..OTHERS {
            let wanted: Vec<bool> = said.iter().map(|s| needs(s, i)).collect();
            // The first others are taken along, so that those wanted have neighbours to be compared with.
            let any = wanted.contains(&true);
            let taken = fibres.iter_mut().map(|f| match f {
                Ok(shown) if any => shown.others.get_mut(i)?.edged.take(),
                _ => None,
            });
            let taken: Vec<Option<Edged>> = taken.collect();
            let look = |e: Option<Edged>| e.ok_or(Flaw::NotInView)?.look();
            let mut seen: Vec<Result<Seen, Flaw>> = taken.into_par_iter().map(look).collect();
            fibre::agree(&mut seen);
            let measure = |(s, wanted): (Result<Seen, Flaw>, bool)| {
                s.ok().filter(|_| wanted).map(|s| fibre::measure(s, self.um_per_px, self.settings))
            };
            let measured: Vec<Option<Measured>> = seen.into_par_iter().zip(wanted).map(measure).collect();
            out.iter_mut().zip(measured).for_each(|(o, m)| o.push(m));
        }
        out
    }

    fn settled(&self, fibre: Shown, said: Said, others: Vec<Option<Measured>>) -> Judged {
        let Shown { source, mut measured, others: pictures, .. } = fibre;
        let mut doubts = Vec::new();
        let (mut kept, mut aside) = (Vec::new(), Vec::new());
        for (mark, told) in std::mem::take(&mut measured.marks).into_iter().zip(&said.marks) {
            let absent = told.by.filter(|(_, shows)| *shows == Shows::One).map(|(i, _)| i);
            let stand_in = absent.filter(|i| told.spot.is_some() && others[*i].is_some());
            if absent.is_some() || told.spot.is_some() && told.by.is_none() {
                doubts.push(Doubt {
                    mark: mark.clone(),
                    shown_in: source,
                    absent_in: absent.map(|i| pictures[i].source),
                    optics: told.spot,
                    set_aside: stand_in.is_some(),
                });
            }
            match stand_in {
                Some(i) => aside.push((i, mark)),
                None => kept.push(mark),
            }
        }
        for (i, mark) in aside {
            let Some(other) = &others[i] else { continue };
            measured.smallest_visible = measured.smallest_visible.max(other.smallest_visible);
            measured.faintest_visible = measured.faintest_visible.max(other.faintest_visible);
            let back = self.turn(pictures[i].source, source);
            let new: Vec<Mark> = self.instead(&mark, other, back, &kept);
            kept.extend(new);
        }
        let come = self.come(source, &pictures, &said, &others, &kept);
        kept.extend(come.iter().map(|d| d.mark.clone()));
        doubts.extend(come);
        measured.marks = kept;
        Judged { source, measured, doubts }
    }

    /// What another picture shows in the place of a mark that is left out.
    fn instead(&self, aside: &Mark, other: &Measured, back: [[f64; 2]; 2], kept: &[Mark]) -> Vec<Mark> {
        let there = other.marks.iter().filter(|m| self.spot_over(other.centre, m).is_none());
        let here =
            there.map(|m| m.clone().turned(back)).filter(|m| near(&aside.outline, m.centre, 0.5 * m.size));
        here.filter(|m| !kept.iter().any(|k| near(&k.outline, m.centre, 0.0))).collect()
    }

    /// Marks that only another picture shows, where no optics are dirty.
    fn come(
        &self,
        source: usize,
        pictures: &[Other],
        said: &Said,
        others: &[Option<Measured>],
        kept: &[Mark],
    ) -> Vec<Doubt> {
        let mut found: Vec<Doubt> = Vec::new();
        for (i, strangers) in said.strangers.iter().enumerate() {
            let (Some(Some(other)), Some(Some(difference))) = (others.get(i), said.differences.get(i)) else {
                continue;
            };
            let back = self.turn(pictures[i].source, source);
            for mark in other.marks.iter().map(|m| m.clone().turned(back)) {
                let met = strangers.iter().any(|s| near(&mark.outline, s.at, s.radius));
                let mut all = kept.iter().chain(found.iter().map(|d| &d.mark));
                let known = all.any(|k| near(&k.outline, mark.centre, 0.5 * mark.size));
                if met && !known && difference.shows_back(&mark) == Shows::One {
                    let (shown_in, absent_in) = (pictures[i].source, Some(source));
                    found.push(Doubt { mark, shown_in, absent_in, optics: None, set_aside: false });
                }
            }
        }
        found
    }
}

fn turned(m: [[f64; 2]; 2], (x, y): (f64, f64)) -> (f64, f64) {
    (m[0][0] * x + m[0][1] * y, m[1][0] * x + m[1][1] * y)
}

impl Mark {
    /// The mark as another picture shows it; its place is about the fibre's centre.
    fn turned(mut self, way: [[f64; 2]; 2]) -> Mark {
        self.centre = turned(way, self.centre);
        self.outline.iter_mut().for_each(|p| *p = turned(way, *p));
        self
    }
}
