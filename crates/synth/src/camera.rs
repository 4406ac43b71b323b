//! The camera: one view of a face. Scale, turn, what is blurred and by how much, how it is lit, what the
//! sensor adds. Knows nothing of what lies on the face.

use crate::check::{Check, Wrong};
use crate::paint::steps_per_pixel;
use crate::random::{Stream, Topic};
use crate::shape::Spot;
use terms::{Face as FaceFrame, Layout, Pixel, Point, Pose, View};

/// Depth of the samples.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Bits {
    /// 0 to 255.
    #[default]
    Eight,
    /// 0 to 65535.
    Sixteen,
}

/// Light that falls unevenly. The light is 1 in the middle of the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Light {
    /// Change from the middle to the edge of the picture in the direction of `slope_deg`.
    pub slope: f64,
    /// Direction in which it grows, degrees from picture right towards picture down.
    pub slope_deg: f64,
    /// Loss in the corners, growing with the square of the distance from the middle.
    pub vignette: f64,
}

/// Focus that varies over the face, as on an angled face: the blur's variance grows by
/// (`um_per_mm` * distance from the line of best focus)^2.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FocusTilt {
    /// Standard deviation of the added blur, um per mm away from the line.
    pub um_per_mm: f64,
    /// Direction across the line, degrees from face x towards face y.
    pub direction_deg: f64,
    /// Distance of the line from the face's origin in that direction, um.
    pub line_um: f64,
}

/// One view of a face.
#[derive(Clone, Debug, PartialEq)]
pub struct Camera {
    /// Columns of the picture.
    pub width_px: usize,
    /// Rows of the picture.
    pub height_px: usize,
    /// Micrometres per pixel in the middle of the picture.
    pub um_per_px: f64,
    /// Turn of the picture, degrees from picture right towards picture down.
    pub turn_deg: f64,
    /// Where the key is, and whether left and right are exchanged.
    pub view: View,
    /// The place of the face, um, in the middle of the picture.
    pub middle_um: Spot,
    /// Standard deviation of the Gaussian blur at best focus, um.
    pub blur_um: f64,
    /// Focus that varies over the face.
    pub tilt: Option<FocusTilt>,
    /// Length by which the picture was drawn out during the exposure, um.
    pub smear_um: f64,
    /// Its direction, degrees from picture right towards picture down.
    pub smear_deg: f64,
    /// Lens distortion: the share by which a corner is moved outwards.
    pub distortion: f64,
    /// The light.
    pub light: Light,
    /// Level of clean glass under light 1, as a share of the full range; above 1 it saturates.
    pub exposure: f64,
    /// Clean glass level over the standard deviation of one pixel's noise there.
    pub signal_to_noise: f64,
    /// Share of the noise's variance at that level that is shot noise and falls with the level.
    pub shot_share: f64,
    /// Number of hot pixels.
    pub hot_pixels: usize,
    /// Depth of the samples.
    pub bits: Bits,
    /// Seed of noise and hot pixels.
    pub seed: u64,
}

/// The largest number of samples that a picture may be rendered from.
const MOST_SAMPLES: usize = 300_000_000;

impl Default for Camera {
    /// A plain look straight at the face: 6300 x 880 pixels of 0.5 um, slightly blurred, evenly lit.
    fn default() -> Self {
        Camera {
            width_px: 6300,
            height_px: 880,
            um_per_px: 0.5,
            turn_deg: 0.0,
            view: View::default(),
            middle_um: (0.0, 0.0),
            blur_um: 0.65,
            tilt: None,
            smear_um: 0.0,
            smear_deg: 0.0,
            distortion: 0.0,
            light: Light { slope: 0.0, slope_deg: 0.0, vignette: 0.0 },
            exposure: 0.55,
            signal_to_noise: 50.0,
            shot_share: 0.7,
            hot_pixels: 0,
            bits: Bits::Eight,
            seed: 1,
        }
    }
}

impl Camera {
    /// A camera that looks straight at all fibres of a layout with `margin_um` about their nominal centres.
    pub fn over(layout: &Layout, um_per_px: f64, margin_um: f64) -> Camera {
        let camera = Camera { um_per_px, ..Camera::default() };
        let (width_px, height_px) = camera.size_around(layout, margin_um, margin_um);
        Camera { width_px, height_px, ..camera }
    }

