//! Turns a stored picture the way its file says that it is to be shown.

use super::{DoorError, Stored};
use crate::frame::{Frame, Samples};
use image::metadata::Orientation;

/// The frame as a viewer shows it.
pub(super) fn upright(stored: Stored) -> Result<Frame, DoorError> {
    let (width, height) = (stored.width as usize, stored.height as usize);
    let turned = matches!(
        stored.orientation,
        Orientation::Rotate90
            | Orientation::Rotate270
            | Orientation::Rotate90FlipH
            | Orientation::Rotate270FlipH
    );
    let samples = match (stored.orientation, stored.samples) {
        (Orientation::NoTransforms, samples) => samples,
        (o, Samples::Eight(v)) => Samples::Eight(moved(&v, width, height, o)),
        (o, Samples::Sixteen(v)) => Samples::Sixteen(moved(&v, width, height, o)),
    };
    let (w, h) = if turned { (height, width) } else { (width, height) };
    Frame::new(w, h, samples).ok_or(DoorError::NoPixels { width: stored.width, height: stored.height })
}

/// Copies the pixels of a `width` x `height` picture in the order in which they are shown.
fn moved<T: Copy>(data: &[T], width: usize, height: usize, orientation: Orientation) -> Vec<T> {
    let (right, bottom) = (width.saturating_sub(1), height.saturating_sub(1));
    let turned = |column: &dyn Fn(usize) -> usize, row: &dyn Fn(usize) -> usize| {
        (0..width)
            .flat_map(|y| (0..height).map(move |x| (x, y)))
            .map(|(x, y)| data[row(x) * width + column(y)])
            .collect()
    };
    let straight = |column: &dyn Fn(usize) -> usize, row: &dyn Fn(usize) -> usize| {
        (0..height)
            .flat_map(|y| (0..width).map(move |x| (x, y)))
            .map(|(x, y)| data[row(y) * width + column(x)])
            .collect()
    };
    match orientation {
        Orientation::NoTransforms => data.to_vec(),
        Orientation::FlipHorizontal => straight(&|x| right - x, &|y| y),
        Orientation::Rotate180 => straight(&|x| right - x, &|y| bottom - y),
        Orientation::FlipVertical => straight(&|x| x, &|y| bottom - y),
        Orientation::Rotate90FlipH => turned(&|y| y, &|x| x),
        Orientation::Rotate90 => turned(&|y| y, &|x| bottom - x),
        Orientation::Rotate270FlipH => turned(&|y| right - y, &|x| bottom - x),
        Orientation::Rotate270 => turned(&|y| right - y, &|x| x),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The eight values of the Exif orientation tag, on a picture of two rows of three, as Pillow 13.0.0 shows
    /// them with `ImageOps.exif_transpose`.
    #[test]
    fn eight_orientations_as_pillow_shows_them() {
        let data = [1u8, 2, 3, 4, 5, 6];
        let shown: [(u8, usize, [u8; 6]); 8] = [
            (1, 3, [1, 2, 3, 4, 5, 6]),
            (2, 3, [3, 2, 1, 6, 5, 4]),
            (3, 3, [6, 5, 4, 3, 2, 1]),
            (4, 3, [4, 5, 6, 1, 2, 3]),
            (5, 2, [1, 4, 2, 5, 3, 6]),
            (6, 2, [4, 1, 5, 2, 6, 3]),
            (7, 2, [6, 3, 5, 2, 4, 1]),
            (8, 2, [3, 6, 2, 5, 1, 4]),
        ];
        for (tag, width, expected) in shown {
            let orientation = Orientation::from_exif(tag).unwrap();
            let samples = Samples::Eight(data.to_vec());
            let frame = upright(Stored { width: 3, height: 2, samples, orientation }).unwrap();
            assert_eq!(
                (frame.width(), frame.samples()),
                (width, &Samples::Eight(expected.to_vec())),
                "{tag}"
            );
        }
    }
}
