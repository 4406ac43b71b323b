//! A record as comparing needs it, and a record told with the face turned or mirrored.

use super::build::ends;
use super::number::{PX, RATIO, UM, pair, rounded};
use super::{AdviceRecord, FaceRecord, FeatureRecord, HintRecord, Key, PoseRecord, PositionRecord};
use grade::compare::{FaceSeen, FibreSeen, Flip, Glass};
use terms::{Feature, FeatureId, FibreFrame, Hint, Kind, Pixel, Point, Pose, Reach, Um};

impl FaceRecord {
    /// What was seen, without the picture. Features that were not measured are left out.
    pub fn seen(&self) -> FaceSeen {
        let mut fibres: Vec<FibreSeen> = self.positions.iter().map(|p| self.fibre_seen(p)).collect();
        fibres.sort_by_key(|f| f.position);
        FaceSeen { fibres }
    }

    fn fibre_seen(&self, position: &PositionRecord) -> FibreSeen {
        let [x, y] = position.nominal_um;
        FibreSeen {
            position: position.position,
            nominal: Point::new(x, y),
            verdict: position.verdict.into(),
            glass: self.glass(position),
        }
    }

    fn glass(&self, position: &PositionRecord) -> Option<Glass> {
        let [x, y] = position.offset_um?;
        let pose = self.poses.get(position.source?)?;
        let centre_px = position.centre_px?;
        Some(Glass {
            offset: Point::new(x, y),
            centre_u: Um(position.centre_u_um?),
            diameter: Um(position.cladding_diameter_um?),
            blur: Um(position.blur_um?),
            faintest: position.faintest_visible.unwrap_or(FAINTEST),
            features: position.features.iter().filter_map(|f| feature(f, pose, centre_px)).collect(),
            hints: position.hints.as_ref().map(|hints| hints.iter().map(hint).collect()),
        })
    }

    /// A part of one of the position's features as a record of its own; none if the fibre's place is not known.
    pub fn part(&self, part: &Feature, position: &PositionRecord) -> Option<FeatureRecord> {
        let [[a, b], [c, d]] = self.poses.get(position.source?)?.px_per_um?;
        let [x, y] = position.centre_px?;
        let pixel = |p: &Point<FibreFrame>| Point::<Pixel>::new(x + a * p.x + b * p.y, y + c * p.x + d * p.y);
        let (inner, outer) = (part.reach.inner.0, part.reach.outer.0);
        let zone = self.criteria.zones.iter().find(|zone| inner <= zone.to_um / 2.0);
        Some(FeatureRecord {
            id: part.id.0,
            kind: part.kind.into(),
            zone: zone.map(|zone| zone.name.clone()),
            size_um: rounded(part.size.0, UM),
            u_um: rounded(part.u.0, UM),
            length_um: rounded(part.length.0, UM),
            centre_um: pair(part.centre, UM),
            contrast: rounded(part.contrast, RATIO),
            outline_px: part.outline.iter().filter_map(|p| pair(pixel(p), PX)).collect(),
            reach_um: rounded(inner, UM).zip(rounded(outer, UM)).map(<[f64; 2]>::from),
            near_limit: false,
            limit_um: None,
            ends_um: ends(&part.outline),
        })
    }

    /// The same face with its axes turned round: positions renumbered, places negated, view and poses to fit.
    /// Ids stay. None if a site would fall where the layout has none.
    pub fn flipped(&self, flip: Flip) -> Option<FaceRecord> {
        let (sx, sy) = flip.signs();
        let mut record = self.clone();
        for (old, new) in self.positions.iter().zip(&mut record.positions) {
            let [x, y] = old.nominal_um;
            let there = self.positions.iter().find(|p| near(p.nominal_um, [sx * x, sy * y]))?;
            *new = PositionRecord {
                position: there.position,
                row: there.row,
                column: there.column,
                nominal_um: there.nominal_um,
                offset_um: old.offset_um.map(|o| signed(o, sx, sy)),
                features: old.features.iter().map(|f| flipped(f, sx, sy)).collect(),
                hints: old
                    .hints
                    .as_ref()
                    .map(|hints| hints.iter().map(|h| hint_flipped(h, sx, sy)).collect()),
                ..old.clone()
            };
        }
        let renumbered: Vec<u16> = record.positions.iter().map(|p| p.position).collect();
        record.positions.sort_by_key(|p| p.position);
        for pose in &mut record.poses {
            pose.px_per_um = pose.px_per_um.map(|m| m.map(|[a, b]| [sx * a, sy * b]));
        }
        for mark in &mut record.face_marks {
            mark.centre_um = mark.centre_um.map(|c| signed(c, sx, sy));
        }
        for told in record.stitch.iter_mut().flat_map(|s| &mut s.disagreements) {
            let now = self.positions.iter().position(|p| p.position == told.position);
            told.position = now.and_then(|i| renumbered.get(i)).copied().unwrap_or(told.position);
            told.centre_um = told.centre_um.map(|c| signed(c, sx, sy));
            told.outline_um.iter_mut().for_each(|p| *p = signed(*p, sx, sy));
        }
        let turned = matches!(flip, Flip::HalfTurn | Flip::MirrorAndHalfTurn);
        record.view.mirrored ^= matches!(flip, Flip::Mirror | Flip::MirrorAndHalfTurn);
        record.view.key = match (record.view.key, turned) {
            (Key::Up, true) | (Key::Down, false) => Key::Down,
            (Key::Down, true) | (Key::Up, false) => Key::Up,
        };
        // Channels, lanes, colours and advice are told by position: they would have to be told anew.
        record.polarity = None;
        record.application = None;
        record.advice = AdviceRecord::default();
        for (position, own) in record.positions.iter_mut().zip(&self.positions) {
            position.colour.clone_from(&own.colour);
        }
        Some(record)
    }
}

