//! A made-up face for the tests and the speed example: every kind of feature, every verdict, and a view that
//! is neither key up nor unmirrored.

use grade::advice::{Counsel, Course, History, Matter, Remedy};
use grade::*;
use report::{Care, FaceInputs, FaceRecord, SourceInfo, Wiring};
use terms::*;

/// Multimode limits of edition 2 of IEC 61300-3-35 as publicly restated; one of them marked as if it were
/// from memory, so that the mark shows.
pub fn criteria() -> Criteria {
    let source = |faith, text: &str| Source { faith, text: text.to_owned() };
    let table = source(Faith::SingleSource, "a public installation guide that reprints table 4");
    let memory = source(Faith::FromMemory, "recalled, compare with your copy of the document");
    let band = |low: f64, low_included, high: Option<f64>, allowed| Band {
        low: Um(low),
        low_included,
        high: high.map(Um),
        high_included: true,
        allowed,
        source: table.clone(),
    };
    let rule = |zone: &str, subject, bands| Rule { zone: zone.to_owned(), subject, bands };
    let mut rules = vec![
        rule(
            "A",
            Subject::Scratches,
            vec![band(0.0, true, Some(3.0), Allowed::Any), band(3.0, false, None, Allowed::AtMost(0))],
        ),
        rule(
            "A",
            Subject::Defects,
            vec![band(0.0, true, Some(5.0), Allowed::AtMost(4)), band(5.0, false, None, Allowed::AtMost(0))],
        ),
        rule(
            "B",
            Subject::Scratches,
            vec![band(0.0, true, Some(5.0), Allowed::Any), band(5.0, false, None, Allowed::AtMost(0))],
        ),
        rule(
            "B",
            Subject::Defects,
            vec![
                band(0.0, true, Some(5.0), Allowed::Any),
                band(5.0, false, Some(10.0), Allowed::AtMost(5)),
                band(10.0, false, None, Allowed::AtMost(0)),
            ],
        ),
    ];
    rules[3].bands[2].source = memory.clone();
    let zone = |name: &str, from, to| Zone {
        name: name.to_owned(),
        from: Um(from),
        to: Um(to),
        source: table.clone(),
    };
    Criteria {
        id: "sample-mm".to_owned(),
        title: "multimode, sample".to_owned(),
        document: "IEC 61300-3-35".to_owned(),
        edition: "2 (2015)".to_owned(),
        class: ConnectorClass { mode: Mode::Multi, angled: false, return_loss_db: None },
        zones: vec![zone("A", 0.0, 65.0), zone("B", 65.0, 115.0)],
        rules,
        counting: Counting {
            defects_across: CrossingRule::Innermost,
            scratches_across: CrossingRule::Innermost,
            measure: Measure::EnclosingCircle,
            smallest_counted: Um(0.5),
            must_see: Um(2.0),
            source: memory,
        },
    }
}

/// A layout of `rows` rows of `columns` fibres, 250 um apart, rows 500 um apart.
pub fn layout(rows: u16, columns: u16) -> Layout {
    let mut layout = Layout {
        id: format!("mpo-{}", rows * columns),
        title: format!("{} fibres", rows * columns),
        pitch: Um(250.0),
        row_pitch: Um(500.0),
        rows,
        columns,
        cladding: Um(125.0),
        places: Vec::new(),
        guides: GuidePair { spacing: Um(4600.0), diameter: Um(700.0) },
    };
    let grid = (1..=rows).flat_map(|row| (1..=columns).map(move |column| (row, column)));
    let places: Vec<Place> = grid
        .map(|(row, column)| Place {
            position: (row - 1) * columns + column,
            row,
            column,
            at: layout.site(row, column),
        })
        .collect();
    layout.places = places;
    layout.checked().unwrap()
}

/// Marks of one position: kind, size, centre (um, fibre frame), angle of a scratch's run in degrees.
type Mark = (Kind, f64, f64, f64, f64);

/// What lies on a position, by its number in a dozen.
fn marks(position: u16) -> Vec<Mark> {
    match (position - 1) % 12 + 1 {
        2 => vec![(Kind::Particle, 3.4, 12.0, -9.0, 0.0), (Kind::Film, 4.1, 30.0, 28.0, 0.0)],
        3 => vec![(Kind::Particle, 12.4, 31.0, 24.0, 0.0), (Kind::Pit, 1.6, -8.0, 11.0, 0.0)],
        4 => vec![(Kind::Scratch, 1.8, -6.0, 14.0, 35.0)],
        5 => vec![(Kind::Scratch, 5.6, 10.0, -18.0, 70.0), (Kind::Scratch, 1.2, -20.0, 20.0, -20.0)],
        7 => (0..7)
            .map(|i| {
                let turn = f64::from(i) * 0.83 + 0.3;
                (Kind::Particle, 6.0 + 0.4 * f64::from(i), 45.0 * turn.cos(), 45.0 * turn.sin(), 0.0)
            })
            .collect(),
        8 => vec![(Kind::Film, 27.0, -38.0, -12.0, 0.0)],
        10 => vec![(Kind::Chip, 9.0, 2.0, 61.0, 0.0), (Kind::Pit, 2.2, 1.0, 1.0, 0.0)],
        12 => vec![(Kind::Particle, 10.06, -30.0, 28.0, 0.0)],
        _ => vec![],
    }
}

