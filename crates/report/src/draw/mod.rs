//! A drawing: a list of shapes, pictures and texts in the order they are painted, which the SVG and the PNG
//! are both made from. Lengths are units of the drawing, x right, y down; one unit is one pixel of the PNG.

pub(crate) mod font;
pub mod png;
mod stamp;
pub mod svg;

pub use font::Weight;

/// A colour, red green blue, and how much of what lies beneath it covers (0 to 255).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ink {
    /// Red, green, blue.
    pub rgb: [u8; 3],
    /// 255 covers all.
    pub alpha: u8,
}

impl Ink {
    /// A colour that covers all beneath it; `0xRRGGBB`.
    pub const fn solid(hex: u32) -> Ink {
        let [_, r, g, b] = hex.to_be_bytes();
        Ink { rgb: [r, g, b], alpha: 255 }
    }

    /// The same colour, covering so much.
    pub const fn with_alpha(self, alpha: u8) -> Ink {
        Ink { rgb: self.rgb, alpha }
    }
}

/// A line's look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Its colour.
    pub ink: Ink,
    /// Its width.
    pub width: f32,
    /// Length of dash and of gap; none for a whole line.
    pub dash: Option<[f32; 2]>,
}

impl Stroke {
    /// A whole line.
    pub const fn solid(ink: Ink, width: f32) -> Stroke {
        Stroke { ink, width, dash: None }
    }

    /// A dashed line.
    pub const fn dashed(ink: Ink, width: f32, dash: f32, gap: f32) -> Stroke {
        Stroke { ink, width, dash: Some([dash, gap]) }
    }
}

/// A rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f32,
    /// Upper edge.
    pub y: f32,
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
}

impl Rect {
    /// The rectangle with that upper left corner and size.
    pub const fn new(x: f32, y: f32, width: f32, height: f32) -> Rect {
        Rect { x, y, width, height }
    }

    /// Right edge.
    pub fn right(self) -> f32 {
        self.x + self.width
    }

    /// Lower edge.
    pub fn bottom(self) -> f32 {
        self.y + self.height
    }

    /// The nearest point of the rectangle.
    pub fn clamp(self, [x, y]: [f32; 2]) -> [f32; 2] {
        [x.clamp(self.x, self.right()), y.clamp(self.y, self.bottom())]
    }
}

/// What a shape's border follows.
#[derive(Clone, Debug, PartialEq)]
pub enum Outline {
    /// A circle.
    Circle {
        /// Its centre.
        centre: [f32; 2],
        /// Its radius.
        radius: f32,
    },
    /// A rectangle with corners rounded by a radius.
    Rect(Rect, f32),
    /// A closed polygon.
    Polygon(Vec<[f32; 2]>),
    /// Separate straight lines.
    Lines(Vec<[[f32; 2]; 2]>),
}

/// What a drawing bears, so that its file is known for the program's own.
pub(crate) const MARK: &str = "pitchline";
/// The mark stands among the first bytes.
pub const BEGINNING: usize = 1024;

/// Whether bytes are a drawing, or a picture, that this program made: each bears its mark.
pub fn is_own(bytes: &[u8]) -> bool {
    let beginning = &bytes[..bytes.len().min(BEGINNING)];
    let holds = |words: String| beginning.windows(words.len()).any(|at| at == words.as_bytes());
    (bytes.starts_with(b"\x89PNG") && holds(format!("Software\0{MARK}")))
        || (bytes.starts_with(b"<svg") && holds(format!("class=\"{MARK}\"")))
}

/// Whether bytes are the PNG of a map: maps alone have colours, the pictures that the program makes are grey.
pub fn is_map(bytes: &[u8]) -> bool {
    // The colour type of the header: 2 is red, green and blue (PNG, 11.2.1).
    is_own(bytes) && bytes.get(25) == Some(&2)
}

/// How a text lies about its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// It starts there.
    Start,
    /// It is centred there.
    Middle,
    /// It ends there.
    End,
}

/// One line of text, drawn as outlines.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Place of the baseline.
    pub at: [f32; 2],
    /// How it lies about its place.
    pub anchor: Anchor,
    /// Height of the em square.
    pub size: f32,
    /// Regular or bold.
    pub weight: Weight,
    /// Its colour.
    pub ink: Ink,
    /// What it says.
    pub words: String,
}

/// A grey picture: eight bits, row by row from the upper left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GreyCrop {
    width: u32,
    height: u32,
    bytes: Vec<u8>,
}

impl GreyCrop {
    /// A picture of that size, each pixel asked for by column and row.
    pub(crate) fn from_fn(width: u32, height: u32, mut grey: impl FnMut(u32, u32) -> u8) -> GreyCrop {
        let mut bytes = Vec::with_capacity(width as usize * height as usize);
        for row in 0..height {
            bytes.extend((0..width).map(|column| grey(column, row)));
        }
        GreyCrop { width, height, bytes }
    }

    /// Columns.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// Row by row from the upper left.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
}

/// One thing to paint.
#[derive(Clone, Debug, PartialEq)]
pub enum Item<'a> {
    /// A shape, filled, then stroked.
    Shape {
        /// Its border.
        outline: Outline,
        /// What fills it.
        fill: Option<Ink>,
        /// What its border is drawn with.
        stroke: Option<Stroke>,
    },
    /// A picture, one pixel to a unit.
    Picture {
        /// Its upper left corner.
        at: [u32; 2],
        /// The picture.
        crop: &'a GreyCrop,
    },
    /// A line of text.
    Text(Text),
    /// Things that belong together, with what a reader of the screen says of them.
    Group {
        /// In words.
        label: String,
        /// Painted in order.
        items: Vec<Item<'a>>,
    },
}

/// A drawing on white.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing<'a> {
    /// Width in whole units.
    pub width: u32,
    /// Height in whole units.
    pub height: u32,
    /// Its name.
    pub title: String,
    /// What it shows, in words.
    pub description: String,
    /// Painted in order.
    pub items: Vec<Item<'a>>,
}
