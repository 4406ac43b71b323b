//! The text of a face.json, as `compare` and `mated` read it.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz::two_faces(&String::from_utf8_lossy(bytes)));
