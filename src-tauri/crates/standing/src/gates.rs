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
