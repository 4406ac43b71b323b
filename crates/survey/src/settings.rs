//! How to look: the few choices the standard leaves open, as checked values.

/// Settings of the survey. They come from the criteria file, so that they are printed beside the verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// A straight or smoothly bent mark is a scratch when its length is at least this many times its width.
    pub scratch_aspect: f64,
    /// Marks nearer to each other than this count once, um.
    pub touching_gap_um: f64,
    /// Marks called on a clean fibre by chance, on average.
    pub false_calls_per_fibre: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Settings { scratch_aspect: 5.0, touching_gap_um: 0.0, false_calls_per_fibre: 0.002 }
    }
}
