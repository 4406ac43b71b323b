//! Pictures that show one fibre must agree. A mark that one shows and another does not, though it would show there,
//! is dirt on the camera's optics if it stays at the same pixels of all pictures; then what the other picture
//! shows at its place stands instead of it. Anything else that only one picture shows has moved, and counts.

use super::differ::{Difference, Shows, Stranger};
use super::optics::{self, Optics};
use super::parts::Parts;
use super::sights::Sight;
use super::stays::{self, Proof, Stays};
use crate::fibre::{self, Edged, Glimpse, Measured, Seen};
use crate::marks::Mark;
use crate::near::near;
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

impl Other {
    pub fn new(source: usize, edged: Edged) -> Other {
        Other { source, centre: edged.centre(), glimpse: edged.glimpse(), edged: Some(edged) }
    }
}

impl From<Sight> for Other {
    fn from(sight: Sight) -> Other {
        Other::new(sight.source, sight.edged)
    }
}

/// What the other pictures say of a fibre.
#[derive(Default)]
struct Said {
    /// Of each mark the first of them that tells, and what it tells.
    marks: Vec<Option<(usize, Shows)>>,
    differences: Vec<Option<Difference>>,
    /// What each of them shows that the fibre's own does not.
    strangers: Vec<Vec<Stranger>>,
    /// Spots of the optics that these marks and strangers are.
    proofs: Vec<Proof>,
    /// Of each mark the spot over it, once all are known.
    spots: Vec<Option<usize>>,
}

/// What a run's pictures have in common.
pub(crate) struct Common<'a> {
    pub stays: &'a Stays<'a>,
    pub parts: &'a Parts<'a>,
    pub poses: &'a [Pose],
    pub um_per_px: f64,
    pub settings: &'a Settings,
}

impl Common<'_> {
    /// The fibres as all their pictures show them; adds the spots of the optics that these prove.
    pub fn judged(
        &self,
        mut fibres: Vec<Result<Shown, Flaw>>,
        optics: &mut Optics,
    ) -> Vec<Result<Judged, Flaw>> {
        let said = fibres.par_iter().map(|f| f.as_ref().map_or_else(|_| Said::default(), |s| self.said(s)));
        let mut said: Vec<Said> = said.collect();
        optics.add(said.iter_mut().flat_map(|s| std::mem::take(&mut s.proofs)).collect());
        let by = Judge { common: self, spots: &optics.spots };
        fibres.par_iter_mut().zip(&mut said).for_each(|(fibre, said)| {
            if let Ok(fibre) = fibre {
                by.knows(fibre, said);
                by.ask_parts(fibre, said);
            }
        });
        let measured = by.measured_others(&mut fibres, &said);
        let all = fibres.into_iter().zip(said).zip(measured);
        all.map(|((fibre, said), others)| fibre.map(|f| by.settled(f, said, others))).collect()
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

    fn difference(&self, fibre: &Shown, other: &Other) -> Option<Difference> {
        let turn = self.turn(fibre.source, other.source);
        Difference::new(&fibre.glimpse, &other.glimpse, turn, self.um_per_px)
    }

    /// The first of the other pictures that tells of a mark, and what it tells. One that shows the mark at the same pixels
    /// has the same dirt there.
    fn told(&self, fibre: &Shown, differences: &[Option<Difference>], mark: &Mark) -> Option<(usize, Shows)> {
        let here = fibre.measured.centre.moved(mark.centre.0, mark.centre.1);
        let elsewhere = |other: &Other| {
            let (x, y) = turned(self.turn(fibre.source, other.source), mark.centre);
            stays::apart(other.centre.moved(x, y).distance(here), mark.size.max(mark.length))
        };
        let others = fibre.others.iter().zip(differences).enumerate().filter(|(_, (o, _))| elsewhere(o));
        let mut each = others.filter_map(|(i, (_, d))| Some((i, d.as_ref()?.shows(mark))));
        each.find(|(_, s)| *s != Shows::Untold)
    }

    fn said(&self, fibre: &Shown) -> Said {
        let differences: Vec<Option<Difference>> =
            fibre.others.iter().map(|o| self.difference(fibre, o)).collect();
        let own = &fibre.measured.marks;
        let marks: Vec<Option<(usize, Shows)>> =
            own.iter().map(|m| self.told(fibre, &differences, m)).collect();
        let strangers =
            |d: &Option<Difference>| d.as_ref().map_or_else(Vec::new, |d| d.strangers(own, self.um_per_px));
        let strangers: Vec<Vec<Stranger>> = differences.iter().map(strangers).collect();
        let proofs = own.iter().zip(&marks).filter_map(|(m, told)| self.proof(fibre, m, *told));
        let all = fibre.others.iter().zip(&strangers).flat_map(|(o, all)| all.iter().map(move |s| (o, s)));
        let strange = all.filter_map(|(o, s)| {
            let at = self.there(fibre, o, s);
            self.stays.proven(Some(o.source), (at.x, at.y), 2.0 * s.radius, s.contrast)
        });
        let proofs = proofs.chain(strange).collect();
        Said { marks, differences, strangers, proofs, spots: Vec::new() }
    }

    /// The spot of the optics that a mark is. None if two pictures show it, and none that is far longer than wide.
    fn proof(&self, fibre: &Shown, mark: &Mark, told: Option<(usize, Shows)>) -> Option<Proof> {
        if mark.length > optics::LONGEST * mark.size || matches!(told, Some((_, Shows::Both))) {
            return None;
        }
        let at = fibre.measured.centre.moved(mark.centre.0, mark.centre.1);
        self.stays.proven(Some(fibre.source), (at.x, at.y), mark.size.max(mark.length), mark.contrast)
    }

    /// Where another picture shows a stranger.
    fn there(&self, fibre: &Shown, other: &Other, stranger: &Stranger) -> Point<Pixel> {
        let (x, y) = turned(self.turn(fibre.source, other.source), stranger.at);
        other.centre.moved(x, y)
    }
}

