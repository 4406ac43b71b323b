//! Made-up catalogues for the tests of grading: features, fibres, sites and surveys.

use terms::{
    Core, Face, Feature, FeatureId, Fibre, FibreFrame, Flaw, Guides, Kind, Look, Pixel, Point, Quality,
    Reach, Scale, ScaleSource, Site, Survey, Um, View,
};

/// A feature on the x axis of its fibre that reaches from one radius to another.
pub fn feature(kind: Kind, size: f64, inner: f64, outer: f64) -> Feature {
    Feature {
        id: FeatureId(0),
        kind,
        size: Um(size),
        u: Um(0.0),
        length: Um(size.max(outer - inner)),
        centre: Point::<FibreFrame>::new((inner + outer) / 2.0, 0.0),
        contrast: -0.3,
        reach: Reach { inner: Um(inner), outer: Um(outer) },
        outline: vec![],
    }
}

/// A sharp fibre without a flaw; its features are numbered from 1.
pub fn fibre(features: Vec<Feature>) -> Fibre {
    let numbered = (1..).zip(features).map(|(id, feature)| Feature { id: FeatureId(id), ..feature });
    Fibre {
        source: 0,
        centre_px: Point::<Pixel>::new(100.0, 100.0),
        centre_u: Um(0.02),
        diameter: Um(125.0),
        offset: Point::<Face>::new(0.0, 0.0),
        blur: Um(0.6),
        smallest_visible: Um(1.0),
        faintest_visible: 0.05,
        hints: vec![],
        core: Core::Unknown,
        core_light: None,
        core_width: None,
        features: numbered.collect(),
        at_optics: vec![],
        flaws: vec![],
    }
}

/// A survey of one row with these looks at its positions, from 1.
pub fn survey(looks: Vec<Look>) -> Survey {
    let sites = (1..).zip(looks).map(|(position, look)| Site { position, row: 1, column: position, look });
    Survey {
        layout: "mpo-12".to_owned(),
        view: View::default(),
        scale: Scale::new(0.5, 1e-4).unwrap(),
        scale_source: ScaleSource::Lattice,
        scale_checks: terms::ScaleChecks::default(),
        poses: vec![],
        quality: Quality { blur: Some(Um(0.6)), smallest_visible: Some(Um(1.0)), flaws: vec![] },
        sites: sites.collect(),
        guides: Guides::NotInView,
        face_marks: vec![],
        stitch: None,
    }
}

/// A survey of one fibre.
pub fn lone(fibre: Fibre) -> Survey {
    survey(vec![Look::Found(Box::new(fibre))])
}

/// A survey of one fibre with these features.
pub fn with(features: Vec<Feature>) -> Survey {
    lone(fibre(features))
}

/// One flaw of each kind.
pub fn every_flaw() -> Vec<Flaw> {
    vec![
        Flaw::NotInView,
        Flaw::CutByBorder { visible: 0.4 },
        Flaw::NotFound,
        Flaw::Hidden { edge_seen: 0.3 },
        Flaw::Saturated { share: 0.5 },
        Flaw::CoreSaturated,
        Flaw::TooDark { signal_to_noise: 2.0 },
        Flaw::Smeared { ratio: 2.5 },
        Flaw::Blurred { blur: Um(3.0) },
        Flaw::TooCoarse { um_per_px: 4.0 },
        Flaw::WrongDiameter { diameter: Um(80.0) },
        Flaw::Ambiguous(terms::Ambiguity::NoEnd),
    ]
}
