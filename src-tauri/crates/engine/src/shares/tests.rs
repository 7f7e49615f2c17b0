//! Parts that are read at once are of one state of the file, whoever writes meanwhile and whatever lies at its place.

use std::{
    fs,
    path::PathBuf,
    sync::atomic::{AtomicBool, Ordering},
};

use super::*;
use crate::{EngineOptions, RecordRequest};

fn open(catalogue: PathBuf) -> Engine {
    let today = Some(generate::AS_OF.parse().unwrap());
    Engine::open(EngineOptions { catalogue, require_sandbox: false, today, cache: None }).unwrap()
}

fn engine(folder: &tempfile::TempDir, name: &str, products: usize) -> Engine {
    let catalogue = folder.path().join(name);
    generate::write(&catalogue, 0, products, &mut |_| {}).unwrap();
    open(catalogue)
}

fn record(engine: &Engine) {
    let request = RecordRequest {
        product: generate::product(0, 3).product.key.to_string(),
        finding: "cabinet.panel_thick.front".into(),
        value: "17.5 mm".into(),
        ..RecordRequest::default()
    };
    engine.record(&request).unwrap();
}

#[test]
fn parts_come_in_their_order() {
    let folder = tempfile::tempdir().unwrap();
    let engine = engine(&folder, "a.boxworth", 5);
    let all: Vec<usize> = (0..100).collect();
    let read = engine.read_at_once(&parts(&all), |_, some| Ok(some.to_vec())).unwrap();
    assert_eq!(read.concat(), all);
    assert_eq!(parts(&all[..WORTH_SHARING - 1]).len(), 1);
    assert!(parts::<usize>(&[]).is_empty());
}

#[test]
fn a_write_between_two_parts_is_in_all_of_them() {
    let folder = tempfile::tempdir().unwrap();
    let engine = engine(&folder, "a.boxworth", 5);
    let (before, _) = engine.reader().finding_counts().unwrap();
    let other = open(engine.catalogue().to_owned());
    let wrote = AtomicBool::new(false);
    let counts = engine.read_at_once(&[0, 1, 2], |reader, _| {
        let count = reader.finding_counts()?.0;
        if !wrote.swap(true, Ordering::SeqCst) {
            record(&other);
        }
        Ok(count)
    });
    assert_eq!(counts.unwrap(), [before + 1; 3]);
}

#[test]
fn a_file_that_was_put_in_the_place_of_the_open_one_is_not_mixed_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let (engine, other) = (engine(&folder, "a.boxworth", 5), engine(&folder, "b.boxworth", 4));
    record(&other);
    let there = other.catalogue().to_owned();
    drop(other);
    let products =
        |engine: &Engine| engine.read_at_once(&[0, 1], |reader, _| Ok(reader.product_count()?));
    fs::remove_file(engine.catalogue()).unwrap();
    assert_eq!(products(&engine).unwrap(), [5, 5]);
    fs::hard_link(there, engine.catalogue()).unwrap();
    assert_eq!(products(&engine).unwrap(), [5, 5]);
}
