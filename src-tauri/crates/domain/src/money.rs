//! Amounts of money in minor units, and the currencies that are understood.

use std::fmt;

use crate::key::word_enum;

word_enum! {
    /// Currencies. Real prices need a consumer price index, which is on board for US dollars.
    pub enum Currency: "currency" {
        /// US dollar.
        Usd = "USD",
        /// Euro.
        Eur = "EUR",
        /// Pound sterling.
        Gbp = "GBP",
    }
}

/// An amount in hundredths of the currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Money {
    /// Hundredths.
    pub minor: i64,
    /// The currency.
    pub currency: Currency,
}

/// A text that is no amount.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{text:?} is not an amount; write digits with at most two decimals after a point, above 0 and below 10000000, such as \"249.00\""
)]
pub struct BadAmount {
    /// The text as found.
    pub text: String,
}

impl Money {
    /// Reads an amount such as `249`, `249.5` or `249.00`.
    ///
    /// # Errors
    /// [`BadAmount`] for anything else, signs and thousands separators included.
    pub fn parse(text: &str, currency: Currency) -> Result<Self, BadAmount> {
        let bad =
            || BadAmount { text: text.chars().filter(|c| !c.is_control()).take(40).collect() };
        let (whole, cents) = text.split_once('.').unwrap_or((text, "0"));
        let digits = |it: &str, most: usize| {
            (1..=most).contains(&it.len()) && it.bytes().all(|b| b.is_ascii_digit())
        };
        if !digits(whole, 7) || !digits(cents, 2) {
            return Err(bad());
        }
        let whole: i64 = whole.parse().map_err(|_| bad())?;
        let hundredths: i64 = format!("{cents:0<2}").parse().map_err(|_| bad())?;
        let minor = whole * 100 + hundredths;
        if minor == 0 { Err(bad()) } else { Ok(Money { minor, currency }) }
    }

    /// The amount in whole units.
    #[must_use]
    pub fn amount(self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "amounts stay below 2^53 hundredths")]
        let minor = self.minor as f64;
        minor / 100.0
    }
}

impl fmt::Display for Money {
    /// `249.00 USD`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{:02} {}", self.minor / 100, self.minor % 100, self.currency.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_read_exactly() {
        for (text, minor) in
            [("249", 24_900), ("249.5", 24_950), ("0.01", 1), ("9999999.99", 999_999_999)]
        {
            assert_eq!(Money::parse(text, Currency::Usd).unwrap().minor, minor, "{text}");
        }
    }

    #[test]
    fn what_is_no_amount_is_refused() {
        for bad in [
            "", "0", "0.00", "-5", "+5", "1,299", "12.345", "1e3", "NaN", "12.", ".5", "10000000",
            "12 ",
        ] {
            assert!(Money::parse(bad, Currency::Usd).is_err(), "{bad} was accepted");
        }
    }
}
