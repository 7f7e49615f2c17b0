//! What is said of a band: the same whatever the threads and the order, honest where findings are missing.

use std::fs;

use serde_json::Value;
use tests::{Bench, seed};

const BAND: &str = "200..500";

fn json(bench: &Bench, arguments: &[&str]) -> Value {
    bench.run(&[arguments, &["--json"]].concat()).answer()
}

fn text(bench: &Bench, arguments: &[&str]) -> String {
    bench.run(&[arguments, &["--json"]].concat()).done()
}

fn standings(report: &Value) -> &Vec<Value> {
    report["standings"].as_array().unwrap()
}

fn of<'v>(report: &'v Value, product: &str) -> &'v Value {
    standings(report).iter().find(|it| it["product"] == product).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[test]
fn threads_change_no_byte_of_any_answer() {
    let bench = Bench::seeded();
    for command in ["band", "stability", "next", "normal"] {
        let one = text(&bench, &[command, BAND, "--threads", "1"]);
        for threads in ["2", "5"] {
            assert_eq!(one, text(&bench, &[command, BAND, "--threads", threads]), "{command}");
        }
    }
}

/// Product by product in reverse order into a catalogue of its own.
#[test]
fn the_order_of_import_changes_no_byte_of_the_band() {
    let bench = Bench::seeded();
    let reversed = Bench::empty();
    let mut files: Vec<_> = fs::read_dir(seed().join("products"))
        .unwrap()
        .flat_map(|it| fs::read_dir(it.unwrap().path()).unwrap())
        .map(|it| it.unwrap().path().to_str().unwrap().to_owned())
        .collect();
    files.sort_unstable();
    assert!(files.len() > 40, "{}", files.len());
    for file in files.iter().rev() {
        let _ = reversed.run(&["import", file]).done();
    }
    assert_eq!(text(&bench, &["band", BAND]), text(&reversed, &["band", BAND]));
}

#[test]
fn a_seed_is_repeated_exactly_and_another_moves_only_the_draws() {
    let bench = Bench::seeded();
    let first = json(&bench, &["band", BAND, "--seed", "7"]);
    assert_eq!(first, json(&bench, &["band", BAND, "--seed", "7"]));
    let other = json(&bench, &["band", BAND, "--seed", "8"]);
    assert_ne!(first["standings"], other["standings"]);
    for (a, b) in standings(&first).iter().zip(standings(&other)) {
        for settled in ["product", "index", "coverage", "contributions", "on_frontier", "beaten_by"]
        {
            assert_eq!(a[settled], b[settled], "{settled}");
        }
        // The standard error of a probability from 10,000 draws is half a per cent.
        let (a, b) = (number(&a["p_first"]), number(&b["p_first"]));
        assert!((a - b).abs() < 0.05, "{a} and {b}");
    }
}

#[test]
fn the_numbers_of_a_standing_hang_together() {
    let report = json(&Bench::seeded(), &["band", BAND]);
    let list = standings(&report);
    assert!(list.len() >= 20, "{}", list.len());
    let mut first = 0.0;
    for it in list {
        let shares: f64 = it["acceptability"].as_array().unwrap().iter().map(number).sum();
        assert!((shares - 1.0).abs() < 1e-9, "{shares}");
        first += number(&it["acceptability"][0]);
        let (index, spread) = (&it["index"], &it["spread"]);
        assert!(number(&spread["low"]) <= number(&spread["median"]));
        assert!(number(&spread["median"]) <= number(&spread["high"]));
        let parts: Vec<&Value> = it["contributions"].as_object().unwrap().values().collect();
        for end in ["low", "high"] {
            let sum: f64 = parts.iter().map(|it| number(&it[end])).sum();
            assert!((sum - number(&index[end])).abs() < 1e-6, "{sum} and {}", index[end]);
        }
        if !index["value"].is_null() {
            assert!(number(&it["geometric"]) <= number(&index["value"]) + 1e-9);
        }
        let rank = &it["rank"];
        assert!(number(&rank["low"]) <= number(&rank["median"]));
        assert!(number(&rank["median"]) <= number(&rank["high"]));
    }
    assert!((first - 1.0).abs() < 1e-9, "{first}");
    let groups: Vec<u64> = list.iter().map(|it| it["group"].as_u64().unwrap()).collect();
    assert!(groups.is_sorted() && groups[0] == 1, "{groups:?}");
}

