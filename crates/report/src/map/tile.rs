//! One fibre enlarged: its picture, zones and features, and below them the verdict and why.

use super::MapPictures;
use super::marks;
use super::page::{Face, Page, hatch};
use super::plan::Plan;
use super::theme::{BLANK, CAPTION, FAIL, MARGIN, QUIET, RULE, Standing, TEXT, TITLE, UNGRADED, verdict_ink};
use crate::draw::{Anchor, GreyCrop, Item, Outline, Rect, Stroke};
use crate::record::{FaceRecord, PositionRecord, Verdict};
use crate::tell;

pub fn paint_all<'a>(page: &mut Page<'a>, record: &FaceRecord, plan: &Plan, pictures: &'a MapPictures) {
    title(page, plan);
    let first = plan.tiles.iter().position(|(p, _)| p.centre_px.is_some());
    for (i, (position, rect)) in plan.tiles.iter().enumerate() {
        let picture = pictures.fibres.iter().find(|(number, _)| *number == position.position);
        let tile =
            Tile { record, position, rect: *rect, px_per_um: plan.tile_scale, names_zones: Some(i) == first };
        page.group(tile.words(), |page| tile.paint(page, picture.map(|(_, crop)| crop)));
    }
}

/// The title of the tiles with the legend of the lines and the scale.
fn title(page: &mut Page, plan: &Plan) {
    let y = plan.tiles_title_y + TITLE - 14.0;
    page.text([MARGIN, y], Anchor::Start, Face::bold(16.0), "Each fibre");
    let face = Face::regular(13.0);
    let mut x = MARGIN + page.width(Face::bold(16.0), "Each fibre") + 24.0;
    for standing in Standing::ALL {
        let line = Outline::Lines(vec![[[x, y - 5.0], [x + 26.0, y - 5.0]]]);
        page.shape(line, None, Some(standing.stroke()));
        page.text([x + 32.0, y], Anchor::Start, face, standing.words());
        x += 32.0 + page.width(face, standing.words()) + 22.0;
    }
    page.scale_bar([plan.width - MARGIN, y - 5.0], 50.0, plan.tile_scale);
}

/// One fibre's place on the page.
pub struct Tile<'r> {
    pub record: &'r FaceRecord,
    pub position: &'r PositionRecord,
    /// The picture's.
    pub rect: Rect,
    pub px_per_um: f64,
    /// Whether the zones are named here: on one tile only.
    pub names_zones: bool,
}

