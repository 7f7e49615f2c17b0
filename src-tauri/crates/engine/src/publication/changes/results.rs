//! Changes of what follows: places, scores, prices, verdicts, and claims.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;
use standing::gates::MIN_RANK;

use super::{Sides, change};
use crate::{
    dto::{EditionChange, Standing},
    text::has_ranks,
};

/// Ranks, scores, prices and verdicts, read from the results as they were printed.
pub(super) fn results(list: &mut Vec<EditionChange>, of: &Sides<'_>) {
    let empty = Vec::new();
    let rows = of.results_before["band"]["standings"].as_array().unwrap_or(&empty);
    // Where there were or are no ranks there is no place to speak of.
    let ranked = has_ranks(of.results_after) && rows.len() >= MIN_RANK;
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
pub(super) fn claims(list: &mut Vec<EditionChange>, of: &Sides<'_>) {
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
