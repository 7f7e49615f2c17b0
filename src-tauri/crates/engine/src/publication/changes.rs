//! What changed since the edition before: corrections first, as a list that is printed.

mod findings;
mod measured;
mod method;
mod results;

use std::collections::BTreeMap;

use catalog::Exchange;
use domain::{dictionary::Dictionary, dossier::Dossier};
use export::Block;
use serde_json::Value;

use crate::{
    claims::PrintedClaim,
    dto::{BandReport, ChangesDto, EditionChange},
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
            findings::product(&mut list, key, &before, &after);
            findings::findings(&mut list, key, &before, &after, of);
            measured::measured(&mut list, key, &before, &after, of);
        }
    }
    results::results(&mut list, of);
    results::claims(&mut list, of);
    method::method(&mut list, of);
    ChangesDto { since, changes: list }
}

/// Why a fact was corrected, as it is printed after it, or nothing.
fn reason(of: &Sides<'_>, key: &str, address: &str) -> String {
    let reason = of.reasons.get(&(key.to_owned(), address.to_owned()));
    reason.map(|it| format!(" Reason: {}.", it.trim_end_matches('.'))).unwrap_or_default()
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
