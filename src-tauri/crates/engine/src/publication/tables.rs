//! The tables of a band: standings, value for money, who is not ranked, and the comparison of chosen columns.

use domain::{
    dictionary::Kind,
    finding::{Answer, Value},
    part::Part,
    reading,
    unit::{self, Dimension},
};
use export::{Block, Cell, DataColumn, DataTable, What};

use super::definition::{Definition, Units};
use crate::{
    Error,
    claims::PrintedClaim,
    dto::{BandReport, Standing},
    naming::named,
    scoring::{Scored, ScoredProduct},
};

pub(super) fn column(key: &str, title: &str, unit: &str, what: What) -> DataColumn {
    DataColumn { key: key.into(), title: title.into(), unit: unit.into(), what }
}

/// The place of a footnote; one text has one place.
pub(super) fn note(notes: &mut Vec<String>, text: &str) -> usize {
    if let Some(at) = notes.iter().position(|it| it == text) {
        return at;
    }
    notes.push(text.to_owned());
    notes.len() - 1
}

fn name(it: &Standing) -> String {
    format!("{} {}", it.maker, it.model)
}

/// What is open stays open, whatever else is left out: its middle alone would read like a score that is known.
fn score(value: Option<f64>, low: f64, high: f64) -> Cell {
    match value {
        Some(value) => Cell::number(value, 0),
        None => Cell::interval(None, low, high, 0),
    }
}

/// What a reader must know of single products, in the order of the standings. As notes of the table they would outgrow it.
pub(super) fn warned(report: &BandReport) -> Option<Block> {
    let all = crate::text::listed(report).into_iter().map(|it| (name(it), warnings(it).join(" ")));
    let terms: Vec<(String, String)> = all.filter(|(_, text)| !text.is_empty()).collect();
    (!terms.is_empty()).then_some(Block::Terms { terms })
}

/// Each sentence once. A limit of the index is told with the index.
fn warnings(it: &Standing) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for it in it
        .remarks
        .iter()
        .filter(|of| of.severity != "info" && !it.caps.iter().any(|cap| cap.text == of.text))
    {
        let text = format!("{}.", it.text.trim_end_matches('.'));
        if !list.contains(&text) {
            list.push(text);
        }
    }
    list
}

/// The standings: rank, price, index and subsystems; without ranks where there are too few products.
pub(super) fn standings(report: &BandReport) -> DataTable {
    let money = &report.band.currency;
    let ranked = crate::text::has_ranks(report);
    let mut columns = vec![column("product", "Product", "", What::Text)];
    if ranked {
        columns.push(column("group", "Group", "", What::Text));
        columns.push(column("rank", "Rank", "90 % of draws", What::Interval));
    }
    columns.extend([
        column(
            "real_pair",
            "Real price of a pair",
            &format!("{money} of {}", report.band.base_month),
            What::Money,
        ),
        column("index", "Index", "0–100", What::Interval),
        column("index_drawn", "Index", "90 % of draws", What::Interval),
    ]);
    let names: Vec<&String> = report.weights.keys().collect();
    for it in &names {
        columns.push(column(it, &crate::text::title(it), "", What::Interval));
    }
    columns.push(column("coverage", "Known", "%", What::Number));
    let mut notes = Vec::new();
    let rows = crate::text::listed(report).into_iter().map(|it| {
        let unbeaten =
            it.on_frontier.then(|| note(&mut notes, "Nothing in the band surely beats it."));
        let stale = it.price.stale.then(|| {
            note(
                &mut notes,
                "The price is older than 180 days; it is carried into the money of the base month.",
            )
        });
        let caps = it.caps.iter().map(|cap| {
            note(&mut notes, &format!("The index is limited to {:.0}: {}", cap.limit, cap.text))
        });
        let caps: Vec<usize> = caps.collect();
        let rank = match (it.rank.low, it.rank.high) {
            (Some(low), Some(high)) if low == high => Cell::number(low.into(), 0),
            (low, high) => Cell::interval(
                None,
                low.unwrap_or(it.rank.best).into(),
                high.unwrap_or(it.rank.worst).into(),
                0,
            ),
        };
        let mut row = vec![Cell::text(name(it)).noted(unbeaten.into_iter().collect())];
        if ranked {
            row.push(Cell::text(crate::text::group(it.group)));
            row.push(rank);
        }
        row.extend([
            Cell::number(it.price.real_pair, 0).noted(stale.into_iter().collect()),
            score(it.index.value, it.index.low, it.index.high).noted(caps),
            Cell::interval(None, it.spread.low, it.spread.high, 0),
        ]);
        for of in &names {
            row.push(match it.subsystems.get(*of) {
                Some(it) => score(it.value, it.low, it.high),
                None => Cell::nothing("does not apply"),
            });
        }
        row.push(Cell::number((it.coverage * 100.0).floor(), 0));
        row
    });
    let rows = rows.collect();
    DataTable {
        id: "standings".into(),
        title: if ranked { "By the middle of the index" } else { "By price" }.into(),
        columns,
        rows,
        notes,
    }
}

