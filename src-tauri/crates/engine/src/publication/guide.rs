//! The buying guide of a band: standings, value, charts, comparison, sheets, method and cautions in one report.

use std::collections::BTreeMap;

use domain::dossier::Dossier;
use export::{Asked, Block, Cell, DataTable, Item, Property, Report, What};

use super::{
    Basis,
    definition::{Definition, Units},
    method, pictures,
    tables::{self, column, note},
};
use crate::{
    Error,
    dto::{BandReport, BandView, FindingDto, ProductSheet, Standing},
    scoring::Scored,
};

fn heading(level: u8, text: impl Into<String>, new_page: bool) -> Block {
    Block::Heading { level, text: text.into(), new_page }
}

fn text(text: impl Into<String>) -> Block {
    Block::Text { text: text.into() }
}

/// A part under its heading; nothing where there is nothing to say.
fn section(title: &str, content: Vec<Block>) -> impl Iterator<Item = Block> {
    let head = (!content.is_empty()).then(|| heading(2, title, true));
    head.into_iter().chain(content)
}

/// The guide. `changes` stands right after the standings and their chart; it is empty for a first edition.
pub(super) fn guide(
    basis: &Basis,
    sheets: &[ProductSheet],
    edition: Option<u32>,
    changes: Vec<Block>,
) -> Result<Report, Error> {
    let (view, scored, definition) = (&basis.view, &*basis.scored, &basis.frozen.definition);
    let report = &view.report;
    let units = definition.units()?;
    definition.check()?;
    let title = if definition.title.trim().is_empty() {
        format!("Passive loudspeakers, {}", span(view))
    } else {
        definition.title.trim().to_owned()
    };
    let charts = if definition.charts { pictures::pictures(view) } else { Vec::new() };
    let chart = |id: &str| charts.iter().find(|it| it.id == id).cloned().map(Block::Chart);
    let mut blocks = vec![heading(2, "Standings", false), text(lead(report))];
    if !report.standings.is_empty() {
        blocks.push(Block::Table(tables::standings(report)));
        blocks.push(text(how_to_read(crate::text::has_ranks(report))));
    }
    blocks.extend(chart("index"));
    blocks.extend(changes);
    blocks.extend(section("Value for money", value(report, chart("price"))));
    if let Some(it) = tables::warned(report) {
        blocks.push(heading(2, "Warnings on single products", false));
        blocks.push(it);
    }
    blocks.extend(section(
        "How sure the order is",
        sure(report, [chart("ranks"), chart("subsystems")]),
    ));
    if let Some(it) = tables::claims(&basis.claims) {
        blocks.push(heading(2, "Sentences put to the test", true));
        blocks.push(text(
            "Each sentence was tested on the findings that were measured, seen or read off a part; where these leave it \
             open, on all findings. What stands here is what may be printed, whatever the verdict.",
        ));
        blocks.push(Block::Table(it));
    }
    let tables = tables::comparison(report, scored, definition)?;
    let tables = tables.into_iter().filter(|it| !it.rows.is_empty()).map(Block::Table);
    blocks.extend(section("Comparison", tables.collect()));
    if definition.sheets {
        for it in sheets {
            let dossier = scored
                .products
                .iter()
                .map(|it| &it.dossier)
                .find(|of| of.product.key.as_str() == it.row.product);
            blocks.extend(sheet(it, dossier, units, definition));
        }
    }
    blocks.push(heading(2, "Method and disclosure", true));
    blocks.extend(method::method(report, scored, definition));
    blocks.push(heading(2, "Cautions", false));
    blocks.push(Block::Caution { items: method::cautions(report) });
    Ok(Report {
        title,
        subtitle: format!(
            "{}, real price of a pair in the money of {}",
            span(view),
            report.band.base_month
        ),
        author: definition.author.trim().to_owned(),
        date: report.as_of.clone(),
        edition,
        blocks,
        items: crate::text::listed(report).into_iter().map(|it| item(it, report, scored)).collect(),
        is_ranked: crate::text::has_ranks(report),
    })
}

fn span(view: &BandView) -> String {
    let band = &view.report.band;
    match (band.low, band.high) {
        (Some(low), Some(high)) => format!("{low:.0} to {high:.0} {}", band.currency),
        (Some(low), None) => format!("from {low:.0} {}", band.currency),
        (None, Some(high)) => format!("under {high:.0} {}", band.currency),
        (None, None) => format!("all prices, {}", band.currency),
    }
}

fn lead(report: &BandReport) -> String {
    let (n, open) = (report.standings.len(), report.not_ranked.len());
    let rest = match open {
        0 => String::new(),
        1 => " One more is listed by itself, with the reason.".to_owned(),
        n => format!(" {n} more are listed by themselves, with the reason."),
    };
    if n == 0 {
        return format!("No product in this band can be ranked.{rest}");
    }
    let products = crate::error::count(n, "product");
    let is = if n == 1 { "is" } else { "are" };
    let how =
        "an index of how well they are made, from 0 to 100, as found by opening and measuring them";
    if crate::text::has_ranks(report) {
        format!("{products} {is} ranked by {how}.{rest}")
    } else {
        format!("{products} {is} listed with {how}. {}{rest}", crate::text::no_ranks())
    }
}

