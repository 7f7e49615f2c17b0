//! Any bytes as what a host says: see `frames.rs` of this package for what holds.
#![no_main]

#[path = "../src/frames.rs"]
#[expect(dead_code, reason = "the other direction has a target of its own")]
mod frames;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| frames::hold_for_worker(data));
