//! The parts list of a crossover through the program: changed part by part, refused by name, taken back.

use serde_json::Value;
use tests::Bench;

/// A two-way whose crossover is traced in the seed.
const PRODUCT: &str = "brackenwhistle/chanter-2";

fn json(bench: &Bench, args: &[&str]) -> Value {
    bench.run(&[args, &["--json"]].concat()).answer()
}

fn part(list: &Value, name: &str) -> Option<Value> {
    list["parts"].as_array().unwrap().iter().find(|it| it["name"] == name).cloned()
}

#[test]
fn a_part_is_changed_added_removed_and_taken_back() {
    let bench = Bench::seeded();
    let before = json(&bench, &["network", "show", PRODUCT]);
    assert_eq!(before["recorded"], true);
    let set =
        ["network", "set", PRODUCT, "R1", "value=0.82 ohm", "tolerance=", "--reason", "read again"];
    let changed = json(&bench, &set);
    assert_eq!(changed["changed"], true);
    let r1 = part(&changed, "R1").unwrap();
    assert_eq!((&r1["value"], &r1["tolerance"]), (&Value::from("0.82 ohm"), &Value::from("")));
    assert_eq!(json(&bench, &set)["changed"], false, "the same again is no change");
    let add = ["network", "set", PRODUCT, "R7", "kind=resistor", "from=w", "to=0", "value=47 ohm"];
    let added = json(&bench, &add);
    assert_eq!(part(&added, "R7").unwrap()["value"], "47 ohm");
    // The drawing follows: one symbol a part, each with the place of its row.
    let symbols = added["schematic"]["symbols"].as_array().unwrap();
    assert_eq!(symbols.len(), added["parts"].as_array().unwrap().len());
    let _ = json(&bench, &["network", "remove", PRODUCT, "R7"]);
    assert_eq!(json(&bench, &["undo"])["changes"], 1);
    assert!(part(&json(&bench, &["network", "show", PRODUCT]), "R7").is_some());
    for _ in 0..2 {
        let _ = json(&bench, &["undo"]);
    }
    assert_eq!(json(&bench, &["network", "show", PRODUCT])["parts"], before["parts"]);
    assert_eq!(json(&bench, &["redo"])["reason"], "read again");
}

#[test]
fn what_cannot_be_solved_is_refused_and_names_the_part() {
    let bench = Bench::seeded();
    let before = json(&bench, &["network", "show", PRODUCT]);
    let cases: [(&[&str], &str, &str); 5] = [
        (
            &["set", PRODUCT, "R9", "kind=resistor", "from=w", "to=q", "value=3 ohm"],
            "R9.to",
            "no current",
        ),
        (&["set", PRODUCT, "C1", "value=6.8 mH"], "C1.value", "not a unit of capacitance"),
        (&["set", PRODUCT, "R1", "kind=coil"], "R1.kind", "is no kind of part"),
        (&["set", PRODUCT, "R1", "volume=3"], "part", "is no cell"),
        (&["remove", PRODUCT, "R12"], "part", "is not in the list"),
    ];
    for (args, place, why) in cases {
        let refused = bench.run(&[&["network"], args, &["--json"]].concat()).refusals();
        assert_eq!(refused[0]["where"], place, "{args:?}: {refused:?}");
        assert!(refused[0]["message"].as_str().unwrap().contains(why), "{args:?}: {refused:?}");
    }
    assert_eq!(json(&bench, &["network", "show", PRODUCT]), before);
}

#[test]
fn a_list_goes_out_and_comes_back_whole() {
    let bench = Bench::seeded();
    let before = json(&bench, &["network", "show", PRODUCT]);
    let file = bench.path("parts.json");
    std::fs::write(&file, before["parts"].to_string()).unwrap();
    let file = file.to_str().unwrap();
    assert_eq!(json(&bench, &["network", "read", PRODUCT, file])["changed"], false);
    std::fs::write(file, "[]").unwrap();
    assert_eq!(json(&bench, &["network", "read", PRODUCT, file])["changed"], true);
    assert!(json(&bench, &["network", "show", PRODUCT])["parts"].as_array().unwrap().is_empty());
    let _ = json(&bench, &["undo"]);
    assert_eq!(json(&bench, &["network", "show", PRODUCT]), before);
    std::fs::write(file, "[{\"nam\": \"C1\"}]").unwrap();
    let refused = bench.run(&["network", "read", PRODUCT, file, "--json"]).refusals();
    assert!(refused[0]["message"].as_str().unwrap().contains("is no parts list"), "{refused:?}");
}
