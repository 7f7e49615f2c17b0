//! The kept inputs of the fuzz targets for frames: all hold, and they are not all refused at the first byte.

#[path = "../../../../../tests/fuzz/src/frames.rs"]
mod frames;
#[path = "../../../../../tests/fuzz/src/manifest_text.rs"]
mod manifest_text;

use std::fs;
use std::io::Cursor;
use std::path::PathBuf;

use wire::{FromWorker, ToWorker};

use crate::testing::repository;

fn corpus(target: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = repository().join("tests/fuzz/corpus").join(target);
    let files = fs::read_dir(folder).unwrap().map(|it| it.unwrap().path());
    files.map(|path| (path.clone(), fs::read(path).unwrap())).collect()
}

#[test]
fn kept_streams_of_both_directions_hold() {
    let manifest = frames::manifest();
    let (mut from, mut to) = (0, 0);
    for (_, data) in corpus("from_worker") {
        frames::hold_for_host(&manifest, &data);
        from +=
            usize::from(matches!(wire::read::<FromWorker>(&mut Cursor::new(&data)), Ok(Some(_))));
    }
    for (_, data) in corpus("to_worker") {
        frames::hold_for_worker(&data);
        to += usize::from(matches!(wire::read::<ToWorker>(&mut Cursor::new(&data)), Ok(Some(_))));
    }
    assert!(5 <= from && 4 <= to, "{from} and {to} streams begin with a message");
}

#[test]
fn kept_manifests_hold() {
    let all = corpus("manifest_text");
    let read = all.iter().filter(|(_, data)| manifest_text::holds(data)).count();
    assert!((2..all.len()).contains(&read), "{read} of {} are manifests", all.len());
}
