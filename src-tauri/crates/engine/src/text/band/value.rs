//! Value for money and robustness on the page of a band.

use export::{Column, Table};
use standing::gates::{MIN_RANK, MIN_VALUE};

use crate::{
    band::percent,
    dto::{BandReport, Standing},
    text::Page,
};

/// What may be said, in a word: the strongest verdict that is settled.
fn word(it: &Standing) -> &'static str {
    let words = [
        ("best value", "supported", "best value"),
        ("unbeaten", "supported", "unbeaten"),
        ("good value", "supported", "good value"),
        ("overpriced", "supported", "overpriced"),
        ("unbeaten", "contradicted", "clearly beaten"),
    ];
    let settled = |(kind, verdict, _): &(&str, &str, &str)| {
        it.verdicts.iter().any(|it| it.kind == *kind && it.verdict == *verdict)
    };
    words.into_iter().find(settled).map_or("", |(_, _, word)| word)
}

/// Points with their sign; a whole number, as no more is known.
fn points(value: f64) -> String {
    let text = format!("{value:+.0}");
    if text == "-0" || text == "+0" { "0".into() } else { text }
}

/// One row a product: what its price usually buys, and what it gives.
pub(super) fn table(report: &BandReport) -> Table {
    let columns = vec![
        Column::words("product"),
        Column::numbers("usual", "points").gap(1),
        Column::numbers("value", "points").gap(1),
        Column::numbers("90 %", "").gap(1),
        Column::numbers("over 0", "").gap(1),
        Column::numbers("unbeaten", "").gap(1),
        Column::numbers("first", "near").gap(1),
        Column::numbers("first", "any").gap(1),
        Column::words("verdict").whole(),
    ];
    let mut table = Table::new("Value for money", columns);
    // A share of draws is a rank word too.
    let n = report.standings.len();
    for it in &report.standings {
        let value = it.value_points.as_ref();
        let cell = |of: fn(&crate::dto::ValuePoints) -> String| value.map_or_else(String::new, of);
        table.push([
            format!("{} {}", it.maker, it.model),
            cell(|it| format!("{:.0}", it.expected)),
            cell(|it| points(it.value)),
            cell(|it| format!("{} to {}", points(it.low), points(it.high))),
            cell(|it| percent(it.p_positive)),
            if n < MIN_VALUE { String::new() } else { percent(it.p_not_beaten) },
            if n < MIN_RANK { String::new() } else { percent(it.p_first) },
            if n < MIN_RANK { String::new() } else { percent(it.p_first_any) },
            word(it).to_owned(),
        ]);
    }
    table
}

/// The sentences that may be printed, and how the order fares under other assumptions.
pub(super) fn sentences(page: &mut Page, report: &BandReport) {
    page.part();
    page.line(
        "usual: the points that the price usually buys, from the other products · value: points above that · unbeaten: no \
         other is clearly better for its price · first: with weights near these, with any weights",
    );
    if let Some(curve) = &report.curve {
        page.line(&curve.text);
    }
    for it in &report.standings {
        // The strongest sentence holds the weaker ones.
        let said = it.verdicts.iter().find(|of| of.verdict == "supported" && of.kind == word(it));
        if let Some(said) = said {
            page.line(&said.text);
        }
    }
    for it in report.robustness.iter().flat_map(|it| &it.sentences) {
        page.line(it);
    }
    for it in &report.statistics.associations {
        if it.of == "index" {
            page.line(&it.text);
        }
    }
}
