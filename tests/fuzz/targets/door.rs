//! Pictures of every format; the first bytes tell which.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz::open(bytes));
