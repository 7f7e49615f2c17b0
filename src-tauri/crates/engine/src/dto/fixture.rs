//! Made-up standings for the tests of pages and pictures.

use std::collections::BTreeMap;

use super::{
    BandDto, BandReport, BandStatistics, IntervalDto, PriceDto, RankDto, SpanDto, Standing,
};

/// A product of an invented maker; known where `low` is `high`.
pub(crate) fn standing(model: &str, price: f64, low: f64, high: f64) -> Standing {
    let known = (high - low).abs() < 1e-9;
    let index = IntervalDto { value: known.then_some(low), low, high };
    Standing {
        product: format!("quill/{model}"),
        maker: "Quill".into(),
        model: model.into(),
        kind: "stand-mount".into(),
        price: PriceDto {
            nominal: price,
            basis: "pair".into(),
            date: "2026-06-01".into(),
            real_pair: price,
            stale: false,
            observations: 1,
        },
        spread: SpanDto { low, median: f64::midpoint(low, high), high },
        contributions: BTreeMap::new(),
        caps: Vec::new(),
        geometric: index.value,
        means: Vec::new(),
        rank_equal_weights: 2,
        equal_weights: index.clone(),
        doubts: Vec::new(),
        index,
        coverage: 0.8,
        coverage_hard: 0.7,
        subsystems: BTreeMap::new(),
        rank: RankDto { best: 1, worst: 5, median: Some(2), low: Some(1), high: Some(3) },
        group: 1,
        p_above_next: None,
        p_first: 0.5,
        p_first_any: 0.4,
        acceptability: vec![0.5, 0.3, 0.2],
        central_weights: None,
        holistic: 0.5,
        value_points: None,
        p_not_beaten: 0.8,
        beaters: Vec::new(),
        verdicts: Vec::new(),
        on_frontier: false,
        beaten_by: Vec::new(),
        remarks: Vec::new(),
        missing: Vec::new(),
    }
}

/// A band of them.
pub(crate) fn report(standings: Vec<Standing>) -> BandReport {
    BandReport {
        band: BandDto {
            low: Some(200.0),
            high: Some(500.0),
            currency: "USD".into(),
            base_month: "2026-06".into(),
        },
        as_of: "2026-11-25".into(),
        rubric: "cabinet 1".into(),
        weights: BTreeMap::from([("cabinet".into(), 0.75), ("wiring".into(), 0.25)]),
        plugins: Vec::new(),
        seed: 0,
        draws: 10_000,
        finding_draws: 1000,
        kappa: 40.0,
        standings,
        not_ranked: Vec::new(),
        curve: None,
        curves: Vec::new(),
        robustness: None,
        statistics: BandStatistics {
            n: 0,
            index: None,
            index_low: None,
            index_high: None,
            real_pair: None,
            associations: Vec::new(),
        },
        spreads: BTreeMap::new(),
        gates: BTreeMap::new(),
        instead: Vec::new(),
        remarks: Vec::new(),
    }
}
