//! Which price band to ask about: the real prices of the shelf, who stands on an edge, and the bands that are offered.
//!
//! Nothing is scored, so that a band can be chosen while the scores are still being made.

use domain::product::ProductKind;
use serde::Deserialize;
use standing::{band::Band, default_bands, gates};

use crate::{
    BandRequest, Engine, Error,
    chart::price_axis,
    dto::{BandsReport, EdgeCase, OfferedBand, PriceBin, PriceStop},
    pricing::Terms,
    scope::Shelved,
};

/// The band that is being chosen.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct BandsRequest {
    /// Lowest real price of a pair, in whole units; open when absent.
    pub low: Option<f64>,
    /// The price below which the band ends; open when absent.
    pub high: Option<f64>,
    /// Only this kind of product.
    pub kind: Option<String>,
}

/// A passive product with a usable price.
struct Priced {
    product: String,
    label: String,
    real_pair: f64,
}

/// Bars for each doubling of the price. The edges of the offered bands, two for each doubling, are edges of bars.
const BARS: i32 = 8;
/// An axis of one price would have no length.
const LEAST_RATIO: f64 = 2.0;

impl Engine {
    /// The prices of the shelf, and the bands that are offered over them.
    ///
    /// # Errors
    /// When the request is not understood or the catalogue cannot be read.
    pub fn bands(&self, request: &BandsRequest) -> Result<BandsReport, Error> {
        let asked = BandRequest {
            low: request.low,
            high: request.high,
            kind: request.kind.clone(),
            ..BandRequest::default()
        };
        let (band, kind) = (asked.band()?, asked.kind()?);
        let info = self.reader().info()?;
        let terms = Terms::of(&info, self.today())?;
        let (priced, no_price) = self.priced(&terms, kind)?;
        let prices: Vec<f64> = priced.iter().map(|it| it.real_pair).collect();
        let n = members(band, &prices);
        let wider = if n < gates::MIN_RANK {
            default_bands::wide_enough(band, &prices, gates::MIN_RANK)
        } else {
            None
        };
        let (low, high) = ends(&prices, band);
        let axis = price_axis(low, high, &info.currency, &info.base_month);
        let place = |price: f64| place(price, low, high);
        Ok(BandsReport {
            currency: info.currency,
            base_month: info.base_month,
            as_of: terms.as_of.to_string(),
            priced: count(prices.len()),
            no_price,
            inside: count(n),
            axis,
            bins: bins(&prices, low, high),
            stops: stops(low, high, &place),
            offered: default_bands::over(&prices).into_iter().map(|it| offered(it, band)).collect(),
            wider: wider.map(|it| offered(it, band)),
            borderline: edge_cases(&priced, band, &place),
        })
    }

    /// Passive products with a price, by price, and how many have none.
    fn priced(
        &self,
        terms: &Terms,
        kind: Option<ProductKind>,
    ) -> Result<(Vec<Priced>, u32), Error> {
        let mut list = Vec::new();
        let mut none = 0;
        let is_asked = |it: &&Shelved| !it.powered && kind.is_none_or(|kind| kind == it.kind);
        for it in self.shelf(terms)?.iter().filter(is_asked) {
            match it.real_pair {
                Some(real_pair) => list.push(Priced {
                    product: it.key.to_string(),
                    label: it.label.clone(),
                    real_pair,
                }),
                None => none += 1,
            }
        }
        list.sort_by(|a, b| {
            a.real_pair.total_cmp(&b.real_pair).then_with(|| a.product.cmp(&b.product))
        });
        Ok((list, none))
    }
}

fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn members(band: Band, prices: &[f64]) -> usize {
    prices.iter().filter(|it| band.contains(**it)).count()
}

/// The edge of bar `step`: 100 times a power of the eighth root of 2, in whole units.
fn edge(step: i32) -> f64 {
    (100.0 * 2.0_f64.powf(f64::from(step) / f64::from(BARS))).round()
}

