//! Drawn faces for the tests of this crate: smooth-edged discs on a mottled ground, nothing like a real
//! renderer. What is drawn is known by construction.

use imaging::{Frame, Samples};
use terms::{Face, GuidePair, Layout, Pixel, Place, Point, Pose, Um, View};

/// The layouts of the trade by name.
pub fn layout(id: &str) -> Layout {
    let (columns, rows, spacing, diameter) = match id {
        "mpo-16" => (16, 1, 5300.0, 550.0),
        "mpo-24" => (12, 2, 4600.0, 700.0),
        _ => (12, 1, 4600.0, 700.0),
    };
    let mut layout = Layout {
        id: id.into(),
        title: id.into(),
        pitch: Um(250.0),
        row_pitch: Um(if rows == 2 { 500.0 } else { 250.0 }),
        rows,
        columns,
        cladding: Um(125.0),
        places: Vec::new(),
        guides: GuidePair { spacing: Um(spacing), diameter: Um(diameter) },
    };
    for row in 1..=rows {
        for column in 1..=columns {
            if id == "mpo-8" && (5..=8).contains(&column) {
                continue;
            }
            let at = layout.site(row, column);
            layout.places.push(Place { position: (row - 1) * columns + column, row, column, at });
        }
    }
    layout.checked().unwrap()
}

/// A disc on the face: centre, diameter (um), luminance.
#[derive(Clone, Copy)]
pub struct Disc(pub f64, pub f64, pub f64, pub f32);

/// A face to be drawn and how it is pictured.
#[derive(Clone)]
pub struct Scene {
    pub layout: Layout,
    pub view: View,
    pub um_per_px: f64,
    pub turn_degrees: f64,
    /// Face frame: the picture shows from .0 to .1 in x and from .2 to .3 in y, before its turn.
    pub window: (f64, f64, f64, f64),
    pub ferrule: f32,
    pub glass: f32,
    /// Standard deviation of the ferrule's mottle over its luminance.
    pub mottle: f32,
    /// Positions without a fibre.
    pub blank: Vec<u16>,
    pub holes: bool,
    /// Drawn before the fibres.
    pub under: Vec<Disc>,
    /// Drawn last.
    pub over: Vec<Disc>,
}

impl Scene {
    /// All fibres of a layout in a picture that shows a bare site at each end.
    pub fn new(id: &str) -> Scene {
        let layout = layout(id);
        let half = f64::from(layout.columns) * 125.0 + 175.0;
        let high = f64::from(layout.rows - 1) * 250.0 + 200.0;
        Scene {
            layout,
            view: View::default(),
            um_per_px: 1.2,
            turn_degrees: 0.0,
            window: (-half, half, -high, high),
            ferrule: 0.25,
            glass: 0.5,
            mottle: 0.08,
            blank: Vec::new(),
            holes: true,
            under: Vec::new(),
            over: Vec::new(),
        }
    }

    /// Size of the picture, large enough for the window in every turn.
    fn size(&self) -> (usize, usize) {
        let (w, h) = (self.window.1 - self.window.0, self.window.3 - self.window.2);
        let (sin, cos) = self.turn_degrees.to_radians().sin_cos();
        let px = |v: f64| (v / self.um_per_px) as usize;
        (px(w * cos + h * sin.abs()), px(w * sin.abs() + h * cos))
    }

    /// The true pose.
    pub fn pose(&self) -> Pose {
        let (width, height) = self.size();
        let turn = self.turn_degrees.to_radians();
        let about = Pose::new(self.view, self.um_per_px, turn, Point::new(0.0, 0.0));
        let (x0, x1, y0, y1) = self.window;
        let (dx, dy) = about.vector((x0 + x1) / 2.0, (y0 + y1) / 2.0);
        let origin = Point::new(width as f64 / 2.0 - dx, height as f64 / 2.0 - dy);
        Pose::new(self.view, self.um_per_px, turn, origin)
    }

