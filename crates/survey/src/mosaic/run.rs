//! The pictures of one stepped run, put together by what they show: which overlap, in whatever order they
//! came, and where each lies on the plane that the linked ones share.

use super::adjust::adjust;
use super::circles::{Circles, circles};
use super::lattice::{Array, Seen};
use super::link::{Lattices, Link, Look, contradicts, link, link_among, link_near};
use super::optics::Optics;
use super::rigid::{Rigid, Spot, Tie};
use super::spectrum::{Bench, Spectrum};
use super::texture::Texture;
use crate::locate::LocateError;
use crate::locate::pyramid::Level;
use imaging::{Frame, Plane};
use rayon::prelude::*;
use terms::Layout;

/// Pictures predicted to share this much of their area are held against each other.
const SHARED: f64 = 0.12;

/// Pictures predicted to share this much of their area must show the same.
const MUST_AGREE: f64 = 0.25;

/// A link whose ties miss by more than this many pixels of the textures is wrong.
const WRONG: f64 = 2.0;

/// Pictures that hang together.
#[derive(Clone, Debug)]
pub(crate) struct Component {
    /// Indices of the pictures, ascending.
    pub members: Vec<usize>,
    /// From each picture into the common plane, pixels of the frames; in order of `members`.
    pub ways: Vec<Rigid>,
    pub links: Vec<Link>,
    /// Root mean square miss of each link's ties, pixels.
    pub misses: Vec<f64>,
}

/// A run as far as the pictures themselves decide it.
pub(crate) struct Run {
    pub levels: Vec<Level>,
    pub circles: Vec<Circles>,
    /// Radius of a cladding, pixels of the frames.
    pub radius: f64,
    /// Size of each frame, pixels.
    pub sizes: Vec<Spot>,
    pub components: Vec<Component>,
    /// What stays at the same pixels.
    pub optics: Optics,
}

impl Run {
    /// Puts the pictures together.
    ///
    /// # Errors
    /// `NoRowInRun` if no two neighbouring claddings show in any of them.
    pub fn new(frames: &[Frame], layout: &Layout) -> Result<Run, LocateError> {
        let law = layout.pitch.0 / (layout.cladding.0 / 2.0);
        let levels = levels(frames);
        let (circles, radius) = circles(&levels, law).ok_or(LocateError::NoRowInRun)?;
        let sizes: Vec<Spot> = frames.iter().map(|f| (f.width() as f64, f.height() as f64)).collect();
        let array = Array::new(layout, radius, &circles);
        let lattices = lattices(&circles, radius, array);
        let textures: Vec<Texture> =
            levels.par_iter().zip(&lattices).map(|(l, p)| Texture::new(l, &p.places, radius)).collect();
        let linked = || Linker::new(&textures, &lattices, &sizes, array).map(|linker| linker.components());
        let (optics, components) = rayon::join(|| Optics::new(&textures), linked);
        let mut components = components.ok_or(LocateError::NoRowInRun)?;
        if circles.iter().any(|c| c.claddings.is_empty()) {
            let lattices = carried_over(&components, &lattices, array);
            let new = |(i, level): (usize, &Level)| match circles[i].claddings.is_empty() {
                true => Texture::new(level, &lattices[i].places, radius),
                false => textures[i].clone(),
            };
            let textures: Vec<Texture> = levels.par_iter().enumerate().map(new).collect();
            components =
                Linker::new(&textures, &lattices, &sizes, array).ok_or(LocateError::NoRowInRun)?.components();
        }
        Ok(Run { levels, circles, radius, sizes, components, optics })
    }
}

/// One level for each frame, all at the factor that suits the largest; a picture thinner than a pixel of it shows
/// nothing.
fn levels(frames: &[Frame]) -> Vec<Level> {
    let largest = frames.iter().max_by_key(|f| f.width() * f.height());
    let factor = largest.map_or(1, Level::base_factor);
    let plane = |f: &Frame| f.shrunk(factor).unwrap_or_else(|| Plane::filled(1, 1, 0.0));
    frames.par_iter().map(|f| Level { plane: plane(f), factor: factor as f64 }).collect()
}

