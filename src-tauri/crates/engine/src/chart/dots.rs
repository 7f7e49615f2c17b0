//! Standings as dots with intervals, from a whole report or from ranks alone.

use standing::gates;

use super::{Scale, axis, band_text, index_scale, label, ranks, sentence};
use crate::{
    band::percent,
    dto::{BandReport, DotGroup, DotPlot, DotRow, IntervalDto, RankReport, RankedRow, SpanDto},
};

/// What a row shows, wherever it comes from.
struct Shown<'a> {
    product: &'a str,
    label: String,
    index: &'a IntervalDto,
    spread: &'a SpanDto,
    group: u32,
    on_frontier: bool,
    rank: String,
    rank_equal: u32,
    sentence: String,
}

/// The standings of a report.
pub(crate) fn dot_plot(report: &BandReport) -> DotPlot {
    let shown: Vec<Shown<'_>> = report
        .standings
        .iter()
        .map(|it| Shown {
            product: &it.product,
            label: label(it),
            index: &it.index,
            spread: &it.spread,
            group: it.group,
            on_frontier: it.on_frontier,
            rank: ranks(&it.rank, "–"),
            rank_equal: it.rank_equal_weights,
            sentence: sentence(it, report),
        })
        .collect();
    plot(format!("Index in the band {}", band_text(&report.band)), &shown)
}

/// The same while weights are being moved: value and verdicts are not known yet.
pub(crate) fn live_dots(report: &RankReport) -> DotPlot {
    let of = |it: &RankedRow| -> String {
        let rank = if it.low == it.high {
            it.low.to_string()
        } else {
            format!("{} to {}", it.low, it.high)
        };
        format!(
            "{}: rank {rank} of {} in 90 % of the draws, index {:.0} to {:.0}, first in {}",
            it.label,
            report.rows.len(),
            it.spread.low,
            it.spread.high,
            percent(it.p_first)
        )
    };
    let shown: Vec<Shown<'_>> = report
        .rows
        .iter()
        .map(|it| Shown {
            product: &it.product,
            label: it.label.clone(),
            index: &it.index,
            spread: &it.spread,
            group: it.group,
            on_frontier: it.on_frontier,
            rank: if it.low == it.high {
                it.low.to_string()
            } else {
                format!("{}–{}", it.low, it.high)
            },
            rank_equal: it.rank_equal_weights,
            sentence: of(it),
        })
        .collect();
    plot(format!("Index in the band {}", band_text(&report.band)), &shown)
}

fn plot(title: String, shown: &[Shown<'_>]) -> DotPlot {
    let (scale, ticks) = index_scale(shown.iter().map(|it| (it.index, it.spread)));
    let ranked = shown.len() >= gates::MIN_RANK;
    DotPlot {
        title,
        description: format!(
            "{} products; each thin line spans what missing findings leave open, each thick one where 90 % of the draws put \
             the index, with a dot at the middle draw; a bracket joins rows that are not told apart",
            shown.len()
        ),
        x: axis("index, 0 to 100".into(), &scale, &ticks, false),
        rows: shown.iter().map(|it| row(it, &scale, ranked)).collect(),
        groups: if ranked { groups(shown) } else { Vec::new() },
    }
}

fn row(it: &Shown<'_>, scale: &Scale, ranked: bool) -> DotRow {
    DotRow {
        product: it.product.to_owned(),
        label: it.label.clone(),
        value: it.index.value.map(|value| scale.at(value)),
        low: scale.at(it.index.low),
        high: scale.at(it.index.high),
        drawn_low: scale.at(it.spread.low),
        drawn_median: scale.at(it.spread.median),
        drawn_high: scale.at(it.spread.high),
        group: it.group,
        on_frontier: it.on_frontier,
        rank: if ranked { it.rank.clone() } else { String::new() },
        rank_equal: if ranked { it.rank_equal.to_string() } else { String::new() },
        sentence: it.sentence.clone(),
    }
}

/// Runs of rows of one group, each with what the draws say of it.
fn groups(shown: &[Shown<'_>]) -> Vec<DotGroup> {
    let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    let mut groups: Vec<DotGroup> = Vec::new();
    let mut first = 0;
    for rows in shown.chunk_by(|a, b| a.group == b.group) {
        let last = first + rows.len() - 1;
        let name = rows.first().map(|it| it.label.as_str()).unwrap_or_default();
        let mut sentence = match rows.len() {
            1 => format!("{name} stands alone."),
            2 => format!(
                "These two are not told apart: {name} is above the other in less than 90 % of the draws."
            ),
            n => format!(
                "These {n} are not told apart: {name} is above each of the others in less than 90 % of the draws."
            ),
        };
        if let Some(below) = shown.get(last + 1) {
            sentence.push_str(&format!(" 90 % or more put {name} above {}.", below.label));
        }
        groups.push(DotGroup { first: place(first), last: place(last), sentence });
        first = last + 1;
    }
    groups
}
