//! Claims from outside: judged, stored, judged again after a change, withdrawn, and checked in a draft.

use std::fs;

use serde_json::Value;
use tests::{Bench, Ran, repository};

use crate::same_as_kept;

const BAND: &str = "band=200..500";

fn json(bench: &Bench, arguments: &[&str]) -> Value {
    bench.run(&[arguments, &["--json"]].concat()).answer()
}

fn judged(bench: &Bench, claim: &[&str]) -> Value {
    json(bench, &[&["claims", "judge"], claim].concat())
}

fn draft() -> String {
    repository().join("tests/fixtures/drafts/autumn-guide.md").to_str().unwrap().to_owned()
}

fn check(bench: &Bench, draft: &str, more: &[&str]) -> Ran {
    bench.run(&[&["claims", "check", draft], more].concat())
}

fn strings(list: &Value) -> Vec<&str> {
    list.as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect()
}

#[test]
fn a_draft_with_claims_of_all_kinds_and_verdicts() {
    let bench = Bench::seeded();
    let ran = check(&bench, &draft(), &[]);
    assert_eq!((ran.status, ran.err.as_str()), (1, ""));
    same_as_kept("claims-check", &ran.out);

    let ran = check(&bench, &draft(), &["--json"]);
    assert_eq!(ran.status, 1);
    let report: Value = serde_json::from_str(&ran.out).unwrap();
    let claims = report["claims"].as_array().unwrap();
    let mut families: Vec<&str> =
        claims.iter().map(|it| it["judgement"]["family"].as_str().unwrap()).collect();
    families.sort_unstable();
    families.dedup();
    assert_eq!(
        families,
        [
            "association",
            "comparative",
            "prevalence",
            "superlative",
            "threshold",
            "typical",
            "value"
        ]
    );
    let verdicts: Vec<&String> = report["counts"].as_object().unwrap().keys().collect();
    assert_eq!(
        verdicts,
        [
            "contradicted",
            "depends on inferred findings",
            "not supported",
            "supported",
            "too few data"
        ]
    );
    assert_eq!(claims.len(), 8);
}

#[test]
fn a_draft_that_holds_ends_with_0_and_one_that_cannot_be_read_with_1() {
    let bench = Bench::seeded();
    let file = bench.path("draft.md");
    let path = file.to_str().unwrap();
    fs::write(
        &file,
        "It is good value.<!-- claim: good-value product=skerrymoor/voe-6 band=200..500 -->\n",
    )
    .unwrap();
    let _ = check(&bench, path, &[]).done();
    fs::write(&file, "Fine.\n\n<!-- claim: bset product=a/b -->\n").unwrap();
    let ran = check(&bench, path, &["--json"]);
    assert_eq!(ran.status, 1);
    let report: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(report["claims"][0]["line"], 3);
    let fault = report["claims"][0]["fault"].as_str().unwrap();
    assert!(fault.contains("did you mean best"), "{fault}");
    fs::write(&file, "No claims.\n").unwrap();
    let _ = check(&bench, path, &[]).done();
    let refusals = check(&bench, "no-such.md", &["--json"]).refusals();
    assert_eq!(refusals[0]["where"], "draft");
}

/// The soft finding that the verdict rests on, seen by eye, makes it one of hard findings: the world without soft ones is judged anew.
#[test]
fn a_claim_that_depends_on_inferred_findings_is_settled_by_looking() {
    let bench = Bench::seeded();
    let claim = ["typical", "product=hobnail-lane/welt-6", BAND];
    let it = judged(&bench, &claim);
    assert_eq!(it["verdict"], "depends on inferred findings");
    let inferred = it["inferred"].as_array().unwrap();
    assert!(!inferred.is_empty());
    for of in inferred {
        let product = of["product"].as_str().unwrap();
        let finding = of["finding"].as_str().unwrap();
        let sheet = json(&bench, &["show", product]);
        let found = sheet["findings"].as_array().unwrap().iter();
        let typed = found.filter(|it| it["address"] == finding).find_map(|it| it["typed"].as_str());
        if let Some(typed) = typed {
            let grade = ["--evidence", "measured", "--reason", "measured again"];
            let _ = bench.run(&[&["record", product, finding, typed], &grade[..]].concat()).done();
        }
    }
    let it = judged(&bench, &claim);
    assert_ne!(it["verdict"], "depends on inferred findings", "{it:#}");
}

/// Products outside the scope say nothing of it.
#[test]
fn others_move_no_claim() {
    let bench = Bench::seeded();
    let all = judged(&bench, &["most", "where=cabinet.brace_count = 0", BAND]);
    let pair = ["more", "product=skerrymoor/voe-5", "than=vennelgate/snicket-2", BAND];
    let before = judged(&bench, &pair);
    let _ = bench.run(&["record", "skerrymoor/voe-6", "wiring.terminal", "spring clip"]).done();
    let outside = ["record", "vennelgate/ropewalk-6", "cabinet.brace_count", "4"];
    let _ = bench.run(&outside).done();
    for key in ["verdict", "p", "interval", "sentence"] {
        assert_eq!(judged(&bench, &pair)[key], before[key], "{key}");
    }
    let again = judged(&bench, &["most", "where=cabinet.brace_count = 0", BAND]);
    assert_eq!(again["n"], all["n"]);
}

