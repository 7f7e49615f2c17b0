//! The standings of a band as a page.

use std::collections::BTreeSet;

use export::{Column, Table};
use standing::gates::MIN_RANK;

use super::{
    Page,
    drawing::{AXIS, drawn},
    first_of, in_bench_order,
    number::{Score, money, percent, ranks},
    remarks,
};
use crate::dto::{BandReport, NotRanked, QuartilesDto, Remark, Standing};

/// Missing findings named for each product that is not ranked, unless all are asked for.
const MISSING_SHOWN: usize = 3;

/// How much to say about products that are not ranked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// Why, and the first missing findings.
    Brief,
    /// What is known of their index, and every missing finding.
    All,
}

/// The page.
#[must_use]
pub fn band(report: &BandReport, width: usize, detail: Detail) -> String {
    let mut page = Page::new(width);
    heading(&mut page, report);
    if !report.standings.is_empty() {
        page.part();
        page.table(&standings(report));
        page.part();
        legend(&mut page, report);
        page.table_part(&value::table(report));
        value::sentences(&mut page, report);
    }
    page.table_part(&not_ranked(report, detail));
    page.table_part(&statistics(report));
    page.part();
    method(&mut page, report);
    // The heading has said it.
    let further: Vec<Remark> =
        report.remarks.iter().filter(|it| it.code != "too_few").cloned().collect();
    page.table_part(&remarks("Remarks", &further));
    page.text
}

fn heading(page: &mut Page, report: &BandReport) {
    let band = &report.band;
    page.line(&format!(
        "Band {} {} a pair in the money of {}, prices as of {}: {} ranked, {} not",
        limits(band.low, band.high),
        band.currency,
        month(&band.base_month),
        report.as_of,
        report.standings.len(),
        report.not_ranked.len(),
    ));
    if report.standings.is_empty() {
        page.line("No product in this band can be ranked.");
    } else if !has_ranks(report) {
        page.line(&no_ranks());
    }
}

/// Whether there are products enough for words of rank.
pub(crate) fn has_ranks(report: &BandReport) -> bool {
    report.standings.len() >= MIN_RANK
}

/// What stands in the place of ranks.
pub(crate) fn no_ranks() -> String {
    format!(
        "With fewer than {MIN_RANK} ranked products there are no ranks; the order is that of price."
    )
}

/// The rows in the order in which they are listed: by the index, or by price where there are no ranks.
pub(crate) fn listed(report: &BandReport) -> Vec<&Standing> {
    let mut rows: Vec<&Standing> = report.standings.iter().collect();
    if !has_ranks(report) {
        rows.sort_by(|a, b| a.price.real_pair.total_cmp(&b.price.real_pair));
    }
    rows
}

/// `200..500`; an open side is left out.
pub(super) fn limits(low: Option<f64>, high: Option<f64>) -> String {
    let side = |it: Option<f64>| it.map_or_else(String::new, |it| format!("{it}"));
    format!("{}..{}", side(low), side(high))
}

/// `June 2026` of `2026-06`; any other text as it is.
pub(super) fn month(text: &str) -> String {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let name = |number: &str| NAMES.get(number.parse::<usize>().ok()?.checked_sub(1)?);
    text.split_once('-')
        .and_then(|(year, number)| Some(format!("{} {year}", name(number)?)))
        .unwrap_or_else(|| text.to_owned())
}

/// The subsystems that scored some product.
fn subsystems(report: &BandReport) -> Vec<&str> {
    in_bench_order(report.standings.iter().flat_map(|it| it.subsystems.keys()))
}

/// A column title of at most five characters; the legend has the whole word.
fn short(subsystem: &str) -> String {
    match subsystem {
        "cabinet" => "cab".into(),
        "driver" => "driv".into(),
        "crossover" => "xover".into(),
        "wiring" => "wire".into(),
        other => export::cut(other, 5),
    }
}