fn feature(id: u32, (kind, size, x, y, angle): Mark) -> Feature {
    let (half, wide) = if kind == Kind::Scratch { (26.0, size / 2.0) } else { (size / 2.0, size / 2.0) };
    let (sin, cos) = angle.to_radians().sin_cos();
    let outline: Vec<Point<FibreFrame>> = (0..48)
        .map(|i| {
            let (s, c) = (f64::from(i) / 48.0 * std::f64::consts::TAU).sin_cos();
            let uneven = 1.0 + 0.12 * (f64::from(i) * 1.7 + f64::from(id)).sin();
            let (along, across) = (c * half * uneven, s * wide * uneven);
            Point::new(x + along * cos - across * sin, y + along * sin + across * cos)
        })
        .collect();
    let radii = outline.iter().map(|p| p.radius());
    let inner = radii.clone().fold(f64::INFINITY, f64::min);
    Feature {
        id: FeatureId(id),
        kind,
        size: Um(size),
        u: Um(0.15),
        length: Um(2.0 * half),
        centre: Point::new(x, y),
        contrast: if kind == Kind::Film { -0.08 } else { -0.35 },
        reach: Reach { inner: Um(inner), outer: Um(radii.fold(0.0, f64::max)) },
        outline,
    }
}

fn look(position: u16, at: Point<Face>, pose: &Pose, next_id: &mut u32) -> Look {
    let in_dozen = (position - 1) % 12 + 1;
    if in_dozen == 11 {
        return Look::Missing(Flaw::NotFound);
    }
    let offset = Point::new(0.4, -0.3);
    let features = marks(position).into_iter().map(|mark| {
        *next_id += 1;
        feature(*next_id, mark)
    });
    Look::Found(Box::new(Fibre {
        source: 0,
        centre_px: pose.to_pixel(at.moved(offset.x, offset.y)),
        centre_u: Um(0.012),
        diameter: Um(125.1),
        offset,
        blur: Um(if in_dozen == 6 { 3.1 } else { 0.62 }),
        smallest_visible: Um(if in_dozen == 6 { 5.2 } else { 1.1 }),
        faintest_visible: 0.045,
        core: Core::Lit,
        core_light: Some(0.31),
        core_width: Some(Um(41.0)),
        features: features.collect(),
        hints: vec![Hint { at: Point::new(-31.25, 12.5), height: -0.031 }],
        at_optics: vec![],
        flaws: if in_dozen == 6 { vec![Flaw::Blurred { blur: Um(3.1) }] } else { vec![] },
    }))
}

/// The survey of a face of that layout.
pub fn survey(layout: &Layout) -> Survey {
    let view = View { key: Key::Down, mirrored: true };
    let pose = Pose::new(view, 0.5, 0.02, Point::new(2950.0, 550.0));
    let mut next_id = 0;
    let sites = layout.places.iter().map(|place| Site {
        position: place.position,
        row: place.row,
        column: place.column,
        look: look(place.position, place.at, &pose, &mut next_id),
    });
    Survey {
        layout: layout.id.clone(),
        view,
        scale: Scale::new(0.5, 4.2e-5).unwrap(),
        scale_source: ScaleSource::Lattice,
        scale_checks: terms::ScaleChecks { cladding: Some(1.0004), guides: None },
        sites: sites.collect(),
        poses: vec![pose],
        quality: Quality { blur: Some(Um(0.62)), smallest_visible: Some(Um(1.1)), flaws: vec![] },
        guides: Guides::Holes,
        face_marks: vec![FaceMark {
            source: 0,
            centre: Point::new(-130.0, 190.0),
            size: Um(21.5),
            contrast: -0.4,
            at_guide: false,
        }],
        stitch: None,
    }
}

/// A type B cable for a row of that many.
pub fn cable(row: u16) -> CableMap {
    let source = Source { faith: Faith::Verified, text: "three tutorials".to_owned() };
    let strands = (1..=row).map(|near| Strand { near, far: row + 1 - near }).collect();
    CableMap::new("type-b".to_owned(), "reversed".to_owned(), source, strands, vec![[1, 2], [3, 4]]).unwrap()
}

/// One rule for what can be cleaned, one for what cannot.
pub fn counsel() -> Counsel {
    let rule = |matters: &[Matter], history: &[History], say: &str, mind: &[&str]| Remedy {
        matters: matters.to_vec(),
        over: Um(0.0),
        spots: vec![],
        history: history.to_vec(),
        course: Course::default(),
        say: say.to_owned(),
        mind: mind.iter().map(|topic| (*topic).to_owned()).collect(),
        source: Source { faith: Faith::FromMemory, text: "the foreman".to_owned() },
    };
    let mark = Matter::Mark;
    Counsel {
        tries: 3,
        defers: "Ask the owner first.".to_owned(),
        rules: vec![
            rule(
                &[mark(Kind::Scratch), mark(Kind::Pit), mark(Kind::Chip)],
                &[],
                "Replace {at} ({what}).",
                &[],
            ),
            rule(
                &[mark(Kind::Particle), mark(Kind::Film)],
                &[History::First],
                "Clean {at} ({what}).",
                &["solvent"],
            ),
            rule(&[mark(Kind::Particle), mark(Kind::Film)], &[], "Stop at {at} ({what}).", &[]),
            rule(&[Matter::Dirt], &[], "Wipe the ferrule ({what}).", &["solvent"]),
        ],
        cautions: vec![("solvent".to_owned(), "It burns.".to_owned())],
    }
}

