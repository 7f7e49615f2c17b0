//! Cross-checks of one product: its findings, and its prices in the catalogue's money.

use domain::price::Price;
use physics::cross_check::{CrossCheck, Subject};
use standing::basis::{BasisSlip, basis_slips};

use crate::{
    dto::{CrossCheckDto, OfferDto, Remark},
    pricing::Terms,
    scoring::{Examined, ScoredProduct},
};

/// All remarks, the gravest first.
pub(crate) fn checks(product: &Examined, terms: &Terms) -> Vec<CrossCheckDto> {
    let prices = &product.dossier.prices;
    let mut list: Vec<CrossCheckDto> = product.cross_checks().iter().map(dto).collect();
    list.extend(
        basis_slips(prices, terms.base)
            .into_iter()
            .filter_map(|it| price(prices.get(it.place)?, &it, terms)),
    );
    list.sort_by_key(|it| std::cmp::Reverse(rank(&it.severity)));
    list
}

/// What a list of standings should say of a product: contradictions and promises that are not kept.
pub(crate) fn remarks(product: &ScoredProduct, terms: &Terms) -> Vec<Remark> {
    checks(product, terms)
        .into_iter()
        .filter(|it| it.severity == "warning")
        .map(|it| Remark {
            source: "boxworth".into(),
            code: it.code,
            severity: it.severity,
            text: it.text,
        })
        .collect()
}

fn rank(severity: &str) -> u8 {
    match severity {
        "warning" => 2,
        "caution" => 1,
        _ => 0,
    }
}

fn dto(it: &CrossCheck) -> CrossCheckDto {
    CrossCheckDto {
        code: it.code.into(),
        severity: it.severity.word().into(),
        subject: match it.subject {
            Subject::Record => "record",
            Subject::Maker => "maker",
            Subject::Design => "design",
        }
        .into(),
        text: it.text.clone(),
        addresses: it.addresses.clone(),
        z: it.z,
        offers: it
            .offers
            .iter()
            .map(|it| OfferDto { address: it.address.clone(), typed: it.typed.clone() })
            .collect(),
    }
}

fn price(of: &Price, it: &BasisSlip, terms: &Terms) -> Option<CrossCheckDto> {
    let amount = of.money.amount();
    let (noted, likely) = (of.basis.word(), it.likely.word());
    let address = format!("price of {}", of.date);
    Some(CrossCheckDto {
        code: "price_basis_doubtful".into(),
        severity: "warning".into(),
        subject: "record".into(),
        text: format!(
            "The price of {amount:.2} on {} is noted for {}, which makes a pair {:.0} {} of {}; the other prices make \
             it {:.0}. Perhaps it is the price {}: then a pair is {:.0}.",
            of.date,
            named(noted),
            it.real_pair,
            terms.currency.word(),
            terms.base,
            it.others_median,
            if likely == "each" { "of one speaker" } else { "of a pair" },
            it.likely_real_pair,
        ),
        addresses: vec![address.clone()],
        z: None,
        offers: vec![OfferDto { address, typed: likely.into() }],
    })
}

fn named(basis: &str) -> &str {
    match basis {
        "pair" => "a pair",
        _ => "one speaker",
    }
}
