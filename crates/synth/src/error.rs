//! Why a scene cannot be read or rendered, in sentences that say what is wrong, where, and how to mend it.

use std::fmt;

/// One fault of a scene.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Line of the scene file, from 1; none if the scene was built by a program.
    pub line: Option<usize>,
    /// One sentence.
    pub text: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "line {line}: {}", self.text),
            None => f.write_str(&self.text),
        }
    }
}

/// Every fault of a scene, in order of line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("scene {name}: {}", self.list())]
pub struct SceneError {
    /// Name of the scene, as given by the caller.
    pub name: String,
    /// At least one fault.
    pub faults: Vec<Fault>,
}

impl SceneError {
    pub(crate) fn new(name: &str, mut faults: Vec<Fault>) -> SceneError {
        faults.sort_by_key(|f| f.line);
        SceneError { name: name.to_owned(), faults }
    }

    fn list(&self) -> String {
        const TOLD: usize = 20;
        let told: Vec<String> = self.faults.iter().take(TOLD).map(Fault::to_string).collect();
        match self.faults.len().saturating_sub(TOLD) {
            0 => told.join("; "),
            more => format!("{}; and {more} more", told.join("; ")),
        }
    }
}
