//! Stability, what to measure next, what if, and what is normal, as pages.

use export::{Column, Table};

use super::{
    Page,
    band::{limits, month},
    number::{Score, measure, ranks},
    remarks,
};
use crate::{
    band::percent,
    dto::{BandDto, MovedDto, NextReport, NormalReport, PlacedDto, StabilityReport, WhatIfReport},
    stability::weight_points,
};

fn heading(page: &mut Page, what: &str, band: &BandDto) {
    page.line(&format!(
        "{what} in the band {} {} a pair in the money of {}",
        limits(band.low, band.high),
        band.currency,
        month(&band.base_month)
    ));
}

fn share(of: Option<f64>) -> String {
    of.map_or_else(String::new, weight_points)
}

/// How firm the first place is.
#[must_use]
pub fn stability(report: &StabilityReport, width: usize) -> String {
    let mut page = Page::new(width);
    heading(&mut page, "First place", &report.band);
    for it in &report.sentences {
        page.line(it);
    }
    let mut intervals = Table::new(
        "Each weight alone, the others in proportion",
        vec![
            Column::words("subsystem").whole(),
            Column::numbers("weight", "of 100"),
            Column::numbers("from", ""),
            Column::numbers("to", ""),
            Column::words("below, first is"),
            Column::words("above, first is"),
        ],
    );
    for it in &report.intervals {
        intervals.push([
            it.subsystem.clone(),
            weight_points(it.weight),
            share(it.low),
            share(it.high),
            it.rival_low.clone().unwrap_or_default(),
            it.rival_high.clone().unwrap_or_default(),
        ]);
    }
    page.table_part(&intervals);
    let mut shifts = Table::new(
        "Least weight that must move for another to draw level",
        vec![
            Column::words("product"),
            Column::numbers("points", "of 100"),
            Column::words("from"),
            Column::words("to"),
        ],
    );
    for it in &report.shifts {
        shifts.push([
            it.product.clone(),
            it.shift.map_or_else(|| "never".into(), weight_points),
            it.from.join(", "),
            it.to.clone().unwrap_or_default(),
        ]);
    }
    page.table_part(&shifts);
    let mut first = Table::new(
        "How often first",
        vec![
            Column::words("product"),
            Column::numbers("index", ""),
            Column::numbers("near", ""),
            Column::numbers("any", ""),
            Column::numbers("at its own", ""),
            Column::prose("weights that favour it"),
        ],
    );
    for it in report.first.iter().filter(|it| it.near > 0.0 || it.any > 0.0) {
        let weights = it.central_weights.iter().flatten();
        let weights: Vec<String> =
            weights.map(|(name, share)| format!("{name} {:.0} %", share * 100.0)).collect();
        first.push([
            it.product.clone(),
            Score::from(&it.index).text(),
            percent(it.near),
            percent(it.any),
            it.confidence.map_or_else(String::new, percent),
            weights.join(", "),
        ]);
    }
    page.table_part(&first);
    if !report.first.is_empty() {
        page.part();
        page.line(&format!(
            "near: weights near these; any: all possible weights; at its own: at the mean of the weights that put it first. {} \
             draws, seed {}, findings drawn by their evidence.",
            report.draws, report.seed
        ));
    }
    for it in &report.left_out {
        page.line(&format!("Left out of the exact intervals: {}; {}.", it.product, it.why));
    }
    page.table_part(&remarks("Remarks", &report.remarks));
    page.text
}

/// What to measure or open next.
#[must_use]
pub fn next(report: &NextReport, width: usize) -> String {
    let mut page = Page::new(width);
    heading(&mut page, "What to do next", &report.band);
    page.line(&format!(
        "Doubt left about the order: {:.1} of {} pairs (0 is settled, 1 a coin toss for each pair).",
        report.doubt, report.pairs
    ));
    let mut table = Table::new(
        "Worth measuring",
        vec![
            Column::words("product"),
            Column::prose("what"),
            Column::words("now").whole(),
            Column::numbers("share", ""),
            Column::numbers("settles", "pairs"),
            Column::numbers("drawn", "pairs"),
            Column::words("most against"),
        ],
    );
    for it in &report.measure {
        table.push([
            it.label.clone(),
            it.what.clone(),
            it.state.clone(),
            percent(it.share),
            format!("{:.2}", it.settled),
            format!("{:.2}", it.settled_drawn),
            it.rival.clone().unwrap_or_default(),
        ]);
    }
    if table.rows.is_empty() {
        page.part();
        page.line("No finding of a ranked product would settle more of the order.");
    }
    page.table_part(&table);
    if !report.measure.is_empty() {
        page.part();
        page.line(
            "share: of the variance of the product's index · settles: by how much the doubt is expected to fall, to first order \
             and counted in the draws",
        );
    }
    if !report.finish.is_empty() || !report.open.is_empty() || report.gap.is_some() {
        page.part();
    }
    for it in &report.finish {
        page.line(&it.text);
    }
    for it in &report.open {
        page.line(&it.text);
    }
    if let Some(gap) = &report.gap {
        page.line(&gap.text);
    }
    page.table_part(&remarks("Remarks", &report.remarks));
    page.text
}

