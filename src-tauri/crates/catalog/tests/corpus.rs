//! The kept inputs of the fuzz targets that read what a person or a stranger brings: each holds, and some get to the end.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail like tests")]

use std::{fs, path::Path};

#[path = "../../../../tests/fuzz/src/catalogue_file.rs"]
mod catalogue_file;
#[path = "../../../../tests/fuzz/src/parts_list.rs"]
mod parts_list;
#[path = "../../../../tests/fuzz/src/product_file.rs"]
mod product_file;
#[path = "../../../../tests/fuzz/src/reading.rs"]
mod reading;

fn corpus(target: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/fuzz/corpus");
    let files = fs::read_dir(folder.join(target)).unwrap();
    files.map(|it| fs::read(it.unwrap().path()).unwrap()).collect()
}

#[test]
fn the_kept_numbers_and_parts_lists_hold() {
    let (numbers, lists) = (corpus("reading"), corpus("parts_list"));
    assert!(numbers.len() >= 20 && lists.len() >= 5, "{} and {}", numbers.len(), lists.len());
    numbers.iter().for_each(|it| reading::holds(it));
    lists.iter().for_each(|it| parts_list::holds(it));
}

#[test]
fn the_kept_product_files_hold() {
    let taken = corpus("product_file").iter().filter(|it| product_file::holds(it)).count();
    assert!((2..8).contains(&taken), "{taken} are products");
}

#[test]
fn the_kept_catalogue_files_hold() {
    let all = corpus("catalogue_file");
    let read = all.iter().filter(|it| catalogue_file::holds(it)).count();
    assert!((3..all.len() - 3).contains(&read), "{read} of {} are catalogues", all.len());
}
