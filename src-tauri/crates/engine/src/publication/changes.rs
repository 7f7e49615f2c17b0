//! What changed since the edition before: corrections first, as a list that is printed.

use std::collections::{BTreeMap, BTreeSet};

use catalog::Exchange;
use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    finding::Finding,
    network::Element,
};
use export::Block;
use serde_json::Value;
use standing::gates::MIN_RANK;

use crate::{
    claims::PrintedClaim,
    dto::{BandReport, ChangesDto, EditionChange, Standing},
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
            product(&mut list, key, &before, &after);
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

/// What is printed of the product itself.
fn product(list: &mut Vec<EditionChange>, key: &str, before: &Dossier, after: &Dossier) {
    let (then, now) = (&before.product, &after.product);
    let name = format!("{} {}", now.maker, now.model);
    for (what, was, is) in [
        ("maker", then.maker.clone(), now.maker.clone()),
        ("model", then.model.clone(), now.model.clone()),
        ("kind", then.kind.word().to_owned(), now.kind.word().to_owned()),
        ("ways", then.ways.to_string(), now.ways.to_string()),
        ("year", then.year.to_string(), now.year.to_string()),
    ] {
        if was != is {
            let text = format!("{name}, {what}: {is}, not {was}.");
            list.push(change("corrected", key, what.into(), &was, &is, text));
        }
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
    for (place, then) in &before {
        let (false, Some((specimen, day))) = (after.iter().any(|(it, _)| it == place), place)
        else {
            continue;
        };
        let held = crate::error::count(then.len(), "finding");
        let text = format!(
            "{name}: the teardown of specimen {specimen} on {day} is withdrawn, with {held}."
        );
        list.push(change("corrected", key, "teardown".into(), &held, "", text));
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
    let mut add =
        |address: String, what: &str, was: usize, is: usize, unit: &str, parts: &[String]| {
            let (was_text, is_text) =
                (crate::error::count(was, unit), crate::error::count(is, unit));
            let reason = of.reasons.get(&(key.to_owned(), address.clone()));
            let why = reason
                .map(|it| format!(" Reason: {}.", it.trim_end_matches('.')))
                .unwrap_or_default();
            let (kind, text) = match (was, is) {
                (0, _) => ("added", format!("{name}: {what} added, {is_text}.")),
                (_, 0) => ("corrected", format!("{name}: {what} is withdrawn.{why}")),
                _ if parts.is_empty() => {
                    ("corrected", format!("{name}: {what} was corrected ({is_text}).{why}"))
                }
                _ => (
                    "corrected",
                    format!("{name}: {what} was corrected ({}).{why}", parts.join("; ")),
                ),
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
            let parts = parts_differ(&was, &is);
            let what = "the crossover's list of parts";
            add("crossover.parts".into(), what, was.len(), is.len(), "part", &parts);
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
                add(format!("{part}.sweep"), &what, was.len(), is.len(), "point", &[]);
            }
        }
    }
}

/// Which parts of a list are others: `C1: 3.3 µF, not 4.7 µF`.
fn parts_differ(was: &[Element], is: &[Element]) -> Vec<String> {
    let shown =
        |it: &Element| if it.typed.is_empty() { "a part".to_owned() } else { it.typed.clone() };
    let mut list = Vec::new();
    for now in is {
        match was.iter().find(|it| it.name == now.name) {
            None => list.push(format!("{}: {} added", now.name, shown(now))),
            Some(then) if then.typed != now.typed => {
                list.push(format!("{}: {}, not {}", now.name, shown(now), shown(then)));
            }
            Some(then) if (&then.from, &then.to) != (&now.from, &now.to) => {
                list.push(format!(
                    "{}: between {} and {}, not {} and {}",
                    now.name, now.from, now.to, then.from, then.to
                ));
            }
            Some(then) if then != now => list.push(format!("{}: other particulars", now.name)),
            Some(_) => {}
        }
    }
    let gone = was.iter().filter(|then| !is.iter().any(|it| it.name == then.name));
    list.extend(gone.map(|it| format!("{}: {} withdrawn", it.name, shown(it))));
    list
}

/// Ranks, scores, prices and verdicts, read from the results as they were printed.
fn results(list: &mut Vec<EditionChange>, of: &Sides<'_>) {
    let empty = Vec::new();
    let rows = of.results_before["band"]["standings"].as_array().unwrap_or(&empty);
    // Where there were or are no ranks there is no place to speak of.
    let ranked = crate::text::has_ranks(of.results_after) && rows.len() >= MIN_RANK;
    let old = |key: &str| rows.iter().enumerate().find(|(_, it)| it["product"] == key);
    for (place, now) in of.results_after.standings.iter().enumerate() {
        let name = format!("{} {}", now.maker, now.model);
        let key = &now.product;
        let Some((old_place, then)) = old(key) else {
            let place = if ranked { (place + 1).to_string() } else { String::new() };
            let at = if ranked { format!(", in place {place}") } else { String::new() };
            let text =
                format!("{name} is among the standings of this band for the first time{at}.");
            list.push(change("entered", key, "standings".into(), "", &place, text));
            continue;
        };
        let was = then["price"]["real_pair"].as_f64().map(|it| format!("{it:.0}"));
        let is = format!("{:.0}", now.price.real_pair);
        // What reads the same is no change.
        if let Some(was) = was.filter(|it| *it != is) {
            let text =
                format!("{name}: {is} {} a pair, was {was}.", of.results_after.band.currency);
            list.push(change("price", key, "price".into(), &was, &is, text));
        }
        let scores = scores_differ(then, now);
        if ranked && old_place != place {
            let (was, is) = ((old_place + 1).to_string(), (place + 1).to_string());
            let rest = scores.map(|it| format!("; {it}")).unwrap_or_default();
            let text = format!("{name}: place {is}, was {was}{rest}.");
            list.push(change("rank", key, "place".into(), &was, &is, text));
        } else if let Some(scores) = scores {
            let was = score(&then["index"]).unwrap_or_default();
            let is = interval(now.index.low, now.index.high);
            list.push(change("rank", key, "index".into(), &was, &is, format!("{name}: {scores}.")));
        }
        verdicts(list, then, now);
    }
    for then in rows {
        let key = then["product"].as_str().unwrap_or_default();
        if !of.results_after.standings.iter().any(|it| it.product == key) {
            let text = format!(
                "{} {} is no longer among the standings of this band.",
                then["maker"].as_str().unwrap_or_default(),
                then["model"].as_str().unwrap_or_default()
            );
            list.push(change("left", key, "standings".into(), "", "", text));
        }
    }
}

/// The ends of a score as they were printed.
fn score(it: &Value) -> Option<String> {
    let (low, high) = it["low"].as_f64().zip(it["high"].as_f64())?;
    Some(interval(low, high))
}

/// `index 61–70, was 58–72; cabinet 60, was 55`, or none when all reads the same.
fn scores_differ(then: &Value, now: &Standing) -> Option<String> {
    let none = || "none".to_owned();
    let index = interval(now.index.low, now.index.high);
    let mut list = vec![("index", score(&then["index"]).unwrap_or_else(none), index)];
    let was = then["subsystems"].as_object();
    let names = was.into_iter().flat_map(|it| it.keys()).chain(now.subsystems.keys());
    let names: BTreeSet<&String> = names.collect();
    for name in names {
        let is = now.subsystems.get(name).map(|it| interval(it.low, it.high));
        let was = score(&then["subsystems"][name.as_str()]);
        list.push((name.as_str(), was.unwrap_or_else(none), is.unwrap_or_else(none)));
    }
    list.retain(|(_, was, is)| was != is);
    let texts: Vec<String> =
        list.iter().map(|(name, was, is)| format!("{name} {is}, was {was}")).collect();
    (!texts.is_empty()).then(|| texts.join("; "))
}

/// Verdicts on value for money that are others, or are no longer there.
fn verdicts(list: &mut Vec<EditionChange>, then: &Value, now: &Standing) {
    const NONE: &str = "not judged";
    let name = format!("{} {}", now.maker, now.model);
    let before: BTreeMap<&str, &str> = then["verdicts"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|it| Some((it["kind"].as_str()?, it["verdict"].as_str()?)))
        .collect();
    let after = now.verdicts.iter().map(|it| (it.kind.as_str(), it.verdict.as_str()));
    let after: BTreeMap<&str, &str> = after.collect();
    let kinds: BTreeSet<&str> = before.keys().chain(after.keys()).copied().collect();
    for kind in kinds {
        let was = before.get(kind).copied().unwrap_or(NONE);
        let is = after.get(kind).copied().unwrap_or(NONE);
        if was != is {
            let text = format!("{name}, {kind}: {is}; before: {was}.");
            list.push(change("verdict", &now.product, kind.to_owned(), was, is, text));
        }
    }
}

/// Claims that were printed and have another verdict now, or no longer stand.
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
                let text = format!("“{said}” is no longer among the claims; before: {was}.");
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
    let then = &of.results_before["band"];
    for (place, name) in [
        ("/rubric", "the rubric"),
        ("/weights", "the weights"),
        ("/seed", "the seed"),
        ("/draws", "the number of draws"),
        ("/finding_draws", "the number of draws of the findings"),
        ("/kappa", "the concentration of the weights"),
        ("/spreads", "how far findings are taken to be off"),
        ("/gates", "the limits of what is said"),
        ("/band/base_month", "the month whose money is meant"),
        ("/as_of", "the day of prices"),
    ] {
        let (before, after) = (then.pointer(place), now.pointer(place));
        let (Some(before), Some(after)) = (before, after) else { continue };
        if before == after {
            continue;
        }
        let only = |of: &Value, other: &Value| told(of, other, place);
        let (was, is) = (only(before, after), only(after, before));
        let text = format!("Method, {name}: {is}; before: {was}.");
        let key = place.rsplit('/').next().unwrap_or_default();
        list.push(change("method", "", key.into(), &was, &is, text));
    }
    let used = |of: &Value| -> BTreeMap<String, (String, String)> {
        let word = |it: &Value, key: &str| it[key].as_str().unwrap_or_default().to_owned();
        let list = of["plugins"].as_array().into_iter().flatten();
        list.map(|it| (word(it, "id"), (word(it, "sha256"), word(it, "version")))).collect()
    };
    let (before, after) = (used(then), used(&now));
    let ids: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    for id in ids {
        let text = match (before.get(id), after.get(id)) {
            (Some(was), Some(is)) if was.0 == is.0 => continue,
            (Some(was), Some(is)) if was.1 == is.1 => {
                format!("another file of version {}; its hash is in the method", is.1)
            }
            (Some(was), Some(is)) => {
                format!("version {}, before {}; its hash is in the method", is.1, was.1)
            }
            (None, _) => "takes part now".to_owned(),
            (_, None) => "no longer takes part".to_owned(),
        };
        let version = |it: Option<&(String, String)>| it.map(|it| it.1.clone()).unwrap_or_default();
        let (was, is) = (version(before.get(id)), version(after.get(id)));
        let text = format!("Method, the scoring plugin {id}: {text}.");
        list.push(change("method", "", "plugins".into(), &was, &is, text));
    }
}

/// A setting as words; of several named ones those that are others, of weights all, since they sum to one.
fn told(it: &Value, other: &Value, place: &str) -> String {
    let is_weights = place == "/weights";
    match it {
        Value::String(it) => it.clone(),
        Value::Object(named) => {
            let named =
                named.iter().filter(|(name, it)| is_weights || other[name.as_str()] != **it);
            let one = |(name, it): (&String, &Value)| {
                let name = name.replace('_', " ");
                match it.as_f64() {
                    Some(share) if is_weights => format!("{name} {:.0} %", share * 100.0),
                    Some(share) if place == "/spreads" => {
                        format!("{name} {} %", crate::text::measure(share * 100.0))
                    }
                    _ => format!("{name} {it}"),
                }
            };
            let texts: Vec<String> = named.map(one).collect();
            if texts.is_empty() { "none".to_owned() } else { texts.join(", ") }
        }
        other => other.to_string(),
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
        ("Places and scores", &["rank", "entered", "left"]),
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

#[cfg(test)]
mod tests {
    use domain::network::ElementKind;
    use serde_json::json;

    use super::*;

    fn part(name: &str, typed: &str, to: &str) -> Element {
        Element {
            name: name.into(),
            kind: ElementKind::Capacitor,
            from: "in".into(),
            to: to.into(),
            typed: typed.into(),
            value_si: None,
            loss_typed: String::new(),
            loss_ohm: None,
            tolerance: None,
            construction: String::new(),
            rating_typed: String::new(),
            rating_si: None,
            part: None,
            note: String::new(),
        }
    }

    #[test]
    fn a_corrected_list_names_the_parts_that_are_others() {
        let was = [part("C1", "4.7 µF", "a"), part("C2", "10 µF", "0"), part("C3", "1 µF", "0")];
        let mut loss = part("C3", "1 µF", "0");
        loss.loss_typed = "0.1 ohm".into();
        let is =
            [part("C1", "3.3 µF", "a"), part("C2", "10 µF", "b"), loss, part("C4", "2 µF", "0")];
        let told = [
            "C1: 3.3 µF, not 4.7 µF",
            "C2: between in and b, not in and 0",
            "C3: other particulars",
            "C4: 2 µF added",
        ];
        assert_eq!(parts_differ(&was, &is), told);
        assert_eq!(parts_differ(&was[..1], &[]), ["C1: 4.7 µF withdrawn"]);
        assert!(parts_differ(&was, &was).is_empty());
    }

    #[test]
    fn of_settings_with_names_those_that_are_others_are_told() {
        let (was, is) =
            (json!({ "seen": 0.05, "judged": 0.25 }), json!({ "seen": 0.05, "judged": 0.3 }));
        assert_eq!(told(&is, &was, "/spreads"), "judged 30 %");
        assert_eq!(told(&is, &was, "/gates"), "judged 0.3");
        let (was, is) =
            (json!({ "cabinet": 0.25, "driver": 0.75 }), json!({ "cabinet": 0.25, "driver": 0.7 }));
        assert_eq!(told(&is, &was, "/weights"), "cabinet 25 %, driver 70 %");
    }
}
