//! Any text as a number with a unit: see `reading.rs` of this package for what holds.
#![no_main]

#[path = "../src/reading.rs"]
mod reading;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| reading::holds(data));