/// The last step whose edge is at or below a price. The lowest bar begins at 6 units, where edges are still apart.
fn step_of(price: f64) -> i32 {
    const LOWEST: i32 = -4 * BARS;
    #[expect(clippy::cast_possible_truncation, reason = "a logarithm of a price is small")]
    let mut step = ((price.max(1.0) / 100.0).log2() * f64::from(BARS)).floor() as i32 + 1;
    while step > LOWEST && edge(step) > price {
        step -= 1;
    }
    step.max(LOWEST)
}

/// Where the axis ends: at edges of bars around all prices and around the band asked for.
fn ends(prices: &[f64], band: Band) -> (f64, f64) {
    let edges = [band.low(), band.high()].into_iter().flatten().filter(|it| *it > 0.0);
    let all = || prices.iter().copied().chain(edges.clone());
    let low = all().fold(f64::INFINITY, f64::min);
    let high = all().fold(f64::NEG_INFINITY, f64::max);
    if low > high {
        return (100.0, 800.0);
    }
    let (low, mut high) = (edge(step_of(low)), edge(step_of(high) + 1));
    if high < low * LEAST_RATIO {
        high = edge(step_of(low * LEAST_RATIO) + 1);
    }
    (low, high)
}

fn place(price: f64, low: f64, high: f64) -> f64 {
    ((price / low).ln() / (high / low).ln()).clamp(0.0, 1.0)
}

/// The bars, empty ones included, so that a gap is seen as one.
fn bins(prices: &[f64], low: f64, high: f64) -> Vec<PriceBin> {
    let mut bins: Vec<PriceBin> = (step_of(low)..step_of(high))
        .map(|step| {
            let (from, to) = (edge(step), edge(step + 1));
            // What is cheaper than the lowest edge there is stands in the first bar.
            let inside = |it: &&f64| **it < to && (**it >= from || (from <= low && **it < from));
            let n = prices.iter().filter(inside).count();
            PriceBin {
                from,
                to,
                at: place(from, low, high),
                end: place(to, low, high),
                n: count(n),
                height: 0.0,
            }
        })
        .collect();
    let most = bins.iter().map(|it| it.n).max().unwrap_or(0).max(1);
    for it in &mut bins {
        it.height = f64::from(it.n) / f64::from(most);
    }
    bins
}

/// Where a handle may stop: open, then round prices with two figures, and the edges of the offered bands.
fn stops(low: f64, high: f64, place: &impl Fn(f64) -> f64) -> Vec<PriceStop> {
    let mut prices: Vec<f64> =
        (step_of(low)..=step_of(high)).filter(|it| it % (BARS / 2) == 0).map(edge).collect();
    let mut decade = 10_f64.powf(low.log10().floor());
    while decade <= high {
        for (from, to, step) in [(10, 30, 1), (30, 60, 2), (60, 100, 5)] {
            let rounds = (from..to).step_by(step).map(|it| f64::from(it) * decade / 10.0);
            prices.extend(rounds.filter(|it| it.fract() == 0.0 && (low..=high).contains(it)));
        }
        decade *= 10.0;
    }
    prices.sort_by(f64::total_cmp);
    prices.dedup_by(|a, b| (*a - *b).abs() < 0.5);
    prices.into_iter().map(|price| PriceStop { price, at: place(price) }).collect()
}

fn offered((it, n): (Band, usize), asked: Band) -> OfferedBand {
    OfferedBand {
        low: it.low(),
        high: it.high(),
        n: count(n),
        ranked: n >= gates::MIN_RANK,
        current: it == asked,
    }
}

