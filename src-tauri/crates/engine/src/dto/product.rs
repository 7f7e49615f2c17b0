//! Answers about products.

use std::collections::BTreeMap;

use super::{IntervalDto, PriceDto, Remark, SubsystemDto, answer};

answer! {
    /// The products of a catalogue.
    pub struct ProductList {
        /// The catalogue's title.
        pub title: String,
        /// The file.
        pub file: String,
        /// The currency.
        pub currency: String,
        /// The month whose money real prices are in, `YYYY-MM`.
        pub base_month: String,
        /// The day for which prices were taken.
        pub as_of: String,
        /// The products, by key.
        pub products: Vec<ProductRow>,
    }
}

answer! {
    /// One line of the product list.
    pub struct ProductRow {
        /// The key.
        pub product: String,
        /// The maker.
        pub maker: String,
        /// The model.
        pub model: String,
        /// `stand-mount` or `floor-standing`.
        pub kind: String,
        /// The number of ways.
        pub ways: u32,
        /// Whether it has an amplifier of its own; powered products are not scored.
        pub powered: bool,
        /// The year it came out.
        pub year: i32,
        /// The share of the expected findings that have a value; null where a long list did not count them.
        pub completeness: Option<f64>,
        /// How many of the expected findings have a value; 0 where nobody counted.
        pub found: u32,
        /// How many findings a complete teardown of this product holds; 0 where nobody counted.
        pub expected: u32,
        /// The day of the last teardown; null when it was never opened.
        pub last_teardown: Option<String>,
        /// The price that places it in a band; null when there is none.
        pub price: Option<PriceDto>,
        /// Why there is no price, or null.
        pub no_price: Option<String>,
        /// The age of that price in days; null when there is none.
        pub price_age_days: Option<i32>,
    }
}

answer! {
    /// What there is to say about each product of a catalogue.
    pub struct ProductNotes {
        /// One a product, by key.
        pub notes: Vec<ProductNote>,
    }
}

answer! {
    /// What there is to say about one product.
    pub struct ProductNote {
        /// The product's key.
        pub product: String,
        /// The share of the expected findings that have a value.
        pub completeness: f64,
        /// How many of the expected findings have a value.
        pub found: u32,
        /// How many findings a complete teardown of this product holds.
        pub expected: u32,
        /// How many remarks plugins make.
        pub remarks: u32,
        /// How many contradictions there are in the record.
        pub doubts: u32,
        /// The gravest of them, or empty.
        pub doubt: String,
    }
}

