//! A price band: its written form, who is in it, and who is close to its edge.

use std::{fmt, str::FromStr};

use crate::{gates::BORDERLINE, rank::quantise};

/// A range of real prices per pair in whole currency units, low edge included, high edge not; either side may be open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Band {
    low: Option<u32>,
    high: Option<u32>,
}

/// A text or two edges that make no band.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadBand {
    /// A text of another form.
    #[error(
        "{text:?} is not a price band; write LOW..HIGH in whole currency units of at most 9 digits, such as 200..500, and leave either side away for no limit"
    )]
    Form {
        /// The text as found, at most 40 characters.
        text: String,
    },
    /// A low edge that is not below the high one.
    #[error("the band {low}..{high} holds no price; the low edge must be below the high one")]
    Empty {
        /// The low edge.
        low: u32,
        /// The high edge.
        high: u32,
    },
}

impl Band {
    /// The band from `low` up to, not including, `high`.
    ///
    /// # Errors
    /// [`BadBand::Empty`] unless low < high where both are given.
    pub fn new(low: Option<u32>, high: Option<u32>) -> Result<Self, BadBand> {
        match (low, high) {
            (Some(low), Some(high)) if low >= high => Err(BadBand::Empty { low, high }),
            _ => Ok(Band { low, high }),
        }
    }

    /// The low edge, currency units per pair.
    #[must_use]
    pub fn low(self) -> Option<f64> {
        self.low.map(f64::from)
    }

    /// The high edge, currency units per pair.
    #[must_use]
    pub fn high(self) -> Option<f64> {
        self.high.map(f64::from)
    }

    /// Whether a real price per pair is in the band: `low <= price < high`, compared at one millionth of a unit. NaN is in none.
    #[must_use]
    pub fn contains(self, real_pair: f64) -> bool {
        let price = quantise(real_pair);
        !real_pair.is_nan()
            && self.low().is_none_or(|low| quantise(low) <= price)
            && self.high().is_none_or(|high| price < quantise(high))
    }

    /// Whether a real price per pair, inside or outside, is within 3 % ([`BORDERLINE`]) of an edge, the end of that range included.
    #[must_use]
    pub fn is_borderline(self, real_pair: f64) -> bool {
        [self.low(), self.high()].into_iter().flatten().any(|edge| {
            !real_pair.is_nan() && quantise((real_pair - edge).abs()) <= quantise(BORDERLINE * edge)
        })
    }
}

impl FromStr for Band {
    type Err = BadBand;

    fn from_str(text: &str) -> Result<Self, BadBand> {
        let bad =
            || BadBand::Form { text: text.chars().filter(|c| !c.is_control()).take(40).collect() };
        let edge = |side: &str| match side {
            "" => Ok(None),
            _ if side.len() <= 9 && side.bytes().all(|b| b.is_ascii_digit()) => {
                side.parse().map(Some).map_err(|_| bad())
            }
            _ => Err(bad()),
        };
        let (low, high) = text.split_once("..").ok_or_else(bad)?;
        Band::new(edge(low)?, edge(high)?)
    }
}

impl fmt::Display for Band {
    /// The written form, `200..500`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (before, edge) in [("", self.low), ("..", self.high)] {
            f.write_str(before)?;
            if let Some(edge) = edge {
                write!(f, "{edge}")?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn band(text: &str) -> Band {
        text.parse().unwrap()
    }

    #[test]
    fn a_band_reads_back_as_written() {
        for text in ["200..500", "..500", "200..", "..", "0..1", "999999998..999999999"] {
            assert_eq!(band(text).to_string(), text);
        }
        assert_eq!((band("200..500").low(), band("..500").low()), (Some(200.0), None));
    }

    #[test]
    fn what_is_no_band_is_refused_with_the_accepted_form() {
        for text in [
            "",
            "200",
            "200-500",
            "200...500",
            "200..500..",
            "200.5..500",
            "-1..5",
            "+1..5",
            " 200..500",
            "2e2..500",
            "1000000000..",
        ] {
            let error = text.parse::<Band>().unwrap_err().to_string();
            assert!(error.contains("LOW..HIGH") && error.contains(&format!("{text:?}")), "{error}");
        }
        for text in ["500..200", "200..200"] {
            let error = text.parse::<Band>().unwrap_err().to_string();
            assert!(error.contains("low edge must be below"), "{error}");
        }
    }

    #[test]
    fn the_low_edge_is_in_and_the_high_edge_is_out() {
        let it = band("200..500");
        for (price, inside) in [
            (199.99, false),
            (200.0, true),
            (199.999_999_999, true),
            (499.99, true),
            (500.0, false),
        ] {
            assert_eq!(it.contains(price), inside, "{price}");
        }
        assert!(
            !it.contains(499.999_999_999),
            "a price that differs from the edge in the last bits is the edge"
        );
        assert!(
            band("..500").contains(0.0) && band("200..").contains(1e12) && band("..").contains(3.0)
        );
        assert!(!band("..").contains(f64::NAN));
    }

    #[test]
    fn borderline_is_within_3_percent_of_an_edge() {
        let it = band("200..500");
        for (price, close) in [
            (193.99, false),
            (194.0, true),
            (206.0, true),
            (206.01, false),
            (484.99, false),
            (485.0, true),
            (515.0, true),
            (515.01, false),
        ] {
            assert_eq!(it.is_borderline(price), close, "{price}");
        }
        assert!(
            !band("..").is_borderline(200.0)
                && !band("..500").is_borderline(0.0)
                && !it.is_borderline(f64::NAN)
        );
    }

    proptest! {
        #[test]
        fn bands_that_share_an_edge_split_every_price(edge in 1_u32..2000, price in 0.0..3000.0_f64) {
            let below = Band::new(None, Some(edge)).unwrap();
            let above = Band::new(Some(edge), None).unwrap();
            prop_assert!(below.contains(price) != above.contains(price));
        }

        #[test]
        fn no_text_panics(text in ".{0,30}") {
            if let Ok(band) = text.parse::<Band>() {
                prop_assert!(band.to_string().parse::<Band>() == Ok(band));
            }
        }
    }
}
