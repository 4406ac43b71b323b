//! The blocks GenParams and SupParams: whose fibre it is and with what it was measured.

use super::SorError;
use super::bytes::Bytes;

/// What GenParams tells.
pub(crate) struct General {
    pub cable: String,
    pub fibre: String,
    pub from: String,
    pub to: String,
    pub operator: String,
    pub comment: String,
}

/// Reads GenParams; `two` for format 2.
pub(crate) fn read(bytes: &mut Bytes, two: bool) -> Result<General, SorError> {
    bytes.skip(2, "language")?;
    let cable = bytes.terminated("cable id")?;
    let fibre = bytes.terminated("fibre id")?;
    if two {
        bytes.u16("fibre type")?;
    }
    bytes.u16("wavelength")?;
    let from = bytes.terminated("location A")?;
    let to = bytes.terminated("location B")?;
    bytes.terminated("cable code")?;
    bytes.skip(2, "condition")?;
    bytes.i32("user offset")?;
    if two {
        bytes.i32("user offset distance")?;
    }
    let operator = bytes.terminated("operator")?;
    let comment = bytes.terminated("comment")?;
    Ok(General { cable, fibre, from, to, operator, comment })
}

/// Reads SupParams: supplier, mainframe and its number, module and its number, as far as told.
pub(crate) fn instrument(bytes: &mut Bytes) -> Result<String, SorError> {
    const FIELDS: [&str; 5] = ["supplier", "mainframe", "mainframe number", "module", "module number"];
    let mut told = Vec::new();
    for field in FIELDS {
        told.push(bytes.terminated(field)?);
    }
    told.retain(|text| !text.is_empty());
    Ok(told.join(", "))
}
