//! Answers about the prices of a product.

use super::{Axis, PriceDto, answer};

answer! {
    /// The prices of a product, and the one that places it in a band.
    pub struct PriceHistory {
        /// The product's key.
        pub product: String,
        /// The currency of the catalogue.
        pub currency: String,
        /// The month whose money real prices are in, `YYYY-MM`.
        pub base_month: String,
        /// The day for which prices were taken.
        pub as_of: String,
        /// The price that places it in a band; null when there is none.
        pub price: Option<PriceDto>,
        /// The age of that price in days; null when there is none.
        pub price_age_days: Option<i32>,
        /// Why there is no price, or null.
        pub no_price: Option<String>,
        /// All prices, newest first.
        pub rows: Vec<PriceRow>,
        /// The same drawn over time; null with nothing to draw.
        pub chart: Option<PriceChart>,
        /// The kinds of price that can be entered.
        pub kinds: Vec<String>,
        /// The kinds of seller that can be entered.
        pub sellers: Vec<String>,
    }
}

answer! {
    /// One price.
    pub struct PriceRow {
        /// As asked: `129.00 USD each`.
        pub asked: String,
        /// How it is typed to be read as the same: `129.00 each`.
        pub typed: String,
        /// When.
        pub date: String,
        /// `list`, `street` or `sale`.
        pub kind: String,
        /// Who asked it.
        pub seller: String,
        /// Which shop, or empty.
        pub shop: String,
        /// A remark, or empty.
        pub note: String,
        /// The price of a pair in the money of the base month; null where no index covers it.
        pub real_pair: Option<f64>,
        /// Its age in days at the day of the question; below 0 for one dated later.
        pub age_days: i32,
        /// Whether the price that places the product rests on it.
        pub counts: bool,
        /// Why it does not count, or empty.
        pub why_not: String,
    }
}

answer! {
    /// Prices over time.
    pub struct PriceChart {
        /// What it shows, as a sentence.
        pub description: String,
        /// Time.
        pub x: Axis,
        /// The real price of a pair.
        pub y: Axis,
        /// One a price, oldest first.
        pub marks: Vec<PriceMark>,
        /// The place, 0 to 1 from below, of the price that places the product; null when there is none.
        pub level: Option<f64>,
        /// The place from which on prices count; null when none is that new.
        pub fresh_from: Option<f64>,
    }
}

answer! {
    /// One price in the chart.
    pub struct PriceMark {
        /// Its place, 0 to 1.
        pub x: f64,
        /// Its place, 0 to 1 from below.
        pub y: f64,
        /// `list`, `street` or `sale`.
        pub kind: String,
        /// Whether the price that places the product rests on it.
        pub counts: bool,
        /// All about it.
        pub sentence: String,
    }
}

answer! {
    /// How a price that is being typed is understood. Nothing is saved.
    pub struct PriceReading {
        /// How it would be noted.
        pub row: PriceRow,
        /// What it would take the place of, as asked; null for nothing.
        pub replaces: Option<String>,
        /// The price that would place the product in a band; null when there would be none.
        pub price: Option<PriceDto>,
        /// All of it as a sentence.
        pub sentence: String,
    }
}

answer! {
    /// What became of a price.
    pub struct PriceReport {
        /// The product's key.
        pub product: String,
        /// What stood in its place; null for nothing.
        pub before: Option<String>,
        /// What stands there now; null for nothing.
        pub after: Option<String>,
        /// Whether anything changed.
        pub changed: bool,
        /// The price that places the product since; null when there is none.
        pub price: Option<PriceDto>,
        /// Why there is none, or null.
        pub no_price: Option<String>,
        /// How it was understood, as a sentence; empty when it was withdrawn.
        pub sentence: String,
    }
}
