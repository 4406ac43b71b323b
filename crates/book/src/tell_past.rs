//! What happened, in words.

use crate::record::{Adapter, How, Record, Role};
use crate::register::Past;
use crate::store::Recorded;
use grade::Verdict;

impl Past {
    /// What happened, without its time and whose hand it was.
    pub fn words(&self) -> String {
        match self {
            Past::Look(look) => {
                let files: Vec<&str> = look.pictures.iter().map(|told| told.file.as_str()).collect();
                let found = Verdict::from(look.verdict).word();
                format!("look at {}: {found} ({})", look.face, files.join(", "))
            }
            Past::Met(mating) => {
                let through = match mating.adapter {
                    None => "",
                    Some(Adapter::TypeA) => " through a type-A adapter",
                    Some(Adapter::TypeB) => " through a type-B adapter",
                };
                format!("{} met {}{through}", mating.a, mating.b)
            }
            Past::Cleaned(cleaning) => {
                let how = match cleaning.how {
                    None => "",
                    Some(How::Dry) => " dry",
                    Some(How::Wet) => " wet and then dry",
                };
                format!("{} cleaned{how}", cleaning.face)
            }
        }
    }
}

impl Recorded {
    /// What it says in one line, without the end of a sentence.
    pub fn words(&self) -> String {
        let told = match (Past::of(self.record.clone()), &self.record) {
            (Some((when, past)), _) => format!("{when} {}{}", past.words(), by(past.who())),
            (None, Record::Connector { face, role: Role::Connector }) => {
                format!("{face} made known, to be handed over")
            }
            (None, Record::Connector { face, role: Role::Cord }) => {
                format!("{face} made known, a reference cord")
            }
            (None, _) => "of the book itself".to_owned(),
        };
        match &self.withdrawn {
            None => told,
            Some(how) => {
                format!("{told}. WITHDRAWN {}{}: {}", how.when, by(how.who.as_deref()), how.why)
            }
        }
    }
}

fn by(who: Option<&str>) -> String {
    who.map_or_else(String::new, |who| format!(" by {who}"))
}
