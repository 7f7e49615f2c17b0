//! Any text as a claim: see `claim_text.rs` of this package for what holds.
#![no_main]

#[path = "../src/claim_text.rs"]
mod claim_text;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| claim_text::holds(data));
