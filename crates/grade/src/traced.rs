//! The map of a cable as it was seen: light is put into known fibres at one end, pictures of the other end show
//! where it comes out. Which positions those are, which type of cable that is, and where it departs from it.

use crate::polarity::{CableMap, Strand};
use terms::Core;

/// One picture of the far end.
#[derive(Clone, Debug, PartialEq)]
pub struct Sight {
    /// Near positions that light was put into.
    pub lit: Vec<u16>,
    /// How each far position looks, in ascending order.
    pub far: Vec<(u16, Core)>,
}

/// What is known of one near position that light was put into.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum End {
    /// Its light comes out there and nowhere else.
    At(u16),
    /// It comes out at one of these, each lit when it was and never when it was not.
    OneOf(Vec<u16>),
    /// It comes out nowhere: every position that could be its own was seen dark.
    Nowhere,
    /// Nothing lit was seen, and some positions did not show whether they were.
    Unseen,
}

/// A near position whose light does not come out where a type of cable brings it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Departure {
    /// The near position.
    pub near: u16,
    /// Where the type brings it.
    pub due: u16,
    /// Where it was seen.
    pub seen: End,
}

/// How well a type of cable explains what was seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Id of the cable type.
    pub cable: String,
    /// Near positions whose light came out where the type brings it.
    pub agree: Vec<u16>,
    /// Those whose light did not.
    pub depart: Vec<Departure>,
}

/// What the pictures tell.
#[derive(Clone, Debug, PartialEq)]
pub struct Traced {
    /// Each near position that was lit, in ascending order, and where its light came out.
    pub ends: Vec<(u16, End)>,
    /// Far positions that were lit in a picture in which none of the near positions that end there was: light from
    /// elsewhere, or a near position that was not named.
    pub strays: Vec<u16>,
    /// Every type of cable, the best first.
    pub fits: Vec<Fit>,
    /// The type, if one explains more than every other and more than half of what was seen.
    pub cable: Option<String>,
}

impl Traced {
    /// Whether every light that tells came out where the stated type, or else the type that it is, brings it; none
    /// if neither is known or no light tells.
    pub fn agrees(&self, stated: Option<&str>) -> Option<bool> {
        let id = stated.or(self.cable.as_deref())?;
        let fit = self.fits.iter().find(|fit| fit.cable == id)?;
        match (fit.agree.is_empty(), fit.depart.is_empty()) {
            (true, true) => None,
            (_, none_departs) => Some(none_departs && self.strays.is_empty()),
        }
    }

    /// The fit of the type that it is.
    pub fn fit(&self) -> Option<&Fit> {
        self.fits.iter().find(|fit| Some(&fit.cable) == self.cable.as_ref())
    }
}

/// Derives the map from pictures of the far end, and holds it against the types of cables.
pub fn trace(sights: &[Sight], cables: &[CableMap]) -> Traced {
    let mut nears: Vec<u16> = sights.iter().flat_map(|s| s.lit.clone()).collect();
    nears.sort_unstable();
    nears.dedup();
    let mut ends: Vec<(u16, End)> = nears.iter().map(|near| (*near, end(*near, sights))).collect();
    settle(&mut ends);
    let mut fits: Vec<Fit> = cables.iter().map(|cable| fit(cable, &ends)).collect();
    fits.sort_by_key(|fit| std::cmp::Reverse(fit.agree.len()));
    let told = ends.iter().filter(|(_, end)| *end != End::Unseen).count();
    let cable = match fits.as_slice() {
        [best, rest @ ..] => {
            let alone = rest.iter().all(|other| other.agree.len() < best.agree.len());
            (alone && 2 * best.agree.len() > told).then(|| best.cable.clone())
        }
        [] => None,
    };
    let strays = strays(sights, &ends);
    Traced { ends, strays, fits, cable }
}

