//! From a survey and criteria to the grades of the positions and of the array.

use crate::conformity::{Acceptance, chances};
use crate::cores;
use crate::count::{Count, near_limit};
use crate::criteria::Criteria;
use crate::verdict::{ArrayGrade, FibreGrade, Reason, Verdict};
use crate::words;
use crate::zones::held_to;
use terms::{Feature, FeatureId, Fibre, Flaw, Kind, Look, Site, Survey, Um};

/// Grades every position of a survey and the array as a whole.
///
/// A position is ungraded, whatever was counted on it, if it is missing, if it or the whole picture has a
/// flaw, or if the picture is not sharp enough there for these criteria: what such a picture shows may be
/// its own making, and what it hides cannot be counted. So a mark that would fail a fully shown fibre does
/// not fail a half hidden one; it keeps it from passing until it is pictured again. So is every position of a face whose
/// cores are not those that the criteria are for. Uneven light alone makes no mark that stands out of it, and hides films
/// only: a fibre that fails with such marks fails in it too. Elsewhere one broken rule fails the position, then an
/// undecided band or an unmeasured feature leaves it ungraded, and only what remains passes.
///
/// Sizes are compared with the limits as they were measured (simple acceptance, JCGM 106:2012); features
/// so near to a limit that their uncertainty could turn the verdict are named in `near_limit`.
pub fn grade(survey: &Survey, criteria: &Criteria) -> ArrayGrade {
    grade_by(survey, criteria, Acceptance::Simple)
}

/// [`grade`] with sizes held to the limits in the way given.
pub fn grade_by(survey: &Survey, criteria: &Criteria, acceptance: Acceptance) -> ArrayGrade {
    let picture = &survey.quality.flaws;
    let other = cores::of_other_mode(survey, criteria);
    let grade = |site| match (grade_site(site, picture, criteria, acceptance), &other) {
        (grade, Some(other)) if grade.picture_suffices => FibreGrade {
            picture_suffices: true,
            ..ungraded(grade.position, vec![other.clone()], grade.zones)
        },
        (grade, Some(other)) => {
            FibreGrade { reasons: grade.reasons.iter().chain([other]).cloned().collect(), ..grade }
        }
        (grade, None) => grade,
    };
    let positions: Vec<FibreGrade> = survey.sites.iter().map(grade).collect();
    let mut reasons: Vec<Reason> = picture.iter().map(flawed).chain(other.clone()).collect();
    if positions.is_empty() {
        let text = "the survey holds no position; check the layout".to_owned();
        reasons.push(Reason { code: "no-positions".to_owned(), text });
    }
    let verdict = Verdict::of_parts(positions.iter().map(|p| p.verdict));
    ArrayGrade { verdict, reasons, acceptance, positions }
}

fn grade_site(site: &Site, picture: &[Flaw], criteria: &Criteria, acceptance: Acceptance) -> FibreGrade {
    match &site.look {
        Look::Missing(flaw) => ungraded(site.position, vec![flawed(flaw)], vec![]),
        Look::Found(fibre) => {
            let zones = zones(&fibre.features, criteria);
            let unfit = unfit(fibre, picture, criteria.counting.must_see);
            if !unfit.is_empty() && !fails_through_veil(fibre, picture, criteria, acceptance) {
                return ungraded(site.position, unfit, zones);
            }
            let grade = grade_features(site.position, &fibre.features, zones, criteria, acceptance);
            unless_optics(grade, fibre, criteria, acceptance)
        }
    }
}

/// Uneven light makes no mark with more contrast than this, common practice, no source.
const STANDS_OUT: f64 = 0.15;

/// Whether nothing but uneven light speaks against a picture of a fibre that fails with the marks that stand out of it.
fn fails_through_veil(fibre: &Fibre, picture: &[Flaw], criteria: &Criteria, acceptance: Acceptance) -> bool {
    let stands_out = |f: &&Feature| f.kind != Kind::Film && f.contrast.abs() > STANDS_OUT;
    let seen: Vec<Feature> = fibre.features.iter().filter(stands_out).cloned().collect();
    fibre.flaws == [Flaw::Veiled]
        && picture.is_empty()
        && words::not_sharp_enough(fibre, criteria.counting.must_see).is_none()
        && grade_marks(0, &seen, criteria, acceptance).verdict == Verdict::Fail
}

