//! Publications and editions as a reviewer makes them at a terminal, on the seed catalogue.

use std::{collections::BTreeMap, env, fs, ops::ControlFlow, path::Path};

use engine::{
    BandRequest, Code, Definition, Engine, EngineOptions, Progress, PublishRequest, Watch,
    unwatched,
};
use serde_json::Value;
use tests::{Bench, command, programs, succeed};

use crate::same_as_kept;

const BAND: &str = "200..500";

/// All files of a folder and of those in it.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut list = BTreeMap::new();
    for it in fs::read_dir(folder).unwrap().map(|it| it.unwrap().path()) {
        let name = it.file_name().unwrap().to_str().unwrap().to_owned();
        if it.is_dir() {
            list.extend(
                files(&it).into_iter().map(|(of, content)| (format!("{name}/{of}"), content)),
            );
        } else {
            list.insert(name, fs::read(&it).unwrap());
        }
    }
    list
}

fn publish(bench: &Bench, folder: &str, more: &[&str]) -> Value {
    let to = bench.path(folder);
    bench.run(&[&["publish", "--json", "--to", to.to_str().unwrap()], more].concat()).answer()
}

fn texts(changes: &Value) -> Vec<&str> {
    let list = changes["changes"].as_array().unwrap();
    list.iter().map(|it| it["text"].as_str().unwrap()).collect()
}

/// Plugins have other hashes on another computer.
fn without_hashes(text: &str) -> String {
    let is_hash = |it: &str| it.len() == 64 && it.chars().all(|it| it.is_ascii_hexdigit());
    text.split_inclusive(|it: char| !it.is_ascii_alphanumeric())
        .map(|it| {
            let word = it.trim_end_matches(|it: char| !it.is_ascii_alphanumeric());
            if is_hash(word) { it.replace(word, "HASH") } else { it.to_owned() }
        })
        .collect()
}

/// The definition of the guide that is kept: three products side by side, with a claim.
const KEPT: &str = r#"
author = "Invented Person"
sheets = false
products = ["skerrymoor/voe-6", "quillcove/limpet-2", "pellham-ostrick/tallow-6"]

[disclosure]
market = "invented"
paid_by = "nobody; all of it is invented"
"#;

/// Every format as it is kept, in the words of the format; PDF, XLSX and PNG are read back by `cargo xtask verify`.
#[test]
fn the_guide_reads_as_it_is_kept() {
    let bench = Bench::seeded();
    let claim = "good-value product=skerrymoor/voe-6 band=200..500";
    let _ = bench.run(&["claims", "add", claim, "--wording", "An invented sentence."]).done();
    let definition = bench.path("guide.toml");
    let path = definition.to_str().unwrap().to_owned();
    fs::write(&definition, KEPT).unwrap();
    let _ = publish(&bench, "out", &[BAND, "--definition", &path]);
    let made = files(&bench.path("out"));
    let text = |name: &str| String::from_utf8(made[name].clone()).unwrap();
    same_as_kept("guide-md", &without_hashes(&text("guide.md")));
    for (table, form) in
        [("standings", ""), ("comparison", ""), ("standings", "w"), ("comparison", "w")]
    {
        let name = match form {
            "" => format!("tables/{table}.csv"),
            _ => format!("tables/{table}.csv-metadata.json"),
        };
        same_as_kept(&format!("guide-{table}-csv{form}"), &text(&name).replace("\r\n", "\n"));
    }
    for chart in ["index", "price", "ranks", "subsystems"] {
        same_as_kept(&format!("guide-{chart}-svg"), &text(&format!("charts/{chart}.svg")));
        assert!(made[&format!("charts/{chart}.png")].starts_with(b"\x89PNG"));
    }
    assert!(made["guide.pdf"].starts_with(b"%PDF-1."));
    assert!(made["guide.xlsx"].starts_with(b"PK"));
    let results: Value = serde_json::from_slice(&made["results.json"]).unwrap();
    assert_eq!(results, bench.run(&["band", BAND, "--json"]).answer());

    // Without a definition the guide goes on as its last edition was, and is the same edition while nothing changed.
    let again = publish(&bench, "again", &[BAND, "--format", "md"]);
    assert_eq!((&again["edition"], &again["is_new"]), (&1.into(), &false.into()), "{again}");

    // The same without charts, which have their own files.
    fs::write(&definition, format!("charts = false\n{KEPT}")).unwrap();
    let how = ["--definition", &path, "--draft", "--format", "html,json,jsonld"];
    let _ = publish(&bench, "plain", &[&[BAND][..], &how].concat());
    let made = files(&bench.path("plain"));
    let text = |name: &str| without_hashes(&String::from_utf8(made[name].clone()).unwrap());
    same_as_kept("guide-html", &text("guide.html"));
    same_as_kept("guide-json", &text("guide.json"));
    same_as_kept("guide-jsonld", &text("guide.jsonld"));
}

