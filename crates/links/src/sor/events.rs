//! The block KeyEvents: what was found along the fibre, and the whole of it.

use super::SorError;
use super::bytes::Bytes;

/// What the instrument made of an event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nature {
    /// Loss without reflection: a splice, a bend.
    Plain,
    /// A reflection.
    Reflective,
    /// A reflection beyond the instrument's range.
    Saturated,
    /// A code that the published layout does not have.
    Unknown,
}

impl Nature {
    /// The word for people.
    pub const fn word(self) -> &'static str {
        match self {
            Nature::Plain => "non-reflective",
            Nature::Reflective => "reflective",
            Nature::Saturated => "saturated reflection",
            Nature::Unknown => "of unknown kind",
        }
    }
}

/// One event.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Its number in the file.
    pub number: u16,
    /// Distance along the fibre, m, from the file's own zero.
    pub metres: f64,
    /// Slope of the fibre before it, dB/km.
    pub slope_db_per_km: f64,
    /// Loss, dB.
    pub loss_db: f64,
    /// Reflectance, dB; none where the file has 0, as for events without reflection.
    pub reflectance_db: Option<f64>,
    /// What it is.
    pub nature: Nature,
    /// Whether it ends the fibre.
    pub ends: bool,
    /// A remark.
    pub comment: String,
}

/// The events and the whole fibre.
pub(crate) struct Found {
    pub events: Vec<Event>,
    pub loss_db: f64,
    pub orl_db: Option<f64>,
}

const MILLI: f64 = 1000.0;

/// Reads KeyEvents; `two` for format 2, `speed` of light in the fibre, m/s.
pub(crate) fn read(bytes: &mut Bytes, two: bool, speed: f64) -> Result<Found, SorError> {
    let count = bytes.u16("number of events")?;
    let mut events = Vec::new();
    for _ in 0..count {
        events.push(event(bytes, two, speed)?);
    }
    let loss_db = f64::from(bytes.i32("loss from end to end")?) / MILLI;
    bytes.skip(8, "limits of the loss")?;
    let orl = bytes.u16("optical return loss")?;
    Ok(Found { events, loss_db, orl_db: (orl != 0).then(|| f64::from(orl) / MILLI) })
}

fn event(bytes: &mut Bytes, two: bool, speed: f64) -> Result<Event, SorError> {
    let number = bytes.u16("number of an event")?;
    let time = bytes.u32("time of an event")?;
    let slope = bytes.i16("slope of an event")?;
    let loss = bytes.i16("loss of an event")?;
    let reflectance = bytes.i32("reflectance of an event")?;
    let code: Vec<char> = bytes.fixed(8, "code of an event")?.chars().collect();
    if two {
        bytes.skip(20, "markers of an event")?;
    }
    Ok(Event {
        number,
        metres: f64::from(time) * 1e-10 * speed,
        slope_db_per_km: f64::from(slope) / MILLI,
        loss_db: f64::from(loss) / MILLI,
        reflectance_db: (reflectance != 0).then(|| f64::from(reflectance) / MILLI),
        nature: match code.first() {
            Some('0') => Nature::Plain,
            Some('1') => Nature::Reflective,
            Some('2') => Nature::Saturated,
            _ => Nature::Unknown,
        },
        ends: matches!(code.get(1), Some('E' | 'D')),
        comment: bytes.terminated("comment of an event")?,
    })
}
