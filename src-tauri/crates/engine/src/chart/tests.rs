//! The picture says what the table says.

use super::*;
use crate::dto::{CurveDto, CurveLimit, VerdictDto, fixture};

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
        limits: [160.0, 320.0, 640.0]
            .map(|price| CurveLimit { price, index: 60.0, low: 58.0, high: 63.0 })
            .into(),
    });
    // The band is 200..500: log2 of 200/320 and of 500/320 doublings from the middle price.
    let plot = scatter(&it);
    let index = |price: f64| 60.0 + 5.0 * (price / 320.0).log2();
    let (scale, _) = index_scale(it.standings.iter().map(|it| (&it.index, &it.spread)));
    for (point, price) in plot.expected.iter().zip([200.0, 500.0]) {
        assert!(near(point.y, 1.0 - scale.at(index(price))), "{point:?}");
    }
    assert!(near(plot.expected[0].x, 0.0) && near(plot.expected[1].x, 1.0));
    // There and back between the edges of the picture, the lower ends first.
    let outline = plot.expected_band;
    let (first, last) = (&outline[0], &outline[outline.len() - 1]);
    assert!(near(first.x, 0.0) && near(last.x, 0.0) && first.y > last.y, "{outline:?}");
    assert!(outline.iter().any(|it| near(it.x, 1.0)));
}

#[test]
fn a_curve_is_cut_to_the_picture_and_keeps_its_steps() {
    let scale = Scale { low: 200.0, high: 400.0, log: true };
    let points = Scale { low: 0.0, high: 100.0, log: false };
    // Rises by 40 over two doublings; at 200 and at 400 it has risen by 10 and 30.
    let line = cut(&[(141.421_356_237, 40.0), (565.685_424_95, 80.0)], &scale, &points);
    assert!(near_to(line[0].y, 0.5) && near_to(line[1].y, 0.3), "{line:?}");
    let steps = cut(&[(250.0, 40.0), (300.0, 40.0), (300.0, 60.0), (900.0, 60.0)], &scale, &points);
    let heights: Vec<f64> = steps.iter().map(|it| 1.0 - it.y).collect();
    assert!(near_to(heights[0], 0.4) && near_to(heights[heights.len() - 1], 0.6), "{steps:?}");
    assert!(near(steps[steps.len() - 1].x, 1.0));
    assert!(cut(&[(500.0, 1.0), (600.0, 2.0)], &scale, &points).is_empty());
}

fn near_to(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

#[test]
fn a_bracket_joins_what_is_not_told_apart_and_says_so() {
    let mut all: Vec<Standing> = ["a", "b", "c", "d", "e"]
        .iter()
        .map(|key| standing(key, 300.0, Some(50.0), 50.0, 50.0))
        .collect();
    for (it, group) in all.iter_mut().zip([1, 1, 1, 2, 3]) {
        it.group = group;
    }
    let groups = dot_plot(&report(all.clone())).groups;
    let spans: Vec<(u32, u32)> = groups.iter().map(|it| (it.first, it.last)).collect();
    assert_eq!(spans, [(0, 2), (3, 3), (4, 4)]);
    assert_eq!(
        groups[0].sentence,
        "These 3 are not told apart: Quill a is above each of the others in less than 90 % of the draws. 90 % or more put \
         Quill a above Quill d."
    );
    assert_eq!(groups[2].sentence, "Quill e stands alone.");
    all.truncate(4);
    let few = dot_plot(&report(all));
    assert!(few.groups.is_empty() && few.rows[0].rank.is_empty());
}

#[test]
fn a_supported_verdict_is_a_word_beside_the_mark() {
    let mut it = standing("a", 300.0, Some(60.0), 60.0, 60.0);
    let verdict = |kind: &str, verdict: &str| VerdictDto {
        kind: kind.into(),
        verdict: verdict.into(),
        text: String::new(),
        close: false,
    };
    it.verdicts = vec![verdict("unbeaten", "not supported"), verdict("good value", "supported")];
    let plot = scatter(&report(vec![it]));
    assert_eq!(plot.marks[0].word, "good value");
    assert!(plot.marks[0].sentence.ends_with(", good value"));
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