    /// True centre of a position in the picture.
    pub fn centre(&self, position: u16) -> Point<Pixel> {
        let place = self.layout.places.iter().find(|p| p.position == position).unwrap();
        self.pose().to_pixel(place.at)
    }

    /// The 8-bit picture.
    pub fn frame(&self) -> Frame {
        let (width, height) = self.size();
        let mut canvas = self.ground(width, height);
        let pose = self.pose();
        let mut paint = |disc: &Disc| paint(&mut canvas, width, &pose, disc);
        self.under.iter().for_each(&mut paint);
        if self.holes {
            let guides = self.layout.guides;
            for side in [-0.5, 0.5] {
                paint(&Disc(side * guides.spacing.0, 0.0, guides.diameter.0, 0.03));
            }
        }
        for place in self.layout.places.iter().filter(|p| !self.blank.contains(&p.position)) {
            let core = if place.position % 3 == 0 { 1.3 } else { 0.9 };
            let Point { x, y, .. } = place.at;
            paint(&Disc(x, y, 129.0, self.ferrule * 0.4));
            paint(&Disc(x, y, 125.0, self.glass));
            paint(&Disc(x, y, 50.0, (self.glass * core).min(0.98)));
        }
        self.over.iter().for_each(&mut paint);
        let samples = canvas.iter().map(|v| (v * 255.0).round().clamp(0.0, 255.0) as u8).collect();
        Frame::new(width, height, Samples::Eight(samples)).unwrap()
    }

    /// Mottle on two scales, and light that falls off by a third from left to right.
    fn ground(&self, width: usize, height: usize) -> Vec<f32> {
        let mut canvas = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let um = |cells: f64| self.um_per_px / cells;
                let mottle = value_noise(x as f64 * um(6.0), y as f64 * um(6.0), 1)
                    + value_noise(x as f64 * um(17.0), y as f64 * um(17.0), 2);
                let light = 1.0 - 0.33 * x as f32 / width as f32;
                let sensor = 0.01 * uniform(x as u64, y as u64, 3);
                canvas.push(self.ferrule * light * (1.0 + 2.0 * self.mottle * mottle) + sensor);
            }
        }
        canvas
    }
}

fn paint(canvas: &mut [f32], width: usize, pose: &Pose, &Disc(x, y, diameter, level): &Disc) {
    let height = canvas.len() / width;
    let centre = pose.to_pixel(Point::<Face>::new(x, y));
    let radius = diameter / 2.0 / pose.um_per_px();
    let span = |c: f64, size: usize| {
        let from = (c - radius - 2.0).clamp(0.0, size as f64) as usize;
        from..((c + radius + 2.0).clamp(0.0, size as f64) as usize)
    };
    for row in span(centre.y, height) {
        for column in span(centre.x, width) {
            let distance = (column as f64 - centre.x).hypot(row as f64 - centre.y);
            let cover = ((radius - distance) / 1.5 + 0.5).clamp(0.0, 1.0) as f32;
            let value = &mut canvas[row * width + column];
            *value += cover * (level - *value);
        }
    }
}

/// From -1 to 1, the same for the same place and seed (splitmix64).
fn uniform(x: u64, y: u64, seed: u64) -> f32 {
    let mut z = x.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ y.wrapping_mul(0xc2b2_ae3d_27d4_eb4f) ^ (seed << 56);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 40) as f32 / (1u64 << 23) as f32 - 1.0
}

/// Noise that runs smoothly between random values at whole coordinates.
fn value_noise(x: f64, y: f64, seed: u64) -> f32 {
    let (x0, y0) = (x as u64, y as u64);
    let ease = |t: f64| (t * t * (3.0 - 2.0 * t)) as f32;
    let (u, v) = (ease(x.fract()), ease(y.fract()));
    let row = |y: u64| uniform(x0, y, seed) * (1.0 - u) + uniform(x0 + 1, y, seed) * u;
    row(y0) * (1.0 - v) + row(y0 + 1) * v
}