/// Places where each picture may show a cladding: its own lattices carried on from each of its circles.
fn lattices(circles: &[Circles], radius: f64, array: Array) -> Vec<Lattices> {
    let lattice = |c: &Circles| Lattices {
        places: array.places(&c.claddings, array.step(&c.claddings)),
        claddings: c.claddings.clone(),
        radius,
    };
    circles.iter().map(lattice).collect()
}

/// The lattices, with places for the pictures that show no cladding from those that they are linked to.
fn carried_over(components: &[Component], lattices: &[Lattices], array: Array) -> Vec<Lattices> {
    let mut all = lattices.to_vec();
    for c in components {
        for (&m, way) in c.members.iter().zip(&c.ways).filter(|(m, _)| lattices[**m].claddings.is_empty()) {
            let here = c.claddings(lattices, *way);
            all[m].places = array.places(&here, array.step(&here));
        }
    }
    all
}

/// Finds the links of a run.
struct Linker<'a> {
    textures: &'a [Texture],
    lattices: &'a [Lattices],
    spectra: Vec<Spectrum>,
    sizes: &'a [Spot],
    array: Array<'a>,
    bench: Bench,
}

impl<'a> Linker<'a> {
    fn new(
        textures: &'a [Texture],
        lattices: &'a [Lattices],
        sizes: &'a [Spot],
        array: Array<'a>,
    ) -> Option<Linker<'a>> {
        let width = textures.iter().map(|t| t.plane.width()).max()?;
        let height = textures.iter().map(|t| t.plane.height()).max()?;
        let bench = Bench::new((width, height));
        let spectra: Option<Vec<Spectrum>> = textures.par_iter().map(|t| bench.spectrum(&t.plane)).collect();
        Some(Linker { textures, lattices, spectra: spectra?, sizes, array, bench })
    }

    fn look(&self, index: usize) -> Look<'_> {
        let (texture, spectrum) = (&self.textures[index], &self.spectra[index]);
        Look { index, texture, spectrum, lattice: &self.lattices[index] }
    }

    fn tried(&self, pairs: &[(usize, usize)]) -> Vec<Link> {
        pairs.par_iter().filter_map(|&(i, j)| link(&self.look(i), &self.look(j), &self.bench)).collect()
    }

    /// Neighbours first, then pictures farther from each other in the run as long as it is in parts.
    fn components(&self) -> Vec<Component> {
        let count = self.textures.len();
        let mut links: Vec<Link> = Vec::new();
        let mut next = 1;
        for last in [1, 2, 4, count.saturating_sub(1)] {
            let parts = parts(count, &links);
            let pairs: Vec<(usize, usize)> = (next..=last)
                .flat_map(|d| (0..count.saturating_sub(d)).map(move |i| (i, i + d)))
                .filter(|&(i, j)| parts[i] != parts[j])
                .collect();
            links.extend(self.tried(&pairs));
            next = last + 1;
        }
        self.bridged(self.settled(links))
    }

    /// The components joined where their lattices leave so few shifts of two neighbouring pictures that these decide.
    fn bridged(&self, mut components: Vec<Component>) -> Vec<Component> {
        loop {
            let more = self.bridges(&components);
            if more.is_empty() {
                return components;
            }
            let links = components.iter().flat_map(|c| c.links.iter().cloned()).chain(more).collect();
            let joined = self.settled(links);
            if joined.len() >= components.len() {
                return components;
            }
            components = joined;
        }
    }

    /// Links of neighbouring pictures of two components by the lattices of these. Only of pictures whose fibres are
    /// left out of their textures: else a rim that both cut agrees a pitch off, too.
    fn bridges(&self, components: &[Component]) -> Vec<Link> {
        let mut homes: Vec<(usize, &Component, usize)> = Vec::new();
        for c in components {
            homes.extend(c.members.iter().enumerate().map(|(k, &member)| (member, c, k)));
        }
        homes.sort_by_key(|home| home.0);
        let bridge = |pair: &[(usize, &Component, usize)]| {
            let [(i, a, k), (j, b, l)] = pair else { return None };
            let without_fibres = |i: &usize| !self.lattices[*i].places.is_empty();
            if a.members.first() == b.members.first() || !(without_fibres(i) && without_fibres(j)) {
                return None;
            }
            let seen = |c: &Component, way: Rigid, i: usize| Seen {
                claddings: c.claddings(self.lattices, way),
                size: self.sizes[i],
            };
            let shifts = self.array.shifts(&seen(a, a.ways[*k], *i), &seen(b, b.ways[*l], *j));
            link_among(&self.look(*i), &self.look(*j), &shifts)
        };
        homes.par_windows(2).filter_map(bridge).collect()
    }

    /// Components whose links agree with one another and with what their overlapping pictures show.
    fn settled(&self, mut links: Vec<Link>) -> Vec<Component> {
        let mut given_up: Vec<(usize, usize)> = Vec::new();
        loop {
            let mut components = placed(self.textures.len(), &links);
            let mut more: Vec<Link> = components.iter().flat_map(|c| self.closing(c)).collect();
            more.retain(|l| !given_up.contains(&(l.a, l.b)));
            if !more.is_empty() {
                links.extend(more);
                components = placed(self.textures.len(), &links);
            }
            match components.iter().find_map(|c| self.wrong_link(c)) {
                Some((a, b)) => {
                    links.retain(|l| (l.a, l.b) != (a, b));
                    given_up.push((a, b));
                }
                None => return components,
            }
        }
    }

    /// Links of pictures that the component's plane says overlap.
    fn closing(&self, c: &Component) -> Vec<Link> {
        let pairs: Vec<(usize, usize, Rigid)> = unlinked(c)
            .filter(|&(i, j)| shared(self.sizes, c, i, j) >= SHARED)
            .map(|(i, j)| (c.members[i], c.members[j], c.ways[i].then(c.ways[j].back())))
            .collect();
        let near = |&(i, j, way): &(usize, usize, Rigid)| link_near(&self.look(i), &self.look(j), way);
        pairs.par_iter().filter_map(near).collect()
    }

    /// The link to give up, if any does not agree with the others or with the pictures.
    fn wrong_link(&self, c: &Component) -> Option<(usize, usize)> {
        let factor = self.textures.first()?.factor;
        let worst = c.links.iter().zip(&c.misses).max_by(|a, b| a.1.total_cmp(b.1))?;
        if *worst.1 > WRONG * factor {
            return Some((worst.0.a, worst.0.b));
        }
        let disagree = unlinked(c).find(|&(i, j)| {
            let (a, b) = (c.members[i], c.members[j]);
            shared(self.sizes, c, i, j) >= MUST_AGREE
                && contradicts(&self.look(a), &self.look(b), c.ways[i].then(c.ways[j].back()))
        })?;
        weakest_between(c, c.members[disagree.0], c.members[disagree.1])
    }
}

