//! What changed on one fibre: marks of two pictures paired, and each that is left alone judged gone, new, or
//! not to be told.

use super::assign::best_pairs;
use super::changes::{Change, Changes, Doubt, Kept, Side, Size, Unsure};
use super::cover::{cover, in_soft_edge, lay_under, was_part, went_mostly};
use super::likely::{changed, is_shadow};
use super::likeness::likeness;
use super::lobes;
use super::parts;
use super::seen::Glass;
use super::settle::Settling;
use super::visible::hint_of;
use terms::{Feature, FeatureId, Held, Hint, Kind, Lacks};

/// A change is called one when it is this likely.
const CONVINCING: f64 = 0.8;
/// A mark larger than it was by more than this share, and by so many standard uncertainties, has grown.
const GROWN: (f64, f64) = (0.2, 2.5);

/// Compares the marks of a fibre that both pictures show, and what the pictures say held against each other.
pub fn on_fibre(before: &Glass, after: &Glass, held: &Held) -> Changes {
    let before = settled(before, after);
    let pairs = paired(&before.features, &after.features);
    let mut changes = Changes::default();
    for &(b, a) in &pairs {
        let (was, is) = (&before.features[b], &after.features[a]);
        if is_shadow(was, &before.features) && is_shadow(is, &after.features) {
            changes.doubt(Side::Before, was.id, Doubt::Film);
            changes.doubt(Side::After, is.id, Doubt::Film);
            continue;
        }
        changes.remaining.push(Kept { before: vec![was.id], after: is.id, size: size(was, is) });
        if went_mostly(was, is) {
            changes.removed.push(Change {
                id: was.id,
                likelihood: changed(was, &before, after, None),
                part: None,
            });
        }
    }
    judge_before(&before, after, held, &pairs, &mut changes);
    judge_after(&before, after, held, &mut changes);
    parts::add(&before, after, held, &mut changes);
    lobes::add(&before, &changes.remaining, &mut changes.removed);
    lobes::add(after, &[], &mut changes.new);
    let kept: Vec<FeatureId> = changes.remaining.iter().flat_map(|kept| kept.before.clone()).collect();
    changes.unsure.retain(|u| u.side == Side::After || !kept.contains(&u.id));
    changes.removed.sort_by_key(|change| change.id);
    changes.new.sort_by_key(|change| change.id);
    changes.remaining.sort_by_key(|kept| kept.after);
    changes.unsure.sort_by_key(|unsure| (unsure.side, unsure.id));
    changes
}

/// Everything on a fibre that the other picture does not show.
pub fn not_shown(side: Side, glass: &Glass) -> Changes {
    let unsure = |f: &Feature| Unsure { side, id: f.id, doubt: Doubt::NotShown };
    Changes { unsure: glass.features.iter().map(unsure).collect(), ..Changes::default() }
}

/// Indices of the features that are one mark.
pub fn paired(before: &[Feature], after: &[Feature]) -> Vec<(usize, usize)> {
    best_pairs(before.len(), after.len(), |b, a| likeness(&before[b], &after[a], after.len()))
}

/// The first picture's fibre, moved by what the marks that stay tell of shift and turn.
fn settled(before: &Glass, after: &Glass) -> Glass {
    let compact = |f: &Feature| !matches!(f.kind, Kind::Scratch | Kind::Film) && f.size.0 < 12.0;
    let pairs: Vec<_> = paired(&before.features, &after.features)
        .into_iter()
        .map(|(b, a)| (&before.features[b], &after.features[a]))
        .filter(|(b, a)| compact(b) && compact(a))
        .map(|(b, a)| (b.centre, a.centre))
        .collect();
    let settling = Settling::of(&pairs);
    let hint = |h: &Hint| Hint { at: settling.place(h.at), ..*h };
    Glass {
        features: before.features.iter().map(|f| settling.feature(f)).collect(),
        hints: before.hints.as_ref().map(|hints| hints.iter().map(hint).collect()),
        ..before.clone()
    }
}

