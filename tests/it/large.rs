//! A catalogue that is too large to be computed as a whole answers as a small one does: the seed among 1,500 products that
//! are invented, bare and far dearer, so that nothing about the band of the seed may change.

use std::{fmt::Write as _, fs};

use serde_json::Value;
use tests::Bench;

/// More than the program scores as a whole.
const DEAR: usize = 1_500;
const BAND: &str = "200..500";

/// The seed, and a whole shelf of products that nobody opened; every tenth has no price.
fn large() -> Bench {
    let bench = Bench::seeded();
    let folder = bench.path("dear");
    fs::create_dir(&folder).unwrap();
    let mut files = Vec::new();
    for it in 0..DEAR {
        let mut text = format!(
            "maker = \"Ostentor\"\nmodel = \"Vault {it}\"\nkind = \"stand-mount\"\nways = 2\nyear = 2024\n"
        );
        if it % 10 != 0 {
            write!(
                text,
                "\n[[price]]\namount = \"{}.00\"\ncurrency = \"USD\"\nbasis = \"pair\"\ndate = \"2026-09-01\"\nkind = \"street\"\nseller = \"authorised\"\n",
                5_000 + it
            )
            .unwrap();
        }
        let file = folder.join(format!("vault-{it}.toml"));
        fs::write(&file, text).unwrap();
        files.push(file.to_str().unwrap().to_owned());
    }
    let arguments: Vec<&str> =
        ["import"].into_iter().chain(files.iter().map(String::as_str)).collect();
    let _ = bench.run(&arguments).done();
    bench
}

/// An answer without what it says of products that have no price, of which the large shelf has more.
fn about_the_band(mut report: Value) -> Value {
    for of in ["remarks", "left_out"] {
        report.as_object_mut().unwrap().remove(of);
    }
    report
}

#[test]
fn what_is_far_from_the_band_changes_nothing_in_it() {
    let (small, large) = (Bench::seeded(), large());
    for question in [
        &["band", BAND][..],
        &["normal", BAND],
        &["stability", BAND],
        &["next", BAND],
        &["compare", "skerrymoor/voe-6", "quillcove/limpet-2"],
        &["show", "skerrymoor/voe-6"],
        &["claims", "judge", "good-value product=skerrymoor/voe-6 band=200..500"],
        &["claims", "judge", "few where=\"cabinet.brace_count = 0\" band=200..500"],
    ] {
        let arguments = [question, &["--json"]].concat();
        let one = about_the_band(small.run(&arguments).answer());
        let other = about_the_band(large.run(&arguments).answer());
        assert!(one == other, "{question:?}");
    }

    // All of the shelf is too much for one list, and what to ask instead is said.
    let refused = large.run(&["band", "..", "--json"]).refusals();
    let text = refused[0].to_string();
    assert!(text.contains("at most 1500 are ranked together"), "{text}");
    assert!(text.contains("a narrower band, such as "), "{text}");

    // Every product is listed, with its findings counted.
    let listed = large.run(&["products", "--json"]).answer();
    let rows = listed["products"].as_array().unwrap();
    assert!(rows.len() > DEAR && rows.iter().all(|it| it["completeness"].is_number()));

    // An edition keeps what it rests on and comes out again.
    let _ = large.run(&["publish", BAND, "--json"]).answer();
    let check = large.run(&["editions", "--check", "1", "--json"]).answer();
    assert_eq!(check["is_same"], true, "{check}");
}
