//! What is owed as a document and as sentences.

use crate::ferrule::Stranger;
use crate::owed::{Debt, Owed, exposed, owed};
use crate::record::Role;
use crate::register::{Past, Register, Withdrawn};
use crate::trace::traces;
use schemars::JsonSchema;
use serde::Serialize;
use terms::words::listed;

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
    /// Reference cords that must be looked at before they touch anything more; they keep no job from being done.
    pub cords: Vec<FaceOwed>,
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
    /// `never-inspected`, `failing`, `ungraded`, `looks-differ`, `mated-since`, `cleaned-since` or `exposed`.
    pub code: &'static str,
    /// A few words.
    pub text: String,
}

impl OwedRecord {
    /// What is owed for the faces of a book that are handed over, given those whose looks differ.
    pub fn new(register: &Register, strangers: &[Stranger]) -> OwedRecord {
        let named = |role: Option<Role>| -> Vec<String> {
            let faces = register.faces.iter().filter(|known| role.is_none_or(|role| known.role == role));
            faces.map(|known| known.face.to_string()).collect()
        };
        let connectors = named(Some(Role::Connector));
        let (history, all) = (register.history(), named(None));
        let owed_by = |faces: Vec<String>| owed(&history, &faces, &all);
        let mut found = owed_by(connectors.clone());
        for face in &connectors {
            let differ = strangers.iter().filter(|s| s.face.to_string() == *face);
            let differ: Vec<Debt> = differ.map(|s| Debt::LooksDiffer(s.why.clone())).collect();
            match found.iter_mut().find(|owed| owed.face == *face) {
                Some(owed) => owed.debts.splice(0..0, differ).for_each(drop),
                None if differ.is_empty() => {}
                None => found.push(Owed { face: face.clone(), debts: differ }),
            }
        }
        found.sort_by_key(|owed| connectors.iter().position(|face| *face == owed.face));
        let told = |owed: Owed| {
            let reasons = owed.debts.iter().map(|debt| reason(debt, &owed.face, register)).collect();
            FaceOwed { face: owed.face, reasons }
        };
        let owed: Vec<FaceOwed> = found.into_iter().map(told).collect();
        let cords = suspect(owed_by(named(Some(Role::Cord)))).into_iter().map(told).collect();
        OwedRecord {
            schema: OWED_FORMAT,
            book: register.name.clone(),
            done: owed.is_empty() && !connectors.is_empty(),
            faces: connectors.len(),
            owed,
            cords,
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

/// Cords without what is a cord's trade: to touch many after its last pass.
fn suspect(cords: Vec<Owed>) -> Vec<Owed> {
    let others = |owed: Owed| {
        let debts: Vec<Debt> =
            owed.debts.into_iter().filter(|debt| !matches!(debt, Debt::MatedSince(_))).collect();
        (!debts.is_empty()).then_some(Owed { face: owed.face, debts })
    };
    cords.into_iter().filter_map(others).collect()
}

/// What a face was exposed to and nobody looked at since, whatever its own looks say.
pub fn exposed_to(register: &Register, face: &str) -> Vec<Reason> {
    let history = register.history();
    let traces: Vec<_> = register.faces.iter().flat_map(|f| traces(&history, &f.face.to_string())).collect();
    exposed(&traces, face).iter().map(|debt| reason(debt, face, register)).collect()
}

fn reason(debt: &Debt, face: &str, register: &Register) -> Reason {
    let (code, text) = match debt {
        Debt::NeverInspected => {
            let looked =
                |told: &Withdrawn| matches!(&told.past, Past::Look(look) if look.face.to_string() == face);
            let text = match register.withdrawn.iter().any(looked) {
                false => "nobody looked at it",
                true => "nobody looked at it: what was told of a look was withdrawn",
            };
            ("never-inspected", text.to_owned())
        }
        Debt::Failing => ("failing", "its last look fails".to_owned()),
        Debt::Ungraded => ("ungraded", "its last look could not be graded".to_owned()),
        Debt::MatedSince(met) => ("mated-since", format!("it met {} after its last pass", met.join(", "))),
        Debt::CleanedSince => ("cleaned-since", "it was cleaned after its last look".to_owned()),
        Debt::LooksDiffer(why) => ("looks-differ", why.clone()),
        Debt::Exposed { sources, by, at } => {
            let when = register.past.get(*at).map_or("", |(when, _, _)| when.text());
            let through = sources.iter().filter(|source| *source != by).cloned();
            let through = listed(through.collect::<Vec<_>>());
            let carried = match (through.as_str(), sources.contains(by)) {
                ("", _) => "which failed".to_owned(),
                (others, true) => format!("which failed and had touched {others}, which failed too"),
                (others, false) => format!("which had touched {others}, which failed"),
            };
            ("exposed", format!("it met {by} {when}, {carried}, and nobody looked since"))
        }
    };
    Reason { code, text }
}
