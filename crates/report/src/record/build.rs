//! A survey and its grade as a record: copies, rounds, and moves outlines into the picture. Decides nothing.

use super::number::{PX, RATIO, SCALE, UM, kept, pair, rounded};
use super::wiring::{Wiring, application, polarity};
use super::words::{Core, Faith, Key, ScaleMethod, Verdict};
use super::*;
use grade::{Acceptance, ArrayGrade, Criteria, FibreGrade};
use terms::{Feature, Fibre, FibreFrame, Flaw, Layout, Look, Point, Pose, Site, Survey};

/// Width from 10 % to 90 % of a step blurred by a Gaussian, in standard deviations: 2 * 1.28155, the normal
/// distribution's 90 % point.
const EDGE_PER_BLUR: f64 = 2.563_103;

/// What a face's record is made from.
#[derive(Clone, Debug)]
pub struct FaceInputs<'a> {
    /// What was seen.
    pub survey: &'a Survey,
    /// What it was graded.
    pub grade: &'a ArrayGrade,
    /// By which criteria.
    pub criteria: &'a Criteria,
    /// By which layout.
    pub layout: &'a Layout,
    /// The pictures, in order of step.
    pub sources: Vec<SourceInfo>,
    /// Version of the program.
    pub tool_version: &'a str,
    /// Where the fibres lead, and what they carry.
    pub wiring: Wiring<'a>,
    /// What advice rests on; without it none is given.
    pub care: Option<Care<'a>>,
}

impl FaceRecord {
    /// The record of a graded face.
    pub fn new(inputs: FaceInputs<'_>) -> FaceRecord {
        let FaceInputs { survey, grade, criteria, layout, sources, tool_version, wiring, care } = inputs;
        let positions = survey
            .sites
            .iter()
            .map(|site| position(site, survey, grade, layout, wiring.colours))
            .collect::<Vec<_>>();
        let positions = name_pictures(positions, survey, &sources);
        let mut record = FaceRecord {
            schema: FACE_FORMAT.to_owned(),
            tool: Tool { name: "pitchline".to_owned(), version: tool_version.to_owned() },
            sources,
            layout: survey.layout.clone(),
            view: survey.view.into(),
            criteria: criteria_record(criteria),
            scale: scale(survey),
            quality: quality(survey, grade),
            verdict: grade.verdict.into(),
            guard_risk: guard_risk(grade.acceptance),
            positions,
            polarity: wiring.cable.map(|cable| polarity(cable, grade)),
            application: wiring.lanes.map(|lanes| application(lanes, wiring.cable, grade)),
            guides: survey.guides.into(),
            face_marks: survey.face_marks.iter().map(face_mark).collect(),
            advice: AdviceRecord::default(),
            cleaned: care.iter().flat_map(|care| care.cleaned).map(|how| (*how).into()).collect(),
            poses: survey.poses.iter().map(pose_record).collect(),
            stitch: survey.stitch.as_ref().map(stitch_record),
        };
        if let Some(care) = care {
            record.advice = AdviceRecord::new(care.counsel, &record.to_mend(care), &record.positions);
        }
        record
    }
}

fn guard_risk(acceptance: Acceptance) -> Option<f64> {
    match acceptance {
        Acceptance::Simple => None,
        Acceptance::Guarded(risk) => Some(risk.get()),
    }
}

impl From<terms::View> for ViewRecord {
    fn from(view: terms::View) -> ViewRecord {
        let key = match view.key {
            terms::Key::Up => Key::Up,
            terms::Key::Down => Key::Down,
        };
        ViewRecord { key, mirrored: view.mirrored }
    }
}

