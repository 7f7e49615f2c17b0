//! All about one product as a page.

use export::{Column, Table};

use super::{
    Page, by_part,
    drawing::{AXIS, drawn},
    in_bench_order,
    number::{Score, asked, measure, money, percent},
    remarks,
};
use crate::dto::{
    CriterionDto, CrossCheckDto, ElementDto, FindingDto, ObservedPrice, PriceDto, ProductScores,
    ProductSheet, QuantityDto, SpecimenDto, SweepDto,
};

/// The page.
#[must_use]
pub fn sheet(sheet: &ProductSheet, width: usize) -> String {
    let mut page = Page::new(width);
    heading(&mut page, sheet);
    match &sheet.scores {
        Some(it) => {
            page.part();
            page.table(&subsystems(it));
            page.table_part(&criteria(it));
        }
        None => {
            page.part();
            page.line("Not scored.");
        }
    }
    page.table_part(&cross_checks(&sheet.cross_checks));
    page.table_part(&remarks("Remarks", &sheet.remarks));
    page.table_part(&findings(&sheet.findings));
    page.table_part(&quantities(&sheet.quantities));
    page.table_part(&prices(&sheet.prices));
    page.table_part(&specimens(&sheet.specimens));
    page.table_part(&network(&sheet.network));
    page.table_part(&sweeps(&sheet.sweeps));
    page.table_part(&missing(&sheet.missing));
    if let Some(it) = &sheet.scores {
        page.table_part(&sources(it));
    }
    page.text
}

fn heading(page: &mut Page, sheet: &ProductSheet) {
    let row = &sheet.row;
    page.line(&format!("{} {} ({})", row.maker, row.model, row.product));
    let powered = if row.powered { ", powered" } else { "" };
    page.line(&format!(
        "{}, {}-way{powered}, {}; {} of {} expected findings ({} %)",
        row.kind,
        row.ways,
        row.year,
        row.found,
        row.expected,
        percent(row.completeness.unwrap_or_default())
    ));
    page.line(&match &row.last_teardown {
        Some(day) => format!("Last opened {day}."),
        None => "Never opened.".to_owned(),
    });
    match (&row.price, &row.no_price) {
        (Some(it), _) => page.line(&price_sentence(it, &sheet.currency, &sheet.base_month)),
        (None, Some(why)) => page.line(&format!("No price: {why}.")),
        (None, None) => page.line("No price."),
    }
    if !sheet.note.is_empty() {
        page.line(&format!("Note: {}", sheet.note));
    }
}

/// The price that places a product, and what it rests on.
pub(crate) fn price_sentence(it: &PriceDto, currency: &str, base_month: &str) -> String {
    format!(
        "Real price of a pair {} {currency} of {base_month}, from {} for {} on {}{}{}.",
        money(it.real_pair),
        asked(it.nominal),
        bought(&it.basis),
        it.date,
        if it.observations > 1 {
            format!(", the median of {} prices", it.observations)
        } else {
            String::new()
        },
        if it.stale { ", older than 180 days" } else { "" },
    )
}

/// `each` and its kin as they stand after "for".
pub(crate) fn bought(basis: &str) -> &str {
    match basis {
        "each" => "one",
        "pair" => "a pair",
        "set" => "a set",
        other => other,
    }
}

fn subsystems(it: &ProductScores) -> Table {
    let mut table = Table::new(
        "Scores",
        vec![
            Column::words("").whole(),
            Column::numbers("score", ""),
            Column { unit: AXIS.into(), ..Column::words("").whole() },
            Column::numbers("known", "%"),
            Column::numbers("hard", "%"),
        ],
    );
    let index = Score::from(&it.index);
    table.push([
        "index".to_owned(),
        index.text(),
        drawn(index, None),
        percent(it.coverage),
        percent(it.coverage_hard),
    ]);
    for name in in_bench_order(it.subsystems.keys()) {
        if let Some(subsystem) = it.subsystems.get(name) {
            let score = Score::from(subsystem);
            let known = percent(subsystem.coverage);
            table.push([name.to_owned(), score.text(), drawn(score, None), known]);
        }
    }
    table
}

fn criteria(it: &ProductScores) -> Table {
    let mut table = Table::new(
        "Criteria",
        vec![
            Column::prose("criterion"),
            Column::numbers("weight", ""),
            Column::numbers("measure", ""),
            Column::words("").whole().gap(1),
            Column::numbers("score", ""),
            Column::words("rests on").whole(),
        ],
    );
    let mut subsystem = "";
    for criterion in &it.criteria {
        if criterion.subsystem != subsystem {
            subsystem = &criterion.subsystem;
            table.line(subsystem);
        }
        table.push(criterion_cells(criterion));
    }
    table
}

fn criterion_cells(it: &CriterionDto) -> [String; 6] {
    let rests_on = match (it.state.as_str(), it.hard) {
        ("known", true) => "hard evidence",
        ("known", false) => "soft evidence",
        (other, _) => other,
    };
    [
        format!("  {}", it.title),
        measure(it.weight),
        it.measure.map_or_else(String::new, measure),
        if it.measure.is_some() { it.unit.clone() } else { String::new() },
        it.score.map_or_else(String::new, |it| format!("{it:.0}")),
        rests_on.to_owned(),
    ]
}