/// Points above what a price usually buys, with what may be said.
pub(super) fn value(report: &BandReport) -> Option<DataTable> {
    // A share of draws is a rank word too.
    let ranked = crate::text::has_ranks(report);
    let mut columns = vec![
        column("product", "Product", "", What::Text),
        column("expected", "Usual index at this price", "", What::Number),
        column("value_points", "Value points", "90 % interval", What::Signed),
        column("p_positive", "Above the usual", "% of draws", What::Number),
        column("p_not_beaten", "Not clearly beaten", "% of draws", What::Number),
    ];
    columns.extend(ranked.then(|| column("p_first", "First", "% of draws", What::Number)));
    columns.push(column("verdict", "What may be said", "", What::Text));
    let percent = |it: f64| Cell::number((it * 100.0).clamp(0.0, 100.0).round(), 0);
    let rows: Vec<Vec<Cell>> = crate::text::listed(report)
        .into_iter()
        .filter_map(|it| {
            let value = it.value_points.as_ref()?;
            let said = it.verdicts.iter().filter(|it| it.verdict == "supported");
            let said: Vec<&str> = said.map(|it| it.kind.as_str()).collect();
            let mut row = vec![
                Cell::text(name(it)),
                Cell::number(value.expected, 0),
                Cell::interval(Some(value.value), value.low, value.high, 0),
                percent(value.p_positive),
                percent(it.p_not_beaten),
            ];
            row.extend(ranked.then(|| percent(it.p_first)));
            row.push(if said.is_empty() { Cell::nothing("") } else { Cell::text(said.join(", ")) });
            Some(row)
        })
        .collect();
    (!rows.is_empty()).then(|| DataTable {
        id: "value".into(),
        title: "Index against what the price usually buys".into(),
        columns,
        rows,
        notes: Vec::new(),
    })
}