#[test]
fn an_edition_comes_out_byte_for_byte_whatever_changed_and_the_next_prints_it() {
    let bench = Bench::seeded();
    let claim = "good-value product=thistlequern/grist-5 band=200..500";
    let claim = ["claims", "add", claim, "--wording", "Grist 5 is good value.", "--json"];
    let added = bench.run(&claim).answer();
    assert_eq!(added["judgement"]["verdict"], "depends on inferred findings");
    let first = publish(&bench, "one", &[BAND]);
    assert_eq!((&first["edition"], &first["is_new"]), (&Value::from(1), &Value::from(true)));
    assert_eq!(first["changes"], Value::Null);
    let again = publish(&bench, "same", &[BAND]);
    assert_eq!((&again["edition"], &again["is_new"]), (&Value::from(1), &Value::from(false)));

    // A finding, a price and a weight change.
    let correction = ["record", "thistlequern/grist-5", "wiring.terminal", "spring clip"];
    let _ = bench.run(&[&correction[..], &["--reason", "the photo shows it"]].concat()).done();
    let price = ["price", "add", "skerrymoor/voe-6", "495", "--date", "2026-11-20"];
    let _ = bench.run(&price).done();
    let price = ["price", "add", "skerrymoor/voe-6", "497", "--date", "2026-11-21"];
    let _ = bench.run(&price).done();
    let weight = ["rubric", "set", "subsystem.wiring", "15", "--reason", "joints failed"];
    let _ = bench.run(&weight).done();
    let second = publish(&bench, "two", &[BAND]);
    assert_eq!(second["edition"], 2);
    let said = texts(&second["changes"]);
    let one = |part: &str| -> &str {
        said.iter().find(|it| it.contains(part)).unwrap_or_else(|| panic!("no {part}: {said:#?}"))
    };
    let erratum = one("terminal");
    assert!(erratum.contains("spring clip"), "{erratum}");
    assert!(erratum.contains("Reason: the photo shows it."), "{erratum}");
    assert!(one("Skerrymoor Voe 6: ").contains("USD a pair, was 399"), "{said:#?}");
    assert!(one("place ").contains(", was "), "{said:#?}");
    assert!(
        one("“Grist 5 is good value”").contains("; before: depends on inferred findings."),
        "{said:#?}"
    );
    let _ = one("Method, the weights: cabinet 24 %");
    let printed = String::from_utf8(files(&bench.path("two"))["guide.html"].clone()).unwrap();
    assert!(printed.contains("Corrections and changes since edition 1"));
    assert!(printed.contains(&erratum.replace('&', "&amp;")), "the erratum is not printed");

    // Neither plugins nor a worker are there any more.
    let nothing = bench.path("nothing");
    fs::create_dir(&nothing).unwrap();
    let to = bench.path("one-again");
    let mut command =
        bench.command(&["publish", "--edition", "1", "--json", "--to", to.to_str().unwrap()]);
    command.env("BOXWORTH_PLUGINS", &nothing).env("BOXWORTH_WORKER", nothing.join("worker"));
    let _ = tests::Ran::from(command.output().unwrap()).done();
    assert!(files(&bench.path("one")) == files(&to), "the bytes differ");
    assert_ne!(files(&bench.path("one")), files(&bench.path("two")));
    for number in ["1", "2"] {
        let check = bench.run(&["editions", "--check", number, "--json"]).answer();
        assert_eq!(check["differences"], Value::Array(Vec::new()), "edition {number}");
        assert_eq!(check["is_whole"], true);
    }
}

#[test]
fn a_draft_keeps_nothing_and_a_folder_is_not_written_over() {
    let bench = Bench::seeded();
    let draft = publish(&bench, "draft", &[BAND, "--draft", "--format", "md,csv"]);
    assert_eq!(draft["edition"], Value::Null);
    let made = files(&bench.path("draft"));
    assert!(String::from_utf8_lossy(&made["guide.md"]).contains("Draft,"));
    assert!(!made.contains_key("guide.pdf"));
    assert_eq!(bench.run(&["editions", "--json"]).answer()["editions"], Value::Array(Vec::new()));

    let to = bench.path("draft");
    let to = to.to_str().unwrap();
    let refused = bench.run(&["publish", BAND, "--to", to, "--json"]).refusals();
    assert!(refused[0]["message"].as_str().unwrap().contains("stands there"), "{refused:?}");
    assert_eq!(files(&bench.path("draft")), made, "something was written all the same");
    assert_eq!(bench.run(&["editions", "--json"]).answer()["editions"], Value::Array(Vec::new()));
}

