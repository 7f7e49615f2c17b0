//! How a ranking came about, and what it cannot tell: each point is printed, with `not recorded` where nobody said.
//!
//! The points are our reading of the headings of ISO/IEC Guide 46:2017 (choice of products, sampling, choice of
//! characteristics, test methods, evaluation, presentation) and of the EU key principles for comparison tools (2016).

use std::collections::BTreeMap;

use export::Block;

use super::definition::Definition;
use crate::{dto::BandReport, scoring::Scored};

const NOT_RECORDED: &str = "not recorded";

fn said(text: &str) -> String {
    if text.trim().is_empty() { NOT_RECORDED.to_owned() } else { text.trim().to_owned() }
}

/// The block of method and disclosure.
pub(super) fn method(report: &BandReport, scored: &Scored, definition: &Definition) -> Vec<Block> {
    let of = &definition.disclosure;
    let facts = Facts::of(report, scored);
    let weights: Vec<String> =
        report.weights.iter().map(|(name, it)| format!("{name} {:.0} %", it * 100.0)).collect();
    let plugins: Vec<String> = report
        .plugins
        .iter()
        .map(|it| format!("{} {} (SHA-256 {})", it.id, it.version, it.sha256))
        .collect();
    let term = |name: &str, text: String| (name.to_owned(), text);
    let mut terms = vec![
        term("Choice of products", said(&of.chosen)),
        term("Market", said(&of.market)),
        term("Known to exist (N)", said(&of.known)),
        term(
            "Opened (n)",
            format!(
                "{} of the {} in the band were opened.",
                facts.opened,
                crate::error::count(report.standings.len() + report.not_ranked.len(), "product")
            ),
        ),
        term("Left out, and why", said(&of.left_out)),
        term("Sampling", facts.sampling()),
        term("How specimens were obtained", facts.acquired()),
        term("Dates of purchase", said(&of.bought)),
        term("Serial numbers", facts.serials()),
        term(
            "Characteristics and weights",
            format!("{}. Rubric: {}.", weights.join(", "), report.rubric),
        ),
        term("Criteria and their weights", criteria(scored)),
        term(
            "Scoring plugins",
            if plugins.is_empty() { NOT_RECORDED.into() } else { plugins.join("; ") },
        ),
        term("Instruments", said(&of.instruments)),
        term("Evidence", facts.evidence()),
        term(
            "Evaluation",
            format!(
                "Each criterion has fixed anchors from 0 to 100; the index is the weighted arithmetic mean, limited where a \
                 fault must not be averaged away. A missing finding counts at its worst in the low end and at its best in the \
                 high end and is never imputed. Products of which less than {:.0} % is known are not ranked.",
                report.gates.get("coverage").copied().unwrap_or(0.65) * 100.0
            ),
        ),
        term("Draws, spreads and limits", crate::text::how_drawn(report)),
        term(
            "Numbers with ±",
            "What follows the sign is one standard uncertainty: in about two of three cases the true value lies no farther away."
                .to_owned(),
        ),
        term(
            "Results",
            "Ranks and value points are printed as intervals that hold 90 % of the draws, an index as what missing findings \
             leave open and as what 90 % of the draws hold; what is known of each product is printed beside it."
                .to_owned(),
        ),
        term(
            "Prices",
            format!(
                "Real price of a pair in {} of {}, taken on {}; the median of eligible offers of the last 180 days, else the \
                 newest one carried over by the consumer price index and marked.",
                report.band.currency, report.band.base_month, report.as_of
            ),
        ),
        term("Sellers of all recorded prices", facts.sellers()),
        term("Tax and shipping", said(&of.tax_and_shipping)),
        term("Dates of all recorded prices", Facts::span(&facts.price_days)),
        term("Dates of findings", Facts::span(&facts.finding_days)),
        term("Who paid", said(&of.paid_by)),
        term("Gifts and loans", said(&of.gifts)),
        term("Links that earn money", said(&of.affiliate)),
        term("How long this holds", "Models and prices change without notice.".into()),
    ];
    let notes: Vec<String> = report
        .remarks
        .iter()
        .filter(|it| it.severity == "info")
        .map(|it| format!("{}.", it.text.trim_end_matches('.')))
        .collect();
    if !notes.is_empty() {
        terms.push(term("Also to know", notes.join(" ")));
    }
    vec![Block::Terms { terms }]
}