/// How the standings would move.
#[must_use]
pub fn what_if(report: &WhatIfReport, width: usize) -> String {
    let mut page = Page::new(width);
    heading(&mut page, &format!("What if, for {},", report.product), &report.band);
    let mut changes = Table::new(
        "Changed, and not saved",
        vec![Column::words("what"), Column::words("now"), Column::words("then")],
    );
    for it in &report.changes {
        changes.push([&it.what, &it.before, &it.after]);
    }
    page.table_part(&changes);
    page.part();
    for it in &report.sentences {
        page.line(it);
    }
    let mut table = Table::new(
        "Standings that move",
        vec![
            Column::words("product"),
            Column::words(""),
            Column::numbers("place", ""),
            Column::numbers("rank", ""),
            Column::numbers("index", ""),
            Column::numbers("90 %", ""),
            Column::numbers("first", ""),
            Column::numbers("value", ""),
            Column::words("").whole(),
        ],
    );
    for it in &report.moved {
        table.push(placed(it, "now", it.before.as_ref()));
        table.push(placed(it, "then", it.after.as_ref()));
    }
    page.table_part(&table);
    page.part();
    page.line(&format!(
        "{} stay as they are. Both sides share {} draws, seed {}. ◆ nothing in the band surely beats it.",
        crate::error::count(report.unmoved as usize, "other product"),
        report.draws,
        report.seed
    ));
    page.table_part(&remarks("Remarks", &report.remarks));
    page.text
}

fn placed(of: &MovedDto, when: &str, it: Option<&PlacedDto>) -> Vec<String> {
    let label = if when == "now" { of.label.clone() } else { String::new() };
    let Some(it) = it else {
        let blank = std::iter::repeat_n(String::new(), 6);
        return [label, when.to_owned(), "none".to_owned()].into_iter().chain(blank).collect();
    };
    vec![
        label,
        when.to_owned(),
        it.place.to_string(),
        ranks(it.rank_low, it.rank_high),
        Score::from(&it.index).text(),
        format!("{:.0}–{:.0}", it.spread.low, it.spread.high),
        percent(it.p_first),
        it.value.map_or_else(String::new, |it| format!("{it:+.0}")),
        if it.on_frontier { "◆" } else { "" }.into(),
    ]
}

/// What is usual in the band.
#[must_use]
pub fn normal(report: &NormalReport, width: usize) -> String {
    let mut page = Page::new(width);
    heading(&mut page, &format!("What is normal among {} opened", report.opened), &report.band);
    let mut numbers = Table::new(
        "Numbers",
        vec![
            Column::words("what"),
            Column::words("unit").whole(),
            Column::numbers("n", ""),
            Column::numbers("least", ""),
            Column::numbers("quarter", ""),
            Column::numbers("median", ""),
            Column::numbers("90 %", ""),
            Column::numbers("three quarters", ""),
            Column::numbers("most", ""),
        ],
    );
    for it in &report.numbers {
        let or_none = |of: Option<f64>| of.map_or_else(String::new, measure);
        let interval = match (it.median_low, it.median_high) {
            (Some(low), Some(high)) => format!("{}–{}", measure(low), measure(high)),
            _ => String::new(),
        };
        numbers.push([
            it.label.clone(),
            it.unit.clone(),
            it.n.to_string(),
            measure(it.min),
            or_none(it.q1),
            measure(it.median),
            interval,
            or_none(it.q3),
            measure(it.max),
        ]);
    }
    page.table_part(&numbers);
    let mut shares = Table::new(
        "How many have it",
        vec![
            Column::words("property"),
            Column::numbers("have it", ""),
            Column::numbers("unknown", ""),
            Column::numbers("90 %", ""),
            Column::words("of the market").whole(),
        ],
    );
    for it in &report.shares {
        shares.push([
            it.property.clone(),
            format!("{} of {}", it.yes, it.opened),
            it.unknown.to_string(),
            format!("{:.0}–{:.0} %", it.low * 100.0, it.high * 100.0),
            it.word.clone(),
        ]);
    }
    page.table_part(&shares);
    if !report.shares.is_empty() {
        page.part();
        page.line(
            "90 %: the exact interval for all at this price, if those opened are typical of them; what is unknown counts \
             against the statement. A word stands only where the interval allows it.",
        );
    }
    for it in &report.differences {
        page.line(&it.text);
    }
    page.table_part(&remarks("Remarks", &report.remarks));
    page.text
}
