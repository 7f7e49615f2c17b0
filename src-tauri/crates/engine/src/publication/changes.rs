//! What changed since the edition before: corrections first, as a list that is printed.

use std::collections::BTreeMap;

use catalog::Exchange;
use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    finding::Finding,
};
use export::Block;
use serde_json::Value;

use crate::{
    claims::PrintedClaim,
    dto::{BandReport, ChangesDto, EditionChange},
    naming::named,
};

/// What is held against each other.
pub(super) struct Sides<'a> {
    pub(super) before: &'a Exchange,
    pub(super) after: &'a Exchange,
    /// The results of the edition before, as they were printed.
    pub(super) results_before: &'a Value,
    pub(super) results_after: &'a BandReport,
    pub(super) claims_after: &'a [PrintedClaim],
    /// Reasons of corrections, by product and address.
    pub(super) reasons: &'a BTreeMap<(String, String), String>,
    pub(super) dictionary: &'a Dictionary,
}

/// All changes between two editions.
pub(super) fn changes(since: u32, of: &Sides<'_>) -> ChangesDto {
    let mut list = Vec::new();
    let mut listed: Vec<&str> = of
        .results_after
        .standings
        .iter()
        .map(|it| it.product.as_str())
        .chain(of.results_after.not_ranked.iter().map(|it| it.product.as_str()))
        .collect();
    // What was printed of a product that left the band since is corrected, too.
    for rows in ["standings", "not_ranked"] {
        for it in of.results_before["band"][rows].as_array().into_iter().flatten() {
            listed.extend(it["product"].as_str().filter(|it| !listed.contains(it)));
        }
    }
    for key in &listed {
        let find = |it: &Exchange| -> Option<Dossier> {
            it.dossiers.iter().find(|it| it.product.key.as_str() == *key).cloned()
        };
        if let (Some(before), Some(after)) = (find(of.before), find(of.after)) {
            findings(&mut list, key, &before, &after, of);
            measured(&mut list, key, &before, &after, of);
        }
    }
    results(&mut list, of);
    claims(&mut list, of);
    method(&mut list, of);
    ChangesDto { since, changes: list }
}

fn change(
    kind: &str,
    product: &str,
    what: String,
    before: &str,
    after: &str,
    text: String,
) -> EditionChange {
    EditionChange {
        kind: kind.into(),
        product: product.into(),
        what,
        before: before.into(),
        after: after.into(),
        text,
    }
}

/// Where findings stand: in a teardown, by specimen and day, or among what the maker states.
type Bench = Option<(String, String)>;

fn findings(
    list: &mut Vec<EditionChange>,
    key: &str,
    before: &Dossier,
    after: &Dossier,
    of: &Sides<'_>,
) {
    let name = format!("{} {}", after.product.maker, after.product.model);
    let groups = |it: &Dossier| -> Vec<(Bench, Vec<Finding>)> {
        let job = |it: &Job| {
            (
                Some((it.teardown.specimen.clone(), it.teardown.date.to_string())),
                it.findings.clone(),
            )
        };
        std::iter::once((None, it.stated.clone())).chain(it.jobs.iter().map(job)).collect()
    };
    let (before, after) = (groups(before), groups(after));
    let mut added = 0;
    for (place, now) in &after {
        let then = before.iter().find(|(it, _)| it == place).map(|it| &it.1);
        for it in now {
            // In the same place of the same teardown another word is a correction; anywhere else it is new.
            let old = then.and_then(|list| {
                list.iter().find(|old| {
                    old.address() == it.address()
                        && (old.evidence.word() == "claimed") == (it.evidence.word() == "claimed")
                })
            });
            match old {
                Some(old) if old.typed != it.typed || old.evidence != it.evidence => {
                    let what = named(of.dictionary, &it.address());
                    let reason = of.reasons.get(&(key.to_owned(), it.address()));
                    let why = reason
                        .map(|it| format!(" Reason: {}.", it.trim_end_matches('.')))
                        .unwrap_or_default();
                    let text = format!(
                        "{name}, {what}: {} ({}), not {} ({}).{why}",
                        it.typed,
                        it.evidence.word(),
                        old.typed,
                        old.evidence.word()
                    );
                    list.push(change("corrected", key, it.address(), &old.typed, &it.typed, text));
                }
                Some(_) => {}
                None => added += 1,
            }
        }
        for old in then.into_iter().flatten() {
            if !now.iter().any(|it| it.address() == old.address()) {
                let what = named(of.dictionary, &old.address());
                let text = format!("{name}, {what}: {} is withdrawn.", old.typed);
                list.push(change("corrected", key, old.address(), &old.typed, "", text));
            }
        }
    }
    if added > 0 {
        let text = format!("{name}: {} added.", crate::error::count(added, "finding"));
        list.push(change("added", key, "findings".into(), "", &added.to_string(), text));
    }
}