/// What each subsystem is judged by, with the share of its score in percent.
fn criteria(scored: &Scored) -> String {
    let of = |(at, name): (usize, &String)| {
        let parts = scored.products.iter().filter_map(|it| it.subsystems.get(at));
        let criteria = parts.map(|it| &it.criteria).find(|it| !it.is_empty())?;
        let whole: f64 = criteria.iter().map(|it| it.weight).sum();
        let one = |it: &crate::scoring::ScoredCriterion| {
            format!("{} {} %", it.title, crate::text::measure(it.weight / whole * 100.0))
        };
        let list: Vec<String> = criteria.iter().map(one).collect();
        Some(format!("{}: {}.", crate::text::title(name), list.join(", ")))
    };
    let list: Vec<String> = scored.subsystems.iter().enumerate().filter_map(of).collect();
    if list.is_empty() { NOT_RECORDED.to_owned() } else { list.join(" ") }
}

/// What to know before relying on the standings.
pub(super) fn cautions(report: &BandReport) -> Vec<String> {
    let mut list = vec![
        "One specimen of each product was opened unless the method says otherwise, so how much specimens differ is not \
         known. Nothing here is said of every unit."
            .to_owned(),
        "Opening a loudspeaker may void its warranty. Capacitors can hold a charge, and magnets and panels can crush \
         fingers; where mains is near, unplug it first and keep to local rules."
            .to_owned(),
    ];
    let sentences = report.remarks.iter().filter(|it| it.severity != "info");
    list.extend(sentences.map(|it| format!("{}.", it.text.trim_end_matches('.'))));
    list
}

#[derive(Debug, Default)]
struct Facts {
    opened: usize,
    specimens: BTreeMap<usize, usize>,
    acquired: BTreeMap<String, usize>,
    with_serial: usize,
    evidence: BTreeMap<&'static str, usize>,
    sellers: BTreeMap<&'static str, usize>,
    price_days: Vec<String>,
    finding_days: Vec<String>,
}

impl Facts {
    fn of(report: &BandReport, scored: &Scored) -> Self {
        let mut facts = Facts::default();
        let keys = report.standings.iter().map(|it| &it.product);
        for key in keys.chain(report.not_ranked.iter().map(|it| &it.product)) {
            let Some(it) = scored.products.iter().find(|it| it.dossier.product.key.as_str() == key)
            else {
                continue;
            };
            let dossier = &it.dossier;
            if !dossier.jobs.is_empty() {
                facts.opened += 1;
            }
            *facts.specimens.entry(dossier.specimens.len()).or_default() += 1;
            for it in &dossier.specimens {
                *facts.acquired.entry(it.acquired.word().to_owned()).or_default() += 1;
                facts.with_serial += usize::from(!it.serial.trim().is_empty());
            }
            for it in dossier.findings().filter(|it| it.answer.value().is_some()) {
                *facts.evidence.entry(it.evidence.word()).or_default() += 1;
                facts.finding_days.push(it.date.to_string());
            }
            for it in &dossier.prices {
                *facts.sellers.entry(it.seller.word()).or_default() += 1;
                facts.price_days.push(it.date.to_string());
            }
        }
        facts.price_days.sort();
        facts.finding_days.sort();
        facts
    }

    fn counted<K: std::fmt::Display>(of: &BTreeMap<K, usize>) -> String {
        if of.is_empty() {
            return NOT_RECORDED.to_owned();
        }
        of.iter().map(|(word, n)| format!("{word} {n}")).collect::<Vec<_>>().join(", ")
    }

    fn sampling(&self) -> String {
        let one = |(specimens, products): (&usize, &usize)| match specimens {
            0 => format!("{} without a specimen", crate::error::count(*products, "product")),
            1 => format!("one specimen of {}", crate::error::count(*products, "product")),
            more => format!("{more} specimens of {}", crate::error::count(*products, "product")),
        };
        let list: Vec<String> = self.specimens.iter().map(one).collect();
        if list.is_empty() { NOT_RECORDED.into() } else { format!("{}.", list.join(", ")) }
    }

    fn acquired(&self) -> String {
        Facts::counted(&self.acquired)
    }

    fn serials(&self) -> String {
        match self.with_serial {
            0 => NOT_RECORDED.into(),
            n => format!("recorded of {}", crate::error::count(n, "specimen")),
        }
    }

    fn evidence(&self) -> String {
        format!("Values by grade: {}.", Facts::counted(&self.evidence))
    }

    fn sellers(&self) -> String {
        Facts::counted(&self.sellers)
    }

    fn span(days: &[String]) -> String {
        match (days.first(), days.last()) {
            (Some(first), Some(last)) if first == last => first.clone(),
            (Some(first), Some(last)) => format!("{first} to {last}"),
            _ => NOT_RECORDED.into(),
        }
    }
}
