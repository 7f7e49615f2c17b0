//! Limits below which a statement is not made. All are editorial choices, printed with the results they decide.

use crate::rank::quantise;

/// Least share of the weight that must be observed before a product is ranked, as a fraction.
///
/// Follows the rule of thumb of the European Commission's Joint Research Centre for composite indicators, at least 65 % of the
/// data for every unit and every indicator (JRC Competence Centre on Composite Indicators and Scoreboards, questions and answers).
pub const COVERAGE_GATE: f64 = 0.65;

/// Least number of priced and scored products in a band for rank words. Editorial: with fewer, "second of three" says more about
/// what was bought than about the market.
pub const MIN_RANK: usize = 5;

/// Least number of values for quartiles; with fewer, every value is shown. Editorial: below 8 each quarter holds one product.
pub const MIN_QUARTILES: usize = 8;

/// Least number of products in a band for a superlative. Editorial: below it the best is "the best of the 3 we opened".
pub const MIN_SUPERLATIVE: usize = 5;

/// Least number of values for a 90 % interval of a median: the best possible coverage is `1 - 2 (1/2)^n`, 0.9375 at 5.
pub const MIN_MEDIAN_90: usize = 5;

/// The same for 95 %: 0.96875 at 6.
pub const MIN_MEDIAN_95: usize = 6;

/// Least number of products for a percentile rank. Editorial: below it "3rd of 12" says the same without a false fineness.
pub const MIN_PERCENTILE: usize = 20;

/// Least number opened to say what most of a market has: 5 of 5 is the first count that chance at one half makes rarer than 5 %.
pub const MIN_MOST: u32 = 5;

/// Least number opened to say that few or nearly all of a market have something: 0 of 11 and 11 of 11 are the first counts whose
/// 90 % exact limits clear a quarter and three quarters.
pub const MIN_FEW: u32 = 11;

/// Least number opened to say that about half of a market have something: 7 of 14 is the first count whose 90 % exact limits lie
/// between a quarter and three quarters.
pub const MIN_HALF: u32 = 14;

/// Least number in each of two groups for a shift between them: with 3 and 3 the smallest two-sided p is `2/20 = 0.1`.
pub const MIN_SHIFT: usize = 4;

/// Least number of pairs for the p of a rank correlation: the smallest two-sided p is `2/n!`, 0.083 at 4 and 0.017 at 5.
pub const MIN_TAU_P: usize = 5;

/// Least number of pairs for an interval of a rank correlation. Editorial, after simulation: below 8 the interval does not cover
/// what it says.
pub const MIN_TAU_INTERVAL: usize = 8;

/// From this rank correlation on, to either side, two subsystems may count the same thing twice, at [`MIN_DOUBLE_COUNTING`]
/// products or more. Editorial.
pub const DOUBLE_COUNTING: f64 = 0.7;

/// Least number of products for a remark about double counting. Editorial: with fewer, such a correlation is often chance.
pub const MIN_DOUBLE_COUNTING: usize = 10;

/// Least number of values for a bootstrap interval. Editorial, after simulation: at 8 it spans most of what is possible.
pub const MIN_BCA: usize = 20;

/// Distance to an edge of the band, as a fraction of the edge, within which membership is called borderline. Editorial: a
/// small discount should not silently decide who is compared.
pub const BORDERLINE: f64 = 0.03;

/// Age in days up to which an observed price stands for today's. Editorial: about half a year; an older
/// price is still used, but marked with its age.
pub const STALE_DAYS: i32 = 180;

/// Whether enough was seen to rank: `coverage` (a fraction) is at least [`COVERAGE_GATE`], compared at one millionth, since
/// weights such as 0.30 + 0.25 + 0.10 do not add up to 0.65 exactly in binary.
#[must_use]
pub fn covered(coverage: f64) -> bool {
    quantise(coverage) >= quantise(COVERAGE_GATE)
}

/// Least number of products in a band for a verdict on value for money. Editorial: in a small band many products are beaten by
/// nobody through luck alone, of n with unrelated price and score 1 + 1/2 + .. + 1/n, that is 2.28 of 5 and 2.72 of 8.
pub const MIN_VALUE: usize = 8;

/// Least number of products, the judged one among them, for a line of score on price. Editorial, from a simulation: with fewer
/// a line predicts the next score worse than the median does, unless price matters strongly.
pub const MIN_CURVE: usize = 10;

/// Least number of products, the judged one among them, for any expectation of the score. Editorial.
pub const MIN_FLAT: usize = 5;

/// Least number of points for a local regression of score on price. Editorial, from a simulation: below 20 it follows the noise.
pub const MIN_LOWESS: usize = 20;

/// The smallest difference of scores worth a word, points. Editorial; what differs less is level.
pub const DELTA_S: f64 = 2.0;

/// The smallest difference of prices worth a word, as a fraction. Editorial.
pub const DELTA_P: f64 = 0.05;

/// Least probability with which a verdict is supported. Editorial.
pub const P_SUPPORT: f64 = 0.9;

/// Least probability with which a verdict is contradicted. Editorial.
pub const P_CONTRA: f64 = 0.9;

/// Least probability with which draws that settle nothing lean to one side. Editorial.
pub const P_LEANS: f64 = 0.75;

/// Least probability that the value is worth a word ([`DELTA_S`]) for good value. Editorial.
pub const P_LARGE: f64 = 0.75;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coverage_of_exactly_65_percent_is_enough() {
        for coverage in [0.30 + 0.25 + 0.10, 0.25 + 0.10 + 0.30, 1.0 - 0.35, 1.0] {
            assert!(covered(coverage), "{coverage:?}");
        }
        assert!(!covered(0.6499));
        assert!(!covered(0.0));
    }
}
