//! OTDR traces.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz::trace(bytes));