/// Pairs of places in `members` without a link, the first smaller.
fn unlinked(c: &Component) -> impl Iterator<Item = (usize, usize)> + '_ {
    let count = c.members.len();
    let pairs = (0..count).flat_map(move |i| (i + 1..count).map(move |j| (i, j)));
    pairs.filter(|&(i, j)| !c.links.iter().any(|l| (l.a, l.b) == (c.members[i], c.members[j])))
}

/// Share of the smaller picture's area that two members of a component have in common.
fn shared(sizes: &[Spot], c: &Component, i: usize, j: usize) -> f64 {
    let way = c.ways[i].then(c.ways[j].back());
    let (a, b) = (sizes[c.members[i]], sizes[c.members[j]]);
    let middle = way.place((a.0 / 2.0, a.1 / 2.0));
    let overlap =
        |at: f64, own: f64, other: f64| ((at + own / 2.0).min(other) - (at - own / 2.0).max(0.0)).max(0.0);
    overlap(middle.0, a.0, b.0) * overlap(middle.1, a.1, b.1) / (a.0 * a.1).min(b.0 * b.1)
}

/// For each picture the smallest index of those that it hangs together with.
fn parts(count: usize, links: &[Link]) -> Vec<usize> {
    let mut part: Vec<usize> = (0..count).collect();
    loop {
        let before = part.clone();
        for l in links {
            let least = part[l.a].min(part[l.b]);
            (part[l.a], part[l.b]) = (least, least);
        }
        if part == before {
            return part;
        }
    }
}