/// Assumed of records that do not say how faint a mark would have been seen.
const FAINTEST: f64 = 0.1;

fn near(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).hypot(a[1] - b[1]) < 1.0
}

/// Never minus zero.
fn signed([x, y]: [f64; 2], sx: f64, sy: f64) -> [f64; 2] {
    [sx * x + 0.0, sy * y + 0.0]
}

fn flipped(feature: &FeatureRecord, sx: f64, sy: f64) -> FeatureRecord {
    FeatureRecord {
        centre_um: feature.centre_um.map(|c| signed(c, sx, sy)),
        ends_um: feature.ends_um.map(|ends| ends.map(|end| signed(end, sx, sy))),
        ..feature.clone()
    }
}

fn hint_flipped(hint: &HintRecord, sx: f64, sy: f64) -> HintRecord {
    HintRecord { at_um: signed(hint.at_um, sx, sy), ..*hint }
}

fn hint(record: &HintRecord) -> Hint {
    let [x, y] = record.at_um;
    Hint { at: Point::new(x, y), height: record.height }
}

fn feature(record: &FeatureRecord, pose: &PoseRecord, centre_px: [f64; 2]) -> Option<Feature> {
    let [x, y] = record.centre_um?;
    let [inner, outer] = record.reach_um?;
    Some(Feature {
        id: FeatureId(record.id),
        kind: record.kind.into(),
        size: Um(record.size_um?),
        u: Um(record.u_um?),
        length: Um(record.length_um?),
        centre: Point::new(x, y),
        contrast: record.contrast?,
        reach: Reach { inner: Um(inner), outer: Um(outer) },
        outline: pose.to_fibre(&record.outline_px, centre_px),
    })
}

impl PoseRecord {
    /// The pose; none if it is not known whole.
    pub fn pose(&self) -> Option<Pose> {
        let [x, y] = self.origin_px?;
        Some(Pose { origin: Point::new(x, y), matrix: self.px_per_um? })
    }

    /// Places in the picture, told from the fibre whose centre lies at `centre_px`; none if the scale or turn of
    /// the picture is not known.
    pub fn to_fibre(&self, places: &[[f64; 2]], centre_px: [f64; 2]) -> Vec<Point<FibreFrame>> {
        let Some([[a, b], [c, d]]) = self.px_per_um else { return Vec::new() };
        let det = a * d - b * c;
        let told = |[x, y]: &[f64; 2]| {
            let (x, y) = (x - centre_px[0], y - centre_px[1]);
            Point::new((d * x - b * y) / det, (a * y - c * x) / det)
        };
        places.iter().map(told).collect()
    }
}

impl From<super::Kind> for Kind {
    fn from(kind: super::Kind) -> Kind {
        match kind {
            super::Kind::Scratch => Kind::Scratch,
            super::Kind::Particle => Kind::Particle,
            super::Kind::Pit => Kind::Pit,
            super::Kind::Film => Kind::Film,
            super::Kind::Chip => Kind::Chip,
        }
    }
}

impl From<super::Verdict> for grade::Verdict {
    fn from(verdict: super::Verdict) -> grade::Verdict {
        match verdict {
            super::Verdict::Pass => grade::Verdict::Pass,
            super::Verdict::Fail => grade::Verdict::Fail,
            super::Verdict::Ungraded => grade::Verdict::Ungraded,
        }
    }
}
