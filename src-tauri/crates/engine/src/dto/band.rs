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
        /// The seed of the random draws.
        pub seed: u32,
        /// The number of draws of weights; each is joined with a draw of the findings.
        pub draws: u32,
        /// The number of stratified draws of the findings of each product.
        pub finding_draws: u32,
        /// How closely the drawn weights lie around those asked for (Dirichlet concentration).
        pub kappa: f64,
        /// The ranked products, highest middle of the index interval first.
        pub standings: Vec<Standing>,
        /// Products inside the band that are not ranked.
        pub not_ranked: Vec<NotRanked>,
        /// What a price usually buys here; null with fewer than 5 products.
        pub curve: Option<CurveDto>,
        /// Other curves through the same products, to be drawn on demand.
        pub curves: Vec<OtherCurve>,
        /// How the order fares under other assumptions; null with fewer than 5 ranked products.
        pub robustness: Option<RobustnessDto>,
        /// What is normal in this band.
        pub statistics: BandStatistics,
        /// How far findings without a stated uncertainty are taken to be off, by grade of evidence.
        pub spreads: BTreeMap<String, f64>,
        /// The limits below which statements are not made.
        pub gates: BTreeMap<String, f64>,
        /// Statements that need more products than are ranked, and what is shown instead.
        pub instead: Vec<InsteadDto>,
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
    /// Where random draws put a number: 5, 50 and 95 %.
    pub struct SpanDto {
        /// 5 % of the draws are below.
        pub low: f64,
        /// Half of the draws are below.
        pub median: f64,
        /// 95 % of the draws are below.
        pub high: f64,
    }
}

answer! {
    /// The ranks that the intervals allow, and those of the draws.
    pub struct RankDto {
        /// The best rank that the missing findings allow.
        pub best: u32,
        /// The worst rank that the missing findings allow.
        pub worst: u32,
        /// The median rank over the draws.
        pub median: Option<u32>,
        /// 5 % of the draws rank it better.
        pub low: Option<u32>,
        /// 5 % of the draws rank it worse.
        pub high: Option<u32>,
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
        /// The index with its uncertainty, at the weights asked for: findings drawn by their evidence, missing ones evenly
        /// over what they can be worth.
        pub spread: SpanDto,
        /// What each subsystem brings to the index, in points of the index.
        pub contributions: BTreeMap<String, ContributionDto>,
        /// Limits that hold the index down, each with its reason.
        pub caps: Vec<CapDto>,
        /// The weighted geometric mean; null when something is missing.
        pub geometric: Option<f64>,
        /// The index as other means, from the one in which a strength pays least; empty when something is missing.
        pub means: Vec<MeanDto>,
        /// The index with all subsystems counting alike.
        pub equal_weights: IntervalDto,
        /// Its place with all subsystems counting alike, by the middle of the interval; ties share the better place.
        pub rank_equal_weights: u32,
        /// The findings that leave the index most uncertain, the greatest share first.
        pub doubts: Vec<DoubtDto>,
        /// The possible ranks.
        pub rank: RankDto,
        /// Number of its group, from 1: a new one begins where 90 % of the draws put the group's first above it.
        pub group: u32,
        /// The probability of scoring above the next row.
        pub p_above_next: Option<f64>,
        /// The probability of being first or joint first, with weights near those asked for.
        pub p_first: f64,
        /// The same over all possible weights.
        pub p_first_any: f64,
        /// The share of draws at each rank, ties split, from rank 1.
        pub acceptability: Vec<f64>,
        /// The mean of the weights that put it first; null when none do.
        pub central_weights: Option<BTreeMap<String, f64>>,
        /// The mean over all draws of how far up it stands: 1 always first, 0 always last.
        pub holistic: f64,
        /// Points above the expected index at this price; null with fewer than 5 products.
        pub value_points: Option<ValuePoints>,
        /// The probability that nothing in the band clearly beats it.
        pub p_not_beaten: f64,
        /// Who clearly beats it most often, with the probability; those of at least 10 %.
        pub beaters: Vec<BeaterDto>,
        /// What may be said of its value for money.
        pub verdicts: Vec<VerdictDto>,
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
        /// The probability that they are at least 2.
        pub p_large: f64,
        /// The probability that they are the most in the band.
        pub p_largest: f64,
        /// The index that this price usually buys, from the other products.
        pub expected: f64,
    }
}

answer! {
    /// What a subsystem brings to the index.
    pub struct ContributionDto {
        /// Its share of the index of this product; more than the weight where another part does not apply.
        pub share: f64,
        /// Points with missing findings at their worst.
        pub low: f64,
        /// Points with missing findings at their best.
        pub high: f64,
    }
}

answer! {
    /// A limit of the index.
    pub struct CapDto {
        /// The most that the index can be.
        pub limit: f64,
        /// Why.
        pub text: String,
    }
}

