//! A pattern that tells a face by the path of its picture: `{connector}`, `{end}`, `{step}` and `{any}` among the
//! path's own signs.

use crate::failure::Failure;
use book::{End, Face, NoFace};

/// A pattern that was checked.
pub struct Pattern(Vec<Piece>);

enum Piece {
    Plain(String),
    Field(Field),
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Field {
    Connector,
    End,
    Step,
    Any,
}

/// What a path says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Read {
    /// The identifier.
    pub connector: String,
    /// The end, if the pattern has it.
    pub end: Option<End>,
    /// What `{any}` stood for.
    pub any: String,
}

impl Read {
    /// The face; without an end of its own, the identifier may carry one.
    pub fn face(&self) -> Result<Face, NoFace> {
        match self.end {
            Some(end) => Face::new(&self.connector, Some(end)),
            None => self.connector.parse(),
        }
    }
}

const FIELDS: [(&str, Field); 4] = [
    ("{connector}", Field::Connector),
    ("{end}", Field::End),
    ("{step}", Field::Step),
    ("{any}", Field::Any),
];

impl Pattern {
    /// Checks a pattern: each field at most once, the connector at least once.
    pub fn parse(text: &str) -> Result<Pattern, Failure> {
        let wrong = || Failure::NoPattern { pattern: text.to_owned() };
        let mut pieces = Vec::new();
        let mut rest = text;
        while !rest.is_empty() {
            let field = FIELDS.iter().find(|(word, _)| rest.starts_with(word));
            if let Some((word, field)) = field {
                pieces.push(Piece::Field(*field));
                rest = &rest[word.len()..];
                continue;
            }
            let next = FIELDS.iter().filter_map(|(word, _)| rest.find(word)).min().unwrap_or(rest.len());
            pieces.push(Piece::Plain(rest[..next].to_owned()));
            rest = &rest[next..];
        }
        let count = |wanted| pieces.iter().filter(|p| matches!(p, Piece::Field(f) if *f == wanted)).count();
        let once = FIELDS.iter().all(|(_, field)| count(*field) <= 1);
        let plain = pieces.iter().all(|p| !matches!(p, Piece::Plain(t) if t.contains(['{', '}'])));
        if once && plain && count(Field::Connector) == 1 { Ok(Pattern(pieces)) } else { Err(wrong()) }
    }

    /// Whether pictures of one face are numbered.
    pub fn has_steps(&self) -> bool {
        self.0.iter().any(|p| matches!(p, Piece::Field(Field::Step)))
    }

    /// What a path says, if it fits; every field takes as much as it can, from the left.
    pub fn read(&self, path: &str) -> Option<Read> {
        let mut read = Read::default();
        fits(&self.0, path, &mut read).then_some(read)
    }
}

fn fits(pieces: &[Piece], text: &str, read: &mut Read) -> bool {
    let Some((first, rest)) = pieces.split_first() else { return text.is_empty() };
    let field = match first {
        Piece::Plain(plain) => return text.strip_prefix(plain.as_str()).is_some_and(|t| fits(rest, t, read)),
        Piece::Field(field) => *field,
    };
    let ends = text.char_indices().map(|(at, sign)| at + sign.len_utf8());
    let ends: Vec<usize> = ends.take_while(|end| may_be(field, &text[..*end])).collect();
    ends.into_iter().rev().any(|end| {
        let (taken, left) = text.split_at(end);
        if !fits(rest, left, read) {
            return false;
        }
        match field {
            Field::Connector => read.connector = taken.to_owned(),
            Field::End => read.end = taken.parse().ok(),
            Field::Any => read.any = taken.to_owned(),
            Field::Step => {}
        }
        true
    })
}

/// Whether a field can begin so.
fn may_be(field: Field, text: &str) -> bool {
    match field {
        Field::Connector | Field::Any => true,
        Field::End => text.parse::<End>().is_ok(),
        Field::Step => text.bytes().all(|b| b.is_ascii_digit()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(pattern: &str, path: &str) -> Option<(String, String)> {
        let read = Pattern::parse(pattern).unwrap().read(path)?;
        Some((read.face().unwrap().to_string(), read.any))
    }

    #[test]
    fn paths_tell_faces() {
        let told = |face: &str, any: &str| Some((face.to_owned(), any.to_owned()));
        assert_eq!(read("{connector}-{end}", "TR-12-A"), told("TR-12@A", ""));
        assert_eq!(read("{connector}_{end}_{any}", "1A.A02-35_b_after 2"), told("1A.A02-35@B", "after 2"));
        assert_eq!(read("{any}/{connector}_{step}", "day 1/TR_9_017"), told("TR_9", "day 1"));
        assert_eq!(read("{connector}", "rack 3/TR-1@B"), told("rack 3/TR-1@B", ""));
        assert_eq!(read("{connector}-{end}", "TR-12-C"), None);
        assert_eq!(read("x{connector}", "x"), None);
    }

    #[test]
    fn what_is_no_pattern_is_refused() {
        for wrong in ["", "{end}", "{connector}{connector}", "{conector}", "a}{connector}"] {
            assert!(Pattern::parse(wrong).is_err(), "{wrong}");
        }
    }
}
