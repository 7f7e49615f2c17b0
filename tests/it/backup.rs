//! Copies of a catalogue and the way back, at the terminal.

use std::fs;

use serde_json::Value;
use tests::Bench;

const PRODUCT: &str = "thistlequern/grist-5";
const BRACES: &str = "cabinet.brace_count";

fn json(bench: &Bench, args: &[&str]) -> Value {
    bench.run(&[args, &["--json"]].concat()).answer()
}

fn braces(bench: &Bench) -> Value {
    let sheet = json(bench, &["show", PRODUCT]);
    let mut list = sheet["findings"].as_array().unwrap().iter();
    list.find(|it| it["address"] == BRACES).map_or(Value::Null, |it| it["typed"].clone())
}

fn occasions(bench: &Bench) -> Vec<String> {
    let list = json(bench, &["backup", "--list"]);
    let copies = list["copies"].as_array().unwrap().iter();
    copies.map(|it| it["occasion"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn the_first_change_of_a_day_makes_one_copy_of_what_was_before() {
    let bench = Bench::seeded();
    assert!(occasions(&bench).is_empty());
    let before = braces(&bench);
    let _ = bench.run(&["record", PRODUCT, BRACES, "3"]).done();
    let _ = bench.run(&["record", PRODUCT, BRACES, "5"]).done();
    assert_eq!(occasions(&bench), ["daily"]);
    let copy = json(&bench, &["backup", "--list"])["copies"][0]["file"].clone();
    let copy = copy.as_str().unwrap();

    // It is older than the catalogue, so it takes a word to go back to it.
    let refused = bench.run(&["restore", copy, "--json"]).refusals();
    assert!(refused[0]["accepted"].as_str().unwrap().contains("--discard-newer"), "{refused:?}");
    assert_eq!(braces(&bench), "5");
    let report = json(&bench, &["restore", copy, "--discard-newer"]);
    assert_eq!(braces(&bench), before);
    // What was there is kept, and leads forward again.
    let kept = report["kept"].as_str().unwrap();
    let _ = bench.run(&["restore", kept]).done();
    assert_eq!(braces(&bench), "5");
}

#[test]
fn a_lost_and_a_damaged_catalogue_come_back() {
    let bench = Bench::seeded();
    let band = bench.run(&["band", "200..500"]).done();
    let made = json(&bench, &["backup"]);
    let copy = made["made"]["file"].as_str().unwrap();

    fs::remove_file(bench.catalogue()).unwrap();
    drop(fs::remove_file(bench.path("shelf.boxworth-wal")));
    drop(fs::remove_file(bench.path("shelf.boxworth-shm")));
    let _ = bench.run(&["restore", copy]).done();
    assert_eq!(bench.run(&["band", "200..500"]).done(), band);

    // A file that says no longer what it is: kept to the last byte, and replaced only at a word.
    let mut bytes = fs::read(bench.catalogue()).unwrap();
    bytes[..100].fill(0);
    fs::write(bench.catalogue(), &bytes).unwrap();
    let refused = bench.run(&["restore", copy, "--json"]).refusals();
    assert!(refused[0]["accepted"].as_str().unwrap().contains("--discard-newer"), "{refused:?}");
    assert_eq!(fs::read(bench.catalogue()).unwrap(), bytes);
    let report = json(&bench, &["restore", copy, "--discard-newer"]);
    assert_eq!(bench.run(&["band", "200..500"]).done(), band);
    assert_eq!(fs::read(report["kept"].as_str().unwrap()).unwrap(), bytes);
}

/// Not only findings are work that could be lost.
#[test]
fn a_copy_is_older_than_a_rubric_a_claim_or_an_edition_made_since() {
    for change in [
        &["rubric", "set", "subsystem.cabinet", "30", "--reason", "boxes matter more"][..],
        &["claims", "add", "best product=thistlequern/grist-6 of=cabinet band=200..500"],
        &["price", "add", PRODUCT, "249"],
        &["publish", "200..500"],
    ] {
        let bench = Bench::seeded();
        let made = json(&bench, &["backup"]);
        let copy = made["made"]["file"].as_str().unwrap();
        // Times are kept to the second.
        std::thread::sleep(std::time::Duration::from_millis(1100));
        let ran = bench.run(change);
        assert_eq!(ran.status, 0, "{change:?}: {}", ran.err);
        let refused = bench.run(&["restore", copy, "--json"]).refusals();
        assert!(refused[0]["message"].as_str().unwrap().contains("is older than"), "{refused:?}");
    }
}

#[test]
fn a_copy_that_is_not_sound_restores_nothing() {
    let bench = Bench::seeded();
    let made = json(&bench, &["backup"]);
    let copy = made["made"]["file"].as_str().unwrap();
    let mut bytes = fs::read(copy).unwrap();
    for byte in &mut bytes[8192..65536] {
        *byte = !*byte;
    }
    fs::write(copy, bytes).unwrap();
    let before = bench.files();
    let ran = bench.run(&["restore", copy, "--discard-newer"]);
    assert_eq!(ran.status, 2, "{}", ran.err);
    assert_eq!(bench.files(), before);
}
