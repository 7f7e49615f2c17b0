//! What the command line prints, and how it refuses.

use std::{fs, io::Read};

use serde_json::Value;
use tests::{Bench, Ran};

use crate::same_as_kept;

/// The text with each SHA-256 replaced, since a compiler of another version makes other bytes.
fn without_hashes(text: &str) -> String {
    let is_hash = |it: &str| it.len() == 64 && it.bytes().all(|byte| byte.is_ascii_hexdigit());
    text.lines()
        .map(|line| match line.rsplit_once(' ') {
            // The size before it differs from compiler to compiler as well.
            Some((head, last)) if is_hash(last) => {
                let file = head.split_whitespace().next().unwrap_or_default();
                format!("{file} (bytes) (sha256)\n")
            }
            _ => format!("{line}\n"),
        })
        .collect()
}

#[test]
fn band() {
    same_as_kept("band", &Bench::seeded().run(&["band", "200..500"]).done());
}

#[test]
fn products() {
    same_as_kept("products", &Bench::seeded().run(&["products"]).done());
}

#[test]
fn show_of_a_product_with_sweep_and_network() {
    let bench = Bench::seeded();
    same_as_kept("show-full", &bench.run(&["show", "brackenwhistle/chanter-2"]).done());
}

#[test]
fn show_of_a_product_that_is_hardly_known() {
    let bench = Bench::seeded();
    same_as_kept("show-scant", &bench.run(&["show", "farrowmere/sedge-6"]).done());
}

#[test]
fn plugin_list() {
    let text = Bench::seeded().run(&["plugin", "list"]).done();
    let redacted = without_hashes(&text);
    assert_eq!(redacted.matches("(sha256)").count(), 4, "{text}");
    same_as_kept("plugin-list", &redacted);
}

#[test]
fn help() {
    same_as_kept("help", &Bench::empty().run(&["--help"]).done());
}

