//! Any text as a sweep file: see `sweep_text.rs` of this package for what holds.
#![no_main]

#[path = "../src/sweep_text.rs"]
mod sweep_text;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| sweep_text::holds(data));
