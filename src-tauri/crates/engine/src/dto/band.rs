//! The answer about a price band.

use std::collections::BTreeMap;

use super::answer;

answer! {
    /// The standings of a price band.
    pub struct BandReport {
        /// The band asked for.
        pub band: BandDto,
        /// The day for which prices were taken, `YYYY-MM-DD`.
        pub as_of: String,
        /// The rubrics that scored, joined by `; `.
        pub rubric: String,
        /// The share of each subsystem in the index, summing to 1.
        pub weights: BTreeMap<String, f64>,
        /// The plugins that scored.
        pub plugins: Vec<PluginUsed>,
        /// The seed of the random draws; null as no draws are made.
        pub seed: Option<u32>,
        /// The number of random draws; 0 as none are made.
        pub draws: u32,
        /// The ranked products, highest middle of the index interval first.
        pub standings: Vec<Standing>,
        /// Products inside the band that are not ranked.
        pub not_ranked: Vec<NotRanked>,
        /// What is normal in this band.
        pub statistics: BandStatistics,
        /// What went wrong on the way, one sentence each; empty when all was scored.
        pub remarks: Vec<Remark>,
    }
}

answer! {
    /// A price band: low included, high not; null means open.
    pub struct BandDto {
        /// Lowest real price of a pair.
        pub low: Option<f64>,
        /// The price below which the band ends.
        pub high: Option<f64>,
        /// The currency.
        pub currency: String,
        /// The month whose money is meant, `YYYY-MM`.
        pub base_month: String,
    }
}

answer! {
    /// A plugin that took part.
    pub struct PluginUsed {
        /// Its id.
        pub id: String,
        /// Its version.
        pub version: String,
        /// The SHA-256 of its file.
        pub sha256: String,
        /// How well it was shut in: `full`, `partial: …` or `process only`.
        pub sandbox: String,
    }
}

answer! {
    /// A number that missing findings leave open: `value` is null unless all is known.
    pub struct IntervalDto {
        /// The value when nothing is missing.
        pub value: Option<f64>,
        /// With each missing finding at its worst.
        pub low: f64,
        /// With each missing finding at its best.
        pub high: f64,
    }
}

answer! {
    /// The score of one subsystem.
    pub struct SubsystemDto {
        /// The score when nothing is missing.
        pub value: Option<f64>,
        /// With each missing finding at its worst.
        pub low: f64,
        /// With each missing finding at its best.
        pub high: f64,
        /// The share of its weight that rests on findings.
        pub coverage: f64,
    }
}

answer! {
    /// The price that places a product in a band.
    pub struct PriceDto {
        /// The amount as asked.
        pub nominal: f64,
        /// What it buys: `each`, `pair` or `set`.
        pub basis: String,
        /// When it was asked.
        pub date: String,
        /// The price of a pair in the money of the base month.
        pub real_pair: f64,
        /// Whether the price is older than 180 days.
        pub stale: bool,
        /// How many prices it is the median of.
        pub observations: u32,
    }
}

answer! {
    /// The ranks that the intervals allow.
    pub struct RankDto {
        /// The best possible rank.
        pub best: u32,
        /// The worst possible rank.
        pub worst: u32,
        /// The median rank over random draws; null as none are made.
        pub median: Option<u32>,
    }
}

answer! {
    /// Where one product stands in the band.
    pub struct Standing {
        /// The product's key.
        pub product: String,
        /// The maker.
        pub maker: String,
        /// The model.
        pub model: String,
        /// `stand-mount` or `floor-standing`.
        pub kind: String,
        /// The price.
        pub price: PriceDto,
        /// The index, 0 to 100.
        pub index: IntervalDto,
        /// The share of the score that rests on findings.
        pub coverage: f64,
        /// The share that rests on what was measured, inspected or read off.
        pub coverage_hard: f64,
        /// The subsystem scores.
        pub subsystems: BTreeMap<String, SubsystemDto>,
        /// The possible ranks.
        pub rank: RankDto,
        /// The probability of being first; null as no draws are made.
        pub p_first: Option<f64>,
        /// Points above the expected index at this price; null as not computed.
        pub value_points: Option<ValuePoints>,
        /// Whether nothing in the band surely beats it.
        pub on_frontier: bool,
        /// The products that cost no more and score at least as much whatever the missing findings turn out to be.
        pub beaten_by: Vec<String>,
        /// Remarks of plugins and of the program.
        pub remarks: Vec<Remark>,
        /// Findings that would narrow the interval, as addresses.
        pub missing: Vec<String>,
    }
}

answer! {
    /// Points above the expected index at a price.
    pub struct ValuePoints {
        /// The points.
        pub value: f64,
        /// Lower end.
        pub low: f64,
        /// Upper end.
        pub high: f64,
        /// The probability that they are above 0.
        pub p_positive: f64,
    }
}

answer! {
    /// One remark.
    pub struct Remark {
        /// Who says it: a plugin's id or `boxworth`.
        pub source: String,
        /// A stable code.
        pub code: String,
        /// `info`, `caution` or `warning`.
        pub severity: String,
        /// The sentence.
        pub text: String,
    }
}

answer! {
    /// A product inside the band that is not ranked.
    pub struct NotRanked {
        /// The product's key.
        pub product: String,
        /// The maker.
        pub maker: String,
        /// The model.
        pub model: String,
        /// Why, one clause.
        pub why: String,
        /// The price of a pair in the money of the base month.
        pub real_pair: f64,
        /// The index, as far as it is known.
        pub index: IntervalDto,
        /// The share of the score that rests on findings.
        pub coverage: f64,
        /// The findings that are missing, as addresses.
        pub missing: Vec<String>,
    }
}

answer! {
    /// Median and quartiles (type 8).
    pub struct QuartilesDto {
        /// Median.
        pub median: f64,
        /// Lower quartile.
        pub q1: f64,
        /// Upper quartile.
        pub q3: f64,
    }
}

answer! {
    /// What is normal in the band.
    pub struct BandStatistics {
        /// The number of ranked products.
        pub n: u32,
        /// Of the middles of the index intervals.
        pub index: Option<QuartilesDto>,
        /// Of the lower ends.
        pub index_low: Option<QuartilesDto>,
        /// Of the upper ends.
        pub index_high: Option<QuartilesDto>,
        /// Of the real prices of a pair.
        pub real_pair: Option<QuartilesDto>,
    }
}

answer! {
    /// The report and its pictures, for the window.
    pub struct BandView {
        /// The same answer that the command line prints.
        pub report: BandReport,
        /// Standings as dots with intervals.
        pub dots: super::DotPlot,
        /// Price against index.
        pub scatter: super::Scatter,
    }
}