#[test]
fn text_and_json_name_the_same_products_in_the_same_order() {
    let bench = Bench::seeded();
    let text = bench.run(&["band", "200..500"]).done();
    let (text, value) = text.split_once("Value for money").unwrap();
    let report = bench.run(&["band", "200..500", "--json"]).answer();
    let names: Vec<String> = report["standings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| format!("{} {}", it["maker"].as_str().unwrap(), it["model"].as_str().unwrap()))
        .collect();
    assert!(names.len() > 10, "{names:?}");
    for table in [text, value] {
        let places: Vec<usize> =
            names.iter().map(|it| table.find(it.as_str()).expect(it)).collect();
        assert!(places.is_sorted(), "{names:?}");
    }
}

/// The statuses are a promise to scripts: 0 done, 1 negative answer, 2 refused.
#[test]
fn exit_statuses() {
    let bench = Bench::seeded();
    let status = |arguments: &[&str]| bench.run(arguments).status;
    assert_eq!(status(&["band", "200..500"]), 0);
    assert_eq!(status(&["--version"]), 0);
    assert_eq!(status(&["doctor"]), 0);
    for refused in [
        &["band", "500..200"][..],
        &["band", "two hundred"],
        &["band", "200..500", "--weights", "cabinet=lots"],
        &["band", "200..500", "--kind", "hanging"],
        &["show", "nobody/nothing"],
        &["products", "--missing", "cabinet.wheels"],
        &["import", "no/such/folder"],
        &["plugin", "revoke", "never-trusted"],
        &["plugin", "trust", "no/such/file.so"],
        &["bend"],
        &[],
    ] {
        assert_eq!(status(refused), 2, "{refused:?}");
    }
    // A plugin that is not the one of this build is a failed check.
    let mut doctor = bench.command(&["doctor"]);
    let spoiled = Ran::from(doctor.env("BOXWORTH_PLUGINS", bench.path("")).output().unwrap());
    assert_eq!(spoiled.status, 1, "{}", spoiled.out);
}

#[test]
fn with_json_errors_are_objects_on_standard_error() {
    let bench = Bench::seeded();
    for (arguments, code, place) in [
        (&["show", "nobody/nothing", "--json"][..], "unknown_product", "nobody/nothing"),
        (&["band", "500..200", "--json"], "bad_request", "band"),
        (&["bend", "--json"], "usage", ""),
    ] {
        let errors = bench.run(arguments).refusals();
        let [error] = &errors[..] else { panic!("{errors:?}") };
        assert_eq!(error["code"], code);
        assert_eq!(error["where"], place);
        for field in ["message", "accepted"] {
            let text = error[field].as_str().unwrap();
            assert!(!text.is_empty(), "{arguments:?}: {field}");
        }
        assert_eq!(error.as_object().unwrap().len(), 4, "{error}");
    }
}

#[test]
fn data_and_complaints_do_not_mix() {
    let bench = Bench::seeded();
    let refused = bench.run(&["show", "nobody/nothing"]);
    assert_eq!(refused.out, "");
    assert!(refused.err.contains("nobody/nothing"), "{}", refused.err);
    let list: Value = bench.run(&["products", "--json", "--band", "200..500"]).answer();
    assert!(!list["products"].as_array().unwrap().is_empty());
}

/// As with `boxworth … | head -1`. The answer is longer than a pipe holds (64 KiB on Linux: pipe(7)), so that writing
/// goes on after the reader has left.
#[test]
fn a_reader_that_has_seen_enough_is_no_failure() {
    let bench = Bench::seeded();
    let whole = bench.run(&["band", "..", "--json"]);
    let length = whole.done().len();
    assert!(length > 1 << 16, "{length} bytes fit into a pipe");
    let mut child = bench.start(&["band", "..", "--json"]);
    let mut first = [0_u8; 1];
    child.stdout.take().unwrap().read_exact(&mut first).unwrap();
    let ran = Ran::from(child.wait_with_output().unwrap());
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
}

#[test]
fn a_catalogue_of_a_newer_format_is_refused_and_left_alone() {
    let bench = Bench::empty();
    let mut bytes = fs::read(bench.catalogue()).unwrap();
    // The user version stands big-endian at offset 60: SQLite file format, section 1.3.
    bytes[60..64].copy_from_slice(&9_999_u32.to_be_bytes());
    fs::write(bench.catalogue(), &bytes).unwrap();
    refused_unchanged(&bench, "newer_file");
}

#[test]
fn a_file_that_is_no_catalogue_is_refused_and_left_alone() {
    let bench = Bench::empty();
    // Another program's database: the application id stands big-endian at offset 68, same source as above.
    let mut other = fs::read(bench.catalogue()).unwrap();
    other[68..72].copy_from_slice(&0x1234_5678_u32.to_be_bytes());
    for bytes in [other, b"a shopping list\n".to_vec(), vec![0; 4096], Vec::new()] {
        fs::write(bench.catalogue(), bytes).unwrap();
        refused_unchanged(&bench, "foreign_file");
    }
}

fn refused_unchanged(bench: &Bench, code: &str) {
    let before = bench.files();
    let seed = tests::seed();
    for arguments in [&["products", "--json"][..], &["import", "--json", seed.to_str().unwrap()]] {
        let errors = bench.run(arguments).refusals();
        assert_eq!(errors.len(), 1);
        assert_eq!(errors[0]["code"], code, "{}", errors[0]);
    }
    assert!(bench.files() == before, "the file was changed");
    let beside = fs::read_dir(bench.path("")).unwrap().count();
    assert_eq!(beside, 1, "files were left beside the catalogue");
}

#[test]
fn new_never_writes_over_a_file() {
    let bench = Bench::empty();
    for bytes in [fs::read(bench.catalogue()).unwrap(), b"a diary\n".to_vec()] {
        fs::write(bench.catalogue(), &bytes).unwrap();
        let file = bench.catalogue();
        let errors = bench.run(&["new", "--json", file.to_str().unwrap()]).refusals();
        assert_eq!(errors[0]["code"], "exists");
        assert!(fs::read(&file).unwrap() == bytes, "the file was changed");
    }
}

#[test]
fn without_a_catalogue_the_way_to_one_is_named() {
    let bench = Bench::empty();
    fs::remove_file(bench.catalogue()).unwrap();
    let ran = bench.run(&["products"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("boxworth new"), "{}", ran.err);
    assert!(!bench.catalogue().exists());
}