/// Parts lists of crossovers and sweeps, which are corrected as a whole.
fn measured(
    list: &mut Vec<EditionChange>,
    key: &str,
    before: &Dossier,
    after: &Dossier,
    of: &Sides<'_>,
) {
    let name = format!("{} {}", after.product.maker, after.product.model);
    let mut add = |address: String, what: &str, was: usize, is: usize, unit: &str| {
        let (was_text, is_text) = (crate::error::count(was, unit), crate::error::count(is, unit));
        let reason = of.reasons.get(&(key.to_owned(), address.clone()));
        let why = reason
            .map(|it| format!(" Reason: {}.", it.trim_end_matches('.')))
            .unwrap_or_default();
        let (kind, text) = match (was, is) {
            (0, _) => ("added", format!("{name}: {what} added, {is_text}.")),
            (_, 0) => ("corrected", format!("{name}: {what} is withdrawn.{why}")),
            _ => ("corrected", format!("{name}: {what} was corrected ({is_text}).{why}")),
        };
        list.push(change(kind, key, address, &was_text, &is_text, text));
    };
    let jobs: Vec<&Job> = after.jobs.iter().chain(&before.jobs).collect();
    let mut seen: Vec<(&str, domain::Date)> = Vec::new();
    for job in jobs {
        let place = (job.teardown.specimen.as_str(), job.teardown.date);
        if seen.contains(&place) {
            continue;
        }
        seen.push(place);
        let of_place = |it: &'_ Dossier| crate::job::job(it, place.0, place.1).cloned();
        let (then, now) = (of_place(before), of_place(after));
        let parts = |it: &Option<Job>| it.as_ref().map(|it| it.network.clone()).unwrap_or_default();
        let (was, is) = (parts(&then), parts(&now));
        if was != is {
            add("crossover.parts".into(), "the crossover's list of parts", was.len(), is.len(), "part");
        }
        let sweeps = |it: &Option<Job>| it.as_ref().map(|it| it.sweeps.clone()).unwrap_or_default();
        let (was, is) = (sweeps(&then), sweeps(&now));
        let swept: std::collections::BTreeSet<String> =
            was.iter().chain(&is).map(|it| it.part.to_string()).collect();
        for part in swept {
            let of_part = |list: &[domain::sweep::Sweep]| {
                list.iter().find(|it| it.part.to_string() == part).map(|it| it.points.clone())
            };
            let (was, is) = (of_part(&was).unwrap_or_default(), of_part(&is).unwrap_or_default());
            if was != is {
                let what = format!("the sweep of the {part}");
                add(format!("{part}.sweep"), &what, was.len(), is.len(), "point");
            }
        }
    }
}

/// Ranks, prices and verdicts, read from the results as they were printed.
fn results(list: &mut Vec<EditionChange>, of: &Sides<'_>) {
    let empty = Vec::new();
    let rows = of.results_before["band"]["standings"].as_array().unwrap_or(&empty);
    let old = |key: &str| rows.iter().enumerate().find(|(_, it)| it["product"] == key);
    for (place, now) in of.results_after.standings.iter().enumerate() {
        let name = format!("{} {}", now.maker, now.model);
        let Some((old_place, then)) = old(&now.product) else {
            let text = format!(
                "{name} is ranked for the first time in this band, in place {}.",
                place + 1
            );
            list.push(change(
                "entered",
                &now.product,
                "standings".into(),
                "",
                &(place + 1).to_string(),
                text,
            ));
            continue;
        };
        let (price, now_price) = (then["price"]["real_pair"].as_f64(), now.price.real_pair);
        if let Some(price) = price.filter(|it| (it - now_price).abs() >= 0.5) {
            let text = format!(
                "{name}: {now_price:.0} {} a pair, was {price:.0}.",
                of.results_after.band.currency
            );
            list.push(change(
                "price",
                &now.product,
                "price".into(),
                &format!("{price:.0}"),
                &format!("{now_price:.0}"),
                text,
            ));
        }
        if old_place != place {
            let index = |it: &Value| it["index"]["low"].as_f64().zip(it["index"]["high"].as_f64());
            let was = index(then).map(|(low, high)| interval(low, high)).unwrap_or_default();
            let text = format!(
                "{name}: place {}, was {}; index {}, was {was}.",
                place + 1,
                old_place + 1,
                interval(now.index.low, now.index.high)
            );
            list.push(change(
                "rank",
                &now.product,
                "place".into(),
                &(old_place + 1).to_string(),
                &(place + 1).to_string(),
                text,
            ));
        }
        for verdict in &now.verdicts {
            let was = then["verdicts"]
                .as_array()
                .and_then(|it| it.iter().find(|it| it["kind"] == verdict.kind.as_str()));
            let was = was.and_then(|it| it["verdict"].as_str()).unwrap_or("not judged");
            if was != verdict.verdict {
                let text = format!("{name}, {}: {}; before: {was}.", verdict.kind, verdict.verdict);
                list.push(change(
                    "verdict",
                    &now.product,
                    verdict.kind.clone(),
                    was,
                    &verdict.verdict,
                    text,
                ));
            }
        }
    }
    for then in rows {
        let key = then["product"].as_str().unwrap_or_default();
        if !of.results_after.standings.iter().any(|it| it.product == key) {
            let text = format!(
                "{} {} is no more ranked in this band.",
                then["maker"].as_str().unwrap_or_default(),
                then["model"].as_str().unwrap_or_default()
            );
            list.push(change("left", key, "standings".into(), "", "", text));
        }
    }
}