#[test]
fn what_is_not_understood_is_refused_with_what_would_be() {
    let bench = Bench::seeded();
    let refused = |arguments: &[&str]| -> String {
        let all = bench.run(&[arguments, &["--json"]].concat()).refusals();
        let part = |name: &str| all[0][name].as_str().unwrap().to_owned();
        format!("{}; accepted: {}", part("message"), part("accepted"))
    };
    assert!(refused(&["publish", BAND, "--format", "docx"]).contains("accepted: md, html, pdf"));
    assert!(refused(&["publish", "--edition", "7"]).contains("there is none yet"));
    let file = bench.path("bad.toml");
    let path = file.to_str().unwrap().to_owned();
    for (text, wanted) in [
        ("columns = [\"cabinet.colour\"]", "is no column"),
        ("units = \"imperial\"", "bench or si"),
        ("colums = []", "unknown field"),
        ("products = [\"no/body\"]", "is not ranked"),
        ("columns = []", "names no column"),
        ("columns = [\"year\", \"year\"]", "is named twice"),
    ] {
        fs::write(&file, text).unwrap();
        let said = refused(&["publish", BAND, "--definition", &path]);
        assert!(said.contains(wanted), "{text}: {said}");
    }
}

#[test]
fn a_catalogue_goes_through_json_and_back_unchanged() {
    let bench = Bench::seeded();
    let _ = bench
        .run(&["rubric", "set", "cabinet.criterion.panel_mode.weight", "31", "--reason", "a trial"])
        .done();
    let (one, two) = (bench.path("one.json"), bench.path("two.json"));
    let _ = bench.run(&["export", one.to_str().unwrap()]).done();
    let other = Bench::empty();
    let _ = other.run(&["import", one.to_str().unwrap()]).done();
    let _ = other.run(&["export", two.to_str().unwrap()]).done();
    assert!(fs::read(&one).unwrap() == fs::read(&two).unwrap(), "the texts differ");
    let band = |it: &Bench| it.run(&["band", BAND, "--json"]).answer();
    assert_eq!(band(&bench), band(&other));
    let refused = bench.run(&["export", one.to_str().unwrap(), "--json"]).refusals();
    assert!(!refused.is_empty(), "an export took the place of a file");
}

/// A text of Markdown as it is read: without the escapes that the guide writes (CommonMark 0.31, 2.4 and 2.5).
fn unescaped(text: &str) -> String {
    text.replace("<!-- -->", "").replace('\\', "").replace("&lt;", "<").replace("&amp;", "&")
}

#[test]
fn what_warns_of_a_product_is_printed() {
    let bench = Bench::seeded();
    let _ = publish(&bench, "out", &[BAND, "--draft", "--format", "md,json"]);
    let made = files(&bench.path("out"));
    let printed = unescaped(std::str::from_utf8(&made["guide.md"]).unwrap());
    let results: Value = serde_json::from_slice(&made["results.json"]).unwrap();
    let standings = results["standings"].as_array().unwrap();
    let remarks = standings.iter().flat_map(|it| it["remarks"].as_array().unwrap());
    let warnings: Vec<&str> = remarks
        .filter(|it| it["severity"] != "info")
        .map(|it| it["text"].as_str().unwrap())
        .collect();
    assert!(!warnings.is_empty(), "the seed warns of nothing");
    for it in warnings {
        // A backslash of the text itself is taken out of both.
        assert!(printed.contains(it.trim_end_matches('.').replace('\\', "").as_str()), "{it}");
    }
}