fn findings(findings: &[FindingDto]) -> Table {
    let mut table = Table::new(
        "Findings",
        vec![
            Column::prose("finding"),
            Column::prose("as typed"),
            Column::words("value").whole(),
            Column::words("evidence").whole(),
            Column::words("date").whole(),
        ],
    );
    let mut part = "";
    for it in findings {
        if it.part != part {
            part = &it.part;
            table.line(part);
        }
        table.push([
            format!("  {}", it.label),
            it.typed.clone(),
            // The same text twice says nothing more.
            if it.shown == it.typed { String::new() } else { it.shown.clone() },
            it.evidence.clone(),
            it.date.clone(),
        ]);
        if let Some(warning) = &it.warning {
            table.line(format!("      caution: {warning}"));
        }
        if !it.note.is_empty() {
            table.line(format!("      {}", it.note));
        }
    }
    table
}

fn cross_checks(list: &[CrossCheckDto]) -> Table {
    let mut table = Table::new(
        "Cross-checks",
        vec![
            Column::words("").whole(),
            Column::prose(""),
            Column::prose("concerns"),
            Column::prose("likely reading"),
        ],
    );
    for it in list {
        let offers: Vec<&str> = it.offers.iter().map(|it| it.typed.as_str()).collect();
        table.push([
            it.severity.clone(),
            it.text.clone(),
            it.addresses.join(", "),
            offers.join("; "),
        ]);
    }
    table
}

fn quantities(quantities: &[QuantityDto]) -> Table {
    let mut table = Table::new(
        "Quantities",
        vec![
            Column::prose("quantity"),
            Column::words("value").whole(),
            Column::prose("rests on"),
            Column::words("weakest").whole(),
            Column::prose("assumed or missing"),
        ],
    );
    for it in quantities {
        let mut open = it.assumed.clone();
        if !it.missing.is_empty() {
            open.push(format!("missing: {}", it.missing.join(", ")));
        }
        // A reason is a sentence, and belongs among sentences.
        let value = if it.si.is_some() { it.shown.clone() } else { "none".to_owned() };
        if it.si.is_none() && it.missing.is_empty() {
            open.insert(0, it.shown.clone());
        }
        let from: Vec<String> = by_part(&it.from)
            .into_iter()
            .map(|(part, keys)| format!("{part}: {}", keys.join(", ")))
            .collect();
        table.push([
            it.label.clone(),
            value,
            from.join("; "),
            it.evidence.clone().unwrap_or_default(),
            open.join("; "),
        ]);
    }
    table
}

fn prices(prices: &[ObservedPrice]) -> Table {
    let mut table = Table::new(
        "Prices",
        vec![
            Column::words("date").whole(),
            Column::numbers("asked", ""),
            Column::words("").whole().gap(1),
            Column::words("for").whole(),
            Column::words("kind").whole(),
            Column::words("seller").whole(),
            Column::numbers("real pair", ""),
            Column::prose("note"),
        ],
    );
    for it in prices {
        let basis =
            if it.basis == "set" { format!("set of {}", it.count) } else { it.basis.clone() };
        table.push([
            it.date.clone(),
            asked(it.nominal),
            it.currency.clone(),
            basis,
            it.kind.clone(),
            it.seller.clone(),
            it.real_pair.map_or_else(|| "unknown".into(), money),
            it.note.clone(),
        ]);
    }
    table
}

fn specimens(specimens: &[SpecimenDto]) -> Table {
    let columns = vec![
        Column::words("specimen"),
        Column::words("acquired").whole(),
        Column::prose("opened on"),
    ];
    let mut table = Table::new("Specimens", columns);
    for it in specimens {
        table.push([it.label.clone(), it.acquired.clone(), it.teardowns.join(", ")]);
    }
    table
}

fn network(network: &[ElementDto]) -> Table {
    let mut table = Table::new(
        "Crossover",
        vec![
            Column::words("part"),
            Column::words("kind").whole(),
            Column::words("between"),
            Column::words("value"),
            Column::words("loss"),
            Column::words("construction"),
            Column::words("rating"),
            Column::prose("note"),
        ],
    );
    for it in network {
        table.push([
            it.name.clone(),
            it.kind.clone(),
            it.nodes.join(" and "),
            it.value.clone(),
            it.loss.clone(),
            it.construction.clone(),
            it.rating.clone(),
            it.note.clone(),
        ]);
    }
    table
}

fn sweeps(sweeps: &[SweepDto]) -> Table {
    let mut table = Table::new(
        "Sweeps",
        vec![
            Column::words("part").whole(),
            Column::numbers("points", ""),
            Column::numbers("from", "Hz"),
            Column::numbers("to", "Hz"),
            Column::words("phase").whole(),
            Column::words("date").whole(),
        ],
    );
    for it in sweeps {
        table.push([
            it.part.clone(),
            it.points.to_string(),
            measure(it.from_hz),
            measure(it.to_hz),
            if it.phase { "yes" } else { "no" }.to_owned(),
            it.date.clone(),
        ]);
    }
    table
}

/// Missing findings by part: `cabinet` and the keys that are open.
fn missing(addresses: &[String]) -> Table {
    let columns = vec![Column::words("").whole(), Column::prose("")];
    let mut table = Table::new("Missing for a complete teardown", columns);
    for (part, keys) in by_part(addresses) {
        table.push([part.to_owned(), keys.join(", ")]);
    }
    table
}

/// Where each criterion comes from, so that a reader can judge it.
fn sources(it: &ProductScores) -> Table {
    let columns = vec![Column::prose(""), Column::prose("")];
    let mut table = Table::new("Sources of the criteria", columns);
    for criterion in &it.criteria {
        table.push([&criterion.title, &criterion.source]);
    }
    table
}