/// Products so near an edge that they are in or out by a few units of money.
fn edge_cases(priced: &[Priced], band: Band, place: &impl Fn(f64) -> f64) -> Vec<EdgeCase> {
    let off = |price: f64, edge: Option<f64>| edge.map_or(f64::INFINITY, |it| (price - it).abs());
    priced
        .iter()
        .filter(|it| band.is_borderline(it.real_pair))
        .map(|it| {
            let inside = band.contains(it.real_pair);
            let price = it.real_pair;
            let lower = off(price, band.low()) <= off(price, band.high());
            let edge = if lower { "lower" } else { "upper" };
            EdgeCase {
                product: it.product.clone(),
                label: it.label.clone(),
                real_pair: it.real_pair,
                at: place(it.real_pair),
                inside,
                sentence: format!(
                    "{}, {:.0} a pair, is just {} the {edge} edge of the band",
                    it.label,
                    it.real_pair,
                    if inside { "inside" } else { "outside" }
                ),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(text: &str) -> Band {
        text.parse().unwrap()
    }

    #[test]
    fn bars_share_the_edges_of_the_offered_bands() {
        let edges: Vec<f64> = (0..=8).step_by(4).map(edge).collect();
        // 100 x 1.41421 = 141.4, by hand.
        assert_eq!(edges, [100.0, 141.0, 200.0]);
        for price in [100.0, 140.9, 141.0, 199.9, 200.0, 5.0, 1e6] {
            let step = step_of(price);
            assert!(edge(step) <= price.max(6.0) && price < edge(step + 1), "{price}: {step}");
        }
    }

    #[test]
    fn each_price_is_in_one_bar() {
        let prices = [5.0, 99.0, 100.0, 150.0, 150.0, 200.0, 731.0];
        let (low, high) = ends(&prices, band(".."));
        let bins = bins(&prices, low, high);
        assert_eq!(bins.iter().map(|it| it.n).sum::<u32>(), 7, "{bins:?}");
        assert!(bins.windows(2).all(|it| (it[0].end - it[1].at).abs() < 1e-12));
        assert!(bins.iter().any(|it| it.n == 0 && it.height < 1e-12));
        assert!(bins.iter().any(|it| it.height > 0.999));
    }

    #[test]
    fn an_empty_shelf_and_a_single_price_have_an_axis() {
        for (prices, asked) in [(&[][..], ".."), (&[150.0][..], ".."), (&[][..], "200..201")] {
            let (low, high) = ends(prices, band(asked));
            assert!(high >= low * LEAST_RATIO, "{low} {high}");
        }
    }

    #[test]
    fn stops_are_whole_rise_and_hold_the_edges_that_are_offered() {
        let stops = stops(100.0, 800.0, &|it| place(it, 100.0, 800.0));
        let prices: Vec<f64> = stops.iter().map(|it| it.price).collect();
        assert!(prices.windows(2).all(|it| it[0] < it[1]), "{prices:?}");
        assert!(prices.iter().all(|it| it.fract() == 0.0));
        for edge in [100.0, 141.0, 200.0, 250.0, 283.0, 400.0, 566.0, 800.0] {
            assert!(prices.contains(&edge), "{edge} is not among {prices:?}");
        }
    }

    #[test]
    fn products_near_an_edge_are_named_with_their_side() {
        let priced: Vec<Priced> = [193.0, 195.0, 203.0, 350.0, 499.0, 514.0]
            .into_iter()
            .map(|real_pair| Priced {
                product: format!("quill/{real_pair}"),
                label: format!("Quill {real_pair}"),
                real_pair,
            })
            .collect();
        let said: Vec<String> = edge_cases(&priced, band("200..500"), &|it| it / 1000.0)
            .into_iter()
            .map(|it| it.sentence)
            .collect();
        assert_eq!(
            said,
            [
                "Quill 195, 195 a pair, is just outside the lower edge of the band",
                "Quill 203, 203 a pair, is just inside the lower edge of the band",
                "Quill 499, 499 a pair, is just inside the upper edge of the band",
                "Quill 514, 514 a pair, is just outside the upper edge of the band",
            ]
        );
    }
}