#[test]
fn stored_claims_are_judged_again_and_the_change_that_did_it_is_named() {
    let bench = Bench::seeded();
    let claim = ["at-most", "count=14", "where=cabinet.brace_count = 0", BAND];
    let add = [&["claims", "add"], &claim[..], &["--author", "R. Vale"]].concat();
    let added = json(&bench, &add);
    assert_eq!(added["id"], 1);
    let first = added["judgement"]["verdict"].as_str().unwrap().to_owned();

    // What the count rests on, and something that it does not.
    let list = json(&bench, &["claims", "list"]);
    assert_eq!(list["claims"][0]["may_have_changed"], false);
    let none_left: Value = judged(&bench, &["none", "where=cabinet.brace_count = 0", BAND]);
    let product = none_left["deciding"][0]["product"].as_str().unwrap().to_owned();
    let _ = bench.run(&["record", "skerrymoor/voe-6", "wiring.terminal", "spring clip"]).done();
    let claim_of_one =
        ["claims", "add", "only", &format!("product={product}"), "where=cabinet.brace_count >= 7"];
    let second = json(&bench, &claim_of_one);
    assert_eq!(second["judgement"]["verdict"], "contradicted");
    let record = ["record", &product, "cabinet.brace_count", "7", "--reason", "opened again"];
    let _ = bench.run(&record).done();
    let _ = bench.run(&["record", "skerrymoor/voe-5", "wiring.terminal", "spring clip"]).done();

    let list = json(&bench, &["claims", "list"]);
    assert_eq!(list["claims"][0]["may_have_changed"], true);
    let report = json(&bench, &["claims", "judge"]);
    assert_eq!(report["judged"], 2);
    let changed = report["changed"].as_array().unwrap();
    let of = changed.iter().find(|it| it["id"] == 2).unwrap();
    assert_eq!(of["before"], "contradicted");
    assert_ne!(of["after"], "contradicted");
    let causes = strings(&of["causes"]);
    assert_eq!(causes.len(), 1, "{causes:?}");
    assert!(causes[0].contains("cabinet.brace_count") && causes[0].contains("opened again"));

    // The old verdicts stay; a second time nothing changes.
    let list = json(&bench, &["claims", "list"]);
    let two = list["claims"].as_array().unwrap().iter().find(|it| it["id"] == 2).unwrap();
    assert_eq!(two["verdicts"].as_array().unwrap().len(), 2);
    assert_eq!(
        (&two["changed"], &two["verdicts"][1]["verdict"]),
        (&Value::Bool(true), &Value::from("contradicted"))
    );
    let again = json(&bench, &["claims", "judge"]);
    assert_eq!(
        (&again["unchanged"], &again["changed"]),
        (&Value::from(2), &Value::Array(Vec::new()))
    );

    // Another takes the place of the first; the second is withdrawn.
    let other = [
        "claims",
        "add",
        "at-most",
        "count=20",
        "where=cabinet.brace_count = 0",
        BAND,
        "--replaces",
        "1",
    ];
    assert_eq!(json(&bench, &other)["id"], 3);
    assert!(!bench.run(&other).err.is_empty(), "a claim has one successor");
    let withdraw = ["claims", "withdraw", "2", "--reason", "a slip"];
    assert_eq!(json(&bench, &withdraw)["changed"], true);
    assert_eq!(json(&bench, &withdraw)["changed"], false);
    let list = json(&bench, &["claims", "list"]);
    let ids: Vec<u64> =
        list["claims"].as_array().unwrap().iter().map(|it| it["id"].as_u64().unwrap()).collect();
    assert_eq!(ids, [3, 2, 1]);
    assert_eq!(
        list["claims"][2]["verdicts"].as_array().unwrap().last().unwrap()["verdict"],
        first.as_str()
    );

    // A draft may refer to what stands, and to nothing else.
    let file = bench.path("draft.md");
    fs::write(&file, "One.<!-- claim 3 -->\n\nTwo.<!-- claim #2 -->\n").unwrap();
    let ran = check(&bench, file.to_str().unwrap(), &["--json"]);
    assert_eq!(ran.status, 1);
    let report: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(report["claims"][0]["stored"], 3);
    assert!(report["claims"][1]["fault"].as_str().unwrap().contains("does not stand any more"));
}

#[test]
fn what_is_no_claim_is_refused_and_nothing_is_stored() {
    let bench = Bench::seeded();
    for (claim, wanted) in [
        (&["best", "product=no/body"][..], "no product"),
        (&["best", "product=skerrymoor/voe-6", "of=cabinet.box_type"][..], "is no number"),
        (&["best", "product=skerrymoor/voe-6", "of=cabinet.nothing"][..], "is no finding"),
        (&["most", "where=cabinet.box_type > vented"][..], "has no order"),
        (&["most", "where=cabinet.box_type = round"][..], "is not understood"),
        (&["above", "product=all", "of=cabinet.net_volume", "limit=5 kg"][..], "is not understood"),
        (&["best", "product=skerrymoor/voe-6", "band=500..200"][..], "holds no price"),
        (&["more", "product=skerrymoor/voe-6", "than=skerrymoor/voe-6"][..], "the product itself"),
    ] {
        let all = [&["claims", "add"], claim, &["--json"]].concat();
        let refusals = bench.run(&all).refusals();
        let why = refusals[0]["message"].as_str().unwrap();
        assert!(why.contains(wanted), "{claim:?}: {why}");
    }
    assert_eq!(json(&bench, &["claims", "list"])["claims"], Value::Array(Vec::new()));
}

/// Neither threads nor the number of claims before it change a claim; another seed moves only the draws.
#[test]
fn a_claim_is_repeated_to_the_last_byte() {
    let bench = Bench::seeded();
    let claim = ["claims", "judge", "good-value", "product=oxlip-daughters/nan", BAND, "--json"];
    let one = bench.run(&claim).done();
    assert_eq!(bench.run(&claim).done(), one);
    let other = bench.run(&[&claim[..], &["--seed", "7"]].concat()).answer();
    let first: Value = serde_json::from_str(&one).unwrap();
    assert_eq!(other["verdict"], first["verdict"]);
    assert_ne!(other["interval"], first["interval"]);
}