/// Claims that were printed and have another verdict now, or stand no more.
fn claims(list: &mut Vec<EditionChange>, of: &Sides<'_>) {
    let empty = Vec::new();
    for then in of.results_before["claims"].as_array().unwrap_or(&empty) {
        let word = |key: &str| then[key].as_str().unwrap_or_default();
        let said = if word("wording").is_empty() { word("sentence") } else { word("wording") };
        let said = said.trim_end_matches('.');
        let was = word("verdict");
        let what = format!("claim {}", then["id"]);
        match of.claims_after.iter().find(|it| then["id"] == it.id) {
            None => {
                let text = format!("“{said}” is no more among the claims; before: {was}.");
                list.push(change("claim", "", what, was, "", text));
            }
            Some(now) if now.verdict != was => {
                let text = format!("“{said}”: {}; before: {was}. {}", now.verdict, now.sentence);
                list.push(change("claim", "", what, was, &now.verdict, text));
            }
            Some(_) => {}
        }
    }
}

fn interval(low: f64, high: f64) -> String {
    let (low, high) = (format!("{low:.0}"), format!("{high:.0}"));
    if low == high { low } else { format!("{low}–{high}") }
}

fn method(list: &mut Vec<EditionChange>, of: &Sides<'_>) {
    let now = serde_json::to_value(of.results_after).unwrap_or_default();
    for (key, name) in [
        ("rubric", "the rubric"),
        ("weights", "the weights"),
        ("plugins", "the scoring plugins"),
        ("seed", "the seed"),
        ("draws", "the number of draws"),
        ("as_of", "the day of prices"),
    ] {
        let (before, after) = (&of.results_before["band"][key], &now[key]);
        if before != after {
            let short = |it: &Value| match it {
                Value::String(it) => it.clone(),
                Value::Object(shares) => {
                    let one = |(name, it): (&String, &Value)| {
                        format!("{name} {:.0} %", it.as_f64().unwrap_or(0.0) * 100.0)
                    };
                    shares.iter().map(one).collect::<Vec<_>>().join(", ")
                }
                other => other.to_string(),
            };
            let text = match key {
                "plugins" => "Method, the scoring plugins: others; their hashes are in the method."
                    .to_owned(),
                _ => format!("Method, {name}: {}; before: {}.", short(after), short(before)),
            };
            list.push(change("method", "", key.into(), &short(before), &short(after), text));
        }
    }
}

/// The changes as they are printed.
pub(super) fn blocks(changes: &ChangesDto) -> Vec<Block> {
    let mut blocks = vec![Block::Heading {
        level: 2,
        text: format!("Corrections and changes since edition {}", changes.since),
        new_page: false,
    }];
    let of = |kinds: &[&str]| -> Vec<String> {
        let of = changes.changes.iter().filter(|it| kinds.contains(&it.kind.as_str()));
        of.map(|it| it.text.clone()).collect()
    };
    for (title, kinds) in [
        ("Corrections", &["corrected"][..]),
        ("Prices", &["price"]),
        ("Places", &["rank", "entered", "left"]),
        ("Verdicts", &["verdict", "claim"]),
        ("New findings", &["added"]),
        ("Method", &["method"]),
    ] {
        let items = of(kinds);
        if !items.is_empty() {
            blocks.push(Block::Heading { level: 3, text: title.into(), new_page: false });
            blocks.push(Block::List { items });
        }
    }
    if changes.changes.is_empty() {
        blocks.push(Block::Text { text: "Nothing changed.".into() });
    }
    blocks
}