/// What is decided once the spots of the optics are known.
struct Judge<'a> {
    common: &'a Common<'a>,
    spots: &'a [OpticsSpot],
}

impl Judge<'_> {
    fn spot_over(&self, centre: Point<Pixel>, mark: &Mark) -> Option<usize> {
        let at = (centre.x + mark.centre.0, centre.y + mark.centre.1);
        optics::over(self.spots, at, mark.size.max(mark.length), mark.contrast)
    }

    /// Which spots lie over the marks, and which strangers are no spots.
    fn knows(&self, fibre: &Shown, said: &mut Said) {
        said.spots = fibre.measured.marks.iter().map(|m| self.spot_over(fibre.measured.centre, m)).collect();
        for (other, strangers) in fibre.others.iter().zip(&mut said.strangers) {
            strangers.retain(|s| !self.at_optics(fibre, other, s));
        }
    }

    /// Asks pictures that show a part of the fibre for the marks on spots of which no other picture tells.
    fn ask_parts(&self, fibre: &mut Shown, said: &mut Said) {
        let (common, centre) = (self.common, fibre.measured.centre);
        let open: Vec<usize> =
            (0..said.marks.len()).filter(|&m| said.spots[m].is_some() && said.marks[m].is_none()).collect();
        let place = |m: &usize| {
            let mark = &fibre.measured.marks[*m];
            (centre.moved(mark.centre.0, mark.centre.1), 0.5 * mark.size.max(mark.length))
        };
        let places: Vec<(Point<Pixel>, f64)> = open.iter().map(place).collect();
        let known: Vec<usize> = fibre.others.iter().map(|o| o.source).collect();
        let parts = common.parts.with(fibre.source, centre, &places, &known);
        said.differences.extend(parts.iter().map(|p| common.difference(fibre, p)));
        fibre.others.extend(parts);
        for m in open {
            said.marks[m] = common.told(fibre, &said.differences, &fibre.measured.marks[m]);
        }
    }

    /// Whether the optics are dirty where the other picture shows what the first does not, in either of them.
    fn at_optics(&self, fibre: &Shown, other: &Other, stranger: &Stranger) -> bool {
        let here = fibre.measured.centre.moved(stranger.at.0, stranger.at.1);
        let there = self.common.there(fibre, other, stranger);
        let on = |at| self.spots.iter().any(|s| s.centre.distance(at) < s.size_px + 2.0);
        on(here) || on(there)
    }

    /// What was measured in the other pictures that are needed: of each fibre those that show what its own does not,
    /// and those that must stand in for it.
    fn measured_others(
        &self,
        fibres: &mut [Result<Shown, Flaw>],
        said: &[Said],
    ) -> Vec<Vec<Option<Measured>>> {
        let needs = |s: &Said, i: usize| {
            let mut told = s.marks.iter().zip(&s.spots);
            let stands_in = told.any(|(by, spot)| spot.is_some() && *by == Some((i, Shows::One)));
            stands_in || s.strangers.get(i).is_some_and(|s| !s.is_empty())
        };
        let mut out: Vec<Vec<Option<Measured>>> = said.iter().map(|_| Vec::new()).collect();
        let most = fibres.iter().flatten().map(|f| f.others.len()).max().unwrap_or(0);
        for i in 0..most {
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
                s.ok()
                    .filter(|_| wanted)
                    .map(|s| fibre::measure(s, self.common.um_per_px, self.common.settings))
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
        let told = said.marks.iter().zip(&said.spots);
        for (mark, (by, &spot)) in std::mem::take(&mut measured.marks).into_iter().zip(told) {
            let absent = by.filter(|(_, shows)| *shows == Shows::One).map(|(i, _)| i);
            let stand_in = absent.filter(|i| spot.is_some() && others[*i].is_some());
            if absent.is_some() || spot.is_some() && by.is_none() {
                doubts.push(Doubt {
                    mark: mark.clone(),
                    shown_in: source,
                    absent_in: absent.map(|i| pictures[i].source),
                    optics: spot,
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
            let back = self.common.turn(pictures[i].source, source);
            kept.extend(instead(&mark, other, back, &kept));
        }
        let come = self.come(source, &pictures, &said, &others, &kept);
        kept.extend(come.iter().map(|d| d.mark.clone()));
        doubts.extend(come);
        measured.marks = kept;
        Judged { source, measured, doubts }
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
            let back = self.common.turn(pictures[i].source, source);
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

/// What another picture shows in the place of a mark that is left out.
fn instead(aside: &Mark, other: &Measured, back: [[f64; 2]; 2], kept: &[Mark]) -> Vec<Mark> {
    let there = other.marks.iter().map(|m| m.clone().turned(back));
    let here = there.filter(|m| near(&aside.outline, m.centre, 0.5 * m.size));
    here.filter(|m| !kept.iter().any(|k| near(&k.outline, m.centre, 0.0))).collect()
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
