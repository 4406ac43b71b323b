//! Criteria for the other mode grade nothing, if the cores tell.

use crate::faces::{feature, fibre, survey};
use crate::rules::criteria;
use grade::{Criteria, Mode, Verdict, grade};
use terms::{Core, Fibre, Flaw, Kind, Look, Survey, Um};

/// Fibres whose cores look so wide.
fn face(widths: &[Option<f64>], core: Core) -> Survey {
    let one = |width: &Option<f64>| Fibre { core_width: width.map(Um), core, ..fibre(vec![]) };
    survey(widths.iter().map(|width| Look::Found(Box::new(one(width)))).collect())
}

fn of(mode: Mode) -> Criteria {
    let mut criteria = criteria();
    criteria.class.mode = mode;
    criteria
}

fn verdict(widths: &[Option<f64>], core: Core, mode: Mode) -> Verdict {
    grade(&face(widths, core), &of(mode)).verdict
}

#[test]
fn narrow_cores_are_not_graded_as_multimode_nor_wide_ones_as_single_mode() {
    let (narrow, wide) = ([Some(9.2); 4], [Some(49.0); 4]);
    assert_eq!(verdict(&narrow, Core::Dark, Mode::Single), Verdict::Pass);
    assert_eq!(verdict(&wide, Core::Dark, Mode::Multi), Verdict::Pass);
    assert_eq!(verdict(&narrow, Core::Dark, Mode::Multi), Verdict::Ungraded);
    assert_eq!(verdict(&wide, Core::Lit, Mode::Single), Verdict::Ungraded);
    assert_eq!(verdict(&narrow, Core::Lit, Mode::Multi), Verdict::Ungraded);
    let told = grade(&face(&narrow, Core::Dark), &of(Mode::Multi));
    assert_eq!(told.positions[0].reasons, told.reasons);
    assert_eq!(told.reasons[0].code, "other-mode");
    assert_eq!(
        told.reasons[0].text,
        "the cores look 9 um wide, as those of single-mode fibres do, and the criteria are for multimode ones; grade it by \
         criteria for single-mode fibres"
    );
}

/// Light of a single-mode cord shows the middle of a multimode core alone.
#[test]
fn narrow_cores_that_are_lit_may_be_lit_by_a_single_mode_cord() {
    let told = |core, mode, width| grade(&face(&[Some(width); 4], core), &of(mode)).reasons.remove(0).text;
    let off = ", or take the light of a single-mode cord off it and take the picture again";
    assert!(told(Core::Lit, Mode::Multi, 9.0).ends_with(off));
    assert!(!told(Core::Dark, Mode::Multi, 9.0).ends_with(off));
    assert!(!told(Core::Lit, Mode::Single, 40.0).ends_with(off));
}

/// Too few cores that tell, cores that contradict each other, widths that no kind of fibre has, and cores under marks.
#[test]
fn what_does_not_tell_is_graded_as_stated() {
    let narrow = Some(9.0);
    assert_eq!(verdict(&[narrow, narrow], Core::Dark, Mode::Multi), Verdict::Pass);
    assert_eq!(
        verdict(&[narrow, narrow, narrow, Some(50.0), Some(50.0)], Core::Dark, Mode::Multi),
        Verdict::Pass
    );
    let films = [28.0, 34.0, 41.0, 48.0].map(Some);
    assert_eq!(verdict(&films, Core::Dark, Mode::Single), Verdict::Pass);
    let mut marked = face(&[narrow; 4], Core::Dark);
    for site in &mut marked.sites {
        let Look::Found(fibre) = &mut site.look else { continue };
        fibre.features = vec![feature(Kind::Particle, 1.0, 20.0, 21.0)];
    }
    assert_eq!(grade(&marked, &of(Mode::Multi)).verdict, Verdict::Pass);
    assert_eq!(verdict(&[Some(20.0); 4], Core::Dark, Mode::Multi), Verdict::Pass);
}

/// One core that a mark widens does not speak for all, nor do those that say nothing.
#[test]
fn most_of_those_that_tell_decide() {
    let narrow = Some(9.0);
    let seen = [narrow, narrow, narrow, narrow, Some(40.0), None, None, None, None, None];
    assert_eq!(verdict(&seen, Core::Dark, Mode::Multi), Verdict::Ungraded);
}

/// A mark that would fail says nothing by limits of the other mode, and a fibre's own flaw is told first.
#[test]
fn a_failing_mark_does_not_fail_and_a_flaw_stays() {
    let mut seen = face(&[Some(50.0); 5], Core::Dark);
    let sites = seen.sites.iter_mut();
    let fibres: Vec<&mut Fibre> = sites
        .map(|site| match &mut site.look {
            Look::Found(fibre) => fibre.as_mut(),
            Look::Missing(_) => panic!("every site has a fibre"),
        })
        .collect();
    for (fibre, n) in fibres.into_iter().zip(0..) {
        match n {
            0 => fibre.features = vec![feature(Kind::Pit, 30.0, 0.0, 30.0)],
            1 => fibre.flaws = vec![Flaw::NotFound],
            _ => {}
        }
    }
    let array = grade(&seen, &of(Mode::Single));
    let codes: Vec<&str> = array.positions.iter().map(|p| p.reasons[0].code.as_str()).collect();
    assert_eq!(codes, ["other-mode", "not-found", "other-mode", "other-mode", "other-mode"]);
    let second = array.positions[1].reasons.get(1).map(|reason| reason.code.as_str());
    assert_eq!(second, Some("other-mode"), "a new picture alone would not mend it");
    assert!(array.positions.iter().all(|p| p.verdict == Verdict::Ungraded));
    assert_eq!(array.positions[0].zones.len(), 1);
}
