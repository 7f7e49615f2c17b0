//! Any bytes as what a worker says: see `frames.rs` of this package for what holds.
#![no_main]

#[path = "../src/frames.rs"]
#[expect(dead_code, reason = "the other direction has a target of its own")]
mod frames;

use std::sync::OnceLock;

use bw_sdk::manifest::Manifest;
use libfuzzer_sys::fuzz_target;

static MANIFEST: OnceLock<Manifest> = OnceLock::new();

fuzz_target!(|data: &[u8]| frames::hold_for_host(MANIFEST.get_or_init(frames::manifest), data));