fn how_to_read(ranked: bool) -> String {
    let rank = "Rank: where 90 % of the draws put it. A group ends where 90 % of the draws put its first above the next. ";
    format!(
        "{}An index with two ends leaves open what missing findings leave open. 90 % of draws: where the index lies when what \
         was found is taken to be as uncertain as it is, and what is missing as anything it can be. Known: the share of the \
         score that rests on findings.",
        if ranked { rank } else { "" }
    )
}

/// What a price buys, and what may be said of it.
fn value(report: &BandReport, chart: Option<Block>) -> Vec<Block> {
    let mut blocks: Vec<Block> = report.curve.iter().map(|it| text(it.text.clone())).collect();
    blocks.extend(chart);
    blocks.extend(tables::value(report).map(Block::Table));
    let said: Vec<String> = report.standings.iter().flat_map(said).collect();
    if !said.is_empty() {
        blocks.push(heading(3, "What may be said", false));
        blocks.push(Block::List { items: said });
    }
    blocks
}

/// What may be said of a product. That it is unbeaten already tells how much its money buys.
fn said(it: &Standing) -> impl Iterator<Item = String> {
    let supported = || it.verdicts.iter().filter(|it| it.verdict == "supported");
    let is_unbeaten = supported().any(|it| it.kind == "unbeaten");
    let told = move |kind: &str| is_unbeaten && kind == "good value";
    supported().filter(move |it| !told(&it.kind)).map(|it| it.text.clone())
}

/// How far the order can be relied on, what so few products do not allow, and who is not ranked.
fn sure(report: &BandReport, charts: [Option<Block>; 2]) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(it) = report.robustness.as_ref().filter(|it| !it.sentences.is_empty()) {
        blocks.push(Block::List { items: it.sentences.clone() });
    }
    if !crate::text::has_ranks(report) && !report.instead.is_empty() {
        blocks.push(heading(3, "What so few products do not allow", false));
        let one = |it: &crate::dto::InsteadDto| {
            let products = crate::error::count(it.needs as usize, "product");
            format!(
                "{} takes {products}; there are {}. Instead: {}.",
                crate::text::title(&it.of),
                it.have,
                it.shown.trim_end_matches('.')
            )
        };
        blocks.push(Block::List { items: report.instead.iter().map(one).collect() });
    }
    blocks.extend(charts.into_iter().flatten());
    blocks.extend(tables::not_ranked(report).map(Block::Table));
    blocks
}

/// A number for machines; ends only where it is open.
fn property(name: &str, value: Option<f64>, low: f64, high: f64) -> Property {
    let is_open = value.is_none();
    Property {
        name: name.to_owned(),
        value,
        low: is_open.then_some(low),
        high: is_open.then_some(high),
        unit: "points of 100".into(),
    }
}

fn item(it: &Standing, report: &BandReport, scored: &Scored) -> Item {
    let mut properties = vec![
        property("index", it.index.value, it.index.low, it.index.high),
        property("index, 90 % of draws", None, it.spread.low, it.spread.high),
    ];
    let subsystems = it.subsystems.iter();
    properties.extend(subsystems.map(|(name, it)| property(name, it.value, it.low, it.high)));
    properties.push(Property {
        name: "real price of a pair".into(),
        value: Some(it.price.real_pair),
        low: None,
        high: None,
        unit: format!("{} of {}", report.band.currency, report.band.base_month),
    });
    let said = it.verdicts.iter().filter(|it| it.verdict == "supported");
    Item {
        key: it.product.clone(),
        maker: it.maker.clone(),
        model: it.model.clone(),
        category: format!("{} loudspeaker", it.kind),
        price: asked(it, report, scored),
        rating: it.index.value.unwrap_or(f64::midpoint(it.index.low, it.index.high)),
        rating_note: match it.index.value {
            Some(_) => String::new(),
            None => format!(
                "Missing findings leave {:.0} to {:.0} open; the rating is the middle of it.",
                it.index.low, it.index.high
            ),
        },
        properties,
        sentences: said.map(|it| it.text.clone()).collect(),
    }
}

/// The price as asked, with the number of loudspeakers that it buys; none when it is not among those recorded.
fn asked(it: &Standing, report: &BandReport, scored: &Scored) -> Option<Asked> {
    let of = scored.products.iter().find(|of| of.dossier.product.key.as_str() == it.product)?;
    let used = of.dossier.prices.iter().find(|price| {
        price.date.to_string() == it.price.date
            && price.basis.word() == it.price.basis
            && price.money.amount().total_cmp(&it.price.nominal).is_eq()
    })?;
    Some(Asked {
        amount: it.price.nominal,
        currency: report.band.currency.clone(),
        count: used.basis.count(),
        date: it.price.date.clone(),
    })
}

