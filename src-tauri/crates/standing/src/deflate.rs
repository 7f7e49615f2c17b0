//! Prices of one time in the dollars of another.

use std::fmt;

use domain::price::PriceDate;

use crate::cpi::{self, NoLevel, Origin};

/// What a real price rests on besides published months. In the order in which they are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Flag {
    /// The price is dated by year only.
    FromYearOnly,
    /// The target is a year.
    ToYearOnly,
    /// The month of the price was never published.
    FromInterpolated,
    /// The target month was never published.
    ToInterpolated,
    /// The month of the price is after the end of the table.
    FromAfterTable,
    /// The target month is after the end of the table.
    ToAfterTable,
}

impl Flag {
    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Flag::FromYearOnly => "from_year_only",
            Flag::ToYearOnly => "to_year_only",
            Flag::FromInterpolated => "from_interpolated",
            Flag::ToInterpolated => "to_interpolated",
            Flag::FromAfterTable => "from_after_table",
            Flag::ToAfterTable => "to_after_table",
        }
    }
}

impl fmt::Display for Flag {
    /// A sentence for people.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Flag::FromYearOnly => "the price is dated by year only, so the annual average of the index stands for a month up to half a year away",
            Flag::ToYearOnly => "the base is a year, so its annual average of the index is used",
            Flag::FromInterpolated => "the index of the price's month was never published; the mean of its neighbours is used",
            Flag::ToInterpolated => "the index of the base month was never published; the mean of its neighbours is used",
            Flag::FromAfterTable => "the price's month is after the end of the index on board; the last month is used",
            Flag::ToAfterTable => "the base month is after the end of the index on board; the last month is used",
        })
    }
}

/// A price in the dollars of another time.
#[derive(Debug, Clone, PartialEq)]
pub struct Real {
    /// The amount, US dollars of the target.
    pub amount: f64,
    /// What it rests on, ascending; empty when both ends are published months.
    pub flags: Vec<Flag>,
}

/// A price that cannot be converted.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NotConverted {
    /// An amount that is none.
    #[error(
        "the amount {amount} is out of range; give a number above 0 and below 1e12, in US dollars"
    )]
    Amount {
        /// The amount found.
        amount: f64,
    },
    /// A date without a level of the index.
    #[error(transparent)]
    NoLevel(#[from] NoLevel),
}

/// A price for two speakers, in US dollars of the time `from`, in the dollars of the time `to`: `amount CPI[to] / CPI[from]`.
///
/// The index is that of [`crate::cpi`]; each end uses its month, or the annual average where only the year is known. Bureau of Labor
/// Statistics, *How to Use the Consumer Price Index for Escalation*: name the series and both periods, use the index that is not
/// seasonally adjusted.
///
/// # Errors
/// [`NotConverted`] for an amount that is not above 0 and below 10^12, and for a date without a level of the index.
pub fn real_pair(pair_amount: f64, from: PriceDate, to: PriceDate) -> Result<Real, NotConverted> {
    if !(pair_amount > 0.0 && pair_amount < 1e12) {
        return Err(NotConverted::Amount { amount: pair_amount });
    }
    let (seen, base) = (cpi::level(from)?, cpi::level(to)?);
    let flag_from = match seen.origin {
        Origin::Month => None,
        Origin::Year => Some(Flag::FromYearOnly),
        Origin::Interpolated => Some(Flag::FromInterpolated),
        Origin::AfterTable => Some(Flag::FromAfterTable),
    };
    let flag_to = match base.origin {
        Origin::Month => None,
        Origin::Year => Some(Flag::ToYearOnly),
        Origin::Interpolated => Some(Flag::ToInterpolated),
        Origin::AfterTable => Some(Flag::ToAfterTable),
    };
    let mut flags: Vec<Flag> = flag_from.into_iter().chain(flag_to).collect();
    flags.sort_unstable();
    // The ratio first: it is exactly 1 when both ends are the same.
    Ok(Real { amount: pair_amount * (base.value / seen.value), flags })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

    fn real(amount: f64, from: &str, to: &str) -> Result<Real, NotConverted> {
        real_pair(amount, from.parse().unwrap(), to.parse().unwrap())
    }

    /// Values by the Python package cpi 2.1.0 on the same series.
    #[test]
    fn real_prices_agree_with_the_cpi_package() {
        use Flag::{FromYearOnly, ToYearOnly};
        for (amount, from, to, want, flags) in [
            (199.0, "2019", "2024", 244.171_335_030_9, vec![FromYearOnly, ToYearOnly]),
            (149.5, "2016", "2025", 200.537_811_397_2, vec![FromYearOnly, ToYearOnly]),
            (100.0, "2015", "2024", 132.348_734_479_0, vec![FromYearOnly, ToYearOnly]),
            (249.0, "2021-03", "2024-06", 295.343_027_140_9, vec![]),
            (249.0, "2021-03-31", "2024-06-01", 295.343_027_140_9, vec![]),
        ] {
            let got = real(amount, from, to).unwrap();
            near(got.amount, want, 1e-9);
            assert_eq!(got.flags, flags, "{from} to {to}");
        }
    }

    #[test]
    fn flags_come_in_their_listed_order() {
        use Flag::{
            FromAfterTable, FromInterpolated, FromYearOnly, ToAfterTable, ToInterpolated,
            ToYearOnly,
        };
        for (from, to, want) in [
            ("2025-10", "2024", [ToYearOnly, FromInterpolated]),
            ("2030-01", "2025-10", [ToInterpolated, FromAfterTable]),
            ("2024", "2030-01", [FromYearOnly, ToAfterTable]),
        ] {
            assert_eq!(real(1.0, from, to).unwrap().flags, want, "{from} to {to}");
        }
        // By hand: both ends are the last month.
        near(real(250.0, "2026-08", "2027-03").unwrap().amount, 250.0, 0.0);
    }

    #[test]
    fn what_cannot_be_converted_says_why() {
        for amount in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(
                matches!(real(amount, "2020-01", "2024-01"), Err(NotConverted::Amount { .. })),
                "{amount}"
            );
        }
        for (from, to, says) in [
            ("2009-12", "2024-01", "begins 2010-01; 2009-12 is before it"),
            ("2020-01", "2009", "2009 is before it"),
            ("2026", "2024-01", "no average for 2026; write the month, 2026-MM"),
        ] {
            let error = real(100.0, from, to).unwrap_err().to_string();
            assert!(error.contains(says), "{error:?} does not say {says:?}");
        }
    }

    fn any_date() -> impl Strategy<Value = PriceDate> {
        prop_oneof![
            (2010_u16..2026).prop_map(|year| year.to_string()),
            (2010_u16..2040, 1_u8..=12).prop_map(|(year, month)| format!("{year}-{month:02}")),
        ]
        .prop_map(|text| text.parse().unwrap())
    }

    proptest! {
        #[test]
        fn there_and_back_is_the_same_price(amount in 0.01..1e7_f64, from in any_date(), to in any_date()) {
            let there = real_pair(amount, from, to).unwrap();
            let back = real_pair(there.amount, to, from).unwrap();
            prop_assert!((back.amount / amount - 1.0).abs() < 1e-14 * 4.0, "{} became {}", amount, back.amount);
        }
    }
}
