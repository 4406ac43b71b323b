//! What a value may be: ranges of the numbers that describe a face or a camera, and what is said when one
//! lies outside. Used alike by the scene file and by programs that build a scene.

use std::fmt;

/// A value that cannot be, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong {
    /// The key it has in a scene file.
    pub field: &'static str,
    /// One clear sentence without the place.
    pub text: String,
}

/// Gathers what is wrong with one thing.
#[derive(Debug, Default)]
pub(crate) struct Check {
    pub(crate) wrong: Vec<Wrong>,
}

impl Check {
    /// `value` must be a finite number from `low` to `high`.
    pub(crate) fn range(&mut self, field: &'static str, value: f64, low: f64, high: f64) {
        if !(value >= low && value <= high) {
            self.say(field, format!("`{field}` must be from {low} to {high}, not {value}"));
        }
    }

    /// Both coordinates must be finite and at most `far` from zero.
    pub(crate) fn place(&mut self, field: &'static str, (x, y): (f64, f64), far: f64) {
        if !(x.abs() <= far && y.abs() <= far) {
            self.say(field, format!("`{field}` must lie within {far} um of its origin, not at [{x}, {y}]"));
        }
    }

    /// A contrast: -0.95 to 2 and not within 0.005 of zero.
    pub(crate) fn contrast(&mut self, value: f64) {
        self.range("contrast", value, -0.95, 2.0);
        if value.abs() < 0.005 {
            self.say("contrast", format!("`contrast` must be at least 0.005 away from zero, not {value}"));
        }
    }

    /// Adds a sentence.
    pub(crate) fn say(&mut self, field: &'static str, text: impl Into<String>) {
        self.wrong.push(Wrong { field, text: text.into() });
    }
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}