fn criteria_record(criteria: &Criteria) -> CriteriaRecord {
    let zones = criteria.zones.iter();
    let bands = criteria.rules.iter().flat_map(|r| &r.bands);
    let faiths = zones.map(|z| z.source.faith).chain(bands.map(|b| b.source.faith)).map(Faith::from);
    let counting = &criteria.counting;
    CriteriaRecord {
        id: criteria.id.clone(),
        title: criteria.title.clone(),
        document: criteria.document.clone(),
        edition: criteria.edition.clone(),
        faith: faiths.clone().max().unwrap_or(Faith::House),
        all_from_memory: faiths.min() == Some(Faith::FromMemory),
        zones: criteria
            .zones
            .iter()
            .map(|z| ZoneRecord { name: z.name.clone(), from_um: z.from.0, to_um: z.to.0 })
            .collect(),
        counting: CountingRecord {
            defects_across: counting.defects_across.into(),
            scratches_across: counting.scratches_across.into(),
            measure: counting.measure.into(),
            smallest_counted_um: counting.smallest_counted.0,
            must_see_um: counting.must_see.0,
            source: (&counting.source).into(),
        },
    }
}

fn scale(survey: &Survey) -> ScaleRecord {
    let method = match survey.scale_source {
        terms::ScaleSource::Lattice => ScaleMethod::Lattice,
        terms::ScaleSource::Stated => ScaleMethod::Stated,
    };
    let exact = survey.scale;
    ScaleRecord {
        um_per_px: kept(exact.um_per_px(), SCALE),
        standard_uncertainty: kept(exact.standard_uncertainty(), SCALE),
        method,
        cladding_ratio: survey.scale_checks.cladding.and_then(|r| rounded(r, 4)),
        guide_ratio: survey.scale_checks.guides.and_then(|r| rounded(r, 4)),
    }
}

fn quality(survey: &Survey, grade: &ArrayGrade) -> QualityRecord {
    let blur = survey.quality.blur.map(|b| b.0);
    let flaws = survey.quality.flaws.iter();
    let mut reasons: Vec<ReasonRecord> =
        flaws.map(|f| ReasonRecord { code: f.code().to_owned(), text: f.to_string() }).collect();
    for reason in &grade.reasons {
        if !reasons.iter().any(|r| r.code == reason.code) {
            reasons.push(ReasonRecord { code: reason.code.clone(), text: reason.text.clone() });
        }
    }
    QualityRecord {
        edge_width_um: blur.and_then(|b| rounded(b * EDGE_PER_BLUR, UM)),
        smallest_gradable_um: survey.quality.smallest_visible.and_then(|s| rounded(s.0, UM)),
        gradable: grade.positions.iter().any(|p| p.picture_suffices),
        reasons,
        blur_um: blur.and_then(|b| rounded(b, UM)),
    }
}

fn face_mark(mark: &terms::FaceMark) -> FaceMarkRecord {
    FaceMarkRecord {
        source: mark.source,
        centre_um: pair(mark.centre, UM),
        size_um: rounded(mark.size.0, UM),
        contrast: rounded(mark.contrast, RATIO),
        at_guide: mark.at_guide,
    }
}

fn stitch_record(stitch: &terms::Stitch) -> StitchRecord {
    let placement = |p: &terms::Placement| PlacementRecord {
        placed: p.placed,
        linked: p.linked.clone(),
        residual_um: p.residual.and_then(|r| rounded(r.0, UM)),
    };
    StitchRecord {
        picture: stitch.canvas.map(|_| FACE_PICTURE.to_owned()),
        picture_sha256: None,
        pose: stitch.canvas.map(|c| pose_record(&c.pose)),
        coverage: rounded(stitch.covered, RATIO),
        placements: stitch.placements.iter().map(placement).collect(),
        optics: stitch.optics.iter().map(optics).collect(),
        disagreements: stitch.disagreements.iter().map(disagreement).collect(),
    }
}

fn optics(spot: &terms::OpticsSpot) -> OpticsRecord {
    OpticsRecord {
        centre_px: pair(spot.centre, PX),
        size_px: rounded(spot.size_px, PX),
        contrast: rounded(spot.contrast, RATIO),
        pictures: spot.pictures,
    }
}

fn disagreement(told: &terms::Disagreement) -> DisagreementRecord {
    let mark = &told.mark;
    DisagreementRecord {
        position: told.position,
        feature: (!told.set_aside).then_some(mark.id.0),
        kind: mark.kind.into(),
        size_um: rounded(mark.size.0, UM),
        centre_um: pair(mark.centre, UM),
        outline_um: mark.outline.iter().filter_map(|p| pair(*p, UM)).collect(),
        shown_in: told.shown_in,
        absent_in: told.absent_in,
        optics: told.optics,
    }
}