/// A verdict that the data do not settle says how far they go; one that they do says why.
#[test]
fn every_verdict_has_its_number_or_its_reason() {
    let report = json(&Bench::seeded(), &["band", BAND]);
    let mut open = 0;
    for it in standings(&report).iter().flat_map(|it| it["verdicts"].as_array().unwrap()) {
        let (verdict, text) = (it["verdict"].as_str().unwrap(), it["text"].as_str().unwrap());
        if verdict == "not supported" {
            let says = text.contains(" % of the draws agree")
                || text.contains("it depends on")
                || text.contains("is among the");
            assert!(says, "{text}");
            open += 1;
        }
        assert!(text.ends_with('.') && text.len() > 20, "{text}");
    }
    assert!(open > 10, "{open}");
}

/// A product outside the band and its surroundings moves nobody; a new price inside moves only what must move.
#[test]
fn a_product_far_from_the_band_changes_no_byte() {
    let bench = Bench::seeded();
    let before = text(&bench, &["band", "200..283"]);
    let far = bench.path("far.toml");
    fs::write(
        &far,
        "maker = 'Farrowmere'\nmodel = 'Far Off'\nkind = 'stand-mount'\nways = 2\nyear = 2026\n\
         [[price]]\namount = '4800'\ncurrency = 'USD'\nbasis = 'pair'\ndate = '2026-10-01'\nkind = 'street'\nseller = 'authorised'\n",
    )
    .unwrap();
    let _ = bench.run(&["import", far.to_str().unwrap()]).done();
    assert_eq!(before, text(&bench, &["band", "200..283"]));
}

#[test]
fn what_is_measured_worse_is_never_known_better() {
    let bench = Bench::seeded();
    let before = json(&bench, &["band", BAND]);
    for (id, value) in [("measured_u", "0.1"), ("inspected_half", "0.4"), ("claimed_half", "0.5")] {
        let address = format!("evidence.{id}");
        let _ = bench.run(&["rubric", "set", &address, value, "--reason", "a test"]).done();
    }
    let after = json(&bench, &["band", BAND]);
    assert!(after["rubric"].as_str().unwrap().contains("evidence + 3 changes"));
    let width = |it: &Value| number(&it["spread"]["high"]) - number(&it["spread"]["low"]);
    let (mut wider, mut all) = (0, 0);
    for it in standings(&before) {
        let then = of(&after, it["product"].as_str().unwrap());
        assert_eq!(it["index"], then["index"], "the interval of gaps has nothing to do with it");
        // From 5 to 95 % of 1,000 draws is good to 3 % (one standard error of plain draws); where gaps make the spread,
        // that is all that changes.
        assert!(width(then) > 0.97 * width(it), "{it}");
        all += 1;
        wider += usize::from(width(then) > width(it));
    }
    assert!(wider + 2 >= all && all > 20, "{wider} of {all} are wider");
}

#[test]
fn what_if_moves_the_standings_and_saves_nothing() {
    let bench = Bench::seeded();
    let before = text(&bench, &["band", BAND]);
    let report: Value = serde_json::from_str(&before).unwrap();
    let last = standings(&report).last().unwrap()["product"].as_str().unwrap().to_owned();
    let moved = json(
        &bench,
        &[
            "what-if",
            &last,
            "--band",
            BAND,
            "--set",
            "cabinet.wall_damping=damping sheet",
            "--price",
            "210",
        ],
    );
    assert_eq!(moved["moved"][0]["product"], last.as_str());
    let real_pair = number(&moved["moved"][0]["after"]["real_pair"]);
    assert!((real_pair - 210.0).abs() < 5.0, "{real_pair}: 210 in the money of June");
    assert_eq!(moved["changes"].as_array().unwrap().len(), 2);
    assert_eq!(text(&bench, &["band", BAND]), before);
}

