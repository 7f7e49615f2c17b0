//! Listing, searching and opening catalogues of 1,000 and 10,000 invented products.
//!
//! Run with `cargo bench -p engine --bench shelf`. No plugin is loaded: this is reading alone. From one size to the next
//! everything but one product's sheet of prices should take ten times as long, and that as long as before.

use engine::{Engine, EngineOptions, ProductsRequest, ShowRequest};

fn main() {
    divan::main();
}

struct Shelf {
    _folder: tempfile::TempDir,
    options: EngineOptions,
    product: String,
}

fn shelf(count: usize) -> Shelf {
    let folder = tempfile::tempdir().expect("a folder");
    let catalogue = folder.path().join("large.boxworth");
    generate::write(&catalogue, 0, count, &mut |_| {}).expect("written");
    let today = Some(generate::AS_OF.parse().expect("a date"));
    let product = generate::product(0, count / 2).product.key.to_string();
    Shelf {
        _folder: folder,
        options: EngineOptions { catalogue, require_sandbox: false, today, cache: None },
        product,
    }
}

fn open(shelf: &Shelf) -> Engine {
    Engine::open(shelf.options.clone()).expect("opened")
}

const SIZES: [usize; 2] = [1_000, 10_000];

/// From a closed file.
#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn list_cold(bencher: divan::Bencher<'_, '_>, count: usize) {
    let shelf = shelf(count);
    bencher.bench_local(|| open(&shelf).products(&ProductsRequest::default()).expect("a list"));
}

/// As the window asks each time it is returned to.
#[divan::bench(args = SIZES, sample_count = 20, sample_size = 1)]
fn list_again(bencher: divan::Bencher<'_, '_>, count: usize) {
    let shelf = shelf(count);
    let engine = open(&shelf);
    engine.products(&ProductsRequest::default()).expect("a list");
    bencher.bench_local(|| engine.products(&ProductsRequest::default()).expect("a list"));
}

/// Words in names and findings.
#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn search(bencher: divan::Bencher<'_, '_>, count: usize) {
    let shelf = shelf(count);
    let engine = open(&shelf);
    let request =
        ProductsRequest { words: Some("hot glue rev b".into()), ..ProductsRequest::default() };
    bencher.bench_local(|| engine.products(&request).expect("a list"));
}

/// One product among many.
#[divan::bench(args = SIZES, sample_count = 50, sample_size = 1)]
fn prices_of_one(bencher: divan::Bencher<'_, '_>, count: usize) {
    let shelf = shelf(count);
    let engine = open(&shelf);
    let request = ShowRequest { product: shelf.product.clone() };
    bencher.bench_local(|| engine.prices(&request).expect("prices"));
}
