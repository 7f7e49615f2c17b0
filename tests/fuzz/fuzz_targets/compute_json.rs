//! Any bytes as the input of any calculation: see `compute_json.rs` of this package for what holds.
#![no_main]

#[path = "../src/compute_json.rs"]
mod compute_json;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| compute_json::holds(data));