/// The components that links make, each adjusted.
fn placed(count: usize, links: &[Link]) -> Vec<Component> {
    let parts = parts(count, links);
    let roots: Vec<usize> = (0..count).filter(|&i| parts[i] == i).collect();
    let component = |root: &usize| {
        let members: Vec<usize> = (0..count).filter(|&i| parts[i] == *root).collect();
        let own: Vec<&Link> = links.iter().filter(|l| parts[l.a] == *root).collect();
        let adjusted = adjust(&members, &own, tree(&members, &own));
        let links = own.into_iter().cloned().collect();
        Component { members, ways: adjusted.ways, links, misses: adjusted.misses }
    };
    roots.par_iter().map(component).collect()
}

/// First places of the members, from the first one along the strongest links.
fn tree(members: &[usize], links: &[&Link]) -> Vec<Rigid> {
    let mut ways: Vec<Option<Rigid>> = vec![None; members.len()];
    let index = |i: usize| members.binary_search(&i).unwrap_or(0);
    ways[0] = Some(Rigid::SAME);
    loop {
        let open = links.iter().filter(|l| ways[index(l.a)].is_some() != ways[index(l.b)].is_some());
        let Some(best) = open.max_by(|x, y| x.strength().total_cmp(&y.strength())) else { break };
        let (a, b) = (index(best.a), index(best.b));
        match (ways[a], ways[b]) {
            (Some(way), None) => ways[b] = Some(best.way.back().then(way)),
            (None, Some(way)) => ways[a] = Some(best.way.then(way)),
            _ => break,
        }
    }
    ways.into_iter().map(|w| w.unwrap_or(Rigid::SAME)).collect()
}

/// The weakest link on the strongest path between two pictures.
fn weakest_between(c: &Component, from: usize, to: usize) -> Option<(usize, usize)> {
    let mut links: Vec<&Link> = c.links.iter().collect();
    links.sort_by(|a, b| b.strength().total_cmp(&a.strength()));
    for taken in 1..=links.len() {
        let kept: Vec<Link> = links[..taken].iter().map(|l| (*l).clone()).collect();
        let parts = parts(c.members.last()? + 1, &kept);
        if parts[from] == parts[to] {
            return Some((links[taken - 1].a, links[taken - 1].b));
        }
    }
    None
}

impl Component {
    /// The claddings of all members as a picture on the way `to` sees them, also those beyond its border.
    fn claddings(&self, lattices: &[Lattices], to: Rigid) -> Vec<Spot> {
        let back = to.back();
        let own = |(&m, way): (&usize, &Rigid)| {
            let way = way.then(back);
            lattices[m].claddings.iter().map(move |&p| way.place(p)).collect::<Vec<_>>()
        };
        self.members.iter().zip(&self.ways).flat_map(own).collect()
    }

    /// Adds one thing that two members show; `a` is the smaller index.
    pub fn tie(&mut self, a: usize, b: usize, tie: Tie) {
        if let Some(link) = self.links.iter_mut().find(|l| (l.a, l.b) == (a, b)) {
            link.ties.push(tie);
        }
    }

    /// Places the members anew after ties were added.
    pub fn readjust(&mut self) {
        let links: Vec<&Link> = self.links.iter().collect();
        let adjusted = adjust(&self.members, &links, self.ways.clone());
        (self.ways, self.misses) = (adjusted.ways, adjusted.misses);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use imaging::Samples;

    /// It was told of the first picture of the run that it shows no row.
    #[test]
    fn a_picture_of_one_pixel_takes_none_of_the_others_away() {
        let blank =
            |width, height| Frame::new(width, height, Samples::Eight(vec![90; width * height])).unwrap();
        let levels = levels(&[blank(4000, 3000), blank(1, 1), blank(4000, 1)]);
        assert!(levels.len() == 3 && levels[0].factor > 1.0);
        assert!(levels.iter().all(|l| l.factor == levels[0].factor && l.plane.width() >= 1));
    }
}
