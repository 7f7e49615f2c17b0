//! The picture says what the table says.

use std::collections::BTreeMap;

use super::*;
use crate::dto::{BandDto, BandStatistics, IntervalDto, PriceDto, RankDto};

fn standing(key: &str, price: f64, value: Option<f64>, low: f64, high: f64) -> Standing {
    Standing {
        product: key.into(),
        maker: "Quill".into(),
        model: key.into(),
        kind: "stand-mount".into(),
        price: PriceDto {
            nominal: price,
            basis: "pair".into(),
            date: "2026-06".into(),
            real_pair: price,
            stale: false,
            observations: 1,
        },
        index: IntervalDto { value, low, high },
        coverage: 0.9,
        coverage_hard: 0.8,
        subsystems: BTreeMap::new(),
        rank: RankDto { best: 1, worst: 2, median: None },
        p_first: None,
        value_points: None,
        on_frontier: true,
        beaten_by: Vec::new(),
        remarks: Vec::new(),
        missing: Vec::new(),
    }
}

fn report(standings: Vec<Standing>) -> BandReport {
    BandReport {
        band: BandDto {
            low: Some(200.0),
            high: Some(500.0),
            currency: "USD".into(),
            base_month: "2026-06".into(),
        },
        as_of: "2026-11-25".into(),
        rubric: String::new(),
        weights: BTreeMap::new(),
        plugins: Vec::new(),
        seed: None,
        draws: 0,
        standings,
        not_ranked: Vec::new(),
        statistics: BandStatistics {
            n: 0,
            index: None,
            index_low: None,
            index_high: None,
            real_pair: None,
        },
        remarks: Vec::new(),
    }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-12
}

#[test]
fn places_follow_the_numbers() {
    let it = report(vec![
        standing("a", 200.0, Some(60.0), 60.0, 60.0),
        standing("b", 316.227_766_016_837_94, None, 40.0, 80.0),
    ]);
    let dots = dot_plot(&it);
    assert_eq!(
        dots.x.ticks.iter().map(|it| it.label.as_str()).collect::<Vec<_>>(),
        ["40", "50", "60", "70", "80"]
    );
    assert!(near(dots.rows[0].low, 0.5) && dots.rows[0].value.is_some_and(|it| near(it, 0.5)));
    assert!(
        near(dots.rows[1].low, 0.0) && near(dots.rows[1].high, 1.0) && dots.rows[1].value.is_none()
    );
    let scatter = scatter(&it);
    assert!(near(scatter.marks[0].x, 0.0));
    // sqrt(200 · 500) is the middle of a logarithmic axis from 200 to 500.
    assert!(near(scatter.marks[1].x, 0.5));
    assert!(near(scatter.marks[1].y_high, 0.0) && near(scatter.marks[1].y_low, 1.0));
    assert!(
        dots.rows[1].sentence.contains("rank 1–2 of 2, index 40–80, 316 USD a pair"),
        "{}",
        dots.rows[1].sentence
    );
}

#[test]
fn the_floor_rises_with_price_and_ends_at_the_edge() {
    let it = report(vec![
        standing("a", 250.0, None, 50.0, 60.0),
        standing("b", 300.0, None, 45.0, 90.0),
        standing("c", 400.0, None, 70.0, 75.0),
    ]);
    let floor = scatter(&it).floor;
    assert_eq!(floor.len(), 4);
    assert!(
        near(floor[1].y, floor[0].y) && near(floor[1].x, floor[2].x) && floor[2].y < floor[1].y
    );
    assert!(near(floor[3].x, 1.0) && near(floor[3].y, floor[2].y));
}

#[test]
fn an_empty_band_still_has_axes() {
    let it = report(Vec::new());
    assert!(dot_plot(&it).x.ticks.len() >= 3 && scatter(&it).x.ticks.len() >= 3);
    assert!(scatter(&it).floor.is_empty());
}
