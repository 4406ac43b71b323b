//! Trace files written by the published layout come back as they were written, and as independent readers read them.

use crate::writer::{EVENTS, file};
use links::sor::{Checksum, Nature};
use links::{SorError, read_trace};
use serde_json::Value;
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/outside")
}

#[test]
fn both_formats_come_back_as_they_were_written() {
    for two in [false, true] {
        let trace = read_trace(&file(two, "TR-12", "F 7")).unwrap();
        assert_eq!(trace.format, if two { 200 } else { 100 });
        assert_eq!((trace.cable.as_str(), trace.fibre_number()), ("TR-12", Some(7)));
        assert_eq!((trace.from.as_str(), trace.to.as_str()), ("1A-B24", "2C-A03"));
        assert_eq!(trace.operator, "R. Lindqvist");
        assert_eq!(trace.instrument, "Nordwind Works, N-40, 0017");
        assert_eq!((trace.wavelength_nm, trace.index, trace.averages), (1310.2, 1.4682, 4096));
        assert_eq!(trace.pulses_ns, [10]);
        assert_eq!((trace.loss_db, trace.orl_db), (0.298, Some(27.31)));
        assert_eq!((trace.samples, trace.checksum), (Some(40), Checksum::Holds));
        assert_eq!(trace.events.len(), EVENTS.len());
        for (read, written) in trace.events.iter().zip(&EVENTS) {
            let metres = f64::from(written.time) * 1e-10 * 299_792_458.0 / 1.4682;
            assert!((read.metres - metres).abs() < 1e-9);
            assert_eq!(read.loss_db, f64::from(written.loss) / 1000.0);
            assert_eq!(read.comment, written.comment);
        }
        assert_eq!(trace.events[1].reflectance_db, None);
        assert_eq!(trace.events[3].nature, Nature::Saturated);
        assert_eq!(trace.end().map(|e| e.number), Some(4));
    }
}

/// pyOTDR and otdrparser on the same bytes; `fixtures/outside` holds what they read and reads them anew.
#[test]
fn independent_readers_read_the_same() {
    let stored: Value =
        serde_json::from_str(&std::fs::read_to_string(folder().join("traces.json")).unwrap()).unwrap();
    let tolerance = |column: &str| stored["tolerances"][column]["absolute"].as_f64().unwrap();
    let records = stored["traces"].as_array().unwrap();
    assert!(records.len() >= 3);
    for record in records {
        let bytes = std::fs::read(folder().join(record["file"].as_str().unwrap())).unwrap();
        let ours = read_trace(&bytes).unwrap();
        let near = |column: &str, ours: f64, theirs: &Value| {
            let theirs = theirs.as_f64().unwrap();
            assert!((ours - theirs).abs() <= tolerance(column), "{column}: {ours} and {theirs}");
        };
        assert_eq!(ours.cable, record["cable"].as_str().unwrap());
        assert_eq!(ours.fibre, record["fibre"].as_str().unwrap());
        near("wavelength_nm", ours.wavelength_nm, &record["wavelength_nm"]);
        near("index", ours.index, &record["index"]);
        near("db", ours.loss_db, &record["loss_db"]);
        near("db", ours.orl_db.unwrap_or(0.0), &record["orl_db"]);
        let events = record["events"].as_array().unwrap();
        assert_eq!(ours.events.len(), events.len());
        for (event, theirs) in ours.events.iter().zip(events) {
            near("metres", event.metres, &theirs["metres"]);
            near("db", event.loss_db, &theirs["loss_db"]);
            near("db", event.slope_db_per_km, &theirs["slope"]);
            near("db", event.reflectance_db.unwrap_or(0.0), &theirs["reflectance_db"]);
            assert_eq!(event.ends, theirs["ends"].as_bool().unwrap());
        }
    }
}

/// The files that the independent readers are given are those that the writer writes today.
#[test]
fn the_stored_files_are_the_writers() {
    for (name, two) in [("trace-1.sor", false), ("trace-2.sor", true)] {
        let (path, bytes) = (folder().join(name), file(two, "TR-12", "7"));
        if std::env::var_os("PITCHLINE_BLESS").is_some() {
            std::fs::write(&path, &bytes).unwrap();
        }
        assert_eq!(std::fs::read(&path).unwrap(), bytes, "{name}");
    }
}

#[test]
fn a_changed_byte_is_told_by_the_checksum() {
    let mut bytes = file(true, "TR-12", "7");
    let place = bytes.windows(8).position(|w| w == b"Lindqvis").unwrap();
    bytes[place] = b'K';
    let trace = read_trace(&bytes).unwrap();
    assert!(matches!(trace.checksum, Checksum::Differs { .. }));
    assert!(trace.checksum.doubt().unwrap().contains("it was changed"));
}

#[test]
fn what_is_no_trace_file_is_one_sentence() {
    for bytes in [&b""[..], b"x", b"\x89PNG\r\n\x1a\n0000000000", &[0xff; 64]] {
        let why = read_trace(bytes).unwrap_err();
        assert!(matches!(why, SorError::Foreign(_)), "{why}");
        assert!(why.to_string().starts_with("this is no OTDR exchange file"));
    }
}

#[test]
fn a_file_cut_short_says_so() {
    let bytes = file(true, "TR-12", "7");
    let why = read_trace(&bytes[..bytes.len() - 30]).unwrap_err().to_string();
    assert!(why.contains("would end after the file's last byte") && why.contains("export it again"), "{why}");
}
