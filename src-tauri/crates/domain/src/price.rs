//! Price observations as a shop shows them.

use std::{fmt, str::FromStr};

use crate::{Date, key::word_enum, money::Money};

word_enum! {
    /// What kind of price it was.
    pub enum PriceKind: "kind of price" {
        /// The maker's list price.
        List = "list",
        /// What shops ask.
        Street = "street",
        /// A price for a limited time or for clearance; never used for ranking.
        Sale = "sale",
    }
}

word_enum! {
    /// Who asked the price.
    pub enum Seller: "kind of seller" {
        /// The maker's own shop.
        Maker = "maker",
        /// An authorised dealer.
        Authorised = "authorised",
        /// A marketplace seller.
        Marketplace = "marketplace",
        /// A seller of used or refurbished goods.
        Used = "used",
    }
}

/// What the amount buys.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basis {
    /// One speaker.
    Each,
    /// Two speakers.
    Pair,
    /// A set of this many speakers, at least 1.
    Set(u32),
}

impl Basis {
    /// The word in files and tables.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Basis::Each => "each",
            Basis::Pair => "pair",
            Basis::Set(_) => "set",
        }
    }

    /// The number of speakers bought.
    #[must_use]
    pub fn count(self) -> u32 {
        match self {
            Basis::Each => 1,
            Basis::Pair => 2,
            Basis::Set(n) => n.max(1),
        }
    }
}

/// A day, or only a month or a year where no more is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PriceDate {
    year: i16,
    month: Option<i8>,
    day: Option<i8>,
}

/// A text that is no date.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not a date; write YYYY-MM-DD, YYYY-MM or YYYY from 1950 to 2199")]
pub struct BadDate {
    /// The text as found.
    pub text: String,
}

impl PriceDate {
    /// The year.
    #[must_use]
    pub fn year(self) -> i16 {
        self.year
    }

    /// The month from 1, if known.
    #[must_use]
    pub fn month(self) -> Option<i8> {
        self.month
    }

    /// The day that stands for it: the day itself, the 15th of a month, the 1st of July of a year.
    #[must_use]
    pub fn nominal_day(self) -> Date {
        let (month, day) = match (self.month, self.day) {
            (Some(month), Some(day)) => (month, day),
            (Some(month), None) => (month, 15),
            _ => (7, 1),
        };
        jiff::civil::date(self.year, month, day)
    }
}

impl FromStr for PriceDate {
    type Err = BadDate;

    fn from_str(text: &str) -> Result<Self, BadDate> {
        let bad = || BadDate { text: text.chars().filter(|c| !c.is_control()).take(40).collect() };
        let shape_ok = matches!(text.len(), 4 | 7 | 10)
            && text
                .bytes()
                .enumerate()
                .all(|(i, b)| if i == 4 || i == 7 { b == b'-' } else { b.is_ascii_digit() });
        if !shape_ok {
            return Err(bad());
        }
        let year: i16 = text[..4].parse().map_err(|_| bad())?;
        let month: Option<i8> = text.get(5..7).map(str::parse).transpose().map_err(|_| bad())?;
        let day: Option<i8> = text.get(8..10).map(str::parse).transpose().map_err(|_| bad())?;
        // The calendar decides which days exist.
        Date::new(year, month.unwrap_or(7), day.unwrap_or(1)).map_err(|_| bad())?;
        if (1950..2200).contains(&year) { Ok(PriceDate { year, month, day }) } else { Err(bad()) }
    }
}

impl fmt::Display for PriceDate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}", self.year)?;
        if let Some(month) = self.month {
            write!(f, "-{month:02}")?;
        }
        if let Some(day) = self.day {
            write!(f, "-{day:02}")?;
        }
        Ok(())
    }
}

/// One observed price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Price {
    /// The amount as asked.
    pub money: Money,
    /// What it buys.
    pub basis: Basis,
    /// When it was asked.
    pub date: PriceDate,
    /// What kind of price.
    pub kind: PriceKind,
    /// Who asked it.
    pub seller: Seller,
    /// Which shop, where one day has several prices; empty otherwise.
    pub shop: String,
    /// A remark, empty where there is none.
    pub note: String,
}

impl Price {
    /// The amount for two speakers.
    #[must_use]
    pub fn pair_amount(&self) -> f64 {
        self.money.amount() * 2.0 / f64::from(self.basis.count())
    }

    /// Whether it may stand for what a buyer pays today: a new product at a list or street price from the maker or a dealer.
    #[must_use]
    pub fn is_eligible(&self) -> bool {
        self.kind != PriceKind::Sale && matches!(self.seller, Seller::Maker | Seller::Authorised)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::money::Currency;

    #[test]
    fn dates_of_three_precisions_read_back_as_written() {
        for text in ["2019", "2019-05", "2024-02-29", "1950", "2199-12-31"] {
            assert_eq!(text.parse::<PriceDate>().unwrap().to_string(), text);
        }
    }

    #[test]
    fn days_that_do_not_exist_are_refused() {
        for bad in [
            "2023-02-29",
            "2024-13",
            "2024-00",
            "2024-1",
            "24",
            "2024-05-1",
            "2024/05/01",
            "1949",
            "2200",
            "2024-05-01T",
            "２０２４",
        ] {
            assert!(bad.parse::<PriceDate>().is_err(), "{bad} was accepted");
        }
    }

    #[test]
    fn a_pair_price_follows_from_any_basis() {
        let of = |basis| {
            Price {
                money: Money::parse("99.50", Currency::Usd).unwrap(),
                basis,
                date: "2026-05".parse().unwrap(),
                kind: PriceKind::Street,
                seller: Seller::Authorised,
                shop: String::new(),
                note: String::new(),
            }
            .pair_amount()
        };
        assert!((of(Basis::Each) - 199.0).abs() < 1e-9);
        assert!((of(Basis::Pair) - 99.5).abs() < 1e-9);
        assert!((of(Basis::Set(5)) - 39.8).abs() < 1e-9);
    }
}