/// A product's key as the name of a file. What parts maker and model is none of the signs in them, so that `a-b/c` and
/// `a/b-c` are two.
fn slug(key: &str) -> String {
    let one = |it: char| match it {
        '/' => '_',
        it if it.is_ascii_alphanumeric() => it,
        _ => '-',
    };
    key.chars().map(one).collect()
}

/// The sheet of one product.
fn sheet(
    it: &ProductSheet,
    dossier: Option<&Dossier>,
    units: Units,
    definition: &Definition,
) -> Vec<Block> {
    let row = &it.row;
    let name = format!("{} {}", row.maker, row.model);
    let slug = slug(&row.product);
    let mut blocks = vec![heading(2, name.clone(), true)];
    let mut lead = format!(
        "{}, {}-way, {}; {} of {} expected findings are recorded.",
        crate::text::title(&row.kind),
        row.ways,
        row.year,
        row.found,
        row.expected
    );
    if let Some(price) = &row.price {
        lead.push(' ');
        lead.push_str(&crate::text::price_sentence(price, &it.currency, &it.base_month));
    }
    blocks.push(text(lead));
    if !it.note.trim().is_empty() {
        blocks.push(text(it.note.clone()));
    }
    let texts =
        it.remarks.iter().map(|it| &it.text).chain(it.cross_checks.iter().map(|it| &it.text));
    let mut remarks: Vec<String> = Vec::new();
    for text in texts {
        if !remarks.contains(text) {
            remarks.push(text.clone());
        }
    }
    if !remarks.is_empty() {
        blocks.push(heading(3, "Remarks", false));
        blocks.push(Block::List { items: remarks });
    }
    blocks.push(Block::Table(findings(it, dossier, &slug, &name, units, definition)));
    blocks
}

fn findings(
    it: &ProductSheet,
    dossier: Option<&Dossier>,
    slug: &str,
    name: &str,
    units: Units,
    definition: &Definition,
) -> DataTable {
    let mut notes = Vec::new();
    let mut held: Vec<&FindingDto> = Vec::new();
    for finding in &it.findings {
        // What holds, once; what was before is in the history.
        let holds = dossier.is_none_or(|of| {
            let place = finding.address.split_once('.');
            place.and_then(|(part, key)| of.current(part.parse().ok()?, key)).is_some_and(|it| {
                it.typed == finding.typed
                    && it.date.to_string() == finding.date
                    && it.evidence.word() == finding.evidence
            })
        });
        if holds {
            held.push(finding);
        }
    }
    let usual = usual_day(&held);
    let mut rows = Vec::new();
    for finding in held {
        let shown = match (units, finding.si) {
            (Units::Si, Some(si)) if !finding.si_unit.is_empty() => {
                let u = finding.std_uncertainty.filter(|it| *it > 0.0);
                let u = u.map(|it| format!(" ± {}", crate::text::measure(it))).unwrap_or_default();
                format!("{}{u} {}", crate::text::measure(si), finding.si_unit)
            }
            _ => finding.shown.clone(),
        };
        let mut marks = Vec::new();
        if definition.evidence {
            marks.push(note(&mut notes, &format!("{}.", crate::text::title(&finding.evidence))));
        }
        if !finding.note.trim().is_empty() {
            marks.push(note(&mut notes, &finding.note));
        }
        if usual.as_ref() != Some(&finding.date) {
            marks.push(note(&mut notes, &format!("Of {}.", finding.date)));
        }
        let label = if finding.part == "whole" {
            crate::text::title(&finding.label)
        } else {
            format!("{}: {}", crate::text::title(&finding.part), finding.label)
        };
        rows.push(vec![Cell::text(label), Cell::text(shown).noted(marks)]);
    }
    let of = usual.map(|it| format!(" of {it}")).unwrap_or_default();
    DataTable {
        id: format!("sheet-{slug}"),
        title: format!("Findings{of}, {name}"),
        columns: vec![
            column("finding", "Finding", "", What::Text),
            column("value", "Value", "", What::Text),
        ],
        rows,
        notes,
    }
}

/// The day on which most findings were made.
fn usual_day(findings: &[&FindingDto]) -> Option<String> {
    let mut days: BTreeMap<&str, usize> = BTreeMap::new();
    for it in findings {
        *days.entry(&it.date).or_default() += 1;
    }
    days.into_iter().max_by_key(|it| it.1).map(|it| it.0.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_products_have_two_files() {
        assert_eq!(slug("alder-fen/heron-5"), "alder-fen_heron-5");
        assert_ne!(slug("a-b/c"), slug("a/b-c"));
    }
}
