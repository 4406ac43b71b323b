//! Tables of losses, read by a mapping that names every column.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz::losses(bytes));
