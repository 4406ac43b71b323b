//! What the lines that were taken away may have left about them, and which marks are no more than that.

use crate::blobs::Blob;
use crate::lines::{self, Line};
use imaging::Plane;

/// Most of a line's height that taking it away leaves.
const LEFT: f64 = 0.7;

/// A mark is no more than what a line left if that explains all but this share of it.
const OWN: f64 = 0.15;

/// What a line leaves is narrow, to one side, or its faint skirt: a mark of at least this share of the line's height is dirt
/// below it if so much of it lies on both sides farther than so many blurs beyond the line's width.
const BOTH_SIDES: (f64, f64, f64) = (0.2, 0.05, 1.2);

/// Share of a mark's height that the bare picture shows on the mean over it, if it is there at all.
const SHOWN: f64 = 0.35;

/// How far about a line and past its ends it is held to account, in units of the blur.
const REACH: f64 = 3.0;

/// The way of every line over the glass.
pub struct Corridors {
    /// Of the line that reaches a pixel most strongly: its signed height, and how far beyond its width the pixel lies,
    /// negative on its right.
    strongest: Plane<Option<(f32, f32)>>,
    /// Blur of the picture.
    blur: f64,
}

impl Corridors {
    /// Corridors of no line, for a patch of so many pixels.
    pub fn none(width: usize, height: usize, blur: f64) -> Corridors {
        Corridors { strongest: Plane::filled(width, height, None), blur }
    }

    /// Adds the way of a line over the glass.
    pub fn add(&mut self, line: &Line, glass: &Plane<f32>) {
        let reach = REACH * self.blur;
        for (x, y, off) in lines::about(line, reach, line.width / 2.0 + reach, glass) {
            let beyond = off.signum() * (off.abs() - line.width / 2.0).max(0.0);
            let here = Some((line.seen as f32, beyond as f32));
            if reaching(here, self.blur) > reaching(self.strongest.at(x, y), self.blur) {
                self.strongest.set(x, y, here);
            }
        }
    }

    /// Whether a pixel lies about a line.
    pub fn holds(&self, (x, y): (usize, usize)) -> bool {
        self.strongest.at(x, y).is_some()
    }

    /// Whether a blob is what taking lines away has left: no higher and no broader than that can be, or of the other sign
    /// and not in the `bare` picture, which still holds the lines.
    pub fn left(&self, blob: &Blob, bare: &Plane<f32>) -> bool {
        let line = self.line_under(blob);
        let own: Vec<_> = blob.pixels.iter().filter(|p| !self.explains(**p, blob)).copied().collect();
        let broad = own.len() as f64 > OWN * blob.pixels.len() as f64;
        let faint = blob.height.abs() < LEFT * line.abs() && !broad && !self.straddles(blob, line);
        let other_sign = line * blob.height < 0.0;
        faint || other_sign && brought_forth(if broad { &own } else { &blob.pixels }, blob.height, bare)
    }

    /// Mean signed height of the lines about a blob, of the sign that has more of it; 0 for none.
    fn line_under(&self, blob: &Blob) -> f64 {
        let seen = || blob.pixels.iter().filter_map(|p| self.strongest.at(p.0, p.1)).map(|l| f64::from(l.0));
        let of = |sign: f64| {
            let (sum, count) = seen().filter(|s| s * sign > 0.0).fold((0.0, 0), |(s, n), v| (s + v, n + 1));
            (f64::abs(sum), sum / f64::from(count.max(1)))
        };
        let (dark, bright) = (of(-1.0), of(1.0));
        if dark.0 > bright.0 { dark.1 } else { bright.1 }
    }

    /// Whether a blob lies below the line about it, well beyond it on both sides.
    fn straddles(&self, blob: &Blob, line: f64) -> bool {
        let (least, share, blurs) = BOTH_SIDES;
        let off = || blob.pixels.iter().filter_map(|p| self.strongest.at(p.0, p.1)).map(|l| f64::from(l.1));
        let beyond = |side: f64| off().filter(|off| side * off > blurs * blob.blur).count() as f64;
        blob.height.abs() > least * line.abs()
            && beyond(1.0).min(beyond(-1.0)) > share * blob.pixels.len() as f64
    }

    /// Whether what a line may leave reaches half the blob's height at a pixel, as its outline does.
    fn explains(&self, (x, y): (usize, usize), blob: &Blob) -> bool {
        LEFT * reaching(self.strongest.at(x, y), blob.blur) > 0.5 * blob.height.abs()
    }
}

/// How high a line, if there is one, still is so far beyond its width.
fn reaching(line: Option<(f32, f32)>, blur: f64) -> f64 {
    line.map_or(0.0, |(seen, beyond)| {
        let off = f64::from(beyond) / blur;
        f64::from(seen).abs() * (-off * off / 2.0).exp()
    })
}

/// Whether pixels of a mark are nothing but what taking a line away has left, too much taken where the line fades or ends:
/// `bare` still holds the lines and does not show them.
fn brought_forth(pixels: &[(usize, usize)], height: f64, bare: &Plane<f32>) -> bool {
    let sum: f64 = pixels.iter().map(|p| f64::from(bare.at(p.0, p.1))).sum();
    sum * height.signum() < SHOWN * height.abs() * pixels.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blob(height: f64, half: usize) -> Blob {
        let span = || 10 - half..=10 + half;
        Blob {
            peak: (10, 10),
            height,
            base: 0.0,
            strength: 9.0,
            blur: 1.5,
            pixels: span().flat_map(|y| span().map(move |x| (x, y))).collect(),
            outline: Vec::new(),
            dip: 0.0,
            across: false,
            rim: None,
        }
    }

    fn corridors(contrast: f64) -> Corridors {
        let path = (0..30).map(|x| (f64::from(x), 10.0)).collect();
        let line = Line { path, width: 4.0, width_u: 0.1, contrast, seen: contrast, strength: 20.0 };
        let mut corridors = Corridors::none(30, 20, 1.5);
        corridors.add(&line, &Plane::filled(30, 20, 1.0));
        corridors
    }

    /// A bright mark where a dark line of that height was taken away counts if it showed before.
    #[test]
    fn what_taking_a_line_away_brings_forth_is_no_mark() {
        let corridors = corridors(-0.3);
        for (bare, left_over) in [(0.0, true), (-0.3, true), (0.2, false)] {
            let bare = Plane::filled(30, 20, bare);
            assert_eq!(corridors.left(&blob(0.25, 2), &bare), left_over);
        }
        assert!(!corridors.left(&blob(-0.25, 2), &Plane::filled(30, 20, -0.55)), "a mark on the line");
    }

    /// What is fainter than the line counts if it is broader than what the line can leave.
    #[test]
    fn a_line_leaves_nothing_that_is_much_broader_than_itself() {
        let corridors = corridors(-0.5);
        let bare = Plane::filled(30, 20, -0.5);
        for (height, half, left_over) in
            [(-0.2, 2, true), (-0.2, 5, false), (-0.12, 4, false), (-0.05, 4, true)]
        {
            assert_eq!(corridors.left(&blob(height, half), &bare), left_over, "{height} {half}");
        }
    }
}
