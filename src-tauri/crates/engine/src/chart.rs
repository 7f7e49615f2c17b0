//! Charts as geometry, computed from the report alone, so that a picture can never say more than the table.

use standing::{
    frontier::{Offer, floor_steps},
    rank::Interval,
};

mod dots;
mod moves;
mod small;

pub(crate) use dots::{dot_plot, live_dots};
pub(crate) use moves::moves;
pub(crate) use small::{multiples, rank_strip};

use crate::{
    band::percent,
    dto::{
        Axis, BandDto, BandReport, IntervalDto, PlotCurve, PlotPoint, RankDto, Scatter,
        ScatterMark, SpanDto, Standing, Tick,
    },
};

/// A scale from values to places between 0 and 1.
pub(crate) struct Scale {
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) log: bool,
}

impl Scale {
    pub(crate) fn at(&self, value: f64) -> f64 {
        let place = if self.log {
            (value / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        place.clamp(0.0, 1.0)
    }
}

/// The index axis: whole tens around all intervals, never narrower than 20 points.
fn index_scale<'a>(all: impl Iterator<Item = (&'a IntervalDto, &'a SpanDto)>) -> (Scale, Vec<f64>) {
    let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (index, span)| {
        (low.min(index.low).min(span.low), high.max(index.high).max(span.high))
    });
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
    (Scale { low, high, log: true }, price_ticks(low, high))
}

fn price_ticks(low: f64, high: f64) -> Vec<f64> {
    let mut ticks = Vec::new();
    let mut decade = 10_f64.powf(low.log10().floor());
    while decade <= high {
        ticks.extend(ROUND.iter().map(|it| it * decade).filter(|it| (low..=high).contains(it)));
        decade *= 10.0;
    }
    // At most seven labels fit side by side in a narrow window.
    let every = ticks.len().div_ceil(7).max(1);
    ticks.into_iter().step_by(every).collect()
}

/// The axis of real prices between two of them.
pub(crate) fn price_axis(low: f64, high: f64, currency: &str, base_month: &str) -> Axis {
    let scale = Scale { low, high, log: true };
    axis(price_title(currency, base_month), &scale, &price_ticks(low, high), false)
}

fn price_title(currency: &str, base_month: &str) -> String {
    format!("real price of a pair, {currency} of {base_month}")
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

/// The ranks of 90 % of the draws; without draws those that the gaps allow.
fn ranks(rank: &RankDto, between: &str) -> String {
    let (low, high) = (rank.low.unwrap_or(rank.best), rank.high.unwrap_or(rank.worst));
    if low == high { low.to_string() } else { format!("{low}{between}{high}") }
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
    let rank = format!("rank {}", ranks(&it.rank, " to "));
    let value = it.value_points.as_ref().map_or_else(String::new, |value| {
        let side = if value.value < 0.0 { "below" } else { "above" };
        format!("{:.0} points {side} what its price usually buys, ", value.value.abs())
    });
    let word = match word(it) {
        "" => String::new(),
        word => format!(", {word}"),
    };
    format!(
        "{}: {rank} of {} in 90 % of the draws, index {} ({:.0} to {:.0}), first in {}, {value}{:.0} {} a pair, \
         {:.0} % of the score rests on findings, {beaten}{word}",
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

fn band_text(band: &BandDto) -> String {
    let edge = |it: f64| format!("{it:.0}");
    let limits = match (band.low, band.high) {
        (Some(low), Some(high)) => format!("{} to {}", edge(low), edge(high)),
        (Some(low), None) => format!("{} and more", edge(low)),
        (None, Some(high)) => format!("below {}", edge(high)),
        (None, None) => return "any price".into(),
    };
    format!("{limits} {}", band.currency)
}

/// What the data support of a product's value, the strongest first.
fn word(it: &Standing) -> &'static str {
    let supported =
        |kind: &str| it.verdicts.iter().any(|of| of.kind == kind && of.verdict == "supported");
    ["unbeaten", "good value", "overpriced"].into_iter().find(|it| supported(it)).unwrap_or("")
}

/// Price against index, with the step line of the best index that is sure at each price.
pub(crate) fn scatter(report: &BandReport) -> Scatter {
    let (prices, price_ticks) = price_scale(report);
    let (indices, index_ticks) =
        index_scale(report.standings.iter().map(|it| (&it.index, &it.spread)));
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
            word: word(it).into(),
            sentence: sentence(it, report),
        })
        .collect();
    Scatter {
        title: format!("Price and index in the band {}", band_text(&report.band)),
        description: format!(
            "each line spans what missing findings leave open; a product whose line ends below the steps is surely beaten; {}",
            report.curve.as_ref().map_or("too few products for an expectation", |it| &it.text)
        ),
        x: axis(
            price_title(&report.band.currency, &report.band.base_month),
            &prices,
            &price_ticks,
            false,
        ),
        y: axis("index, 0 to 100".into(), &indices, &index_ticks, true),
        marks,
        floor: floor(report, &prices, &indices),
        expected: expected(report, &prices, &indices),
        expected_band: expected_band(report, &prices, &indices),
        others: others(report, &prices, &indices),
    }
}

/// A curve cut to the prices of the picture, straight between two points over a logarithmic axis.
fn cut(points: &[(f64, f64)], prices: &Scale, indices: &Scale) -> Vec<PlotPoint> {
    let mut cut: Vec<(f64, f64)> = Vec::new();
    for pair in points.windows(2) {
        let [(from, a), (to, b)] = *pair else { continue };
        let (low, high) = (from.max(prices.low), to.min(prices.high));
        if low > high {
            continue;
        }
        let at = |price: f64| {
            if to > from { a + (b - a) * (price / from).ln() / (to / from).ln() } else { a }
        };
        let upright = to <= from;
        cut.push((low, at(low)));
        cut.push((high, if upright { b } else { at(high) }));
    }
    cut.dedup();
    cut.into_iter()
        .map(|(price, index)| PlotPoint { x: prices.at(price), y: 1.0 - indices.at(index) })
        .collect()
}

/// There along the lower ends, back along the upper ones.
fn expected_band(report: &BandReport, prices: &Scale, indices: &Scale) -> Vec<PlotPoint> {
    let Some(curve) = &report.curve else { return Vec::new() };
    let lows: Vec<(f64, f64)> = curve.limits.iter().map(|it| (it.price, it.low)).collect();
    let highs: Vec<(f64, f64)> = curve.limits.iter().map(|it| (it.price, it.high)).collect();
    let mut outline = cut(&lows, prices, indices);
    outline.extend(cut(&highs, prices, indices).into_iter().rev());
    outline
}

fn others(report: &BandReport, prices: &Scale, indices: &Scale) -> Vec<PlotCurve> {
    report
        .curves
        .iter()
        .map(|it| {
            let points: Vec<(f64, f64)> = it.points.iter().map(|it| (it.price, it.index)).collect();
            PlotCurve {
                id: it.id.clone(),
                name: it.name.clone(),
                text: it.text.clone(),
                points: cut(&points, prices, indices),
            }
        })
        .collect()
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