/// Fewer than five products have no ranks (the rule of `standing::gates`), whatever the format.
#[test]
fn few_products_are_listed_by_price_and_have_no_place() {
    let bench = Bench::seeded();
    let _ = publish(&bench, "out", &["205..225", "--draft", "--format", "md,csv,json,jsonld,svg"]);
    let made = files(&bench.path("out"));
    let text = |name: &str| String::from_utf8(made[name].clone()).unwrap();
    let results: Value = serde_json::from_slice(&made["results.json"]).unwrap();
    let standings = results["standings"].as_array().unwrap();
    assert!((1..5).contains(&standings.len()), "{} products are ranked", standings.len());
    let guide = text("guide.md");
    assert!(
        unescaped(&guide).contains("there are no ranks; the order is that of price"),
        "{guide}"
    );
    let head = text("tables/standings.csv").lines().next().unwrap().to_owned();
    assert!(!head.contains("rank") && !head.contains("group"), "{head}");
    assert!(!made.contains_key("charts/ranks.svg"));
    let mut wanted: Vec<(f64, &Value)> = standings
        .iter()
        .map(|it| (it["price"]["real_pair"].as_f64().unwrap(), &it["product"]))
        .collect();
    wanted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let wanted: Vec<&Value> = wanted.into_iter().map(|it| it.1).collect();
    let linked: Value = serde_json::from_slice(&made["guide.jsonld"]).unwrap();
    assert_eq!(linked["itemListOrder"], "https://schema.org/ItemListOrderAscending");
    let listed = linked["itemListElement"].as_array().unwrap();
    let listed: Vec<&Value> = listed.iter().map(|it| &it["item"]["identifier"]).collect();
    assert_eq!(listed, wanted);
    // No heading without content.
    let lines: Vec<&str> = guide.lines().filter(|it| !it.trim().is_empty()).collect();
    let level = |it: &str| it.chars().take_while(|it| *it == '#').count();
    for pair in lines.windows(2).filter(|it| level(it[0]) > 0) {
        let next = level(pair[1]);
        assert!(next == 0 || next > level(pair[0]), "{} stands above nothing", pair[0]);
    }
}

/// Ended at any step, a publication leaves the catalogue byte for byte as it was and writes no file.
#[test]
fn a_publication_that_is_ended_keeps_nothing_and_writes_nothing() {
    // Only who calls the engine can end it. It looks for worker and plugins where the environment says, which a process cannot
    // change for itself: this test starts itself.
    if env::var_os("BOXWORTH_WORKER").is_none() {
        let name = "publish::a_publication_that_is_ended_keeps_nothing_and_writes_nothing";
        let mut again = command(env::current_exe().unwrap());
        let worker = programs().join(format!("boxworth-worker{}", env::consts::EXE_SUFFIX));
        again.env("BOXWORTH_WORKER", worker);
        again.env("BOXWORTH_PLUGINS", programs()).args(["--exact", name, "--nocapture"]);
        let said = succeed(&mut again);
        assert!(said.contains("1 passed"), "{said}");
        return;
    }
    let bench = Bench::seeded();
    let claim = "good-value product=thistlequern/grist-5 band=200..500";
    let _ = bench.run(&["claims", "add", claim, "--wording", "Grist 5 is good value."]).done();
    let engine = Engine::open(EngineOptions {
        catalogue: bench.catalogue(),
        require_sandbox: false,
        today: None,
        cache: None,
    })
    .unwrap();
    let to = bench.path("out");
    // How many draws there are changes no step.
    let band = BandRequest {
        low: Some(200.0),
        high: Some(500.0),
        draws: Some(100),
        ..BandRequest::default()
    };
    let definition = Definition { sheets: false, ..Definition::default() };
    let request = PublishRequest {
        band,
        definition: Some(definition),
        to: Some(to.clone()),
        ..PublishRequest::default()
    };
    let before = bench.files();
    let ended_by = |watch: &mut Watch<'_>| {
        let code = engine.publish(&request, watch).unwrap_err().code();
        assert_eq!(code, Code::Stopped);
        assert_eq!(engine.editions().unwrap().editions, []);
        assert!(bench.files() == before, "the catalogue has other bytes");
        assert!(!to.exists());
    };
    // Up to the last step at which it can be ended: the copy of the day is made, and nothing is kept yet.
    let mut steps: Vec<Progress> = Vec::new();
    ended_by(&mut |it| {
        let is_last = steps.last().is_some_and(|last| last.step == it.step);
        steps.push(it);
        if is_last { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    let named: Vec<&str> = steps.iter().map(|it| it.step.as_str()).collect();
    assert!(steps.is_sorted_by_key(|it| it.done), "{steps:?}");
    for it in ["the standings", "claim 1 of 1", "guide.pdf", "charts/index.png"] {
        assert!(named.contains(&it), "{named:?}");
    }
    assert_eq!(named.last(), Some(&"the edition"));
    for at in ["what is recorded", "claim 1 of 1", "guide.pdf"] {
        ended_by(&mut |it| {
            if it.step == at { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
    }
    // What needs no keeping is not written either.
    let draft = PublishRequest { draft: true, ..request.clone() };
    let ended = engine.publish(&draft, &mut |it| match it.step.as_str() {
        "the folder" => ControlFlow::Break(()),
        _ => ControlFlow::Continue(()),
    });
    assert_eq!(ended.unwrap_err().code(), Code::Stopped);
    assert!(!to.exists());
    assert_eq!(engine.publish(&request, &mut unwatched).unwrap().edition, Some(1));
    assert!(to.join("guide.pdf").is_file());
}
