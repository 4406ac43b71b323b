//! What is owed as a document and as sentences.

use crate::owed::{Debt, owed};
use crate::record::Role;
use crate::register::Register;
use schemars::JsonSchema;
use serde::Serialize;

/// Name and version of the format of [`OwedRecord`].
pub const OWED_FORMAT: &str = "pitchline.owed/1";

/// What must be looked at before the job may be handed over.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(title = "What is owed")]
pub struct OwedRecord {
    /// Name and version of this format.
    #[schemars(extend("const" = OWED_FORMAT))]
    pub schema: &'static str,
    /// What the book is called.
    pub book: String,
    /// Whether the job is done: there is a face to hand over, and nothing is owed.
    pub done: bool,
    /// How many faces are to be handed over.
    pub faces: usize,
    /// Every face that is owed a look.
    pub owed: Vec<FaceOwed>,
}

/// A face that is owed a look, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FaceOwed {
    /// The face.
    pub face: String,
    /// At least one reason.
    pub reasons: Vec<Reason>,
}

/// Why a face is owed a look.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Reason {
    /// `never-inspected`, `failing`, `ungraded`, `mated-since` or `exposed`.
    pub code: &'static str,
    /// A few words.
    pub text: String,
}

impl OwedRecord {
    /// What is owed for the faces of a book that are handed over.
    pub fn new(register: &Register) -> OwedRecord {
        let named = |role: Option<Role>| -> Vec<String> {
            let faces = register.faces.iter().filter(|known| role.is_none_or(|role| known.role == role));
            faces.map(|known| known.face.to_string()).collect()
        };
        let connectors = named(Some(Role::Connector));
        let found = owed(&register.history(), &connectors, &named(None));
        let owed: Vec<FaceOwed> = found
            .into_iter()
            .map(|owed| FaceOwed { face: owed.face, reasons: owed.debts.iter().map(reason).collect() })
            .collect();
        OwedRecord {
            schema: OWED_FORMAT,
            book: register.name.clone(),
            done: owed.is_empty() && !connectors.is_empty(),
            faces: connectors.len(),
            owed,
        }
    }

    /// The document as JSON text.
    ///
    /// # Errors
    /// `serde_json`'s; none is known for it.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

fn reason(debt: &Debt) -> Reason {
    let (code, text) = match debt {
        Debt::NeverInspected => ("never-inspected", "nobody looked at it".to_owned()),
        Debt::Failing => ("failing", "its last look fails".to_owned()),
        Debt::Ungraded => ("ungraded", "its last look could not be graded".to_owned()),
        Debt::MatedSince(met) => ("mated-since", format!("it met {} after its last pass", met.join(", "))),
        Debt::Exposed { source } => {
            ("exposed", format!("it was exposed to {source}, which failed, and nobody looked since"))
        }
    };
    Reason { code, text }
}
