//! Sweeps through the program: read in any plain form, fitted, recorded, taken back.

use serde_json::Value;
use tests::Bench;

/// A product with sweeps of the whole and of its woofer in the seed.
const PRODUCT: &str = "skerrymoor/voe-6";

fn json(bench: &Bench, args: &[&str]) -> Value {
    bench.run(&[args, &["--json"]].concat()).answer()
}

#[test]
fn a_sweep_is_read_fitted_recorded_and_taken_back() {
    let bench = Bench::seeded();
    let show = ["sweep", "show", PRODUCT, "woofer"];
    let before = json(&bench, &show);
    assert_eq!(before["recorded"], true);
    assert!(before["fit"]["parameters"][0]["shown"].as_str().unwrap().contains('±'), "{before}");
    // The same columns in kHz, parted by semicolons, with decimal commas.
    let seed = tests::seed().join("sweeps/skerrymoor/voe-6-woofer.csv");
    let mut text = String::from("f (kHz);Z (ohm)\n");
    for line in std::fs::read_to_string(seed).unwrap().lines() {
        let cells: Vec<f64> = line.split(',').filter_map(|it| it.trim().parse().ok()).collect();
        if let [f_hz, z_ohm, ..] = cells[..] {
            let row = format!("{};{}\n", f_hz / 1000.0, z_ohm).replace('.', ",");
            text.push_str(&row);
        }
    }
    let file = bench.path("sweep.txt");
    std::fs::write(&file, text).unwrap();
    let read = ["sweep", "read", PRODUCT, "woofer", file.to_str().unwrap(), "--note", "rig B"];
    let dry = json(&bench, &[&read[..], &["--dry-run"]].concat());
    assert_eq!((&dry["changed"], &dry["recorded"]), (&Value::Bool(false), &Value::Bool(false)));
    let remarks = dry["remarks"].to_string();
    assert!(remarks.contains("kHz to Hz") && remarks.contains("decimal"), "{remarks}");
    assert_eq!(json(&bench, &show), before);
    let done = json(&bench, &read);
    assert_eq!((&done["changed"], &done["note"]), (&Value::Bool(true), &Value::from("rig B")));
    assert_eq!(json(&bench, &["undo"])["changes"], 1);
    assert_eq!(json(&bench, &show), before);
    assert_eq!(json(&bench, &["sweep", "remove", PRODUCT, "woofer"])["changed"], true);
    assert_eq!(json(&bench, &show)["points"], 0);
    let _ = json(&bench, &["undo"]);
    assert_eq!(json(&bench, &show), before);
}

#[test]
fn what_is_no_sweep_is_refused_at_its_line() {
    let bench = Bench::seeded();
    let file = bench.path("bad.csv");
    let rows: String = (1..=25).map(|i| format!("{},6.5\n", 10 * i)).collect();
    std::fs::write(&file, format!("{rows}260,six\n")).unwrap();
    let file = file.to_str().unwrap();
    let refused = bench.run(&["sweep", "read", PRODUCT, "woofer", file, "--json"]).refusals();
    assert_eq!(refused[0]["where"], "line 26: magnitude", "{refused:?}");
    let refused = bench.run(&["sweep", "show", PRODUCT, "cabinet", "--json"]).refusals();
    assert!(refused[0]["accepted"].as_str().unwrap().contains("woofer"), "{refused:?}");
}
