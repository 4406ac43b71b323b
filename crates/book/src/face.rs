//! What a face is called: the identifier of its connector, kept as it was given, and the end of its cable.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// One of the two ends of a cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum End {
    /// The near one.
    A,
    /// The far one.
    B,
}

/// A face by its identifier, as any administration scheme writes it (TIA-606 among them), and its end.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Face {
    connector: String,
    end: Option<End>,
}

/// Why a text is no identifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoFace {
    /// Nothing to call it by.
    #[error(
        "an identifier is empty; write the label of the connector, with @A or @B for the end of its cable"
    )]
    Empty,
    /// Longer than any label.
    #[error("an identifier has more than 200 signs; write the label of the connector")]
    Long,
    /// Tabs, line breaks and the like.
    #[error("an identifier holds a tab, a line break or another sign that no label shows; leave it out")]
    Control,
    /// Two labels would look alike.
    #[error("an identifier begins or ends with a blank; leave it out")]
    Blank,
    /// No end of a cable.
    #[error("an end is A or B, as in LABEL@A; no label ends in @ and another letter")]
    NoEnd,
}

impl Face {
    /// A face of that identifier, if it can be one.
    ///
    /// # Errors
    /// [`NoFace`], one sentence.
    pub fn new(connector: &str, end: Option<End>) -> Result<Face, NoFace> {
        if connector.is_empty() {
            return Err(NoFace::Empty);
        }
        if connector.trim() != connector {
            return Err(NoFace::Blank);
        }
        if connector.chars().count() > 200 {
            return Err(NoFace::Long);
        }
        if connector.chars().any(char::is_control) {
            return Err(NoFace::Control);
        }
        Ok(Face { connector: connector.to_owned(), end })
    }

    /// The identifier without the end.
    pub fn connector(&self) -> &str {
        &self.connector
    }

    /// The end, if it was stated.
    pub fn end(&self) -> Option<End> {
        self.end
    }
}

/// `IDENTIFIER`, `IDENTIFIER@A` or `IDENTIFIER@B`.
impl FromStr for Face {
    type Err = NoFace;

    fn from_str(text: &str) -> Result<Face, NoFace> {
        match text.rsplit_once('@') {
            Some((connector, "A")) => Face::new(connector, Some(End::A)),
            Some((connector, "B")) => Face::new(connector, Some(End::B)),
            Some((_, end)) if end.len() == 1 && end.bytes().all(|b| b.is_ascii_uppercase()) => {
                Err(NoFace::NoEnd)
            }
            _ => Face::new(text, None),
        }
    }
}

impl FromStr for End {
    type Err = NoFace;

    fn from_str(text: &str) -> Result<End, NoFace> {
        match text {
            "A" | "a" => Ok(End::A),
            "B" | "b" => Ok(End::B),
            _ => Err(NoFace::NoEnd),
        }
    }
}

impl fmt::Display for Face {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.connector)?;
        match self.end {
            Some(End::A) => f.write_str("@A"),
            Some(End::B) => f.write_str("@B"),
            None => Ok(()),
        }
    }
}