    /// Columns and rows that show the nominal centres of a layout with margins of `x_um` and `y_um`, this
    /// camera's turn included.
    pub fn size_around(&self, layout: &Layout, x_um: f64, y_um: f64) -> (usize, usize) {
        let (sin, cos) = self.turn_deg.to_radians().sin_cos();
        let far = |of: &dyn Fn(f64, f64) -> f64| {
            layout.places.iter().map(|p| of(p.at.x, p.at.y).abs()).fold(0.0, f64::max)
        };
        // With the y axis up a turn towards picture down carries x to x cos + y sin, whatever the view's signs.
        let half_x = far(&|x, y| x.abs() * cos.abs() + y.abs() * sin.abs());
        let half_y = far(&|x, y| x.abs() * sin.abs() + y.abs() * cos.abs());
        let span = |half: f64| (2.0 * half / self.um_per_px).round().max(1.0) as usize;
        (span(half_x + x_um), span(half_y + y_um))
    }

    /// What cannot be in this camera; empty if all can.
    pub fn check(&self) -> Vec<Wrong> {
        let mut check = Check { wrong: self.check_look() };
        check.range("width_px", self.width_px as f64, 16.0, 30_000.0);
        check.range("height_px", self.height_px as f64, 16.0, 30_000.0);
        let step = if check.wrong.is_empty() { steps_per_pixel(self) } else { 1 };
        let samples = self.width_px.saturating_mul(self.height_px).saturating_mul(step * step);
        if samples > MOST_SAMPLES {
            let text = format!(
                "a picture of {} x {} pixels with {step} x {step} samples each needs more than {MOST_SAMPLES} \
                 samples; make it smaller or `blur_um` larger",
                self.width_px, self.height_px
            );
            check.say("width_px", text);
        }
        check.wrong
    }

    /// What cannot be in this camera, its width and height left out.
    pub(crate) fn check_look(&self) -> Vec<Wrong> {
        let mut check = Check::default();
        check.range("um_per_px", self.um_per_px, 0.1, 4.0);
        check.range("turn_deg", self.turn_deg, -45.0, 45.0);
        check.place("middle_um", self.middle_um, 4000.0);
        check.range("blur_um", self.blur_um, 0.2, 30.0);
        if let Some(tilt) = self.tilt {
            check.range("tilt_um_per_mm", tilt.um_per_mm, 0.0, 30.0);
            check.range("tilt_deg", tilt.direction_deg, -360.0, 360.0);
            check.range("focus_line_um", tilt.line_um, -4000.0, 4000.0);
        }
        check.range("smear_um", self.smear_um, 0.0, 60.0);
        check.range("smear_deg", self.smear_deg, -360.0, 360.0);
        check.range("distortion", self.distortion, -0.01, 0.01);
        check.range("slope", self.light.slope, -0.5, 0.5);
        check.range("slope_deg", self.light.slope_deg, -360.0, 360.0);
        check.range("vignette", self.light.vignette, 0.0, 0.6);
        check.range("exposure", self.exposure, 0.01, 3.0);
        check.range("signal_to_noise", self.signal_to_noise, 1.0, 10_000.0);
        check.range("shot_share", self.shot_share, 0.0, 1.0);
        check.range("hot_pixels", self.hot_pixels as f64, 0.0, 100_000.0);
        check.wrong
    }

    /// The way from the face to this picture.
    pub fn lens(&self) -> Lens {
        let middle = Point::new(0.5 * (self.width_px as f64 - 1.0), 0.5 * (self.height_px as f64 - 1.0));
        let turn = self.turn_deg.to_radians();
        let straight = Pose::new(self.view, self.um_per_px, turn, Point::new(0.0, 0.0));
        let (x, y) = straight.vector(self.middle_um.0, self.middle_um.1);
        Lens {
            pose: Pose::new(self.view, self.um_per_px, turn, middle.moved(-x, -y)),
            middle,
            corner: middle.radius() + 0.5,
            distortion: self.distortion,
        }
    }

    /// Standard deviation of the blur at a place of the face, um, without smear.
    pub fn blur_at(&self, at: Spot) -> f64 {
        let Some(tilt) = self.tilt else { return self.blur_um };
        let (sin, cos) = tilt.direction_deg.to_radians().sin_cos();
        let away_mm = (at.0 * cos + at.1 * sin - tilt.line_um) * 1e-3;
        self.blur_um.hypot(tilt.um_per_mm * away_mm)
    }

