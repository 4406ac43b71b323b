//! Tier 2: the OTDR exchange file of SR-4731 (format 2) and GR-196 (format 1), read to its events. The standard is
//! not public: the layout is from memory and held to independent readers (fixtures/outside). Samples of the trace
//! are counted and checked for their room, not read.

mod blocks;
mod bytes;
mod checksum;
mod events;
mod fixed;
mod general;

pub use checksum::Checksum;
pub use events::{Event, Nature};

use bytes::Bytes;

/// Light in vacuum, m/s; exact by definition of the metre.
const LIGHT: f64 = 299_792_458.0;

/// What a trace file tells.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// Format in hundredths: 100 or 200 and what came after.
    pub format: u16,
    /// Cable id, as it stands there.
    pub cable: String,
    /// Fibre id, as it stands there.
    pub fibre: String,
    /// Where the trace starts.
    pub from: String,
    /// Where it leads.
    pub to: String,
    /// Who took it.
    pub operator: String,
    /// A remark.
    pub comment: String,
    /// Who made the instrument, its model and its number, as far as told.
    pub instrument: String,
    /// Time as told by the instrument, seconds since 1970.
    pub unix_time: u32,
    /// Wavelength, nm.
    pub wavelength_nm: f64,
    /// Pulse widths, ns.
    pub pulses_ns: Vec<u16>,
    /// Group index.
    pub index: f64,
    /// Averages.
    pub averages: u32,
    /// What was found along the fibre, in order of the file.
    pub events: Vec<Event>,
    /// Loss from end to end, dB.
    pub loss_db: f64,
    /// Optical return loss, dB; none where the file has 0.
    pub orl_db: Option<f64>,
    /// Samples of the trace; none if the file holds none.
    pub samples: Option<u32>,
    /// Whether the file's checksum holds.
    pub checksum: Checksum,
}

/// Why a trace file cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SorError {
    /// It does not begin as one.
    #[error("this is no OTDR exchange file (SR-4731): {0}; export the trace again as .sor")]
    Foreign(&'static str),
    /// A block that is needed is not there.
    #[error("the trace file has no block {0}; it is incomplete, export it again")]
    NoBlock(&'static str),
    /// A block ends too early.
    #[error(
        "the trace file is damaged: block {block} ends inside its {field} (byte {at}); copy or export it again"
    )]
    Short {
        /// The block.
        block: String,
        /// What was being read.
        field: &'static str,
        /// Offset in the file.
        at: usize,
    },
    /// A value that cannot be.
    #[error("the trace file is damaged: block {block}, {what}; copy or export it again")]
    Wrong {
        /// The block.
        block: String,
        /// What is wrong.
        what: String,
    },
}

/// Reads a trace file.
///
/// # Errors
/// [`SorError`], one sentence, whatever the bytes are.
pub fn read_trace(file: &[u8]) -> Result<Trace, SorError> {
    let blocks = blocks::read(file)?;
    let general = general::read(&mut blocks.need("GenParams")?, blocks.two)?;
    let instrument = match blocks.find("SupParams") {
        Some(mut bytes) => general::instrument(&mut bytes)?,
        None => String::new(),
    };
    let fixed = fixed::read(&mut blocks.need("FxdParams")?, blocks.two)?;
    let found = events::read(&mut blocks.need("KeyEvents")?, blocks.two, LIGHT / fixed.index)?;
    let samples = blocks.find("DataPts").map(|mut bytes| counted(&mut bytes)).transpose()?;
    Ok(Trace {
        format: blocks.format,
        cable: general.cable,
        fibre: general.fibre,
        from: general.from,
        to: general.to,
        operator: general.operator,
        comment: general.comment,
        instrument,
        unix_time: fixed.unix_time,
        wavelength_nm: fixed.wavelength_nm,
        pulses_ns: fixed.pulses_ns,
        index: fixed.index,
        averages: fixed.averages,
        events: found.events,
        loss_db: found.loss_db,
        orl_db: found.orl_db,
        samples,
        checksum: checksum::check(file, &blocks),
    })
}

/// Counts the samples; every group must lie within the block.
fn counted(bytes: &mut Bytes) -> Result<u32, SorError> {
    let total = bytes.u32("number of points")?;
    let groups = bytes.u16("number of scale factors")?;
    let mut sum = 0u64;
    for _ in 0..groups {
        let points = bytes.u32("points of a scale factor")?;
        bytes.u16("scale factor")?;
        bytes.skip(points as usize * 2, "samples")?;
        sum += u64::from(points);
    }
    if sum != u64::from(total) {
        return Err(bytes.wrong(format!("{total} points are announced and {sum} are there")));
    }
    Ok(total)
}

impl Trace {
    /// The event that ends the fibre, if one is marked.
    pub fn end(&self) -> Option<&Event> {
        self.events.iter().rev().find(|e| e.ends)
    }

    /// The number in the fibre id, if it holds exactly one and nothing but letters and signs beside it.
    pub fn fibre_number(&self) -> Option<u16> {
        let mut numbers = self.fibre.split(|c: char| !c.is_ascii_digit()).filter(|n| !n.is_empty());
        let number = numbers.next()?.parse().ok();
        if numbers.next().is_some() { None } else { number }
    }
}