answer! {
    /// All about one product.
    pub struct ProductSheet {
        /// The currency of the catalogue.
        pub currency: String,
        /// The month whose money real prices are in, `YYYY-MM`.
        pub base_month: String,
        /// The list line.
        pub row: ProductRow,
        /// A remark of the writer, or empty.
        pub note: String,
        /// Findings in the order of the dictionary.
        pub findings: Vec<FindingDto>,
        /// Quantities computed from them.
        pub quantities: Vec<QuantityDto>,
        /// Scores; null when it was not scored.
        pub scores: Option<ProductScores>,
        /// Price observations, newest first.
        pub prices: Vec<ObservedPrice>,
        /// Specimens and how they were come by.
        pub specimens: Vec<SpecimenDto>,
        /// Parts of the crossover, in the order traced.
        pub network: Vec<ElementDto>,
        /// Sweeps.
        pub sweeps: Vec<SweepDto>,
        /// Findings that a complete teardown would still hold, as addresses.
        pub missing: Vec<String>,
        /// Findings held against each other and against what was promised, the gravest first.
        pub cross_checks: Vec<CrossCheckDto>,
        /// Remarks of plugins and of the program.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// One finding.
    pub struct FindingDto {
        /// `part.key`.
        pub address: String,
        /// The part.
        pub part: String,
        /// The label.
        pub label: String,
        /// The text as typed, or the state that stands for a value.
        pub typed: String,
        /// The value in the dictionary's unit with its uncertainty, as text; the typed text where it is no number.
        pub shown: String,
        /// The value in SI; null when it is no number.
        pub si: Option<f64>,
        /// Its standard uncertainty in SI; null when none was given.
        pub std_uncertainty: Option<f64>,
        /// The SI unit, or empty.
        pub si_unit: String,
        /// How it is known.
        pub evidence: String,
        /// The day.
        pub date: String,
        /// A remark, or empty.
        pub note: String,
        /// A warning when the value lies outside the typical range, or when no plugin that is trusted here declares the
        /// finding as it was recorded; else null.
        pub warning: Option<String>,
    }
}

answer! {
    /// A computed quantity.
    pub struct QuantityDto {
        /// The id that plugins read.
        pub id: String,
        /// The label.
        pub label: String,
        /// The value in SI; null when it cannot be computed.
        pub si: Option<f64>,
        /// Standard uncertainty in SI; null when the value is exact or there is none.
        pub u: Option<f64>,
        /// How the uncertainty was found: `exact`, `first order` or `drawn at random`.
        pub method: String,
        /// The value with its uncertainty and unit, as text, or why there is none.
        pub shown: String,
        /// The unit shown.
        pub unit: String,
        /// The findings it rests on, as addresses.
        pub from: Vec<String>,
        /// The relations by which it was computed.
        pub relations: Vec<String>,
        /// What makes up the uncertainty, the greatest share first; shares under 1 % are left out.
        pub shares: Vec<ShareDto>,
        /// The weakest evidence among them; null when it cannot be computed.
        pub evidence: Option<String>,
        /// What was assumed, one clause each.
        pub assumed: Vec<String>,
        /// The findings that are missing, as addresses.
        pub missing: Vec<String>,
    }
}

answer! {
    /// What one source contributes to an uncertainty.
    pub struct ShareDto {
        /// A finding's address, or what is assumed.
        pub source: String,
        /// Its share of the squared uncertainty, 0 to 1.
        pub share: f64,
    }
}

answer! {
    /// A remark of a cross-check.
    pub struct CrossCheckDto {
        /// The check, as a code that stays the same.
        pub code: String,
        /// `info`, `caution` or `warning`.
        pub severity: String,
        /// What it is about: `record`, `maker` or `design`.
        pub subject: String,
        /// The sentence.
        pub text: String,
        /// The findings concerned, as addresses.
        pub addresses: Vec<String>,
        /// By how many standard uncertainties it misses; null where that was not computed.
        pub z: Option<f64>,
        /// Readings that would set it right, the most likely first. They are offered, never applied.
        pub offers: Vec<OfferDto>,
    }
}

answer! {
    /// A reading that would set a record right.
    pub struct OfferDto {
        /// The finding's address, or the place of a price.
        pub address: String,
        /// What to type instead.
        pub typed: String,
    }
}

answer! {
    /// The scores of one product.
    pub struct ProductScores {
        /// The index.
        pub index: IntervalDto,
        /// The share of the score that rests on findings.
        pub coverage: f64,
        /// The share that rests on hard evidence.
        pub coverage_hard: f64,
        /// The subsystem scores.
        pub subsystems: BTreeMap<String, SubsystemDto>,
        /// The criteria, by plugin and in its order.
        pub criteria: Vec<CriterionDto>,
    }
}

answer! {
    /// One criterion of one product.
    pub struct CriterionDto {
        /// The subsystem.
        pub subsystem: String,
        /// The criterion.
        pub id: String,
        /// Its title.
        pub title: String,
        /// Its weight relative to the other criteria of the plugin.
        pub weight: f64,
        /// The plugin's measure in `unit`; null when missing, not applicable, or a choice.
        pub measure: Option<f64>,
        /// The unit of the measure.
        pub unit: String,
        /// The utility, 0 to 100; null when missing or not applicable.
        pub score: Option<f64>,
        /// `known`, `missing` or `not applicable`.
        pub state: String,
        /// Whether it rests on hard evidence alone.
        pub hard: bool,
        /// Its share of the index of this product, 0 to 1.
        pub share: f64,
        /// What it brings to the index, in points of the index; null when missing.
        pub contribution: Option<f64>,
        /// The source of the rubric.
        pub source: String,
    }
}

answer! {
    /// A price as observed.
    pub struct ObservedPrice {
        /// The amount as asked.
        pub nominal: f64,
        /// The currency.
        pub currency: String,
        /// `each`, `pair` or `set`.
        pub basis: String,
        /// How many speakers it buys.
        pub count: u32,
        /// When.
        pub date: String,
        /// `list`, `street` or `sale`.
        pub kind: String,
        /// Who asked it.
        pub seller: String,
        /// The price of a pair in the money of the base month; null where no index covers it.
        pub real_pair: Option<f64>,
        /// A remark, or empty.
        pub note: String,
    }
}

answer! {
    /// A specimen.
    pub struct SpecimenDto {
        /// The reviewer's label.
        pub label: String,
        /// How it was come by.
        pub acquired: String,
        /// The days on which it was worked on.
        pub teardowns: Vec<String>,
    }
}

answer! {
    /// A part of the crossover.
    pub struct ElementDto {
        /// Its name.
        pub name: String,
        /// What it is.
        pub kind: String,
        /// Its two nodes.
        pub nodes: Vec<String>,
        /// The value as typed; the driver's part for a driver.
        pub value: String,
        /// The series loss as typed, or empty.
        pub loss: String,
        /// How it is made, or empty.
        pub construction: String,
        /// The printed rating as typed, or empty.
        pub rating: String,
        /// A remark, or empty.
        pub note: String,
    }
}

answer! {
    /// A sweep.
    pub struct SweepDto {
        /// What was measured.
        pub part: String,
        /// The number of points.
        pub points: u32,
        /// Lowest frequency, Hz.
        pub from_hz: f64,
        /// Highest frequency, Hz.
        pub to_hz: f64,
        /// Whether phase was measured.
        pub phase: bool,
        /// The day.
        pub date: String,
    }
}