/// How large a mark is against what it was.
fn size(was: &Feature, is: &Feature) -> Size {
    if has_grown(was, is) {
        Size::Grown
    } else if matches!(is.kind, Kind::Particle | Kind::Film) && has_grown(is, was) {
        Size::Shrunk
    } else {
        Size::Alike
    }
}

/// Whether a mark is larger than it was. A scratch's size is its width, any other mark's its circle: the one says nothing
/// of the other.
fn has_grown(was: &Feature, is: &Feature) -> bool {
    if (was.kind == Kind::Scratch) != (is.kind == Kind::Scratch) {
        return false;
    }
    let more = is.size.0 - was.size.0;
    more > GROWN.0 * was.size.0 && more > GROWN.1 * was.u.0.hypot(is.u.0)
}

/// Whether a mark of a picture may be a film's shadow there; not one whose border came or went.
fn may_be_shadow(mark: &Feature, own: &Glass, pixels: Lacks) -> bool {
    !matches!(pixels, Lacks::Bordered(_)) && is_shadow(mark, &own.features)
}

/// Marks of the first picture that have no partner in the second.
fn judge_before(before: &Glass, after: &Glass, held: &Held, pairs: &[(usize, usize)], changes: &mut Changes) {
    for (i, mark) in before.features.iter().enumerate().filter(|(i, _)| pairs.iter().all(|p| p.0 != *i)) {
        let cover = cover(mark, &after.features);
        let hidden = in_soft_edge(mark, &after.features, after.blur.0 - before.blur.0);
        let kept = cover.and_then(|c| changes.remaining.iter_mut().find(|kept| kept.after == c.id));
        let pixels = held.before.get(i).copied().unwrap_or_default();
        let likelihood = changed(mark, before, after, pixels.odds());
        let shadow = may_be_shadow(mark, before, pixels);
        let shown = pixels.odds().is_some() && likelihood >= CONVINCING && !shadow;
        match (kept, cover) {
            _ if shown => changes.removed.push(Change { id: mark.id, likelihood, part: None }),
            (Some(kept), _) => kept.before.push(mark.id),
            // Scratches do not come: what was seen of it before was this mark.
            (None, Some(line)) if line.kind == Kind::Scratch => {
                changes.remaining.push(Kept::alike(vec![mark.id], line.id));
            }
            (None, Some(_)) => changes.doubt(Side::Before, mark.id, Doubt::Covered),
            (None, None) if hidden => changes.doubt(Side::Before, mark.id, Doubt::Covered),
            (None, None) if shadow => changes.doubt(Side::Before, mark.id, Doubt::Film),
            (None, None) if likelihood >= CONVINCING && hint_of(mark, after).is_none() => {
                changes.removed.push(Change { id: mark.id, likelihood, part: None })
            }
            (None, None) => changes.doubt(Side::Before, mark.id, Doubt::Faint),
        }
    }
}