    /// `count` pictures of the size `width_px` x `height_px` that step along the row from face x = `from_um` to
    /// `to_um`, each a little off in place, turn, exposure and blur, as a stage and a hand leave them.
    pub fn steps(
        &self,
        (width_px, height_px): (usize, usize),
        (from_um, to_um): (f64, f64),
        count: usize,
        seed: u64,
    ) -> Vec<Camera> {
        (0..count)
            .map(|i| {
                let mut chance = Stream::new(seed, Topic::Camera, i as i64, 0);
                let share = if count > 1 { i as f64 / (count - 1) as f64 } else { 0.5 };
                let x = from_um + (to_um - from_um) * share + 8.0 * chance.normal();
                Camera {
                    width_px,
                    height_px,
                    middle_um: (x, self.middle_um.1 + 6.0 * chance.normal()),
                    turn_deg: self.turn_deg + 0.05 * chance.normal(),
                    exposure: self.exposure * (1.0 + 0.03 * chance.normal()),
                    blur_um: self.blur_um * (1.0 + 0.06 * chance.normal()).clamp(0.8, 1.2),
                    seed: chance.bits(),
                    ..self.clone()
                }
            })
            .collect()
    }
}

/// Carries places of the face into the picture and back: the pose, then the distortion about the middle.
#[derive(Clone, Copy, Debug)]
pub struct Lens {
    pose: Pose,
    middle: Point<Pixel>,
    corner: f64,
    distortion: f64,
}

impl Lens {
    /// The pose of the picture without distortion.
    pub fn pose(&self) -> Pose {
        self.pose
    }

    /// Where a place of the face lies in the picture.
    pub fn to_pixel(&self, at: Spot) -> Point<Pixel> {
        let straight = self.pose.to_pixel(Point::<FaceFrame>::new(at.0, at.1));
        if self.distortion == 0.0 {
            return straight;
        }
        // The inverse of `to_face`, closed in by repetition: each step gains a factor of the distortion.
        let mut p = straight;
        for _ in 0..8 {
            let bent = self.straightened(p);
            p = p.moved(straight.x - bent.x, straight.y - bent.y);
        }
        p
    }

    /// Which place of the face lies at a place of the picture.
    #[inline]
    pub fn to_face(&self, p: Point<Pixel>) -> Spot {
        let at = self.pose.to_face(if self.distortion == 0.0 { p } else { self.straightened(p) });
        (at.x, at.y)
    }

    #[inline]
    fn straightened(&self, p: Point<Pixel>) -> Point<Pixel> {
        let (dx, dy) = (p.x - self.middle.x, p.y - self.middle.y);
        let q2 = (dx * dx + dy * dy) / (self.corner * self.corner);
        let factor = 1.0 - self.distortion * q2;
        Point::new(self.middle.x + dx * factor, self.middle.y + dy * factor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lens_goes_there_and_back_and_moves_a_corner_by_the_distortion() {
        let camera = Camera {
            width_px: 600,
            height_px: 400,
            um_per_px: 0.5,
            turn_deg: 7.0,
            distortion: 0.003,
            ..plain()
        };
        let lens = camera.lens();
        for p in [(0.0, 0.0), (599.0, 399.0), (123.4, 300.1)] {
            let back = lens.to_pixel(lens.to_face(Point::new(p.0, p.1)));
            assert!(back.distance(Point::new(p.0, p.1)) < 1e-9);
        }
        let corner = lens.to_face(Point::new(599.0, 399.0));
        let straight = Camera { distortion: 0.0, ..camera }.lens().to_pixel(corner);
        let moved = straight.distance(Point::new(599.0, 399.0)) / 299.5_f64.hypot(199.5);
        assert!((moved - 0.003).abs() < 3e-5, "{moved}");
    }

    fn plain() -> Camera {
        let place = |n: u16, x: f64| terms::Place { position: n, row: 1, column: n, at: Point::new(x, 0.0) };
        let layout = Layout {
            id: "two".into(),
            title: String::new(),
            pitch: terms::Um(250.0),
            row_pitch: terms::Um(250.0),
            rows: 1,
            columns: 2,
            cladding: terms::Um(125.0),
            places: vec![place(1, -125.0), place(2, 125.0)],
            guides: terms::GuidePair { spacing: terms::Um(4600.0), diameter: terms::Um(700.0) },
        };
        Camera::over(&layout, 0.5, 100.0)
    }

    #[test]
    fn a_tilt_leaves_its_line_sharp() {
        let tilt = FocusTilt { um_per_mm: 8.0, direction_deg: 90.0, line_um: 50.0 };
        let camera = Camera { blur_um: 0.6, tilt: Some(tilt), ..plain() };
        assert!((camera.blur_at((700.0, 50.0)) - 0.6).abs() < 1e-12);
        assert!((camera.blur_at((0.0, 150.0)) - 0.6_f64.hypot(0.8)).abs() < 1e-12);
    }
}
