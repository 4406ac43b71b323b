//! Advice files.

#![no_main]

libfuzzer_sys::fuzz_target!(|text: &str| fuzz::advice(text));
