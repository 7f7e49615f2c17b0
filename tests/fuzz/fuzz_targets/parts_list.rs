//! Any text as a parts list: see `parts_list.rs` of this package for what holds.
#![no_main]

#[path = "../src/parts_list.rs"]
mod parts_list;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| parts_list::holds(data));
