//! Charts as geometry, computed from the report alone, so that a picture can never say more than the table.

use standing::{
    frontier::{Offer, floor_steps},
    rank::Interval,
};

mod small;

pub(crate) use small::{multiples, rank_strip};

use crate::{
    band::percent,
    dto::{Axis, BandReport, DotPlot, DotRow, PlotPoint, Scatter, ScatterMark, Standing, Tick},
};

/// A scale from values to places between 0 and 1.
struct Scale {
    low: f64,
    high: f64,
    log: bool,
}

impl Scale {
    fn at(&self, value: f64) -> f64 {
        let place = if self.log {
            (value / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        place.clamp(0.0, 1.0)
    }
}

/// The index axis: whole tens around all intervals, never narrower than 20 points.
fn index_scale(standings: &[Standing]) -> (Scale, Vec<f64>) {
    let low =
        standings.iter().map(|it| it.index.low.min(it.spread.low)).fold(f64::INFINITY, f64::min);
    let high = standings
        .iter()
        .map(|it| it.index.high.max(it.spread.high))
        .fold(f64::NEG_INFINITY, f64::max);
    let (mut low, mut high) = if low <= high { (low, high) } else { (0.0, 100.0) };
    low = (low / 10.0).floor() * 10.0;
    high = (high / 10.0).ceil() * 10.0;
    if high - low < 20.0 {
        low = (high - 20.0).max(0.0);
        high = low + 20.0;
    }
    let step = if high - low > 60.0 { 20.0 } else { 10.0 };
    let mut ticks = Vec::new();
    let mut tick = (low / step).ceil() * step;
    while tick <= high {
        ticks.push(tick);
        tick += step;
    }
    (Scale { low, high, log: false }, ticks)
}

/// Round prices for a logarithmic axis.
const ROUND: [f64; 8] = [1.0, 1.25, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0];

/// The price axis: the band where it is closed, else a little beyond the prices.
fn price_scale(report: &BandReport) -> (Scale, Vec<f64>) {
    let prices = report.standings.iter().map(|it| it.price.real_pair);
    let low = prices.clone().fold(f64::INFINITY, f64::min);
    let high = prices.fold(f64::NEG_INFINITY, f64::max);
    let (low, high) = if low <= high { (low, high) } else { (100.0, 1000.0) };
    let low = report.band.low.filter(|it| *it > 0.0).unwrap_or(low * 0.95);
    let high = report.band.high.unwrap_or(high * 1.05).max(low * 1.05);
    let mut ticks = Vec::new();
    let mut decade = 10_f64.powf(low.log10().floor());
    while decade <= high {
        ticks.extend(ROUND.iter().map(|it| it * decade).filter(|it| (low..=high).contains(it)));
        decade *= 10.0;
    }
    // At most seven labels fit side by side in a narrow window.
    let every = ticks.len().div_ceil(7).max(1);
    (Scale { low, high, log: true }, ticks.into_iter().step_by(every).collect())
}

fn axis(title: String, scale: &Scale, ticks: &[f64], flip: bool) -> Axis {
    let place = |it: f64| if flip { 1.0 - scale.at(it) } else { scale.at(it) };
    let mut ticks: Vec<Tick> =
        ticks.iter().map(|it| Tick { at: place(*it), label: format!("{it:.0}") }).collect();
    ticks.sort_by(|a, b| a.at.total_cmp(&b.at));
    Axis { title, ticks }
}

/// `52–70`, or `61` when both ends round to it.
fn index_text(it: &Standing) -> String {
    let (low, high) = (format!("{:.0}", it.index.low), format!("{:.0}", it.index.high));
    if low == high { low } else { format!("{low}–{high}") }
}

fn rank_text(it: &Standing) -> String {
    if it.rank.best == it.rank.worst {
        it.rank.best.to_string()
    } else {
        format!("{}–{}", it.rank.best, it.rank.worst)
    }
}

fn label(it: &Standing) -> String {
    format!("{} {}", it.maker, it.model)
}

fn sentence(it: &Standing, report: &BandReport) -> String {
    let beaten = match &it.beaten_by[..] {
        [] => "nothing in the band surely beats it".to_owned(),
        [one] => format!("surely beaten by {one}"),
        [first, rest @ ..] => format!("surely beaten by {first} and {} more", rest.len()),
    };
    let rank = match (it.rank.low, it.rank.high) {
        (Some(low), Some(high)) if low == high => format!("rank {low}"),
        (Some(low), Some(high)) => format!("rank {low} to {high}"),
        _ => format!("rank {}", rank_text(it)),
    };
    let value = it.value_points.as_ref().map_or_else(String::new, |value| {
        let side = if value.value < 0.0 { "below" } else { "above" };
        format!("{:.0} points {side} what its price usually buys, ", value.value.abs())
    });
    format!(
        "{}: {rank} of {} in 90 % of the draws, index {} ({:.0} to {:.0}), first in {}, {value}{:.0} {} a pair, \
         {:.0} % of the score rests on findings, {beaten}",
        label(it),
        report.standings.len(),
        index_text(it),
        it.spread.low,
        it.spread.high,
        percent(it.p_first),
        it.price.real_pair,
        report.band.currency,
        (it.coverage * 100.0).floor(),
    )
}

fn band_text(report: &BandReport) -> String {
    let edge = |it: Option<f64>| it.map(|it| format!("{it:.0}")).unwrap_or_default();
    format!("{}..{} {}", edge(report.band.low), edge(report.band.high), report.band.currency)
}

/// Standings as dots with intervals.
pub(crate) fn dot_plot(report: &BandReport) -> DotPlot {
    let (scale, ticks) = index_scale(&report.standings);
    let rows = report
        .standings
        .iter()
        .map(|it| DotRow {
            product: it.product.clone(),
            label: label(it),
            rank: rank_text(it),
            value: it.index.value.map(|value| scale.at(value)),
            low: scale.at(it.index.low),
            high: scale.at(it.index.high),
            drawn_low: scale.at(it.spread.low),
            drawn_median: scale.at(it.spread.median),
            drawn_high: scale.at(it.spread.high),
            group: it.group,
            on_frontier: it.on_frontier,
            sentence: sentence(it, report),
        })
        .collect();
    DotPlot {
        title: format!("Index in the band {}", band_text(report)),
        description: format!(
            "{} products; each thin line spans what missing findings leave open, each thick one where 90 % of the draws put \
             the index, with a dot at the middle draw; a gap parts groups that are told apart",
            report.standings.len()
        ),
        x: axis("index, 0 to 100".into(), &scale, &ticks, false),
        rows,
    }
}

/// Price against index, with the step line of the best index that is sure at each price.
pub(crate) fn scatter(report: &BandReport) -> Scatter {
    let (prices, price_ticks) = price_scale(report);
    let (indices, index_ticks) = index_scale(&report.standings);
    let down = |it: f64| 1.0 - indices.at(it);
    let marks = report
        .standings
        .iter()
        .map(|it| ScatterMark {
            product: it.product.clone(),
            label: label(it),
            x: prices.at(it.price.real_pair),
            y: it.index.value.map(down),
            y_low: down(it.index.low),
            y_high: down(it.index.high),
            on_frontier: it.on_frontier,
            sentence: sentence(it, report),
        })
        .collect();
    Scatter {
        title: format!("Price and index in the band {}", band_text(report)),
        description: format!(
            "each line spans what missing findings leave open; a product whose line ends below the steps is surely beaten; {}",
            report.curve.as_ref().map_or("too few products for an expectation", |it| &it.text)
        ),
        x: axis(
            format!("real price of a pair, {} of {}", report.band.currency, report.band.base_month),
            &prices,
            &price_ticks,
            false,
        ),
        y: axis("index, 0 to 100".into(), &indices, &index_ticks, true),
        marks,
        floor: floor(report, &prices, &indices),
        expected: expected(report, &prices, &indices),
    }
}

/// What a price usually buys, from the lowest to the highest price of the picture; straight over a logarithmic axis.
fn expected(report: &BandReport, prices: &Scale, indices: &Scale) -> Vec<PlotPoint> {
    let Some(curve) = &report.curve else { return Vec::new() };
    let middle = (curve.price_low * curve.price_high).sqrt();
    [prices.low, prices.high]
        .map(|price| {
            let index = curve.middle + curve.per_doubling * (price / middle).log2();
            PlotPoint { x: prices.at(price), y: 1.0 - indices.at(index) }
        })
        .into()
}

fn floor(report: &BandReport, prices: &Scale, indices: &Scale) -> Vec<PlotPoint> {
    let offers: Vec<Offer> = report
        .standings
        .iter()
        .filter_map(|it| {
            Offer::new(it.price.real_pair, Interval::new(it.index.low, it.index.high).ok()?).ok()
        })
        .collect();
    let mut points: Vec<PlotPoint> = Vec::new();
    for step in floor_steps(&offers) {
        let (x, y) = (prices.at(step.price), 1.0 - indices.at(step.low));
        if let Some(last) = points.last() {
            let corner = PlotPoint { x, y: last.y };
            points.push(corner);
        }
        points.push(PlotPoint { x, y });
    }
    if let Some(last) = points.last() {
        let end = PlotPoint { x: 1.0, y: last.y };
        points.push(end);
    }
    points
}

#[cfg(test)]
mod tests;
