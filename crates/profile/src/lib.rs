//! Criteria, layouts, cable maps, applications, colours, advice and cautions as checked TOML files: the built-in ones and the user's own. Texts in,
//! checked types out, or every fault of the text at once; reading files is left to others.

mod advice_file;
mod application_file;
mod bands;
mod builtin;
mod cable_file;
mod cautions_file;
mod colours;
mod criteria_file;
mod fault;
mod guide;
mod layout_file;
mod read;
mod sources;

pub use advice_file::{AdviceFile, parse_advice};
pub use application_file::{ApplicationFile, parse_application};
pub use builtin::{
    application, application_ids, cable, cable_ids, cautions, colours, counsel, criteria, criteria_ids,
    criteria_text, layout, layout_ids, layout_text, with_cautions,
};
pub use cable_file::{CableFile, parse_cable};
pub use cautions_file::{Cautions, parse_cautions};
pub use colours::{Colours, parse_colours};
pub use criteria_file::{CriteriaFile, parse_criteria};
pub use fault::{Fault, ProfileError};
pub use guide::{Choice, LimitRow, SettingRow, guide, limit_rows, setting_rows};
pub use layout_file::parse_layout;
