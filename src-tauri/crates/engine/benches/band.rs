//! Ranking the band 200..500 of the seed catalogue, cold and after a change of weights.
//!
//! Run with `cargo xtask bench`, which builds worker and plugins first and says where they are.
//! The peer reads the same rows and computes the same quantities, but scores nothing: the difference is what four
//! sandboxed plugins and the standings cost.

use std::{
    collections::BTreeMap,
    hint::black_box,
    path::{Path, PathBuf},
};

use catalog::Reader;
use engine::{BandRequest, Engine, EngineOptions, ImportRequest, NewRequest};

fn main() {
    divan::main();
}

struct Shelf {
    _folder: tempfile::TempDir,
    file: PathBuf,
}

fn open(file: &Path) -> Engine {
    let today = Some("2026-11-25".parse().expect("a date"));
    Engine::open(EngineOptions { catalogue: file.to_owned(), require_sandbox: true, today })
        .expect("opened")
}

fn shelf() -> Shelf {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("seed.boxworth");
    let request = NewRequest { title: None, currency: "USD".into(), base_month: "2026-06".into() };
    Engine::create(&file, &request).expect("made");
    let seed = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../seed-catalog");
    open(&file)
        .import(&ImportRequest { paths: vec![seed], dry_run: false }, &mut |_| {})
        .expect("imported");
    Shelf { _folder: folder, file }
}

fn request(cabinet: f64) -> BandRequest {
    let weights = Some(BTreeMap::from([("cabinet".to_owned(), cabinet)]));
    BandRequest { low: Some(200.0), high: Some(500.0), kind: None, weights }
}

/// Open the file, start four workers, score all products, rank the band.
#[divan::bench(sample_count = 20)]
fn cold(bencher: divan::Bencher<'_, '_>) {
    let shelf = shelf();
    bencher.bench_local(|| {
        let report = open(&shelf.file).band(&request(25.0)).expect("a report");
        assert!(report.remarks.iter().all(|it| it.code != "not_scored"), "{:?}", report.remarks);
        report
    });
}

/// The same question with other weights: only the standings are made anew.
#[divan::bench(sample_count = 100)]
fn after_a_weight_change(bencher: divan::Bencher<'_, '_>) {
    let shelf = shelf();
    let engine = open(&shelf.file);
    engine.band(&request(25.0)).expect("a report");
    let mut weight = 25.0;
    bencher.bench_local(|| {
        weight += 1.0;
        engine.band(&request(weight)).expect("a report")
    });
}

/// The peer: read and compute, score nothing.
#[divan::bench(sample_count = 20)]
fn peer_without_scoring(bencher: divan::Bencher<'_, '_>) {
    let shelf = shelf();
    bencher.bench_local(|| {
        let dossiers = Reader::open(&shelf.file).and_then(|it| it.dossiers()).expect("read");
        let air = physics::air::AIR20;
        let quantities: Vec<_> =
            dossiers.iter().map(|it| physics::quantity::quantities(it, &air)).collect();
        black_box(quantities).len()
    });
}
