//! Photos through the program: kept under their hash without their place, described, taken out, and looked after.

use std::{fs, path::PathBuf};

use serde_json::Value;
use tests::Bench;

const PRODUCT: &str = "tarnhollow/scree-6";

/// A picture of 4 by 2 pixels with an invented place, written by Pillow 13, which has nothing to do with this program.
fn picture(bench: &Bench) -> PathBuf {
    let path = bench.path("IMG_0042.jpg");
    fs::copy(tests::repository().join("tests/fixtures/photos/with-place.jpg"), &path).unwrap();
    path
}

fn json(bench: &Bench, args: &[&str]) -> Value {
    bench.run(&[args, &["--json"]].concat()).answer()
}

#[test]
fn a_photo_is_kept_without_its_place_described_and_taken_back() {
    let bench = Bench::seeded();
    let file = picture(&bench);
    let file = file.to_str().unwrap();
    assert!(fs::read(file).unwrap().windows(4).any(|it| it == b"Exif"));
    let add = ["photo", "add", PRODUCT, file, "--of", "woofer.basket", "--caption", "the basket"];
    let kept = json(&bench, &add);
    let photo = &kept["photo"];
    assert_eq!((&kept["changed"], &photo["location_removed"]), (&true.into(), &true.into()));
    assert!(photo["removed"].as_str().unwrap().starts_with("location"), "{photo}");
    let lies = photo["file"].as_str().unwrap();
    assert!(lies.contains(".boxworth.photos"), "{lies}");
    let bytes = fs::read(lies).unwrap();
    assert!(!bytes.windows(4).any(|it| it == b"Exif"));
    // Lying on its side in the file, upright when kept.
    assert_eq!((&photo["width"], &photo["height"]), (&2.into(), &4.into()));

    let list = json(&bench, &["photo", "list", PRODUCT]);
    assert_eq!(list["photos"][0]["shows"], "woofer, frame");
    let short = photo["short"].as_str().unwrap().to_owned();
    assert_eq!(json(&bench, &add)["changed"], false);
    let _ = json(&bench, &["photo", "change", PRODUCT, &short, "--caption", "cast, not stamped"]);
    let history = json(&bench, &["history", PRODUCT]).to_string();
    assert!(
        history.contains("photo of woofer.basket") && history.contains("cast, not"),
        "{history}"
    );
    assert_eq!(json(&bench, &["photo", "remove", PRODUCT, &short])["changed"], true);
    assert_eq!(json(&bench, &["photo", "list", PRODUCT])["photos"], Value::Array(vec![]));
    let _ = json(&bench, &["undo"]);
    assert_eq!(
        json(&bench, &["photo", "list", PRODUCT])["photos"][0]["caption"],
        "cast, not stamped"
    );
    // No copy holds photos, and who makes one is told.
    let told = json(&bench, &["backup"])["photos"].as_str().unwrap().to_owned();
    assert!(told.starts_with("Photos are not in the copies: 1 file"), "{told}");

    fs::write(lies, "other").unwrap();
    let faults = bench.run(&["photo", "show", PRODUCT, &short, "--json"]).refusals();
    assert!(faults[0]["message"].as_str().unwrap().contains("was changed"), "{faults:?}");
    let doctor = bench.run(&["doctor", "--json"]);
    assert_ne!(doctor.status, 0);
    assert!(doctor.out.contains("was changed"), "{}", doctor.out);
}

#[test]
fn what_is_no_photo_or_shows_nothing_is_refused_and_leaves_nothing() {
    let bench = Bench::seeded();
    let file = picture(&bench);
    let file = file.to_str().unwrap();
    let text = bench.path("a.jpg");
    fs::write(&text, "no picture").unwrap();
    let text = text.to_str().unwrap();
    for (args, place) in [
        (vec!["photo", "add", PRODUCT, text], "photo"),
        (vec!["photo", "add", PRODUCT, file, "--of", "woofer.colour"], "of"),
        (vec!["photo", "add", PRODUCT, file, "--of", "amplifier"], "of"),
        (vec!["photo", "add", PRODUCT, file, "--of", "woofer", "--date", "1999-01-01"], "date"),
        (vec!["photo", "show", PRODUCT, "../../etc/passwd"], "photo"),
    ] {
        let refused = bench.run(&[&args[..], &["--json"]].concat()).refusals();
        assert_eq!(refused[0]["where"], place, "{args:?}: {refused:?}");
    }
    assert_eq!(json(&bench, &["photo", "list", PRODUCT])["photos"], Value::Array(vec![]));
    assert_eq!(json(&bench, &["photo", "clean"])["deleted"], Value::Array(vec![]));
}