answer! {
    /// What makes an index uncertain.
    pub struct DoubtDto {
        /// A finding's address, or what is assumed.
        pub source: String,
        /// What it is, for people.
        pub label: String,
        /// `missing`, `soft` or `uncertain`.
        pub state: String,
        /// Its share of the variance of the index.
        pub share: f64,
    }
}

answer! {
    /// A product that clearly beats another: at least 2 points better for no more money, or 5 % cheaper and no worse.
    pub struct BeaterDto {
        /// Its key.
        pub product: String,
        /// The share of the draws in which it does.
        pub p: f64,
    }
}

answer! {
    /// A statement about value for money and what the data say to it.
    pub struct VerdictDto {
        /// `unbeaten`, `good value`, `overpriced` or `best value`.
        pub kind: String,
        /// `supported`, `contradicted`, `not supported`, `too few data` or `not judged`.
        pub verdict: String,
        /// The sentence that may be printed, or why none.
        pub text: String,
        /// Whether the draws lie so close to a limit that more of them may turn it.
        pub close: bool,
    }
}

answer! {
    /// The index that a price usually buys, from all ranked products of the band and its surroundings.
    pub struct CurveDto {
        /// `line` or `flat`.
        pub fit: String,
        /// How many products.
        pub n: u32,
        /// The lowest price among them.
        pub price_low: f64,
        /// The highest price among them.
        pub price_high: f64,
        /// Points for each doubling of the price; 0 when flat.
        pub per_doubling: f64,
        /// Lower end of its 90 % interval; null when flat.
        pub per_doubling_low: Option<f64>,
        /// Upper end of its 90 % interval; null when flat.
        pub per_doubling_high: Option<f64>,
        /// Expected index at the geometric middle of the prices.
        pub middle: f64,
        /// The line as a sentence.
        pub text: String,
        /// Where it lies when the products are drawn anew, at rising prices: the bootstrap band, 90 %.
        pub limits: Vec<CurveLimit>,
    }
}

answer! {
    /// Where the expectation lies at one price when the products are drawn anew.
    pub struct CurveLimit {
        /// The real price of a pair.
        pub price: f64,
        /// The expectation itself.
        pub index: f64,
        /// 5 % of the resamples are below.
        pub low: f64,
        /// 95 % of the resamples are below.
        pub high: f64,
    }
}

answer! {
    /// Another curve through the same products. Nothing is judged by it.
    pub struct OtherCurve {
        /// `least_squares`, `steps` or `smooth`.
        pub id: String,
        /// What it is called.
        pub name: String,
        /// What it shows and what it assumes, or how many products it needs.
        pub text: String,
        /// Pairs of real price and index, by price; empty where there are too few products.
        pub points: Vec<CurvePoint>,
    }
}

answer! {
    /// A point of a curve.
    pub struct CurvePoint {
        /// The real price of a pair.
        pub price: f64,
        /// The index.
        pub index: f64,
    }
}

answer! {
    /// What is shown instead of a statement that needs more products.
    pub struct InsteadDto {
        /// The statement, such as `quartiles`.
        pub of: String,
        /// How many products it needs.
        pub needs: u32,
        /// How many there are.
        pub have: u32,
        /// What is shown in its place.
        pub shown: String,
    }
}

answer! {
    /// The index as another mean of the subsystems.
    pub struct MeanDto {
        /// `weakest`, `harmonic`, `geometric`, `plain` or `quadratic`: the earlier, the less a strength pays for a weakness.
        pub name: String,
        /// The mean, 0 to 100.
        pub value: f64,
    }
}

answer! {
    /// How the order fares under other assumptions.
    pub struct RobustnessDto {
        /// First by the middle of the index.
        pub first: String,
        /// First with all subsystems counting alike.
        pub first_equal_weights: String,
        /// First by the geometric mean, among products that are fully known; null when there are none.
        pub first_geometric: Option<String>,
        /// Mean change of rank under equal weights.
        pub shift_equal_weights: f64,
        /// What follows, one sentence each.
        pub sentences: Vec<String>,
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
        /// Lower end of the 90 % interval of the median.
        pub median_low: Option<f64>,
        /// Upper end of the 90 % interval of the median.
        pub median_high: Option<f64>,
    }
}

answer! {
    /// Whether something rises with the price.
    pub struct AssociationDto {
        /// `index` or a subsystem.
        pub of: String,
        /// How many products.
        pub n: u32,
        /// Kendall's tau-b.
        pub tau: f64,
        /// Lower end of its 90 % interval; null with fewer than 8.
        pub low: Option<f64>,
        /// Upper end of its 90 % interval.
        pub high: Option<f64>,
        /// Two-sided p, exact or by permutation; null with fewer than 5.
        pub p: Option<f64>,
        /// The sentence that may be printed.
        pub text: String,
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
        /// Whether index and subsystems rise with the price.
        pub associations: Vec<AssociationDto>,
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
        /// The share of draws at each rank.
        pub strip: super::RankStrip,
        /// One small plot a subsystem.
        pub multiples: Vec<super::Panel>,
    }
}
