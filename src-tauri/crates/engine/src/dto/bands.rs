//! The answer about which band to choose.

use super::{Axis, answer};

answer! {
    /// The real prices of the shelf, and the bands that are offered over them. Powered products are not counted.
    pub struct BandsReport {
        /// The currency.
        pub currency: String,
        /// The month whose money is meant, `YYYY-MM`.
        pub base_month: String,
        /// The day for which prices were taken, `YYYY-MM-DD`.
        pub as_of: String,
        /// How many products have a usable price.
        pub priced: u32,
        /// How many have none.
        pub no_price: u32,
        /// How many of the priced ones lie inside the band asked for.
        pub inside: u32,
        /// The price axis, logarithmic.
        pub axis: Axis,
        /// Bars of one ratio of prices each, ascending, without gaps between them.
        pub bins: Vec<PriceBin>,
        /// Prices at which an edge may be put, ascending.
        pub stops: Vec<PriceStop>,
        /// The default bands from the cheapest product to the dearest.
        pub offered: Vec<OfferedBand>,
        /// The first wider band with enough products for ranks; null where the one asked for has enough, or none has.
        pub wider: Option<OfferedBand>,
        /// Products within 3 % of an edge, by price.
        pub borderline: Vec<EdgeCase>,
    }
}

answer! {
    /// A bar of the histogram of prices.
    pub struct PriceBin {
        /// The lowest price in it.
        pub from: f64,
        /// The price below which it ends.
        pub to: f64,
        /// Where it begins, 0 to 1.
        pub at: f64,
        /// Where it ends, 0 to 1.
        pub end: f64,
        /// How many products.
        pub n: u32,
        /// Its height, 1 for the highest.
        pub height: f64,
    }
}

answer! {
    /// A price at which an edge may be put.
    pub struct PriceStop {
        /// The real price of a pair, in whole units.
        pub price: f64,
        /// Its place, 0 to 1.
        pub at: f64,
    }
}

answer! {
    /// A band that is offered.
    pub struct OfferedBand {
        /// Lowest real price of a pair; null when open.
        pub low: Option<f64>,
        /// The price below which it ends; null when open.
        pub high: Option<f64>,
        /// How many products it holds.
        pub n: u32,
        /// Whether they are enough for ranks.
        pub ranked: bool,
        /// Whether it is the band asked for.
        pub current: bool,
    }
}

answer! {
    /// A product so near an edge that little money would move it over.
    pub struct EdgeCase {
        /// The product's key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// The price of a pair in the money of the base month.
        pub real_pair: f64,
        /// Its place, 0 to 1.
        pub at: f64,
        /// Whether the band holds it.
        pub inside: bool,
        /// The same as a sentence.
        pub sentence: String,
    }
}
