//! Moments in time: whole seconds, told in UTC, so that their texts stand in the order of time.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A moment between the years 1 and 9999, as `2026-11-25T14:05:03Z`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(try_from = "String", into = "String")]
pub struct Moment(String);

/// A text that is no moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "a time is written with its date and its distance from UTC, such as 2026-11-25T14:05:03Z or \
     2026-11-25T15:05+01:00"
)]
pub struct NoMoment;

impl Moment {
    /// The moment so many seconds after the beginning of 1970, UTC.
    ///
    /// # Errors
    /// [`NoMoment`] if it lies outside the years that are told.
    pub fn from_seconds(seconds: i64) -> Result<Moment, NoMoment> {
        Timestamp::from_second(seconds).map_err(|_| NoMoment).and_then(Moment::told)
    }

    fn told(at: Timestamp) -> Result<Moment, NoMoment> {
        let whole = Timestamp::from_second(at.as_second()).map_err(|_| NoMoment)?;
        let text = whole.to_string();
        // Years before 1 carry a sign and would not sort.
        if text.starts_with(|c: char| c.is_ascii_digit()) { Ok(Moment(text)) } else { Err(NoMoment) }
    }

    /// Its text.
    pub fn text(&self) -> &str {
        &self.0
    }
}

impl FromStr for Moment {
    type Err = NoMoment;

    fn from_str(text: &str) -> Result<Moment, NoMoment> {
        text.trim().parse::<Timestamp>().map_err(|_| NoMoment).and_then(Moment::told)
    }
}

impl TryFrom<String> for Moment {
    type Error = NoMoment;

    fn try_from(text: String) -> Result<Moment, NoMoment> {
        text.parse()
    }
}

impl From<Moment> for String {
    fn from(moment: Moment) -> String {
        moment.0
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