impl Tile<'_> {
    /// The tile in words.
    fn words(&self) -> String {
        let position = self.position;
        let said: Vec<String> = said(self.record, position).into_iter().chain(self.leads()).collect();
        format!(
            "Position {}: {}. {}",
            tell::number(self.record, position),
            position.verdict.word(),
            said.join(". ")
        )
    }

    /// What the fibre carries and where it ends, of what was stated.
    fn leads(&self) -> Option<String> {
        let lane = tell::lane(self.record, self.position).map(str::to_owned);
        let channels = self.record.polarity.iter().flat_map(|polarity| &polarity.channels);
        let far = channels.filter(|c| c.near == self.position.position).map(|c| format!("far end {}", c.far));
        let leads: Vec<String> = lane.into_iter().chain(far).collect();
        (!leads.is_empty()).then(|| leads.join(", "))
    }

    fn paint<'a>(&self, page: &mut Page<'a>, picture: Option<&'a GreyCrop>) {
        match picture {
            Some(crop) => {
                page.items.push(Item::Picture { at: [self.rect.x as u32, self.rect.y as u32], crop })
            }
            None => page.shape(Outline::Rect(self.rect, 0.0), Some(BLANK), None),
        }
        if self.position.verdict == Verdict::Ungraded {
            page.shape(hatch(self.rect, 22.0), None, Some(Stroke::solid(UNGRADED.with_alpha(150), 1.4)));
        }
        if self.position.centre_px.is_some() {
            self.zones(page);
            marks::paint(page, self);
            if self.names_zones {
                self.zone_names(page);
            }
        }
        self.frame(page);
        self.caption(page);
    }

    /// Where a point of the fibre frame (um) lies on the page.
    pub fn at(&self, [x, y]: [f64; 2]) -> [f32; 2] {
        let half = self.rect.width / 2.0;
        [self.rect.x + half + (x * self.px_per_um) as f32, self.rect.y + half - (y * self.px_per_um) as f32]
    }

    fn zones(&self, page: &mut Page) {
        for zone in &self.record.criteria.zones {
            let radius = (zone.to_um / 2.0 * self.px_per_um) as f32;
            page.cased(Outline::Circle { centre: self.at([0.0, 0.0]), radius }, Stroke::solid(TEXT, 0.9));
        }
    }

    fn zone_names(&self, page: &mut Page) {
        for zone in &self.record.criteria.zones {
            let below = self.at([0.0, -zone.to_um / 2.0]);
            let words = format!("{} {} um", zone.name, zone.to_um);
            page.plate(below, Anchor::Middle, Face::regular(11.0), &words);
        }
    }

    fn frame(&self, page: &mut Page) {
        let stroke = match self.position.verdict {
            Verdict::Pass => Stroke::solid(RULE, 1.0),
            Verdict::Fail => Stroke::solid(FAIL, 3.0),
            Verdict::Ungraded => Stroke::dashed(UNGRADED, 2.0, 8.0, 4.0),
        };
        page.shape(Outline::Rect(self.rect, 0.0), None, Some(stroke));
    }

    fn caption(&self, page: &mut Page) {
        let (x, y) = (self.rect.x, self.rect.bottom() + 20.0);
        let verdict = self.position.verdict;
        page.badge([x + 11.0, y], 10.0, verdict);
        let number = Face::bold(18.0);
        let words = tell::number(self.record, self.position);
        page.text([x + 30.0, y + 6.0], Anchor::Start, number, &words);
        let after = x + 30.0 + page.width(number, &words) + 8.0;
        page.text(
            [after, y + 6.0],
            Anchor::Start,
            Face::bold(14.0).ink(verdict_ink(verdict)),
            verdict.word(),
        );
        if let Some(leads) = self.leads() {
            let right = [self.rect.right(), y + 6.0];
            page.text(right, Anchor::End, Face::regular(12.5).ink(QUIET), &leads);
        }
        let face = SAYING.ink(if verdict == Verdict::Pass { QUIET } else { TEXT });
        let mut below = y + 25.0;
        for said in said(self.record, self.position) {
            below = page.paragraph([x, below], face, &said, self.rect.width, usize::MAX);
        }
    }
}

/// How the words below a tile look.
const SAYING: Face = Face::regular(12.5);

/// What stands below a tile, each on lines of its own: why, what was left out, and how close it is.
fn said(record: &FaceRecord, position: &PositionRecord) -> Vec<String> {
    let why = match tell::of_face(record) {
        Some(reason) => tell::besides(&position.reasons, reason),
        None => tell::why(position).unwrap_or_else(|| tell::what_passes(position)),
    };
    let left_out = match tell::left_out(record, position.position).count() {
        0 => None,
        1 => Some("1 mark left out: on the optics".to_owned()),
        n => Some(format!("{n} marks left out: on the optics")),
    };
    let close = tell::close_call(position).then(|| match position.conformity {
        Some(held) => format!("Close call: all limits held with {}", tell::percent(held)),
        None => "Close call: ± spans a limit".to_owned(),
    });
    std::iter::once(why).chain(left_out).chain(close).collect()
}

/// Height of the words below a tile of that width.
pub fn caption_height(page: &mut Page, record: &FaceRecord, position: &PositionRecord, width: f32) -> f32 {
    let lines = |height: f32, said: String| page.paragraph([0.0, height], SAYING, &said, width, usize::MAX);
    said(record, position).into_iter().fold(CAPTION, lines)
}
