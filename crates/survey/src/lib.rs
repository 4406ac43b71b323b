//! Looking: pictures in, a catalogue of positions and features out. Finds the lattice of fibres, fits each
//! cladding's edge, measures blur and noise, and lists the marks on the glass. Knows no limit.

pub mod locate;
pub mod settings;

pub use settings::Settings;
