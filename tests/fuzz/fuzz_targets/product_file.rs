//! Any bytes as a product file: see `product_file.rs` of this package for what holds.
#![no_main]

#[path = "../src/product_file.rs"]
mod product_file;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let _ = product_file::holds(data);
});
