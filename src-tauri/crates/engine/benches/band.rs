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
use engine::{
    BandRequest, Engine, EngineOptions, ImportRequest, NewRequest, RecordRequest, unwatched,
};

fn main() {
    divan::main();
}

struct Shelf {
    _folder: tempfile::TempDir,
    file: PathBuf,
}

fn open(file: &Path) -> Engine {
    open_with(file, None)
}

fn open_with(file: &Path, cache: Option<PathBuf>) -> Engine {
    let today = Some("2026-11-25".parse().expect("a date"));
    Engine::open(EngineOptions { catalogue: file.to_owned(), require_sandbox: true, today, cache })
        .expect("opened")
}

fn shelf() -> Shelf {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("seed.boxworth");
    let request = NewRequest { title: None, currency: "USD".into(), base_month: "2026-06".into() };
    Engine::create(&file, &request).expect("made");
    let seed = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../seed-catalog");
    open(&file)
        .import(&ImportRequest { paths: vec![seed], dry_run: false }, &mut unwatched)
        .expect("imported");
    Shelf { _folder: folder, file }
}

fn request(cabinet: f64) -> BandRequest {
    let weights = Some(BTreeMap::from([("cabinet".to_owned(), cabinet)]));
    BandRequest { low: Some(200.0), high: Some(500.0), weights, ..BandRequest::default() }
}

/// The seed seven times over under other invented makers, so that about 300 products can be ranked together.
fn long_shelf() -> Shelf {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("long.boxworth");
    let request = NewRequest { title: None, currency: "USD".into(), base_month: "2026-06".into() };
    Engine::create(&file, &request).expect("made");
    let seed = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../seed-catalog");
    for copy in 0..7 {
        let here = folder.path().join(format!("copy-{copy}"));
        copied(&seed, &here, copy);
        open(&file)
            .import(&ImportRequest { paths: vec![here], dry_run: false }, &mut unwatched)
            .expect("imported");
    }
    Shelf { _folder: folder, file }
}

/// A copy of a folder in which each maker has a number and each price is a little higher.
fn copied(from: &Path, to: &Path, copy: u32) {
    std::fs::create_dir_all(to).expect("a folder");
    for entry in std::fs::read_dir(from).expect("a folder").map(|it| it.expect("an entry")) {
        let (path, mut name) = (entry.path(), to.join(entry.file_name()));
        // The folder of a maker is named like the maker.
        if from.ends_with("products") {
            name = to.join(format!("{}-{copy}", entry.file_name().display()));
        }
        if path.is_dir() {
            copied(&path, &name, copy);
        } else if path.extension().is_some_and(|it| it == "toml") {
            let text = std::fs::read_to_string(&path).expect("text");
            std::fs::write(&name, renumbered(&text, copy)).expect("written");
        } else {
            std::fs::copy(&path, &name).expect("copied");
        }
    }
}

fn renumbered(text: &str, copy: u32) -> String {
    let line = |line: &str| {
        let quoted = |key: &str| {
            line.strip_prefix(key)?.trim_start_matches(" = ").strip_prefix('"')?.strip_suffix('"')
        };
        if let Some(maker) = quoted("maker") {
            format!("maker = \"{maker} {copy}\"")
        } else if let Some(amount) = quoted("amount").and_then(|it| it.parse::<f64>().ok()) {
            format!("amount = \"{:.2}\"", amount * (1.0 + 0.013 * f64::from(copy)))
        } else {
            line.to_owned()
        }
    };
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}

/// All of a long shelf.
fn whole_shelf(cabinet: f64) -> BandRequest {
    BandRequest { low: Some(1.0), high: Some(10_000.0), ..request(cabinet) }
}

/// 300 products, 10,000 draws, from a closed file.
#[divan::bench(sample_count = 5)]
fn long_band_cold(bencher: divan::Bencher<'_, '_>) {
    let shelf = long_shelf();
    bencher.bench_local(|| {
        let report = open(&shelf.file).band(&whole_shelf(25.0)).expect("a report");
        assert!(report.standings.len() >= 250, "{}", report.standings.len());
        report
    });
}

/// The same as the window starts, with the draws of its last start.
#[divan::bench(sample_count = 5)]
fn long_band_cold_with_draws_of_the_last_start(bencher: divan::Bencher<'_, '_>) {
    let shelf = long_shelf();
    let start = || {
        let cache = shelf.file.parent().map(|it| it.join("cache"));
        open_with(&shelf.file, cache).band(&whole_shelf(25.0)).expect("a report")
    };
    start();
    bencher.bench_local(start);
}

/// The same with other weights: findings are not drawn again.
#[divan::bench(sample_count = 10)]
fn long_band_after_a_weight_change(bencher: divan::Bencher<'_, '_>) {
    let shelf = long_shelf();
    let engine = open(&shelf.file);
    engine.band(&whole_shelf(25.0)).expect("a report");
    let mut weight = 25.0;
    bencher.bench_local(|| {
        weight += 1.0;
        engine.band(&whole_shelf(weight)).expect("a report")
    });
}

/// The whole answer after one finding of one product has changed: nobody else is computed or drawn again.
#[divan::bench(sample_count = 5)]
fn long_band_after_one_finding(bencher: divan::Bencher<'_, '_>) {
    let shelf = long_shelf();
    let engine = open(&shelf.file);
    let product = engine.band(&whole_shelf(25.0)).expect("a report").standings[0].product.clone();
    let mut thickness_mm = 12.0;
    bencher.bench_local(|| {
        thickness_mm += 0.1;
        let request = RecordRequest {
            product: product.clone(),
            finding: "cabinet.panel_thick.front".into(),
            value: format!("{thickness_mm:.1} mm"),
            ..RecordRequest::default()
        };
        assert!(engine.record(&request).expect("recorded").changed);
        engine.band(&whole_shelf(25.0)).expect("a report")
    });
    let kept = engine.band(&whole_shelf(25.0)).expect("a report");
    assert_eq!(kept, open(&shelf.file).band(&whole_shelf(25.0)).expect("a report"));
}

/// Who ranks where in a band of 300 products with 10,000 draws, from a closed file: quantities, plugins, draws, ranks.
#[divan::bench(sample_count = 10)]
fn long_ranks_cold(bencher: divan::Bencher<'_, '_>) {
    let shelf = long_shelf();
    bencher.bench_local(|| {
        let report = open(&shelf.file).ranks(&whole_shelf(25.0)).expect("a report");
        assert!(report.rows.len() >= 250, "{}", report.rows.len());
        report
    });
}

/// Who ranks where after a change of weights, with 300 products and 10,000 draws.
#[divan::bench(sample_count = 30)]
fn long_ranks_after_a_weight_change(bencher: divan::Bencher<'_, '_>) {
    let shelf = long_shelf();
    let engine = open(&shelf.file);
    engine.ranks(&whole_shelf(25.0)).expect("a report");
    let mut weight = 25.0;
    bencher.bench_local(|| {
        weight += 1.0;
        let report = engine.ranks(&whole_shelf(weight)).expect("a report");
        assert!(report.rows.len() >= 250, "{}", report.rows.len());
        report
    });
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
        let dossiers = Reader::open(&shelf.file)
            .and_then(|it| it.dossiers(&domain::dictionary::Dictionary::standard()))
            .expect("read");
        let air = physics::air::AIR20;
        let quantities: Vec<_> = dossiers
            .iter()
            .map(|it| physics::quantity::values(it, &air, &physics::quantity::Fits::default()))
            .collect();
        black_box(quantities).len()
    });
}
