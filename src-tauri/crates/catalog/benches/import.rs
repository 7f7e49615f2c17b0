//! Importing the seed catalogue against its peer: as many bare rows through the same SQLite, equally durable.
//!
//! Run with `cargo bench -p catalog`. The peer is the limit that reading, checking and superseding can approach.

use std::{
    hint::black_box,
    path::{Path, PathBuf},
};

use catalog::{Catalog, Info, plain, unwatched};
use domain::{dictionary::Dictionary, dossier::Dossier};
use rusqlite::Connection;

fn main() {
    divan::main();
}

fn seed() -> Vec<Dossier> {
    let folder: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../seed-catalog");
    plain::read(&[folder], &Dictionary::standard(), &mut unwatched)
        .expect("the seed catalogue is sound")
        .dossiers
}

fn rows(dossiers: &[Dossier]) -> usize {
    dossiers.iter().map(|it| it.findings().count() + it.prices.len() + it.jobs.len() + 2).sum()
}

fn empty(path: &Path) -> Catalog {
    let info = Info {
        title: "t".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    Catalog::create(path, &info).expect("a new catalogue")
}

/// From the files on disk to the checked dossiers.
#[divan::bench(sample_count = 20)]
fn read_files() -> usize {
    black_box(seed()).len()
}

/// From dossiers to a committed catalogue.
#[divan::bench(sample_count = 20)]
fn import(bencher: divan::Bencher<'_, '_>) {
    let dossiers = seed();
    bencher.with_inputs(|| tempfile::tempdir().expect("a folder")).bench_local_values(|folder| {
        let mut it = empty(&folder.path().join("a.boxworth"));
        it.import(&dossiers, None, "now", false, &mut unwatched).expect("imported");
        folder
    });
}

/// The peer: as many rows of the same size into one table, one transaction, WAL, synchronous FULL.
#[divan::bench(sample_count = 20)]
fn peer_bare_rows(bencher: divan::Bencher<'_, '_>) {
    let count = rows(&seed());
    bencher.with_inputs(|| tempfile::tempdir().expect("a folder")).bench_local_values(|folder| {
        let mut sql = Connection::open(folder.path().join("a.db")).expect("opened");
        sql.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(())).expect("WAL");
        sql.pragma_update(None, "synchronous", "FULL").expect("FULL");
        sql.execute_batch(
            "CREATE TABLE t (id INTEGER PRIMARY KEY, a TEXT, b TEXT, c TEXT, x REAL) STRICT",
        )
        .expect("a table");
        let transaction = sql.transaction().expect("begun");
        for i in 0..count {
            transaction
                .prepare_cached("INSERT INTO t (a, b, c, x) VALUES (?1, ?2, ?3, ?4)")
                .and_then(|mut it| it.execute(("cabinet", "outer_h", "312 mm, as typed", i as f64)))
                .expect("a row");
        }
        transaction.commit().expect("committed");
        drop(sql);
        folder
    });
}
