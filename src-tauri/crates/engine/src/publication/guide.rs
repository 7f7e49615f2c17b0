//! The buying guide of a band: standings, value, charts, comparison, sheets, method and cautions in one report.

use std::collections::BTreeMap;

use domain::dossier::Dossier;
use export::{Block, Cell, DataTable, Item, Property, Report, What};

use super::{
    Basis,
    definition::{Definition, Units},
    method, pictures,
    tables::{self, column, note},
};
use crate::{
    Error,
    dto::{BandView, FindingDto, ProductSheet, Standing},
};

fn heading(level: u8, text: impl Into<String>, new_page: bool) -> Block {
    Block::Heading { level, text: text.into(), new_page }
}

fn text(text: impl Into<String>) -> Block {
    Block::Text { text: text.into() }
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
    let title = if definition.title.trim().is_empty() {
        format!("Passive loudspeakers, {}", span(view))
    } else {
        definition.title.trim().to_owned()
    };
    let mut blocks = vec![heading(2, "Standings", false), text(lead(view))];
    blocks.push(Block::Table(tables::standings(report, definition)));
    blocks.push(text(
        "Rank: where 90 % of the draws put it. A group ends where 90 % of the draws put its first above the next. An index \
         with two ends leaves open what missing findings leave open. Known: the share of the score that rests on findings.",
    ));
    let mut charts = pictures::pictures(view).into_iter();
    let mut chart = |blocks: &mut Vec<Block>| {
        if let (true, Some(it)) = (definition.charts, charts.next()) {
            blocks.push(Block::Chart(it));
        }
    };
    chart(&mut blocks);
    blocks.extend(changes);
    blocks.push(heading(2, "Value for money", true));
    if let Some(it) = &report.curve {
        blocks.push(text(it.text.clone()));
    }
    chart(&mut blocks);
    blocks.extend(tables::value(report).map(Block::Table));
    let said: Vec<String> = report
        .standings
        .iter()
        .flat_map(|it| &it.verdicts)
        .filter(|it| it.verdict == "supported")
        .map(|it| it.text.clone())
        .collect();
    if !said.is_empty() {
        blocks.push(heading(3, "What may be said", false));
        blocks.push(Block::List { items: said });
    }
    blocks.push(heading(2, "How sure the order is", true));
    if let Some(it) = &report.robustness {
        blocks.push(Block::List { items: it.sentences.clone() });
    }
    chart(&mut blocks);
    chart(&mut blocks);
    blocks.extend(tables::not_ranked(report).map(Block::Table));
    if let Some(it) = tables::claims(&basis.claims) {
        blocks.push(heading(2, "Sentences put to the test", true));
        blocks.push(text(
            "Each sentence was tested on the findings that were measured, seen or read off a part; where these leave it \
             open, on all findings. What stands here is what may be printed, whatever the verdict.",
        ));
        blocks.push(Block::Table(it));
    }
    blocks.push(heading(2, "Comparison", true));
    blocks.extend(tables::comparison(report, scored, definition)?.into_iter().map(Block::Table));
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
        items: report.standings.iter().map(item(view)).collect(),
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

fn lead(view: &BandView) -> String {
    let report = &view.report;
    let open = report.not_ranked.len();
    let rest = match open {
        0 => String::new(),
        1 => " One more is listed without a rank, with the reason.".to_owned(),
        n => format!(" {n} more are listed without a rank, with the reason."),
    };
    format!(
        "{} are ranked by an index of how well they are made, from 0 to 100, as found by opening and measuring them.{rest}",
        crate::error::count(report.standings.len(), "product"),
    )
}

fn item(view: &BandView) -> impl Fn(&Standing) -> Item + '_ {
    |it| {
        let middle = it.index.value.unwrap_or(f64::midpoint(it.index.low, it.index.high));
        let mut properties = vec![Property {
            name: "index".into(),
            value: it.index.value,
            low: Some(it.index.low),
            high: Some(it.index.high),
            unit: "points of 100".into(),
        }];
        properties.extend(it.subsystems.iter().map(|(name, it)| Property {
            name: name.clone(),
            value: it.value,
            low: Some(it.low),
            high: Some(it.high),
            unit: "points of 100".into(),
        }));
        properties.push(Property {
            name: "real price of a pair".into(),
            value: Some(it.price.real_pair),
            low: None,
            high: None,
            unit: format!("{} of {}", view.report.band.currency, view.report.band.base_month),
        });
        let said = it.verdicts.iter().filter(|it| it.verdict == "supported");
        Item {
            key: it.product.clone(),
            maker: it.maker.clone(),
            model: it.model.clone(),
            category: format!("{} loudspeaker", it.kind),
            price: Some((it.price.nominal, view.report.band.currency.clone())),
            price_basis: format!("price for {}", tables::basis(&it.price.basis)),
            rating: middle,
            properties,
            sentences: said.map(|it| it.text.clone()).collect(),
        }
    }
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
    let slug: String =
        row.product.chars().map(|it| if it.is_ascii_alphanumeric() { it } else { '-' }).collect();
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
        lead.push_str(&format!(
            " {} {} for {} on {}, a pair for {:.0} {} of {}.",
            price.nominal,
            it.currency,
            tables::basis(&price.basis),
            price.date,
            price.real_pair,
            it.currency,
            it.base_month
        ));
    }
    blocks.push(text(lead));
    if !it.note.trim().is_empty() {
        blocks.push(text(it.note.clone()));
    }
    let remarks: Vec<String> = it.remarks.iter().map(|it| it.text.clone()).collect();
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
                format!("{} {}", crate::text::measure(si), finding.si_unit)
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