fn standings(report: &BandReport) -> Table {
    let subsystems = subsystems(report);
    let mut columns = Vec::new();
    if has_ranks(report) {
        columns.push(Column::words("").whole());
        columns.push(Column::numbers("rank", "").gap(1));
    }
    // Narrow gaps, so that names of usual length stay whole in 100 columns.
    columns.push(Column::words("product").gap(1));
    columns.push(Column::numbers("price", &report.band.currency).gap(1));
    columns.push(Column::numbers("index", "").gap(1));
    // Its unit is the axis.
    columns.push(Column { unit: AXIS.into(), ..Column::words("").whole().gap(1) });
    for it in &subsystems {
        columns.push(Column::numbers(short(it), "").gap(1));
    }
    columns.push(Column::numbers("%", "").gap(1));
    columns.push(Column::words("").whole().gap(1));

    let rows = listed(report);
    let some_stale = rows.iter().any(|it| it.price.stale);
    let mut table = Table::new("", columns);
    for it in rows {
        let mut cells = Vec::new();
        if has_ranks(report) {
            cells.push(group(it.group));
            cells.push(ranks(
                it.rank.low.unwrap_or(it.rank.best),
                it.rank.high.unwrap_or(it.rank.worst),
            ));
        }
        // A blank where the others have a mark keeps the digits below each other.
        let mark = if it.price.stale { "°" } else { " " };
        let score = Score::from(&it.index);
        cells.push(format!("{} {}", it.maker, it.model));
        cells.push(format!("{}{}", money(it.price.real_pair), if some_stale { mark } else { "" }));
        cells.push(score.text());
        cells.push(drawn(score, Some(&it.spread)));
        for name in &subsystems {
            let score = it.subsystems.get(*name);
            cells.push(score.map_or_else(|| "none".into(), |it| Score::from(it).text()));
        }
        cells.push(percent(it.coverage));
        cells.push(if it.on_frontier { "◆" } else { "" }.into());
        table.push(cells);
    }
    table
}

fn legend(page: &mut Page, report: &BandReport) {
    let some_stale = report.standings.iter().any(|it| it.price.stale);
    let stale = if some_stale { "° price older than 180 days · " } else { "" };
    page.line(&format!("{stale}◆ nothing in the band surely beats it · %: share known"));
    page.line(
        "━●━ where 90 % of the draws put the index, ● half of them · ├─┤ what missing findings leave open · ≈ less than a point",
    );
    if has_ranks(report) {
        page.line(
            "rank: in 90 % of the draws · letters: a group ends where 90 % of the draws put its first above the next",
        );
    }
    let names: Vec<String> = subsystems(report)
        .into_iter()
        .map(|it| {
            let share = report
                .weights
                .get(it)
                .map_or_else(String::new, |share| format!(" {} %", percent(*share)));
            let short = short(it);
            if short == it { format!("{it}{share}") } else { format!("{short} {it}{share}") }
        })
        .collect();
    page.line(&format!("Index, 0 to 100, of: {}", names.join(", ")));
}

fn not_ranked(report: &BandReport, detail: Detail) -> Table {
    let mut columns =
        vec![Column::words("product").whole(), Column::numbers("price", &report.band.currency)];
    if detail == Detail::All {
        columns.push(Column::numbers("index", ""));
        columns.push(Column::numbers("known", "%"));
    }
    columns.push(Column::prose("why"));
    columns.push(Column::prose("missing"));
    let mut table = Table::new("Not ranked", columns);
    for it in &report.not_ranked {
        table.push(not_ranked_row(it, detail));
    }
    table
}

fn not_ranked_row(it: &NotRanked, detail: Detail) -> Vec<String> {
    let mut cells = vec![format!("{} {}", it.maker, it.model), money(it.real_pair)];
    if detail == Detail::All {
        cells.push(Score::from(&it.index).text());
        cells.push(percent(it.coverage));
    }
    cells.push(it.why.clone());
    cells.push(match detail {
        Detail::Brief => first_of(&it.missing, MISSING_SHOWN),
        Detail::All => it.missing.join(", "),
    });
    cells
}

