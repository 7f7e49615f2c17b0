//! The answer about a few products side by side.

use std::collections::BTreeMap;

use super::{CapDto, IntervalDto, Remark, SpanDto, answer};

answer! {
    /// Two to five products side by side, down to each criterion, finding and remark. Lists of cells, remarks and marks follow
    /// the order of `products`.
    pub struct CompareReport {
        /// The currency.
        pub currency: String,
        /// The month whose money real prices are in, `YYYY-MM`.
        pub base_month: String,
        /// The day for which prices were taken, `YYYY-MM-DD`.
        pub as_of: String,
        /// The rubrics that scored.
        pub rubric: String,
        /// The share of each subsystem in the index.
        pub weights: BTreeMap<String, f64>,
        /// The seed of the draws.
        pub seed: u32,
        /// The number of draws of weights.
        pub draws: u32,
        /// The products, in the order asked for.
        pub products: Vec<ComparedDto>,
        /// Each two of those that were scored, and how often one is above the other.
        pub pairs: Vec<ComparedPair>,
        /// Rows that belong together.
        pub sections: Vec<CompareSection>,
        /// What plugins and cross-checks say of each product.
        pub remarks: Vec<Vec<Remark>>,
        /// What went wrong on the way.
        pub faults: Vec<Remark>,
    }
}

answer! {
    /// One of the products that are compared.
    pub struct ComparedDto {
        /// Its key.
        pub product: String,
        /// Maker and model.
        pub label: String,
        /// `stand-mount` or `floor-standing`.
        pub kind: String,
        /// The price of a pair in the money of the base month; null when there is none.
        pub real_pair: Option<f64>,
        /// Whether that price is older than 180 days.
        pub stale: bool,
        /// The index; null where nothing is scored, as with powered products.
        pub index: Option<IntervalDto>,
        /// The index with its uncertainty.
        pub spread: Option<SpanDto>,
        /// The share of the score that rests on findings.
        pub coverage: f64,
        /// The share that rests on hard evidence.
        pub coverage_hard: f64,
        /// Limits that hold the index down.
        pub caps: Vec<CapDto>,
    }
}

answer! {
    /// How two products stand to each other over the draws.
    pub struct ComparedPair {
        /// The place of the one that is above more often, from 0.
        pub above: u32,
        /// The place of the other.
        pub below: u32,
        /// The share of the draws in which the first scores higher.
        pub p: f64,
        /// Whether that tells them apart.
        pub apart: bool,
        /// The same as a sentence.
        pub text: String,
    }
}

answer! {
    /// Rows that belong together.
    pub struct CompareSection {
        /// A stable name: `short`, `scores`, `quantities` or `findings`.
        pub id: String,
        /// A title.
        pub title: String,
        /// The rows.
        pub rows: Vec<CompareRow>,
    }
}

answer! {
    /// One thing of all products.
    pub struct CompareRow {
        /// A stable name: a finding's address, the id of a quantity, a subsystem, or subsystem and criterion.
        pub id: String,
        /// The part or subsystem that it belongs to, or empty.
        pub group: String,
        /// What it is.
        pub label: String,
        /// 0 for a row of its own, 1 for one that belongs to the row of its subsystem.
        pub level: u32,
        /// One cell a product.
        pub cells: Vec<CompareCell>,
        /// `differs`, `alike`, or `open` where what is known agrees and something is missing.
        pub difference: String,
        /// Whether each product is best in this row, where more is better and one is apart from another.
        pub best: Vec<bool>,
    }
}

answer! {
    /// What is known of one product.
    pub struct CompareCell {
        /// The value with uncertainty and unit, or why there is none.
        pub text: String,
        /// What a criterion measured, with its unit; else empty.
        pub measured: String,
        /// The lower end, for drawing: points, or SI.
        pub low: Option<f64>,
        /// The upper end.
        pub high: Option<f64>,
        /// How it is known, or empty.
        pub evidence: String,
        /// When it was found, or empty.
        pub date: String,
        /// `known`, `missing` or `not applicable`.
        pub state: String,
        /// A remark, or empty.
        pub note: String,
    }
}
