//! The faults of one file: each with its line, what is wrong and how to mend it; all told at once.

use std::fmt;

/// One fault of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Line of the file, from 1.
    pub line: usize,
    /// What is wrong and how to mend it, one sentence.
    pub text: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.text)
    }
}

/// Why a file is refused: all of its faults, in order of line. Displays as a summary line and one more
/// line for each fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfileError {
    file: String,
    faults: Vec<Fault>,
}

impl ProfileError {
    /// The faults of a file, of which there is at least one.
    pub(crate) fn new(file: &str, mut faults: Vec<Fault>) -> ProfileError {
        faults.sort_by_key(|fault| fault.line);
        ProfileError { file: file.to_owned(), faults }
    }

    /// Name of the file.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Its faults, in order of line.
    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// Everything in one line: the first three faults and how many more there are.
    pub fn one_line(&self) -> String {
        const TOLD: usize = 3;
        let told: Vec<String> = self.faults.iter().take(TOLD).map(Fault::to_string).collect();
        let told = told.join("; ");
        match self.faults.len().saturating_sub(TOLD) {
            0 => format!("{}: {told}", self.file),
            more => format!("{}: {told}; and {more} more", self.file),
        }
    }
}

impl fmt::Display for ProfileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let s = if self.faults.len() == 1 { "" } else { "s" };
        write!(f, "{} has {} fault{s}", self.file, self.faults.len())?;
        self.faults.iter().try_for_each(|fault| write!(f, "\n  {fault}"))
    }
}

impl std::error::Error for ProfileError {}