/// Claims with their verdicts; the author's words and what would flip a verdict as footnotes.
pub(super) fn claims(list: &[PrintedClaim]) -> Option<DataTable> {
    let mut notes = Vec::new();
    let rows: Vec<Vec<Cell>> = list
        .iter()
        .map(|it| {
            let mut marks = Vec::new();
            if !it.wording.trim().is_empty() {
                marks.push(note(
                    &mut notes,
                    &format!("As put by the author: {}", it.wording.trim()),
                ));
            }
            let mut open = Vec::new();
            if !it.inferred.is_empty() {
                open.push(note(&mut notes, &format!("Open without: {}.", it.inferred.join(", "))));
            }
            open.extend(it.flips.iter().map(|it| note(&mut notes, it)));
            let interval = match it.interval.as_str() {
                "" => Cell::nothing(""),
                text => Cell::text(text),
            };
            vec![
                Cell::text(it.sentence.clone()).noted(marks),
                Cell::text(it.verdict.clone()).noted(open),
                Cell::number(it.n.into(), 0),
                interval,
                Cell::text(it.deciding.join(", ")),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| DataTable {
        id: "claims".into(),
        title: "Sentences and verdicts".into(),
        columns: vec![
            column("sentence", "What may be printed", "", What::Text),
            column("verdict", "Verdict", "", What::Text),
            column("n", "Products", "", What::Number),
            column("interval", "Interval", "90 %", What::Text),
            column("deciding", "Decided by", "", What::Text),
        ],
        rows,
        notes,
    })
}

/// Products of the band that are not ranked.
pub(super) fn not_ranked(report: &BandReport) -> Option<DataTable> {
    let rows: Vec<Vec<Cell>> = report
        .not_ranked
        .iter()
        .map(|it| {
            vec![
                Cell::text(format!("{} {}", it.maker, it.model)),
                Cell::number(it.real_pair, 0),
                Cell::interval(it.index.value, it.index.low, it.index.high, 0),
                Cell::number((it.coverage * 100.0).floor(), 0),
                Cell::text(it.why.clone()),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| DataTable {
        id: "not-ranked".into(),
        title: "Not ranked, and why".into(),
        columns: vec![
            column("product", "Product", "", What::Text),
            column("real_pair", "Real price of a pair", &report.band.currency, What::Money),
            column("index", "Index, as far as known", "0–100", What::Interval),
            column("coverage", "Known", "%", What::Number),
            column("why", "Why", "", What::Text),
        ],
        rows,
        notes: Vec::new(),
    })
}

/// Columns for reading beside each other on a page.
const ABREAST: usize = 7;

/// The chosen products and columns, in as many tables as fit on a page side by side.
pub(super) fn comparison(
    report: &BandReport,
    scored: &Scored,
    definition: &Definition,
) -> Result<Vec<DataTable>, Error> {
    let units = definition.units()?;
    let chosen: Vec<&Standing> = if definition.products.is_empty() {
        crate::text::listed(report)
    } else {
        let find = |key: &String| {
            report.standings.iter().find(|it| &it.product == key).ok_or_else(|| Error::Request {
                place: "products",
                text: key.clone(),
                why: "is not ranked in this band".into(),
                accepted: "keys of ranked products, as `boxworth band` lists them".into(),
            })
        };
        definition.products.iter().map(find).collect::<Result<_, _>>()?
    };
    let mut tables = Vec::new();
    for (at, chunk) in definition.columns.chunks(ABREAST).enumerate() {
        let mut columns = vec![column("product", "Product", "", What::Text)];
        for id in chunk {
            columns.push(head(id, report, scored, units)?);
        }
        let mut notes = Vec::new();
        let mut rows = Vec::new();
        for it in &chosen {
            let product =
                scored.products.iter().find(|of| of.dossier.product.key.as_str() == it.product);
            let mut row = vec![Cell::text(name(it))];
            for id in chunk {
                row.push(cell(id, it, product, units, definition, &mut notes));
            }
            rows.push(row);
        }
        let (id, title) = if at == 0 {
            ("comparison".to_owned(), "Side by side".to_owned())
        } else {
            (format!("comparison-{}", at + 1), "Side by side, continued".to_owned())
        };
        tables.push(DataTable { id, title, columns, rows, notes });
    }
    Ok(tables)
}

/// A name for machines of an address.
fn key(id: &str) -> String {
    id.chars().map(|it| if it.is_ascii_alphanumeric() { it } else { '_' }).collect()
}

fn finding_of(id: &str) -> Option<(Part, &str)> {
    let (part, key) = id.split_once('.')?;
    Some((part.parse().ok()?, key))
}

fn unit_of(dimension: Dimension, bench: &str, units: Units) -> &str {
    match units {
        Units::Si => dimension.si_symbol(),
        Units::Bench if dimension == Dimension::WireSize => unit::AWG,
        Units::Bench => bench,
    }
}

fn printed(unit: &str) -> String {
    unit.replace("ohm", "Ω")
}

fn head(id: &str, report: &BandReport, scored: &Scored, units: Units) -> Result<DataColumn, Error> {
    let fixed = match id {
        "price" => Some(("Price as asked", report.band.currency.clone(), What::Money)),
        "price_date" => Some(("Price of", String::new(), What::Date)),
        "kind" => Some(("Kind", String::new(), What::Text)),
        "year" => Some(("Year", String::new(), What::Number)),
        "index" => Some(("Index", "0–100".to_owned(), What::Interval)),
        "value" => Some(("Value points", String::new(), What::Signed)),
        "coverage" => Some(("Known", "%".to_owned(), What::Number)),
        _ => None,
    };
    if let Some((title, unit, what)) = fixed {
        return Ok(column(id, title, &unit, what));
    }
    if report.weights.contains_key(id) {
        return Ok(column(id, &crate::text::title(id), "0–100", What::Interval));
    }
    let dictionary = &scored.declarations.dictionary;
    let entry = finding_of(id).and_then(|(part, key)| dictionary.find(part.role, key));
    if let Some(entry) = entry {
        let title = crate::text::title(&named(dictionary, id));
        return Ok(match entry.kind {
            Kind::Number(dimension, unit) => {
                column(&key(id), &title, &printed(unit_of(dimension, unit, units)), What::Number)
            }
            Kind::Count => column(&key(id), &title, "", What::Number),
            _ => column(&key(id), &title, "", What::Text),
        });
    }
    let quantities = scored.products.iter().flat_map(|it| it.quantities());
    if let Some(it) = quantities.map(|it| it.spec).find(|it| it.id == id) {
        let unit = unit_of(it.dimension, it.unit, units);
        return Ok(column(&key(id), &crate::text::title(it.label), &printed(unit), What::Number));
    }
    Err(Error::Request {
        place: "columns",
        text: id.into(),
        why: "is no column".into(),
        accepted: "price, price_date, kind, year, index, value, coverage, a subsystem, a finding such as cabinet.wall_damping, or a \
                   quantity such as system.f3_hz"
            .into(),
    })
}

fn cell(
    id: &str,
    it: &Standing,
    product: Option<&ScoredProduct>,
    units: Units,
    definition: &Definition,
    notes: &mut Vec<String>,
) -> Cell {
    match id {
        "price" => {
            let text = format!("For {}.", crate::text::bought(&it.price.basis));
            let decimals = if it.price.nominal.fract() == 0.0 { 0 } else { 2 };
            return Cell::number(it.price.nominal, decimals).noted(vec![note(notes, &text)]);
        }
        "price_date" => return Cell::text(it.price.date.clone()),
        "kind" => return Cell::text(it.kind.clone()),
        "index" => return score(it.index.value, it.index.low, it.index.high),
        "coverage" => return Cell::number((it.coverage * 100.0).floor(), 0),
        "value" => {
            return it.value_points.as_ref().map_or_else(
                || Cell::nothing(""),
                |it| match definition.intervals {
                    true => Cell::interval(Some(it.value), it.low, it.high, 0),
                    false => Cell::number(it.value, 0),
                },
            );
        }
        _ => {}
    }
    let Some(product) = product else { return Cell::nothing("") };
    if id == "year" {
        return Cell::number(product.dossier.product.year.into(), 0);
    }
    if let Some(it) = it.subsystems.get(id) {
        return score(it.value, it.low, it.high);
    }
    if let Some(found) = finding_of(id).and_then(|(part, key)| product.dossier.declared(part, key))
    {
        let mark = |notes: &mut Vec<String>| {
            let text = format!("{}.", crate::text::title(found.evidence.word()));
            if definition.evidence { vec![note(notes, &text)] } else { Vec::new() }
        };
        let kind = found.entry().map(|it| it.kind);
        return match (&found.answer, kind) {
            (Answer::Gap(gap), _) => Cell::nothing(gap.word()),
            (
                Answer::Value(Value::Number { si, std_uncertainty }),
                Some(Kind::Number(dimension, unit)),
            ) => number(
                *si,
                *std_uncertainty,
                dimension,
                unit_of(dimension, unit, units),
                definition,
            )
            .noted(mark(notes)),
            (Answer::Value(Value::Count(n)), _) => Cell::number((*n).into(), 0).noted(mark(notes)),
            _ => Cell::text(found.typed.clone()).noted(mark(notes)),
        };
    }
    let quantity = product.quantities().iter().find(|it| it.spec.id == id);
    match quantity.and_then(|it| Some((it, *it.value.as_ref().ok()?))) {
        Some((it, si)) => {
            let unit = unit_of(it.spec.dimension, it.spec.unit, units);
            let word =
                it.evidence.map(|it| format!("Computed; the weakest finding is {}.", it.word()));
            let marks = word.filter(|_| definition.evidence).map(|it| note(notes, &it));
            number(si, it.u, it.spec.dimension, unit, definition).noted(marks.into_iter().collect())
        }
        None => Cell::nothing(""),
    }
}

/// A number in a unit with as many decimals as its uncertainty supports: the second figure of it, else four figures in all.
fn number(
    si: f64,
    u: Option<f64>,
    dimension: Dimension,
    unit: &str,
    definition: &Definition,
) -> Cell {
    let Some(value) = reading::in_unit(si, dimension, unit) else { return Cell::nothing("") };
    // A gauge of wire has no constant size.
    let size = dimension.unit(unit).map(|it| it.to_si);
    let u = u.zip(size).map(|(u, size)| u / size).filter(|it| it.is_finite() && *it > 0.0);
    let figures = match u {
        Some(u) => 1.0 - u.log10().floor(),
        None if value == 0.0 => 0.0,
        None => 3.0 - value.abs().log10().floor(),
    };
    // A capacitance in farad needs twelve.
    let decimals = (0..=15_u8).find(|it| f64::from(*it) >= figures).unwrap_or(15);
    // Without an uncertainty, noughts at the end say nothing.
    let decimals = match u {
        Some(_) => decimals,
        None => (0..=decimals)
            .find(|it| {
                let scale = 10_f64.powi(i32::from(*it));
                ((value * scale).round() / scale - value).abs() <= value.abs() * 1e-4
            })
            .unwrap_or(decimals),
    };
    match u {
        Some(u) if definition.intervals => Cell::uncertain(value, u, decimals),
        _ => Cell::number(value, decimals),
    }
}