fn pose_record(pose: &Pose) -> PoseRecord {
    let row = |[a, b]: [f64; 2]| Some([rounded(a, SCALE)?, rounded(b, SCALE)?]);
    let [x, y] = pose.matrix.map(row);
    PoseRecord { origin_px: pair(pose.origin, PX), px_per_um: x.zip(y).map(<[[f64; 2]; 2]>::from) }
}

fn position(
    site: &Site,
    survey: &Survey,
    grade: &ArrayGrade,
    layout: &Layout,
    colours: &[String],
) -> PositionRecord {
    let fibre = match &site.look {
        Look::Found(fibre) => Some(&**fibre),
        Look::Missing(_) => None,
    };
    let grade = grade.positions.iter().find(|g| g.position == site.position);
    PositionRecord {
        position: site.position,
        row: site.row,
        column: site.column,
        verdict: grade.map_or(Verdict::Ungraded, |g| g.verdict.into()),
        reasons: grade.map_or_else(Vec::new, reasons),
        source: fibre.map(|f| f.source),
        centre_px: fibre.and_then(|f| pair(f.centre_px, PX)),
        centre_u_um: fibre.and_then(|f| rounded(f.centre_u.0, UM)),
        cladding_diameter_um: fibre.and_then(|f| rounded(f.diameter.0, UM)),
        offset_um: fibre.and_then(|f| pair(f.offset, UM)),
        nominal_um: nominal(site, layout),
        blur_um: fibre.and_then(|f| rounded(f.blur.0, UM)),
        smallest_visible_um: fibre.and_then(|f| rounded(f.smallest_visible.0, UM)),
        faintest_visible: fibre.and_then(|f| rounded(f.faintest_visible, RATIO)),
        hints: fibre.map(|f| f.hints.iter().filter_map(hint).collect()),
        core: fibre.map_or(Core::Unknown, |f| f.core.into()),
        core_light: fibre.and_then(|f| rounded(f.core_light?, RATIO)),
        core_width_um: fibre.and_then(|f| rounded(f.core_width?.0, UM)),
        features: fibre.map_or_else(Vec::new, |f| features(f, grade, survey)),
        findings: grade.map_or_else(Vec::new, findings),
        conformity: grade.and_then(|g| g.conformity).and_then(|p| rounded(p, RATIO)),
        colour: usize::from(site.position).checked_sub(1).and_then(|i| colours.get(i)).cloned(),
    }
}

fn hint(hint: &terms::Hint) -> Option<HintRecord> {
    Some(HintRecord { at_um: pair(hint.at, UM)?, height: rounded(hint.height, RATIO)? })
}

/// Calls the pictures of a stepped run by their files in what is said of positions that they do not show.
fn name_pictures(
    mut positions: Vec<PositionRecord>,
    survey: &Survey,
    sources: &[SourceInfo],
) -> Vec<PositionRecord> {
    let name = |i: usize| sources.get(i).map_or_else(|| format!("picture {}", i + 1), SourceInfo::name);
    let gap = |site: &Site| match &site.look {
        Look::Missing(Flaw::Gap { before, after, .. }) => Some((*before, *after)),
        _ => None,
    };
    for (site, record) in survey.sites.iter().zip(&mut positions) {
        let Look::Missing(flaw @ (Flaw::Gap { .. } | Flaw::Unjoined { .. })) = &site.look else { continue };
        let together: Vec<u16> =
            survey.sites.iter().filter(|s| gap(s) == gap(site)).map(|s| s.position).collect();
        if let Some(reason) = record.reasons.first_mut() {
            reason.text = flaw.with_names(&name, &together);
        }
    }
    positions
}

fn nominal(site: &Site, layout: &Layout) -> [f64; 2] {
    let place = layout.places.iter().find(|p| p.position == site.position);
    let at = place.map_or_else(|| layout.site(site.row, site.column), |p| p.at);
    [kept(at.x, UM), kept(at.y, UM)]
}

fn reasons(grade: &FibreGrade) -> Vec<ReasonRecord> {
    grade.reasons.iter().map(|r| ReasonRecord { code: r.code.clone(), text: r.text.clone() }).collect()
}

