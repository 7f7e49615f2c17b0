//! Any text as the manifest of a plugin: see `manifest_text.rs` of this package for what holds.
#![no_main]

#[path = "../src/manifest_text.rs"]
mod manifest_text;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let _ = manifest_text::holds(data);
});
