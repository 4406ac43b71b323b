//! The block FxdParams: how the trace was taken.

use super::SorError;
use super::bytes::Bytes;

/// What FxdParams tells, as far as it is used.
pub(crate) struct Fixed {
    pub unix_time: u32,
    pub wavelength_nm: f64,
    pub pulses_ns: Vec<u16>,
    pub index: f64,
    pub averages: u32,
}

/// Reads FxdParams; `two` for format 2.
pub(crate) fn read(bytes: &mut Bytes, two: bool) -> Result<Fixed, SorError> {
    let unix_time = bytes.u32("time")?;
    bytes.skip(2, "unit of distance")?;
    let wavelength_nm = f64::from(bytes.u16("wavelength")?) / 10.0;
    bytes.i32("acquisition offset")?;
    if two {
        bytes.i32("acquisition offset distance")?;
    }
    let count = bytes.u16("number of pulse widths")?;
    let mut pulses_ns = Vec::new();
    for _ in 0..count {
        pulses_ns.push(bytes.u16("pulse width")?);
    }
    let each = usize::from(count) * 4;
    bytes.skip(each, "sample spacing")?;
    bytes.skip(each, "number of points")?;
    let index = f64::from(bytes.u32("group index")?) / 100_000.0;
    if !(1.0..=2.0).contains(&index) {
        return Err(bytes.wrong(format!("its group index {index} is that of no glass")));
    }
    bytes.u16("backscatter")?;
    let averages = bytes.u32("averages")?;
    Ok(Fixed { unix_time, wavelength_nm, pulses_ns, index, averages })
}
