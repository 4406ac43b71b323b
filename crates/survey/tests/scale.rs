//! The scale: measured from the row, or stated and held against it.

use crate::scene::{Scene, Shot};
use std::sync::LazyLock;
use survey::SurveyError;
use synth::FacePlan;
use terms::{ScaleSource, Survey};

/// A face whose fibres lie on their nominal sites, so that its lattice is exactly 250 um.
static EVEN: LazyLock<Shot> = LazyLock::new(|| {
    let plan = FacePlan { eccentricity_um: 0.0, ..FacePlan::default() };
    Scene::of("mpo-12", plan).seen(|c| c.turn_deg = 2.0).strip(100.0, 90.0).shot()
});

fn stated(um_per_px: f64) -> Result<Survey, SurveyError> {
    EVEN.read(&EVEN.layout, Some(um_per_px))
}

#[test]
fn a_lattice_without_tolerances_gives_the_scale_to_twenty_in_a_million() {
    let survey = EVEN.survey();
    let off = (survey.scale.um_per_px() / 0.5 - 1.0).abs();
    let u = survey.scale.standard_uncertainty() / 0.5;
    assert!(off < 2e-5 && off < 4.0 * u && u < 2e-5, "{off} +- {u}");
    assert_eq!(survey.scale_source, ScaleSource::Lattice);
    let cladding = survey.scale_checks.cladding.unwrap();
    assert!((cladding - 1.0).abs() < 0.004, "{cladding}");
}

#[test]
fn a_stated_scale_that_agrees_is_used_as_it_is() {
    for um_per_px in [0.5, 0.491, 0.509] {
        let survey = stated(um_per_px).unwrap();
        assert!((survey.scale.um_per_px() - um_per_px).abs() < 1e-12);
        assert_eq!(survey.scale.standard_uncertainty(), 0.0);
        assert_eq!(survey.scale_source, ScaleSource::Stated);
        let cladding = survey.scale_checks.cladding.unwrap();
        assert!((cladding / (um_per_px / 0.5) - 1.0).abs() < 0.004, "{cladding}");
    }
}

#[test]
fn a_stated_scale_that_does_not_agree_is_refused_with_both_figures() {
    for um_per_px in [0.5125, 0.4875, 1.0] {
        let why = stated(um_per_px).unwrap_err();
        let SurveyError::Scale { stated, measured } = &why else { panic!("{why}") };
        assert_eq!(*stated, um_per_px);
        assert!((measured - 0.5).abs() < 1e-4, "{measured}");
        let says = why.to_string();
        assert!(says.contains(&um_per_px.to_string()) && says.contains("0.5000"), "{says}");
    }
    for nonsense in [0.0, -0.5, f64::NAN, f64::INFINITY] {
        assert!(matches!(stated(nonsense), Err(SurveyError::NotAScale(_))), "{nonsense}");
    }
}