/// Marks of the second picture that nothing was told of yet.
fn judge_after(before: &Glass, after: &Glass, held: &Held, changes: &mut Changes) {
    let stayed = changes.remaining.iter().map(|kept| kept.after);
    let doubted = changes.unsure.iter().filter(|u| u.side == Side::After).map(|u| u.id);
    let settled: Vec<FeatureId> = stayed.chain(doubted).collect();
    let lost = |f: &&Feature| changes.removed.iter().any(|change| change.id == f.id);
    let gone: Vec<&Feature> = before.features.iter().filter(lost).collect();
    for (i, mark) in after.features.iter().enumerate().filter(|(_, mark)| !settled.contains(&mark.id)) {
        let cover = cover(mark, &before.features);
        let under = lay_under(mark, &gone);
        let hidden = under || in_soft_edge(mark, &before.features, before.blur.0 - after.blur.0);
        let kept = |c: &Feature| changes.remaining.iter().any(|kept| kept.before.contains(&c.id));
        let stayed = cover.filter(|c| kept(c) || was_part(c));
        let pixels = held.after.get(i).copied().unwrap_or_default();
        let likelihood = changed(mark, after, before, pixels.odds());
        let shadow = may_be_shadow(mark, after, pixels);
        let told = pixels.odds().is_some() && !shadow && !under;
        match (stayed, cover) {
            _ if told && likelihood >= CONVINCING => {
                changes.new.push(Change { id: mark.id, likelihood, part: None });
            }
            (None, None) if told && likelihood <= 1.0 - CONVINCING => {
                changes.remaining.push(Kept::alike(Vec::new(), mark.id));
            }
            (Some(part_of), _) => {
                let kept = Kept::alike(vec![part_of.id], mark.id);
                changes.remaining.push(kept);
            }
            (None, Some(_)) => changes.doubt(Side::After, mark.id, Doubt::Covered),
            (None, None) if hidden => changes.doubt(Side::After, mark.id, Doubt::Covered),
            (None, None) if shadow => changes.doubt(Side::After, mark.id, Doubt::Film),
            (None, None) if hint_of(mark, before).is_some() => {
                changes.remaining.push(Kept::alike(Vec::new(), mark.id));
            }
            (None, None) if likelihood >= CONVINCING => {
                changes.new.push(Change { id: mark.id, likelihood, part: None });
            }
            (None, None) => changes.doubt(Side::After, mark.id, Doubt::Faint),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::{Point, Reach, Um};

    fn feature(id: u32, kind: Kind, at: (f64, f64), size: f64, contrast: f64) -> Feature {
        let corner = |(x, y): (f64, f64)| Point::new(at.0 + x * size / 2.0, at.1 + y * size / 2.0);
        Feature {
            id: FeatureId(id),
            kind,
            size: Um(size),
            u: Um(0.2),
            length: Um(size),
            centre: Point::new(at.0, at.1),
            contrast,
            reach: Reach { inner: Um(0.0), outer: Um(40.0) },
            outline: [(-0.7, -0.7), (0.7, -0.7), (0.7, 0.7), (-0.7, 0.7)].map(corner).to_vec(),
        }
    }

    fn glass(features: Vec<Feature>) -> Glass {
        Glass { blur: Um(0.6), faintest: 0.02, hints: Some(Vec::new()), ..Glass::sample(features) }
    }

    fn by_marks(before: &Glass, after: &Glass) -> Changes {
        on_fibre(before, after, &Held::default())
    }

    /// The width of a scratch and the circle about a particle are no sizes of one kind.
    #[test]
    fn a_scratch_that_is_told_as_a_particle_has_not_grown() {
        for (kind, grown) in [(Kind::Scratch, false), (Kind::Particle, true)] {
            let was = feature(1, kind, (0.0, 0.0), 5.0, -0.4);
            let is = feature(2, Kind::Particle, (0.0, 0.0), 8.0, -0.4);
            assert_eq!(has_grown(&was, &is), grown);
            assert!(!has_grown(&is, &was));
        }
    }

    #[test]
    fn a_films_shadow_neither_comes_nor_goes() {
        let film = |id| feature(id, Kind::Film, (-20.0, 0.0), 40.0, -0.2);
        let cases = [
            (feature(2, Kind::Particle, (25.0, 0.0), 15.0, -0.05), Some(Doubt::Film)),
            (feature(2, Kind::Particle, (25.0, 0.0), 15.0, -0.4), None),
            (feature(2, Kind::Particle, (25.0, 0.0), 5.0, -0.1), None),
        ];
        for (mark, doubt) in cases {
            let changes = by_marks(&glass(vec![film(1)]), &glass(vec![film(1), mark]));
            let doubts: Vec<Doubt> = changes.unsure.iter().map(|u| u.doubt).collect();
            assert_eq!(doubts, doubt.into_iter().collect::<Vec<_>>());
            assert_eq!(changes.new.len(), usize::from(doubt.is_none()));
            assert_eq!(changes.remaining.len(), 1);
        }
    }

    /// The border of a shadow fades; where the pixels show one that came or went, there is a mark.
    #[test]
    fn what_has_a_border_between_the_pictures_is_no_films_shadow() {
        let film = || feature(1, Kind::Film, (-20.0, 0.0), 40.0, -0.2);
        let mark = || feature(2, Kind::Particle, (25.0, 0.0), 15.0, -0.05);
        for (lacks, told) in
            [(Lacks::Untold, 0), (Lacks::Odds(5.0), 0), (Lacks::Bordered(5.0), 1), (Lacks::Bordered(0.1), 0)]
        {
            let (with, without) = (|| glass(vec![film(), mark()]), || glass(vec![film()]));
            let odds = vec![Lacks::Untold, lacks];
            let went = Held { before: odds.clone(), ..Held::default() };
            let went = on_fibre(&with(), &without(), &went);
            let came = on_fibre(&without(), &with(), &Held { after: odds, ..Held::default() });
            assert_eq!((went.removed.len(), went.unsure.len()), (told, 1 - told), "{lacks:?} {went:?}");
            assert_eq!((came.new.len(), came.unsure.len()), (told, 1 - told), "{lacks:?} {came:?}");
        }
    }

    /// Beside a lump, and partly under it, a much fainter mark need not have been told; one nearly as strong would have
    /// been, and so would one that only touches it.
    #[test]
    fn what_shows_when_a_lump_is_gone_need_not_have_come() {
        let lump = feature(1, Kind::Particle, (0.0, 0.0), 10.0, -0.7);
        for (x, contrast, new) in [(5.0, -0.1, 0), (5.0, -0.3, 1), (9.0, -0.1, 1)] {
            let mark = feature(2, Kind::Particle, (x, 0.0), 6.0, contrast);
            let held = Held { after: vec![Lacks::Odds(6.0)], ..Held::default() };
            let changes = on_fibre(&glass(vec![lump.clone()]), &glass(vec![mark]), &held);
            assert_eq!(changes.removed.len(), 1, "{changes:?}");
            assert_eq!(
                (changes.new.len(), changes.unsure.len()),
                (new, 1 - new),
                "{x} {contrast} {changes:?}"
            );
        }
    }

    #[test]
    fn clean_glass_that_seems_bright_beside_a_film_neither_comes_nor_goes() {
        let film = feature(1, Kind::Film, (-20.0, 0.0), 40.0, -0.1);
        let bright = |size, contrast| feature(2, Kind::Particle, (25.0, 0.0), size, contrast);
        for (mark, doubtful) in
            [(bright(15.0, 0.1), true), (bright(15.0, 0.3), false), (bright(3.0, 0.1), false)]
        {
            let changes = by_marks(&glass(vec![film.clone(), mark]), &glass(vec![film.clone()]));
            assert_eq!(changes.removed.is_empty(), doubtful, "{changes:?}");
        }
    }

    /// The seams between the pieces lie elsewhere in each picture.
    #[test]
    fn a_film_that_is_seen_in_other_pieces_stays() {
        let piece = |id, x, contrast| feature(id, Kind::Film, (x, 0.0), 28.0, contrast);
        let before = glass(vec![piece(1, -30.0, -0.1), piece(2, -10.0, -0.12), piece(3, 10.0, -0.1)]);
        let after = glass(vec![piece(1, -20.0, -0.11), piece(2, 5.0, -0.1)]);
        let changes = by_marks(&before, &after);
        assert!(changes.removed.is_empty() && changes.new.is_empty(), "{changes:?}");
        assert!(!changes.remaining.is_empty(), "{changes:?}");
        let gone = by_marks(&before, &glass(Vec::new()));
        assert_eq!(gone.removed.len(), 3, "{gone:?}");
    }

    /// A scratch of that contrast along x, 80 um long and 3 wide.
    fn long_scratch(contrast: f64) -> Feature {
        let sides = [(-40.0, 1.5), (40.0, 1.5), (40.0, -1.5), (-40.0, -1.5)];
        Feature {
            outline: sides.map(|(x, y)| Point::new(x, y)).to_vec(),
            length: Um(80.0),
            ..feature(1, Kind::Scratch, (0.0, 0.0), 3.0, contrast)
        }
    }

    #[test]
    fn dirt_darker_than_the_scratch_it_lies_on_is_no_part_of_it() {
        let scratch = long_scratch(-0.25);
        for (contrast, new) in [(-0.6, 1), (-0.25, 0)] {
            let mark = feature(2, Kind::Particle, (5.0, 0.0), 4.0, contrast);
            let changes = by_marks(&glass(vec![scratch.clone()]), &glass(vec![scratch.clone(), mark]));
            assert_eq!(changes.new.len(), new, "{changes:?}");
        }
    }

    #[test]
    fn a_part_of_a_lump_stays_when_the_lump_goes() {
        let lump = feature(1, Kind::Particle, (0.0, 0.0), 9.0, -0.45);
        for (at, contrast) in [((-1.2, 0.0), -0.45), ((2.0, 1.5), -0.7)] {
            let part = feature(2, Kind::Pit, at, 2.5, contrast);
            let changes = by_marks(&glass(vec![lump.clone()]), &glass(vec![part]));
            assert_eq!(changes.removed.iter().map(|c| c.id).collect::<Vec<_>>(), [FeatureId(1)]);
            let kept = Kept::alike(vec![FeatureId(1)], FeatureId(2));
            assert_eq!(changes.remaining, [kept]);
            assert!(changes.new.is_empty() && changes.unsure.is_empty(), "{changes:?}");
        }
        let smaller = feature(2, Kind::Particle, (0.1, 0.0), 7.5, -0.45);
        let changes = by_marks(&glass(vec![lump]), &glass(vec![smaller]));
        assert!(changes.removed.is_empty() && changes.remaining.len() == 1, "{changes:?}");
    }

    #[test]
    fn a_scratch_that_is_seen_in_pieces_stays() {
        let scratch = long_scratch(-0.3);
        let pieces =
            [-20.0, 15.0].map(|x| feature(2 + u32::from(x > 0.0), Kind::Particle, (x, 0.2), 4.0, -0.3));
        let changes = by_marks(&glass(vec![scratch.clone()]), &glass(pieces.to_vec()));
        assert_eq!(changes.remaining.len(), 2, "{changes:?}");
        assert!(changes.new.is_empty() && changes.unsure.is_empty(), "{changes:?}");
        let changes = by_marks(&glass(pieces.to_vec()), &glass(vec![scratch]));
        let kept = Kept::alike(pieces.map(|p| p.id).to_vec(), FeatureId(1));
        assert_eq!(changes.remaining, [kept]);
        assert!(
            changes.removed.is_empty() && changes.new.is_empty() && changes.unsure.is_empty(),
            "{changes:?}"
        );
    }

    #[test]
    fn a_scratch_that_bends_is_one_whatever_it_was_called() {
        let arc = |side: f64, y: f64| {
            (0..=20)
                .map(move |k| f64::from(k - 10))
                .map(move |x| Point::new(4.0 * x, y + 0.25 * x * x + side))
        };
        let outline: Vec<_> =
            arc(1.5, 0.0).chain(arc(-1.5, 0.0).collect::<Vec<_>>().into_iter().rev()).collect();
        let scratch =
            Feature { outline, length: Um(92.0), ..feature(1, Kind::Scratch, (0.0, 0.0), 3.0, -0.4) };
        let hull: Vec<_> = arc(-1.5, 0.0).chain([Point::new(40.0, 27.0), Point::new(-40.0, 27.0)]).collect();
        let lint = Feature { outline: hull, ..feature(1, Kind::Particle, (0.0, 12.0), 85.0, -0.42) };
        let changes = by_marks(&glass(vec![scratch]), &glass(vec![lint]));
        assert_eq!(changes.remaining.len(), 1, "{changes:?}");
        assert!(changes.new.is_empty() && changes.unsure.is_empty(), "{changes:?}");
    }

    #[test]
    fn what_a_softer_picture_hides_beside_a_lump_need_not_have_come() {
        let lump = feature(1, Kind::Particle, (0.0, 0.0), 6.0, -0.5);
        let mark = feature(2, Kind::Particle, (3.4, 0.0), 1.2, -0.5);
        for (blur, doubts) in [(1.0, 1), (0.6, 0)] {
            let before = Glass { blur: Um(blur), ..glass(vec![lump.clone()]) };
            let changes = by_marks(&before, &glass(vec![lump.clone(), mark.clone()]));
            assert_eq!((changes.unsure.len(), changes.new.len()), (doubts, 1 - doubts), "{changes:?}");
        }
    }

    #[test]
    fn only_what_is_wide_and_weak_is_seen_through() {
        for (size, removed) in [(30.0, 1), (12.0, 0)] {
            let lump = feature(1, Kind::Particle, (0.0, 0.0), size, -0.2);
            let pit = feature(1, Kind::Pit, (0.25 * size, 0.0), 3.0, -0.6);
            let changes = by_marks(&glass(vec![pit]), &glass(vec![lump]));
            assert_eq!(changes.removed.len(), removed, "{changes:?}");
        }
    }

    #[test]
    fn a_film_hardly_seen_need_not_have_come() {
        for (contrast, doubts) in [(-0.056, 1), (-0.1, 0)] {
            let film = feature(1, Kind::Film, (0.0, 0.0), 40.0, contrast);
            let changes = by_marks(&glass(Vec::new()), &glass(vec![film]));
            assert_eq!(changes.unsure.len(), doubts, "{changes:?}");
        }
    }

    /// A mark that the other picture hints at in its place was there, too; what is hinted at elsewhere, of the other
    /// sign or far too low says nothing.
    #[test]
    fn a_mark_that_is_hinted_at_was_there() {
        let mark = feature(2, Kind::Particle, (20.0, 5.0), 2.0, -0.1);
        let hint = |x: f64, height: f64| terms::Hint { at: Point::new(x, 5.0), height };
        for (hint, stayed) in
            [(hint(20.4, -0.06), 1), (hint(24.0, -0.06), 0), (hint(20.4, 0.06), 0), (hint(20.4, -0.02), 0)]
        {
            let hinted = Glass { hints: Some(vec![hint]), ..glass(Vec::new()) };
            let shown = glass(vec![mark.clone()]);
            let came = by_marks(&hinted, &shown);
            assert_eq!((came.remaining.len(), came.new.len()), (stayed, 1 - stayed), "{came:?}");
            let went = by_marks(&shown, &hinted);
            assert_eq!((went.unsure.len(), went.removed.len()), (stayed, 1 - stayed), "{went:?}");
        }
    }

    /// Too faint to be told as a mark, but not to be missed in a place that is looked at.
    #[test]
    fn a_faint_mark_is_gone_where_nothing_hints_at_it() {
        let mark = feature(2, Kind::Particle, (20.0, 5.0), 2.0, -0.1);
        for (hints, gone) in [(Some(Vec::new()), 1), (None, 0)] {
            let after = Glass { faintest: 0.09, hints, ..glass(Vec::new()) };
            let changes = by_marks(&glass(vec![mark.clone()]), &after);
            assert_eq!(changes.removed.len(), gone, "{changes:?}");
        }
    }

    #[test]
    fn light_about_a_broad_lump_neither_comes_nor_goes() {
        let lump = feature(1, Kind::Particle, (-20.0, 0.0), 60.0, -0.6);
        for (size, contrast, doubts) in [(15.0, 0.09, 1), (15.0, -0.055, 1), (15.0, -0.3, 0), (5.0, 0.09, 0)]
        {
            let beside = feature(2, Kind::Particle, (35.0, 0.0), size, contrast);
            let changes = by_marks(&glass(vec![lump.clone(), beside]), &glass(vec![lump.clone()]));
            assert_eq!((changes.unsure.len(), changes.removed.len()), (doubts, 1 - doubts), "{changes:?}");
        }
    }

    #[test]
    fn an_outline_about_a_scratch_is_the_scratch() {
        let scratch = long_scratch(-0.4);
        for (contrast, long, new) in [(-0.42, 80.0, 0), (-0.9, 80.0, 1), (-0.42, 42.0, 0), (-0.42, 30.0, 1)] {
            let scratch = Feature { length: Um(long), ..scratch.clone() };
            let outline = Feature {
                outline: [(-45.0, -5.0), (45.0, -5.0), (45.0, 20.0), (-45.0, 20.0)]
                    .map(|(x, y)| Point::new(x, y))
                    .to_vec(),
                ..feature(2, Kind::Particle, (0.0, 8.0), 95.0, contrast)
            };
            let changes = by_marks(&glass(vec![scratch.clone()]), &glass(vec![scratch.clone(), outline]));
            assert_eq!(changes.new.len(), new, "{changes:?}");
        }
    }

    #[test]
    fn a_lump_that_touched_another_went() {
        let corners = |at: &[(f64, f64)]| at.iter().map(|(x, y)| Point::new(*x, *y)).collect::<Vec<_>>();
        let both = Feature {
            outline: corners(&[(-6.0, -3.0), (6.0, -3.0), (6.0, 1.0), (2.0, 3.0), (-6.0, 3.0)]),
            ..feature(1, Kind::Particle, (0.0, 0.0), 13.4, -0.5)
        };
        let one = |to: f64| Feature {
            outline: corners(&[(-6.0, -3.0), (to, -3.0), (to, 2.8), (-6.0, 3.0)]),
            ..feature(2, Kind::Particle, (0.5 * (to - 6.0), 0.0), (to + 6.0).hypot(6.0), -0.5)
        };
        for (to, went) in [(2.0, 1), (5.0, 0)] {
            let changes = by_marks(&glass(vec![both.clone()]), &glass(vec![one(to)]));
            assert_eq!((changes.removed.len(), changes.remaining.len()), (went, 1), "{changes:?}");
        }
    }

    #[test]
    fn a_faint_stretch_is_taken_for_one_of_a_scratch() {
        let drawn = |x: f64, y: f64, contrast| Feature {
            outline: [(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| Point::new(x, y)).to_vec(),
            ..feature(2, Kind::Particle, (0.0, 0.0), 2.0 * x, contrast)
        };
        let narrow = |contrast| (drawn(6.0, 0.8, contrast), contrast);
        let broad = |contrast| (drawn(12.0, 2.0, contrast), contrast);
        for ((mark, contrast), new) in
            [(narrow(-0.15), 0), (narrow(-0.4), 1), (broad(-0.1), 0), (broad(-0.2), 1)]
        {
            let changes = by_marks(&glass(Vec::new()), &glass(vec![mark]));
            assert_eq!(changes.new.len(), new, "{contrast} {changes:?}");
        }
    }

    /// A piece of a scratch that is told as a mark has a wider outline than the scratch; what is much stronger, or lies
    /// beside the line, is no piece.
    #[test]
    fn a_piece_of_a_scratch_reaches_beyond_it() {
        let scratch = long_scratch(-0.2);
        for (y, contrast, removed) in [(0.0, -0.22, 0), (0.0, -0.6, 1), (4.0, -0.22, 1), (0.0, 0.22, 1)] {
            let mark = feature(2, Kind::Particle, (5.0, y), 7.0, contrast);
            let changes = by_marks(&glass(vec![scratch.clone(), mark]), &glass(vec![scratch.clone()]));
            assert_eq!(changes.removed.len(), removed, "{y} {contrast} {changes:?}");
        }
    }
}
