//! Points tagged by their frame of reference, and the pose that carries a face into a picture.

use std::marker::PhantomData;

/// The face frame, micrometres: looking straight at the end face with the key up, x right, y up, origin
/// midway between the guide holes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Face {}

/// The fibre frame, micrometres: the face frame moved to the measured centre of one fibre's cladding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FibreFrame {}

/// The pixel frame of one input image: x right, y down, (0, 0) the centre of the top-left pixel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pixel {}

/// A point in the frame `F`; micrometres in `Face` and `FibreFrame`, pixels in `Pixel`.
#[derive(Debug, PartialEq)]
pub struct Point<F> {
    /// Right.
    pub x: f64,
    /// Up in `Face` and `FibreFrame`, down in `Pixel`.
    pub y: f64,
    frame: PhantomData<F>,
}

impl<F> Clone for Point<F> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<F> Copy for Point<F> {}

impl<F> Point<F> {
    /// The point (x, y).
    pub const fn new(x: f64, y: f64) -> Self {
        Point { x, y, frame: PhantomData }
    }

    /// Distance from the origin of the frame.
    pub fn radius(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Distance to another point of the same frame.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// The point moved by (dx, dy).
    pub fn moved(self, dx: f64, dy: f64) -> Self {
        Point::new(self.x + dx, self.y + dy)
    }
}

/// Where the connector's key is in the picture; stated by the user, never guessed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Key {
    /// The picture shows the face with its key up.
    #[default]
    Up,
    /// The picture shows the face turned by 180 degrees.
    Down,
}

/// How the camera shows the face; stated by the user, never guessed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct View {
    /// Where the key is.
    pub key: Key,
    /// Whether left and right are exchanged in the picture, as through a mirror.
    pub mirrored: bool,
}

impl View {
    /// Signs that carry face x and y to picture right and down before any small turn.
    pub fn signs(self) -> (f64, f64) {
        let (sx, sy) = match self.key {
            Key::Up => (1.0, -1.0),
            Key::Down => (-1.0, 1.0),
        };
        if self.mirrored { (-sx, sy) } else { (sx, sy) }
    }
}

/// Carries the face frame into one picture's pixel frame: pixel = origin + matrix * face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Pixel place of the face frame's origin.
    pub origin: Point<Pixel>,
    /// Pixels per micrometre, rows (picture x, picture y), columns (face x, face y).
    pub matrix: [[f64; 2]; 2],
}

impl Pose {
    /// A pose from the stated view, the scale (um per pixel), a turn of the picture (radians, from picture
    /// x towards picture y) and the pixel place of the face's origin.
    pub fn new(view: View, um_per_px: f64, turn: f64, origin: Point<Pixel>) -> Pose {
        let (sx, sy) = view.signs();
        let (sin, cos) = turn.sin_cos();
        Pose {
            origin,
            matrix: [
                [cos * sx / um_per_px, -sin * sy / um_per_px],
                [sin * sx / um_per_px, cos * sy / um_per_px],
            ],
        }
    }

    /// A vector of the face frame (um) as a vector of the picture (pixels).
    pub fn vector(&self, x: f64, y: f64) -> (f64, f64) {
        let m = &self.matrix;
        (m[0][0] * x + m[0][1] * y, m[1][0] * x + m[1][1] * y)
    }

    /// A vector of the picture (pixels) as a vector of the face frame (um).
    pub fn vector_back(&self, x: f64, y: f64) -> (f64, f64) {
        let [[a, b], [c, d]] = self.matrix;
        let det = a * d - b * c;
        ((d * x - b * y) / det, (a * y - c * x) / det)
    }

    /// A place on the face as a place in the picture.
    pub fn to_pixel(&self, p: Point<Face>) -> Point<Pixel> {
        let (x, y) = self.vector(p.x, p.y);
        self.origin.moved(x, y)
    }

    /// A place in the picture as a place on the face.
    pub fn to_face(&self, p: Point<Pixel>) -> Point<Face> {
        let (x, y) = self.vector_back(p.x - self.origin.x, p.y - self.origin.y);
        Point::new(x, y)
    }

    /// Micrometres per pixel.
    pub fn um_per_px(&self) -> f64 {
        let [[a, b], [c, d]] = self.matrix;
        1.0 / (a * d - b * c).abs().sqrt()
    }

    /// The turn of the picture in radians, from picture x towards picture y, in (-pi/2, pi/2].
    pub fn turn(&self, view: View) -> f64 {
        let (sx, _) = view.signs();
        (self.matrix[1][0] * sx).atan2(self.matrix[0][0] * sx)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pose_goes_there_and_back_in_every_view() {
        for key in [Key::Up, Key::Down] {
            for mirrored in [false, true] {
                let view = View { key, mirrored };
                let pose = Pose::new(view, 0.5, 0.1, Point::new(300.0, 40.0));
                let back = pose.to_face(pose.to_pixel(Point::new(-1375.0, 12.5)));
                assert!(back.distance(Point::new(-1375.0, 12.5)) < 1e-9);
                assert!((pose.um_per_px() - 0.5).abs() < 1e-12);
                assert!((pose.turn(view) - 0.1).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn position_one_is_where_the_view_says() {
        let first = Point::<Face>::new(-1375.0, 250.0);
        let at =
            |key, mirrored| Pose::new(View { key, mirrored }, 1.0, 0.0, Point::new(0.0, 0.0)).to_pixel(first);
        assert_eq!((at(Key::Up, false).x, at(Key::Up, false).y), (-1375.0, -250.0));
        assert_eq!((at(Key::Down, false).x, at(Key::Down, false).y), (1375.0, 250.0));
        assert_eq!((at(Key::Up, true).x, at(Key::Up, true).y), (1375.0, -250.0));
        assert_eq!((at(Key::Down, true).x, at(Key::Down, true).y), (-1375.0, 250.0));
    }
}