/// Both sides of a comparison share their draws: what does not change does not move at all.
#[test]
fn a_change_that_changes_nothing_moves_nothing() {
    let bench = Bench::seeded();
    let report = json(&bench, &["band", BAND]);
    let weights = "cabinet=25,driver=35,crossover=30,wiring=10";
    let product = standings(&report)[0]["product"].as_str().unwrap();
    let same = json(&bench, &["what-if", product, "--band", BAND, "--to-weights", weights]);
    assert_eq!(same["changes"], Value::Array(Vec::new()));
    assert_eq!(same["moved"].as_array().unwrap().len(), 1);
    assert_eq!(same["moved"][0]["before"], same["moved"][0]["after"]);
}

#[test]
fn what_cannot_be_asked_is_refused_with_the_accepted_form() {
    let bench = Bench::seeded();
    for (arguments, accepted) in [
        (&["band", BAND, "--draws", "5"][..], "from 100 to 1000000"),
        (&["band", BAND, "--kappa", "0"], "from 1 to 10000"),
        (&["band", BAND, "--threads", "0"], "from 1 to 64"),
        (&["what-if", "nobody/nothing", "--band", BAND, "--price", "1"], "no product"),
    ] {
        let ran = bench.run(arguments);
        assert_eq!(ran.status, 2, "{arguments:?}");
        assert!(ran.err.contains(accepted) && ran.out.is_empty(), "{arguments:?}: {}", ran.err);
    }
    let report = json(&bench, &["band", BAND]);
    let product = standings(&report)[0]["product"].as_str().unwrap();
    let ran = bench.run(&["what-if", product, "--band", BAND]);
    assert!(ran.status == 2 && ran.err.contains("changes nothing"), "{}", ran.err);
    for (set, accepted) in [
        ("cabinet.wall_dampin=none", "wall_damping"),
        ("cabinet.wall_damping=foam", "none, lined panel, damping sheet"),
        ("cabinet.outer_h=tall", "number"),
        ("boot.height=1 m", "part.key"),
    ] {
        let ran = bench.run(&["what-if", product, "--band", BAND, "--set", set]);
        assert_eq!(ran.status, 2, "{set}");
        assert!(ran.err.contains(accepted), "{set}: {}", ran.err);
    }
}

#[test]
fn stability_names_the_least_weight_that_flips_the_first_place() {
    let bench = Bench::seeded();
    let report = json(&bench, &["stability", BAND]);
    let winner = report["winner"].as_str().unwrap();
    let shift = &report["shifts"][0];
    let (rival, share) = (shift["product"].as_str().unwrap(), number(&shift["shift"]));
    assert_ne!(winner, rival);
    // Moving a little more than that does flip it, by the middles of the indices.
    let mut weights = report["weights"].as_object().unwrap().clone();
    let give = shift["from"].as_array().unwrap();
    assert_eq!(give.len(), 1, "this test moves one weight: {shift}");
    let mut moved = |name: &str, by: f64| {
        let it = number(&weights[name]) + by;
        weights.insert(name.to_owned(), it.into());
    };
    moved(give[0].as_str().unwrap(), -share * 1.001);
    moved(shift["to"].as_str().unwrap(), share * 1.001);
    let text: Vec<String> = weights.iter().map(|(name, it)| format!("{name}={it}")).collect();
    let after = json(&bench, &["band", BAND, "--weights", &text.join(",")]);
    assert_eq!(standings(&after)[0]["product"], rival);
}

#[test]
fn next_names_findings_that_are_worth_measuring() {
    let bench = Bench::seeded();
    let report = json(&bench, &["next", BAND]);
    let list = report["measure"].as_array().unwrap();
    assert!(list.len() >= 3, "{list:?}");
    let gains: Vec<f64> = list.iter().map(|it| number(&it["settled_drawn"])).collect();
    assert!(gains.windows(2).all(|it| it[0] >= it[1]), "{gains:?}");
    assert!(number(&report["doubt"]) > gains[0]);
    for it in list {
        assert!(!it["findings"].as_array().unwrap().is_empty());
        assert!(["missing", "soft", "uncertain"].contains(&it["state"].as_str().unwrap()));
    }
}

