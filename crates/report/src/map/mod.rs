//! The map of a graded face: its verdict, the row at a glance, and each fibre enlarged with its zones and its
//! features. Composed once; drawn as SVG or as PNG. Looks at no pixel: pictures are handed in.

mod foot;
mod head;
mod marks;
pub(crate) mod page;
mod plan;
mod strip;
pub(crate) mod theme;
mod tile;

pub use crate::draw::png::{PngError, mark, png};
pub use crate::draw::svg::svg;
pub use crate::draw::{BEGINNING, Drawing, GreyCrop, is_map, is_own};
pub use plan::{Window, Windows};

use crate::record::FaceRecord;
use crate::tell;
use page::Page;
use plan::Plan;

/// Which parts of the face the map shows, and how many pixels of each it wants.
pub fn windows(record: &FaceRecord) -> Windows {
    Plan::new(record).windows()
}

/// Pictures of the windows, key up and not mirrored; see [`Window::sample`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MapPictures {
    /// The row or rows; none where there is no picture of it.
    pub strip: Option<GreyCrop>,
    /// By position; a position without a picture is left blank.
    pub fibres: Vec<(u16, GreyCrop)>,
}

/// Composes the map. The pictures are those of [`windows`] for the same record.
pub fn compose<'a>(record: &FaceRecord, pictures: &'a MapPictures) -> Drawing<'a> {
    let plan = Plan::new(record);
    let mut page = Page::default();
    head::paint(&mut page, record, &plan);
    strip::paint(&mut page, record, &plan, pictures.strip.as_ref());
    tile::paint_all(&mut page, record, &plan, pictures);
    foot::paint(&mut page, record, &plan);
    Drawing {
        width: plan.width as u32,
        height: plan.height as u32,
        title: format!("{}: {}", record.verdict.word(), tell::summary(record)),
        description: format!(
            "Map of a fibre array end face, layout {}, graded by {}; {}. {}",
            record.layout,
            record.criteria.title,
            tell::view(record),
            tell::advice(record).join(" ")
        ),
        items: page.items,
    }
}
