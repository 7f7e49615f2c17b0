//! A dossier with other findings or another price, as somebody would have typed them.

use domain::{
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    finding::Finding,
    price::{Price, PriceKind, Seller},
    product::Teardown,
};

use super::WhatIfRequest;
use crate::{
    Error,
    dto::ChangeDto,
    history::{asked, shown},
    pricing::{self, Terms},
    typed::Typed,
};

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
        let typed = Typed {
            field: "set",
            address,
            value: typed,
            evidence: request.evidence.as_deref(),
            note: "",
            date: terms.as_of,
        };
        let finding = typed.read(dictionary)?;
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
    let (money, basis) = pricing::typed(text, terms.currency)?;
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
