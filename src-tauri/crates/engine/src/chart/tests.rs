//! The picture says what the table says.

use super::*;
use crate::dto::{CurveDto, IntervalDto, fixture};

fn standing(key: &str, price: f64, value: Option<f64>, low: f64, high: f64) -> Standing {
    let index = IntervalDto { value, low, high };
    Standing {
        product: key.into(),
        index,
        on_frontier: true,
        ..fixture::standing(key, price, low, high)
    }
}

fn report(standings: Vec<Standing>) -> BandReport {
    fixture::report(standings)
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
        dots.rows[1]
            .sentence
            .contains("rank 1 to 3 of 2 in 90 % of the draws, index 40–80 (40 to 80), first in 50 %, 316 USD a pair"),
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

#[test]
fn what_a_price_buys_is_straight_over_the_logarithm_of_the_price() {
    let mut it = report(vec![standing("a", 250.0, Some(60.0), 60.0, 60.0)]);
    assert!(scatter(&it).expected.is_empty());
    it.curve = Some(CurveDto {
        fit: "line".into(),
        n: 12,
        price_low: 160.0,
        price_high: 640.0,
        per_doubling: 5.0,
        per_doubling_low: Some(1.0),
        per_doubling_high: Some(9.0),
        middle: 60.0,
        text: "A sentence.".into(),
    });
    // The band is 200..500: log2 of 200/320 and of 500/320 doublings from the middle price.
    let plot = scatter(&it);
    let index = |price: f64| 60.0 + 5.0 * (price / 320.0).log2();
    let (scale, _) = index_scale(&it.standings);
    for (point, price) in plot.expected.iter().zip([200.0, 500.0]) {
        assert!(near(point.y, 1.0 - scale.at(index(price))), "{point:?}");
    }
    assert!(near(plot.expected[0].x, 0.0) && near(plot.expected[1].x, 1.0));
}

#[test]
fn the_strip_adds_up_and_gathers_the_ranks_below() {
    let many: Vec<Standing> = (0..15)
        .map(|at| {
            let mut it = standing(&format!("m{at}"), 250.0, Some(60.0), 60.0, 60.0);
            it.acceptability = vec![1.0 / 15.0; 15];
            it
        })
        .collect();
    let strip = rank_strip(&report(many));
    assert_eq!(strip.ranks.len(), 12);
    assert_eq!(strip.ranks[11], "12 and below");
    for row in &strip.rows {
        let sum: f64 = row.cells.iter().map(|it| it.share).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        assert_eq!((row.cells[0].label.as_str(), row.cells[11].label.as_str()), ("7", "27"));
    }
}

#[test]
fn each_subsystem_that_counts_has_a_panel_with_a_mark_a_product() {
    let mut a = standing("a", 250.0, Some(60.0), 60.0, 60.0);
    let known =
        crate::dto::SubsystemDto { value: Some(25.0), low: 25.0, high: 25.0, coverage: 1.0 };
    a.subsystems.insert("cabinet".into(), known);
    let panels = multiples(&report(vec![a, standing("b", 250.0, Some(60.0), 60.0, 60.0)]));
    let names: Vec<&str> = panels.iter().map(|it| it.subsystem.as_str()).collect();
    assert_eq!(names, ["cabinet", "wiring"]);
    assert!(panels[0].marks[0].value.is_some_and(|it| near(it, 0.25)));
    assert_eq!(panels[0].marks[1].low, None);
    assert!(panels[0].marks[1].sentence.ends_with("does not apply"));
}