fn statistics(report: &BandReport) -> Table {
    let columns = vec![
        Column::words("").whole(),
        Column::numbers("lower quartile", ""),
        Column::numbers("median", ""),
        Column::numbers("upper quartile", ""),
        Column::numbers("median, 90 % interval", ""),
    ];
    let mut table = Table::new("Normal in this band", columns);
    let it = &report.statistics;
    let price = format!("price of a pair, {}", report.band.currency);
    let mut row = |name: &str, quartiles: Option<&QuartilesDto>| {
        if let Some(it) = quartiles {
            let interval = match (it.median_low, it.median_high) {
                (Some(low), Some(high)) => format!("{}–{}", money(low), money(high)),
                _ => String::new(),
            };
            table.push([name.to_owned(), money(it.q1), money(it.median), money(it.q3), interval]);
        }
    };
    row(&price, it.real_pair.as_ref());
    row("index, halfway", it.index.as_ref());
    row("index, lower ends", it.index_low.as_ref());
    row("index, upper ends", it.index_high.as_ref());
    table
}

fn method(page: &mut Page, report: &BandReport) {
    page.line(&how_drawn(report));
    if report.plugins.is_empty() {
        page.line("No plugin scored.");
    } else {
        page.line(&format!("Scored by {}. Rubric: {}.", plugins(report), report.rubric));
    }
}

/// How it was drawn, what is taken to be how uncertain, and the limits of what is said.
pub(crate) fn how_drawn(report: &BandReport) -> String {
    format!(
        "{} draws of weights (concentration {}) with {} stratified draws of the findings of each product, seed {}. A \
         finding without a stated uncertainty is taken to be off by its grade: measured {} %, seen {} %, read off a part {} \
         %, claimed {} %, judged {} %; these are judgement, not measured reliability. Missing findings are drawn evenly over \
         what they can be worth. Limits: coverage {} %, probabilities {} % for a verdict, differences of {} points and {} % \
         of the price.",
        report.draws,
        report.kappa,
        report.finding_draws,
        report.seed,
        share(report, "measured_u"),
        share(report, "inspected_half"),
        share(report, "marked_half"),
        share(report, "claimed_half"),
        share(report, "inferred_half"),
        percent(gate(report, "coverage")),
        percent(gate(report, "probability_for_support")),
        gate(report, "least_points_worth_printing"),
        percent(gate(report, "least_share_of_price_worth_printing")),
    )
}

fn share(report: &BandReport, id: &str) -> String {
    percent(report.spreads.get(id).copied().unwrap_or_default())
}

fn gate(report: &BandReport, name: &str) -> f64 {
    report.gates.get(name).copied().unwrap_or_default()
}

/// `A`, `B`, … and numbers once the letters are used up.
pub(crate) fn group(number: u32) -> String {
    let letter = number.checked_sub(1).and_then(|it| u8::try_from(it).ok()).filter(|it| *it < 26);
    letter.map_or_else(|| number.to_string(), |it| char::from(b'A' + it).to_string())
}

/// Name and version of each plugin, and how well it was shut in: once if all are alike.
fn plugins(report: &BandReport) -> String {
    let kinds: BTreeSet<&str> = report.plugins.iter().map(|it| it.sandbox.as_str()).collect();
    let alike = kinds.len() == 1;
    let names: Vec<String> = report
        .plugins
        .iter()
        .map(|it| {
            let name = format!("{} {}", it.id, it.version);
            if alike { name } else { format!("{name} (sandbox: {})", it.sandbox) }
        })
        .collect();
    let all = kinds.first().filter(|_| alike);
    format!("{}{}", names.join(", "), all.map_or_else(String::new, |it| format!("; sandbox: {it}")))
}

mod value;

#[cfg(test)]
mod tests;
