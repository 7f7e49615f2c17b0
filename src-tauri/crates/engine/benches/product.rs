//! All quantities of one product: the seed product that takes longest, and every product of the seed.
//!
//! Run with `cargo xtask bench`. Reading the files is not counted.

use std::{hint::black_box, path::Path, time::Instant};

use catalog::{plain, unwatched};
use divan::counter::ItemsCount;
use domain::{dictionary::Dictionary, dossier::Dossier};
use physics::{air::AIR20, quantity::quantities};

fn main() {
    divan::main();
}

fn seed() -> Vec<Dossier> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../seed-catalog");
    plain::read(&[folder], &Dictionary::standard(), &mut unwatched)
        .expect("the seed catalogue is sound")
        .dossiers
}

/// The product that takes longest.
#[divan::bench(sample_count = 100)]
fn slowest_product(bencher: divan::Bencher<'_, '_>) {
    let dossiers = seed();
    let slowest = dossiers
        .iter()
        .max_by_key(|it| {
            // The best of three: an interruption is not the product's.
            let time = |_| {
                let start = Instant::now();
                black_box(quantities(it, &AIR20));
                start.elapsed()
            };
            (0..3).map(time).min()
        })
        .expect("a product");
    bencher.bench_local(|| quantities(black_box(slowest), &AIR20));
}

/// Every product; the time of one is the reciprocal of the rate.
#[divan::bench(sample_count = 20)]
fn whole_seed(bencher: divan::Bencher<'_, '_>) {
    let dossiers = seed();
    bencher.counter(ItemsCount::new(dossiers.len())).bench_local(|| {
        dossiers.iter().map(|it| quantities(black_box(it), &AIR20).len()).sum::<usize>()
    });
}