/// A fibre fails for what is on it. If it fails only with marks that may be dirt on the camera's optics it is ungraded;
/// if it passes with them it passes.
fn unless_optics(
    grade: FibreGrade,
    fibre: &Fibre,
    criteria: &Criteria,
    acceptance: Acceptance,
) -> FibreGrade {
    if grade.verdict != Verdict::Fail || fibre.at_optics.is_empty() {
        return grade;
    }
    let own: Vec<Feature> =
        fibre.features.iter().filter(|f| !fibre.at_optics.contains(&f.id)).cloned().collect();
    let without = grade_marks(grade.position, &own, criteria, acceptance);
    match without.verdict {
        Verdict::Fail => grade,
        _ => ungraded(grade.position, vec![words::dirty_optics(fibre.at_optics.len())], grade.zones),
    }
}

/// Grades marks alone, as if they lay on a fibre that the picture shows well.
pub fn grade_marks(
    position: u16,
    features: &[Feature],
    criteria: &Criteria,
    acceptance: Acceptance,
) -> FibreGrade {
    grade_features(position, features, zones(features, criteria), criteria, acceptance)
}

type Zones = Vec<(FeatureId, Option<String>)>;

fn zones(features: &[Feature], criteria: &Criteria) -> Zones {
    let innermost = |feature| held_to(feature, criteria).first().map(|zone| zone.name.clone());
    features.iter().map(|feature| (feature.id, innermost(feature))).collect()
}

fn ungraded(position: u16, reasons: Vec<Reason>, zones: Zones) -> FibreGrade {
    FibreGrade {
        position,
        verdict: Verdict::Ungraded,
        picture_suffices: false,
        reasons,
        findings: vec![],
        zones,
        near_limit: vec![],
        conformity: None,
    }
}

fn flawed(flaw: &Flaw) -> Reason {
    Reason { code: flaw.code().to_owned(), text: flaw.to_string() }
}

/// Why nothing can be counted on a fibre; the picture's flaws only where it has none of its own.
fn unfit(fibre: &Fibre, picture: &[Flaw], must_see: Um) -> Vec<Reason> {
    let flaws = if fibre.flaws.is_empty() { picture } else { &fibre.flaws };
    let reasons: Vec<Reason> = flaws.iter().map(flawed).collect();
    if reasons.is_empty() { words::not_sharp_enough(fibre, must_see).into_iter().collect() } else { reasons }
}

fn grade_features(
    position: u16,
    features: &[Feature],
    zones: Zones,
    criteria: &Criteria,
    acceptance: Acceptance,
) -> FibreGrade {
    let (measured, unmeasured): (Vec<&Feature>, Vec<&Feature>) =
        features.iter().partition(|feature| is_measured(feature));
    let count = Count::guarded(&measured, criteria, acceptance);
    let simple = Count::of(&measured, criteria);
    let all_measured = unmeasured.is_empty();
    let gap = (!all_measured).then_some(Verdict::Ungraded);
    let verdict = Verdict::of_parts([count.verdict()].into_iter().chain(gap));
    let picture_suffices = unmeasured.is_empty() || verdict != Verdict::Ungraded;
    let of = |verdict| count.tallies.iter().filter(move |tally| tally.verdict() == verdict);
    let mut reasons: Vec<Reason> = match verdict {
        Verdict::Pass => vec![],
        Verdict::Fail => of(Verdict::Fail).map(|tally| words::broken(tally, acceptance)).collect(),
        Verdict::Ungraded => of(Verdict::Ungraded)
            .map(|tally| words::undecided(tally, acceptance))
            .chain(count.in_no_band.iter().map(|feature| words::in_no_band(feature)))
            .chain(unmeasured.into_iter().map(words::unmeasured))
            .chain(criteria.rules.is_empty().then(words::no_rule))
            .collect(),
    };
    let chances = chances(&measured, criteria, &count.tallies);
    if count.verdict() != simple.verdict() {
        reasons.push(words::guarded(simple.verdict(), chances.all, acceptance));
    }
    FibreGrade {
        position,
        verdict,
        picture_suffices,
        reasons,
        findings: count.tallies.iter().zip(&chances.bands).map(|(t, p)| t.finding(*p)).collect(),
        zones,
        near_limit: near_limit(&measured, criteria, &simple),
        conformity: all_measured.then_some(chances.all),
    }
}

/// Whether every number that a verdict rests on is one.
fn is_measured(feature: &Feature) -> bool {
    let numbers = [feature.size.0, feature.u.0, feature.reach.inner.0, feature.reach.outer.0];
    let ordered = feature.reach.inner <= feature.reach.outer;
    let placed = feature.centre.radius().is_finite();
    numbers.iter().all(|number| number.is_finite() && *number >= 0.0) && ordered && placed
}
