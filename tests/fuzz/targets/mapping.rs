//! Mappings of tables of losses.

#![no_main]

libfuzzer_sys::fuzz_target!(|text: &str| fuzz::mapping(text));