fn findings(grade: &FibreGrade) -> Vec<FindingRecord> {
    grade
        .findings
        .iter()
        .map(|f| FindingRecord {
            zone: f.zone.clone(),
            rule: f.rule.clone(),
            limit: f.limit.to_string(),
            observed: f.observed(),
            verdict: f.verdict.into(),
            subject: f.subject.into(),
            conformity: rounded(f.conformity, RATIO),
            counted: f.counted.iter().map(|id| id.0).collect(),
            source: (&f.source).into(),
        })
        .collect()
}

fn features(fibre: &Fibre, grade: Option<&FibreGrade>, survey: &Survey) -> Vec<FeatureRecord> {
    let pose = survey.poses.get(fibre.source);
    let mut records: Vec<FeatureRecord> =
        fibre.features.iter().map(|feature| feature_record(feature, fibre, grade, pose)).collect();
    records.sort_by_key(|f| f.id);
    records
}

fn feature_record(
    feature: &Feature,
    fibre: &Fibre,
    grade: Option<&FibreGrade>,
    pose: Option<&Pose>,
) -> FeatureRecord {
    let zone = grade.and_then(|g| g.zones.iter().find(|(id, _)| *id == feature.id));
    let reach = [rounded(feature.reach.inner.0, UM), rounded(feature.reach.outer.0, UM)];
    FeatureRecord {
        id: feature.id.0,
        kind: feature.kind.into(),
        zone: zone.and_then(|(_, name)| name.clone()),
        size_um: rounded(feature.size.0, UM),
        u_um: rounded(feature.u.0, UM),
        length_um: rounded(feature.length.0, UM),
        centre_um: pair(feature.centre, UM),
        contrast: rounded(feature.contrast, RATIO),
        outline_px: pose.map_or_else(Vec::new, |pose| outline(feature, fibre, pose)),
        reach_um: reach[0].zip(reach[1]).map(<[f64; 2]>::from),
        near_limit: grade.is_some_and(|g| g.near_limit.contains(&feature.id)),
        limit_um: grade.and_then(|g| limit(feature, g)),
        ends_um: ends(&feature.outline),
    }
}

/// A mark is long and narrow if it is so many times as long as it is wide.
const SLENDER: f64 = 4.0;

/// The ends of a long and narrow mark: the point of its outline that lies farthest from any, and the one farthest from
/// that; the upper one first.
pub fn ends(outline: &[Point<FibreFrame>]) -> Option<[[f64; 2]; 2]> {
    let farthest = |from: &Point<FibreFrame>| {
        outline.iter().max_by(|a, b| a.distance(*from).total_cmp(&b.distance(*from)))
    };
    let a = farthest(outline.first()?)?;
    let b = farthest(a)?;
    let (length, x, y) = (a.distance(*b), b.x - a.x, b.y - a.y);
    let across = outline.iter().map(|p| (x * (p.y - a.y) - y * (p.x - a.x)) / length);
    let (low, high) = across.fold((0.0, 0.0), |(low, high): (f64, f64), d| (low.min(d), high.max(d)));
    let upper_first =
        if a.y >= b.y { [pair(*a, UM)?, pair(*b, UM)?] } else { [pair(*b, UM)?, pair(*a, UM)?] };
    (length > SLENDER * (high - low)).then_some(upper_first)
}

/// The size from which on the broken bands count that count a feature.
fn limit(feature: &Feature, grade: &FibreGrade) -> Option<f64> {
    let broken = grade.findings.iter().filter(|f| f.verdict == grade::Verdict::Fail);
    let lows = broken.filter(|f| f.counted.contains(&feature.id)).map(|f| f.low.0);
    lows.max_by(f64::total_cmp).and_then(|low| rounded(low, UM))
}

fn outline(feature: &Feature, fibre: &Fibre, pose: &Pose) -> Vec<[f64; 2]> {
    let to_pixel = |p: &terms::Point<terms::FibreFrame>| {
        let (x, y) = pose.vector(p.x, p.y);
        pair(fibre.centre_px.moved(x, y), PX)
    };
    feature.outline.iter().filter_map(to_pixel).collect()
}
