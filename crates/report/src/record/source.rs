//! The input pictures of a document, and what they are called.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::num::NonZeroU32;
use std::path::Path;

/// One input picture.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SourceInfo {
    /// File name.
    pub file: String,
    /// Which page of the file, from 1; left out where the file holds one picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub page: Option<NonZeroU32>,
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    #[schemars(regex(pattern = r"^[0-9a-f]{64}$"))]
    pub sha256: String,
    /// Width in pixels.
    pub width_px: u32,
    /// Height in pixels.
    pub height_px: u32,
}

impl SourceInfo {
    /// What the picture is called in a sentence.
    pub fn name(&self) -> String {
        match self.page {
            Some(page) => format!("page {page} of {}", self.file),
            None => self.file.clone(),
        }
    }

    /// The file's name, if it names no folder: anything else in a record would lead elsewhere.
    pub fn plain_name(&self) -> Option<&Path> {
        let name = Path::new(&self.file).file_name();
        name.filter(|name| *name == self.file.as_str()).map(Path::new)
    }

    /// The pictures of each file, in their order.
    pub fn by_file(sources: &[SourceInfo]) -> impl Iterator<Item = &[SourceInfo]> {
        sources.chunk_by(|a, b| (&a.file, &a.sha256) == (&b.file, &b.sha256))
    }

    /// The pictures by their files, each once: the first picture of a file, and what the file is called in a list.
    pub fn files(sources: &[SourceInfo]) -> Vec<(&SourceInfo, String)> {
        let named = |pictures: &'_ [SourceInfo]| match pictures.len() {
            1 => pictures.first().map(SourceInfo::name),
            pages => pictures.first().map(|s| format!("{} ({pages} pages)", s.file)),
        };
        SourceInfo::by_file(sources)
            .filter_map(|pictures| Some((pictures.first()?, named(pictures)?)))
            .collect()
    }

    /// The names of the files, divided by commas.
    pub fn listed(sources: &[SourceInfo]) -> String {
        let names: Vec<String> = SourceInfo::files(sources).into_iter().map(|(_, name)| name).collect();
        names.join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(file: &str, page: Option<u32>) -> SourceInfo {
        let page = page.and_then(NonZeroU32::new);
        SourceInfo { file: file.to_owned(), page, sha256: "0".repeat(64), width_px: 4, height_px: 3 }
    }

    #[test]
    fn pages_are_listed_by_their_file() {
        let sources = [source("a.png", None), source("b.tif", Some(1)), source("b.tif", Some(2))];
        assert_eq!(SourceInfo::listed(&sources), "a.png, b.tif (2 pages)");
        assert_eq!(sources[2].name(), "page 2 of b.tif");
    }
}
