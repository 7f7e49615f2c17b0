//! A dossier with other findings or another price, as somebody would have typed them.

use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    evidence::Evidence,
    finding::{Answer, Finding, Gap, read_value},
    money::Money,
    part::Part,
    price::{Basis, Price, PriceKind, Seller},
    product::Teardown,
};

use super::WhatIfRequest;
use crate::{Error, dto::ChangeDto, pricing::Terms};

/// The changed dossier and what was changed.
pub(super) fn changed(
    dossier: &Dossier,
    dictionary: &Dictionary,
    request: &WhatIfRequest,
    terms: &Terms,
) -> Result<(Dossier, Vec<ChangeDto>), Error> {
    let mut dossier = dossier.clone();
    let mut changes = Vec::new();
    for (address, typed) in &request.set {
        let finding = finding(address, typed, dictionary, request.evidence.as_deref(), terms)?;
        let before = dossier.current(finding.part, &finding.key);
        changes.push(ChangeDto {
            what: address.clone(),
            before: before.map_or_else(|| "not recorded".to_owned(), shown),
            after: shown(&finding),
        });
        put(&mut dossier, finding);
    }
    if let Some(text) = &request.price {
        let price = price(text, terms)?;
        let before =
            terms.effective(&dossier.prices).ok().and_then(|it| dossier.prices.get(it.nominal));
        changes.push(ChangeDto {
            what: "price".into(),
            before: before.map_or_else(|| "not recorded".to_owned(), asked),
            after: asked(&price),
        });
        dossier.prices = vec![price];
    }
    Ok((dossier, changes))
}

fn shown(it: &Finding) -> String {
    format!("{} ({})", it.typed, it.evidence)
}

fn asked(it: &Price) -> String {
    format!("{:.2} {}", it.money.amount(), it.basis.word())
}

fn refuse(place: &'static str, text: &str, why: String, accepted: String) -> Error {
    Error::Request { place, text: text.to_owned(), why, accepted }
}

fn finding(
    address: &str,
    typed: &str,
    dictionary: &Dictionary,
    evidence: Option<&str>,
    terms: &Terms,
) -> Result<Finding, Error> {
    let form = "part.key as the sheet lists them, such as cabinet.wall_damping";
    let (part, key) = address
        .split_once('.')
        .and_then(|(part, key)| Some((part.parse::<Part>().ok()?, key)))
        .ok_or_else(|| refuse("set", address, "is no finding".into(), form.into()))?;
    let entry = dictionary
        .entry_for(part, key)
        .map_err(|why| refuse("set", address, format!("is no finding: {why}"), form.into()))?;
    let evidence = match evidence {
        Some(word) => Evidence::parse(word).map_err(|why| {
            refuse("evidence", word, "is not an evidence grade".into(), why.accepted)
        })?,
        None if matches!(entry.kind, domain::dictionary::Kind::Number(..)) => Evidence::Measured,
        None => Evidence::Inspected,
    };
    let typed = typed.trim();
    let (value, uncertainty) = match typed.split_once('±') {
        Some((value, u)) => (value.trim(), Some(u.trim())),
        None => (typed, None),
    };
    let (answer, unit) = match Gap::parse(typed) {
        Ok(gap) => (Answer::Gap(gap), String::new()),
        Err(_) => {
            let it = read_value(&entry, value, uncertainty).map_err(|why| {
                refuse(
                    "set",
                    &format!("{address}={typed}"),
                    format!("is not understood: {why}"),
                    entry.accepted(),
                )
            })?;
            (Answer::Value(it.value), it.unit)
        }
    };
    Ok(Finding {
        part,
        declared: dictionary.declared(part, key, value, &answer),
        key: key.to_owned(),
        typed: value.to_owned(),
        unit,
        answer,
        evidence,
        note: String::new(),
        date: terms.as_of,
    })
}

/// The new finding in place of all that was recorded there, whatever its evidence: a question of what if is not weighed
/// against what is.
fn put(dossier: &mut Dossier, finding: Finding) {
    let other = |it: &Finding| it.part != finding.part || it.key != finding.key;
    dossier.stated.retain(other);
    dossier.jobs.iter_mut().for_each(|it| it.findings.retain(other));
    if let Some(job) = dossier.jobs.last_mut() {
        job.findings.push(finding);
        return;
    }
    let teardown = Teardown { specimen: String::new(), date: finding.date, note: String::new() };
    dossier.jobs.push(Job {
        teardown,
        findings: vec![finding],
        network: Vec::new(),
        sweeps: Vec::new(),
    });
}

fn price(text: &str, terms: &Terms) -> Result<Price, Error> {
    let accepted = "an amount above 0 for a pair, such as 249, or 129 each";
    let words: Vec<&str> = text.split_whitespace().collect();
    let (amount, basis) = match words[..] {
        [amount] | [amount, "pair"] => (amount, Basis::Pair),
        [amount, "each"] => (amount, Basis::Each),
        _ => return Err(refuse("price", text, "is no price".into(), accepted.into())),
    };
    let money = Money::parse(amount, terms.currency)
        .ok()
        .filter(|it| it.amount() > 0.0)
        .ok_or_else(|| refuse("price", text, "is no price".into(), accepted.into()))?;
    let date = terms
        .as_of
        .to_string()
        .parse()
        .map_err(|_| Error::Internal("the day of the question is no day of a price".into()))?;
    Ok(Price {
        money,
        basis,
        date,
        kind: PriceKind::Street,
        seller: Seller::Authorised,
        shop: String::new(),
        note: String::new(),
    })
}