#[test]
fn normal_counts_what_was_opened_and_leaves_the_rest_open() {
    let bench = Bench::seeded();
    let report = json(&bench, &["normal", BAND]);
    let opened = number(&report["opened"]);
    for it in report["shares"].as_array().unwrap() {
        let (yes, unknown) = (number(&it["yes"]), number(&it["unknown"]));
        let of = number(&it["opened"]);
        assert!(yes + unknown <= of && of <= opened, "{it}");
        assert!(
            number(&it["low"]) <= yes / of && (yes + unknown) / of <= number(&it["high"]),
            "{it}"
        );
    }
    let most = report["shares"].as_array().unwrap().iter().filter(|it| it["word"] == "most");
    for it in most {
        assert!(number(&it["low"]) > 0.5, "{it}");
    }
}

#[test]
fn the_bands_that_are_offered_hold_each_priced_product_once() {
    let bench = Bench::seeded();
    let report = json(&bench, &["bands"]);
    let sum = |list: &str| -> f64 {
        report[list].as_array().unwrap().iter().map(|it| number(&it["n"])).sum()
    };
    let priced = number(&report["priced"]);
    assert!(priced > 30.0, "{priced}");
    assert!((sum("offered") - priced).abs() < 0.5 && (sum("bins") - priced).abs() < 0.5);
    // Powered products are listed and have prices, but are no part of any band.
    let products = json(&bench, &["products"]);
    let listed = products["products"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|it| it["powered"] == false && !it["price"].is_null());
    assert!((listed.count() as f64 - priced).abs() < 0.5);
}

#[test]
fn products_side_by_side_say_what_their_own_pages_say() {
    let bench = Bench::seeded();
    let band = json(&bench, &["band", BAND]);
    let keys: Vec<&str> =
        standings(&band).iter().take(3).map(|it| it["product"].as_str().unwrap()).collect();
    let report = json(&bench, &[&["compare"], &keys[..]].concat());
    for (at, key) in keys.iter().enumerate() {
        let it = &report["products"][at];
        assert_eq!(it["product"], **key);
        let standing = of(&band, key);
        assert_eq!(it["index"], standing["index"]);
        assert_eq!(it["spread"], standing["spread"]);
        assert_eq!(it["coverage_hard"], standing["coverage_hard"]);
        let sheet = json(&bench, &["show", key]);
        let rows = report["sections"].as_array().unwrap().iter();
        let rows: Vec<&Value> = rows.flat_map(|it| it["rows"].as_array().unwrap()).collect();
        for finding in sheet["findings"].as_array().unwrap() {
            let row = rows.iter().find(|it| it["id"] == finding["address"]).unwrap();
            assert_eq!(row["cells"].as_array().unwrap().len(), 3);
        }
        for criterion in sheet["scores"]["criteria"].as_array().unwrap() {
            let id = format!(
                "{}.{}",
                criterion["subsystem"].as_str().unwrap(),
                criterion["id"].as_str().unwrap()
            );
            let cell = &rows.iter().find(|it| it["id"] == *id).unwrap()["cells"][at];
            assert_eq!(cell["low"], criterion["score"], "{id} of {key}");
            assert_eq!(cell["state"], criterion["state"], "{id} of {key}");
        }
    }
    let next = number(&of(&band, keys[0])["p_above_next"]);
    let pair = report["pairs"].as_array().unwrap().iter().find(|it| {
        let ends = [number(&it["above"]), number(&it["below"])];
        ends.iter().all(|it| *it < 1.5)
    });
    let p = number(&pair.unwrap()["p"]);
    // The same draws of the same two products, whoever else is ranked.
    assert!((p - next).abs() < 1e-12 || (p - (1.0 - next)).abs() < 0.02, "{p} and {next}");
    assert!(!text(&bench, &[&["compare"], &keys[..]].concat()).is_empty());
}

#[test]
fn a_comparison_takes_two_to_five_products_each_once() {
    let bench = Bench::seeded();
    for (keys, said) in [
        (["marrowfield/stile-5", "marrowfield/stile-5"], "named twice"),
        (["marrowfield/stile-5", "nobody/none"], "nobody/none"),
    ] {
        let ran = bench.run(&[&["compare"], &keys[..]].concat());
        assert!(ran.status == 2 && ran.err.contains(said), "{}", ran.err);
    }
}
