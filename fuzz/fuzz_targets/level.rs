//! A file of a settled level. The body is that of the bounded test.
#![no_main]
#[path = "../../tests/properties/holds.rs"]
#[allow(dead_code)]
mod holds;
use libfuzzer_sys::fuzz_target;

fuzz_target!(init: needleband::photo::quiet_decoders(), |bytes: &[u8]| holds::level(bytes));
