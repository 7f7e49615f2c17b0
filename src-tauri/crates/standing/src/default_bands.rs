//! The bands that are offered when nobody names one, and the wider one when too few products are in a band.

use crate::band::Band;

/// Steps of half a doubling below and above 100 in which an edge is a whole unit of its own.
const STEPS: std::ops::RangeInclusive<i32> = -10..=46;

/// The edges of the default bands, ascending: 100 times powers of the root of 2, rounded to whole units: 71, 100, 141, 200, 283, ...
///
/// A ratio, since a step of 50 means more at 100 than at 400. Editorial.
fn edges() -> impl DoubleEndedIterator<Item = u32> {
    STEPS.map(|step| {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "from 3 to 838,860,800, rounded"
        )]
        let edge = (100.0 * 2.0_f64.powf(f64::from(step) / 2.0)).round() as u32;
        edge
    })
}

/// The default band that a real price per pair is in; open below the lowest edge and above the highest, `None` for NaN.
#[must_use]
pub fn around(real_pair: f64) -> Option<Band> {
    let mut bands = all();
    bands.find(|it| it.contains(real_pair))
}

/// The default bands from that of the lowest to that of the highest price, each with how many of the prices it holds.
#[must_use]
pub fn over(real_pairs: &[f64]) -> Vec<(Band, usize)> {
    let mut counted: Vec<(Band, usize)> =
        all().map(|band| (band, members(band, real_pairs))).collect();
    let last = counted.iter().rposition(|it| it.1 > 0);
    counted.truncate(last.map_or(0, |last| last + 1));
    counted.into_iter().skip_while(|it| it.1 == 0).collect()
}

/// The next wider band: each edge moved to the next default edge outside of it, or away where there is none; `None` for the band
/// without edges.
///
/// A band never widens of itself; this is what is offered by name.
#[must_use]
pub fn next_wider(band: Band) -> Option<Band> {
    if band.low().is_none() && band.high().is_none() {
        return None;
    }
    let below = |low: f64| edges().rev().find(|edge| f64::from(*edge) < low);
    let above = |high: f64| edges().find(|edge| f64::from(*edge) > high);
    Band::new(band.low().and_then(below), band.high().and_then(above)).ok()
}

/// The first wider band that holds at least `least` of the prices, with how many it holds; `None` if not even all are as many.
#[must_use]
pub fn wide_enough(band: Band, real_pairs: &[f64], least: usize) -> Option<(Band, usize)> {
    let wider = std::iter::successors(next_wider(band), |it| next_wider(*it));
    wider.map(|band| (band, members(band, real_pairs))).find(|it| it.1 >= least)
}

/// All default bands, ascending; the first and the last are open.
fn all() -> impl Iterator<Item = Band> {
    let lows = std::iter::once(None).chain(edges().map(Some));
    let highs = edges().map(Some).chain(std::iter::once(None));
    lows.zip(highs).filter_map(|(low, high)| Band::new(low, high).ok())
}

fn members(band: Band, real_pairs: &[f64]) -> usize {
    real_pairs.iter().filter(|it| band.contains(**it)).count()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn band(text: &str) -> Band {
        text.parse().unwrap()
    }

    /// Powers of the root of 2, by hand: 100 x 1.41421 = 141.4, 200 x 1.41421 = 282.8, 100/1.41421 = 70.7.
    #[test]
    fn check_2_5_edges_grow_by_the_root_of_two() {
        let near: Vec<u32> = edges().filter(|it| (50..=1200).contains(it)).collect();
        assert_eq!(near, [50, 71, 100, 141, 200, 283, 400, 566, 800, 1131]);
        let all: Vec<u32> = edges().collect();
        assert!(all.windows(2).all(|it| it[0] < it[1]), "{all:?}");
        assert_eq!((all[0], all[all.len() - 1]), (3, 838_860_800));
    }

    #[test]
    fn a_price_has_its_band() {
        for (price, want) in [
            (100.0, "100..141"),
            (140.99, "100..141"),
            (141.0, "141..200"),
            (399.0, "283..400"),
            (0.5, "..3"),
            (1e12, "838860800.."),
        ] {
            assert_eq!(around(price), Some(band(want)), "{price}");
        }
        assert_eq!(around(f64::NAN), None);
    }

    #[test]
    fn bands_run_from_the_lowest_price_to_the_highest() {
        let got: Vec<(String, usize)> = over(&[410.0, 150.0, 199.0])
            .into_iter()
            .map(|(band, n)| (band.to_string(), n))
            .collect();
        let want = [("141..200", 2), ("200..283", 0), ("283..400", 0), ("400..566", 1)];
        assert_eq!(got, want.map(|(band, n)| (band.to_owned(), n)));
        assert!(over(&[]).is_empty());
    }

    #[test]
    fn the_next_wider_band_has_a_name() {
        for (from, want) in [
            ("141..200", "100..283"),
            ("150..300", "141..400"),
            ("..300", "..400"),
            ("500..", "400.."),
            ("2..3", "..4"),
            ("0..999999999", ".."),
        ] {
            assert_eq!(next_wider(band(from)), Some(band(want)), "{from}");
        }
        assert_eq!(next_wider(band("..")), None);
    }

    #[test]
    fn a_band_with_too_few_is_offered_a_wider_one() {
        let prices = [120.0, 150.0, 160.0, 210.0, 250.0, 390.0];
        assert_eq!(wide_enough(band("141..200"), &prices, 5), Some((band("100..283"), 5)));
        assert_eq!(wide_enough(band("141..200"), &prices, 6), Some((band("71..400"), 6)));
        assert_eq!(wide_enough(band("141..200"), &prices, 7), None);
    }

    proptest! {
        #[test]
        fn a_wider_band_holds_all_of_the_narrower_one(
            low in 0_u32..5000,
            width in 1_u32..5000,
            price in 0.0..20_000.0_f64,
        ) {
            let narrow = Band::new(Some(low), Some(low + width)).unwrap();
            let wide = next_wider(narrow).unwrap();
            prop_assert!(!narrow.contains(price) || wide.contains(price));
            prop_assert!(wide.low() < narrow.low() && wide.high() > narrow.high());
            prop_assert_eq!(over(&[price]), vec![(around(price).unwrap(), 1)]);
        }
    }
}
