//! Criteria, layouts and cable maps as checked TOML files: the built-in ones and the user's own. Texts in,
//! checked types out, or every fault of the text at once; reading files is left to others.

mod bands;
mod builtin;
mod cable_file;
mod criteria_file;
mod fault;
mod guide;
mod layout_file;
mod read;
mod sources;

pub use builtin::{cable, cable_ids, criteria, criteria_ids, criteria_text, layout, layout_ids};
pub use cable_file::{CableFile, parse_cable};
pub use criteria_file::{CriteriaFile, parse_criteria};
pub use fault::{Fault, ProfileError};
pub use guide::{Choice, LimitRow, SettingRow, guide, limit_rows, setting_rows};
pub use layout_file::parse_layout;
