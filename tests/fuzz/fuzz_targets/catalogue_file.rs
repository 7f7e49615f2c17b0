//! Any bytes as a catalogue file: see `catalogue_file.rs` of this package for what holds.
#![no_main]

#[path = "../src/catalogue_file.rs"]
mod catalogue_file;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let _ = catalogue_file::holds(data);
});
