//! Any bytes as the input of any calculation that answers at once: see `compute_json.rs` of this
//! package for what holds.
#![no_main]

#[path = "../src/compute_json.rs"]
mod compute_json;
#[path = "../src/slow.rs"]
mod slow;

use libfuzzer_sys::{Corpus, fuzz_target};

fuzz_target!(|data: &[u8]| -> Corpus {
    if slow::is_slow(data) {
        return Corpus::Reject;
    }
    compute_json::holds(data);
    Corpus::Keep
});
