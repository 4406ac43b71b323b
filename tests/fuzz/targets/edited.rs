//! A face.json with values exchanged, as `compare` and `mated` read it.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz::two_faces(&fuzz::edited(bytes)));