/// The record of a graded survey.
pub fn record_of(survey: &Survey, layout: &Layout) -> FaceRecord {
    let criteria = criteria();
    let grade = grade::grade(survey, &criteria);
    let cable = (layout.rows == 1).then(|| cable(layout.columns));
    FaceRecord::new(FaceInputs {
        survey,
        grade: &grade,
        criteria: &criteria,
        layout,
        sources: vec![SourceInfo {
            file: "harbour-link-07.png".to_owned(),
            page: None,
            sha256: "5f70bf18a086007016e948b04aed3b82103a36bea41755b6cddfaf10ace3c6ef".to_owned(),
            width_px: 5900,
            height_px: 1100,
        }],
        tool_version: "0.1.0",
        wiring: Wiring { cable: cable.as_ref(), lanes: None, colours: &[] },
        care: Some(Care { counsel: &counsel(), cleaned: &[] }),
    })
}

/// The record of the sample face.
pub fn record(rows: u16, columns: u16) -> FaceRecord {
    let layout = layout(rows, columns);
    record_of(&survey(&layout), &layout)
}

/// Noise in 0..1 that is the same for the same place.
fn noise(x: i64, y: i64) -> f64 {
    let mut h =
        (x as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ (y as u64).wrapping_mul(0xc2b2_ae3d_27d4_eb4f);
    h = (h ^ (h >> 29)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    ((h ^ (h >> 32)) & 0xffff) as f64 / 65535.0
}

/// Noise with lumps of about `lump` um.
fn mottle(x: f64, y: f64, lump: f64) -> f64 {
    let (u, v) = (x / lump, y / lump);
    let (i, j) = (u.floor(), v.floor());
    let (s, t) = (u - i, v - j);
    let at = |di: f64, dj: f64| noise((i + di) as i64, (j + dj) as i64);
    let top = at(0.0, 0.0) * (1.0 - s) + at(1.0, 0.0) * s;
    let bottom = at(0.0, 1.0) * (1.0 - s) + at(1.0, 1.0) * s;
    top * (1.0 - t) + bottom * t
}

/// Whether a point lies within a polygon (crossing number).
fn inside(polygon: &[Point<FibreFrame>], x: f64, y: f64) -> bool {
    let edges = polygon.iter().zip(polygon.iter().cycle().skip(1));
    let crossings =
        edges.filter(|(a, b)| (a.y > y) != (b.y > y) && x < (b.x - a.x) * (y - a.y) / (b.y - a.y) + a.x);
    crossings.count() % 2 == 1
}

/// Grey of the sample face at a place on it.
fn grey(survey: &Survey, layout: &Layout, x: f64, y: f64) -> u8 {
    let nearest = layout
        .places
        .iter()
        .min_by(|a, b| a.at.distance(Point::new(x, y)).total_cmp(&b.at.distance(Point::new(x, y))));
    let place = nearest.unwrap();
    let (dx, dy) = (x - place.at.x - 0.4, y - place.at.y + 0.3);
    let r = dx.hypot(dy);
    let fibre = survey.sites.iter().find_map(|site| match &site.look {
        Look::Found(fibre) if site.position == place.position => Some(fibre),
        _ => None,
    });
    let ferrule = 70.0 + 60.0 * mottle(x, y, 9.0) + 30.0 * mottle(x, y, 3.0);
    let Some(fibre) = fibre else { return ferrule as u8 };
    let glass = 150.0 + 4.0 * mottle(x, y, 1.5) + if r < 25.0 { 28.0 } else { 0.0 };
    let cover = ((62.5 - r) / fibre.blur.0 + 0.5).clamp(0.0, 1.0);
    let mut level = cover * glass + (1.0 - cover) * if r < 65.0 { 45.0 } else { ferrule };
    for feature in &fibre.features {
        if inside(&feature.outline, dx, dy) {
            level *= 1.0 + feature.contrast;
        }
    }
    level.clamp(0.0, 255.0) as u8
}

/// Pictures of the sample face for its map.
pub fn pictures(rows: u16, columns: u16) -> report::map::MapPictures {
    let layout = layout(rows, columns);
    let survey = survey(&layout);
    let windows = report::map::windows(&record_of(&survey, &layout));
    let sample = |window: &report::map::Window| {
        window.sample(|dx, dy| grey(&survey, &layout, window.centre.x + dx, window.centre.y + dy))
    };
    report::map::MapPictures {
        strip: Some(sample(&windows.strip)),
        fibres: windows.fibres.iter().map(|(position, window)| (*position, sample(window))).collect(),
    }
}