/// Where the light of one near position may come out: a far position that was lit whenever it was, as far as can
/// be told, and dark whenever it was not.
fn end(near: u16, sights: &[Sight]) -> End {
    let mut fars: Vec<u16> = sights.iter().flat_map(|s| s.far.iter().map(|(far, _)| *far)).collect();
    fars.sort_unstable();
    fars.dedup();
    let look = |sight: &Sight, far: u16| {
        sight.far.iter().find(|(at, _)| *at == far).map_or(Core::Unknown, |(_, look)| *look)
    };
    let contradicted = |far: u16| {
        sights.iter().any(|s| match (s.lit.contains(&near), look(s, far)) {
            (true, Core::Dark) | (false, Core::Lit) => true,
            (_, Core::Unknown) | (true, Core::Lit) | (false, Core::Dark) => false,
        })
    };
    let shown = |far: u16| sights.iter().any(|s| s.lit.contains(&near) && look(s, far) == Core::Lit);
    let open: Vec<u16> = fars.into_iter().filter(|far| !contradicted(*far)).collect();
    let seen: Vec<u16> = open.iter().copied().filter(|far| shown(*far)).collect();
    match (seen.as_slice(), open.is_empty()) {
        ([one], _) => End::At(*one),
        ([], true) => End::Nowhere,
        ([], false) => End::Unseen,
        _ => End::OneOf(seen),
    }
}

/// Takes ends that are settled from those that are not, until nothing changes: no two fibres end at one position.
fn settle(ends: &mut [(u16, End)]) {
    loop {
        let taken: Vec<u16> = ends
            .iter()
            .filter_map(|(_, end)| if let End::At(far) = end { Some(*far) } else { None })
            .collect();
        let mut changed = false;
        for (_, end) in ends.iter_mut() {
            let End::OneOf(fars) = end else { continue };
            let left: Vec<u16> = fars.iter().copied().filter(|far| !taken.contains(far)).collect();
            if left.len() < fars.len() {
                changed = true;
                *end = match left.as_slice() {
                    [one] => End::At(*one),
                    [] => End::Nowhere,
                    _ => End::OneOf(left),
                };
            }
        }
        if !changed {
            return;
        }
    }
}

fn fit(cable: &CableMap, ends: &[(u16, End)]) -> Fit {
    let (mut agree, mut depart) = (Vec::new(), Vec::new());
    for (near, seen) in ends {
        let Some(due) = cable.far(*near) else { continue };
        match seen {
            End::At(far) if *far == due => agree.push(*near),
            // Neither for nor against: more pictures would tell.
            End::OneOf(fars) if fars.contains(&due) => {}
            End::Unseen => {}
            End::At(_) | End::OneOf(_) | End::Nowhere => {
                depart.push(Departure { near: *near, due, seen: seen.clone() });
            }
        }
    }
    Fit { cable: cable.id().to_owned(), agree, depart }
}

fn strays(sights: &[Sight], ends: &[(u16, End)]) -> Vec<u16> {
    let ends_at = |near: &u16, far: u16| {
        ends.iter().any(|(n, end)| {
            n == near
                && match end {
                    End::At(at) => *at == far,
                    End::OneOf(fars) => fars.contains(&far),
                    End::Nowhere | End::Unseen => false,
                }
        })
    };
    let mut found: Vec<u16> = Vec::new();
    for sight in sights {
        let lit = sight.far.iter().filter(|(_, look)| *look == Core::Lit).map(|(far, _)| *far);
        found.extend(lit.filter(|far| !sight.lit.iter().any(|near| ends_at(near, *far))));
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// The part of a map that was seen.
pub fn strands(traced: &Traced) -> Vec<Strand> {
    let one = |(near, end): &(u16, End)| match end {
        End::At(far) => Some(Strand { near: *near, far: *far }),
        End::OneOf(_) | End::Nowhere | End::Unseen => None,
    };
    traced.ends.iter().filter_map(one).collect()
}
