//! Criteria files; what could be read is shown as a table and graded by.

#![no_main]

libfuzzer_sys::fuzz_target!(|text: &str| fuzz::criteria(text));
