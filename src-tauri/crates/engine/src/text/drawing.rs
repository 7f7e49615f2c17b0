//! A score drawn on an axis of characters.

use super::number::Score;
use crate::dto::SpanDto;

/// Cells of the axis: one for each 5 points from 0 to 100.
const CELLS: u8 = 21;

/// The labels of the axis, each below or above its own cell.
pub(super) const AXIS: &str = "0    25   50   75 100";

/// What missing findings leave open as a thin line between its ends; over it where 90 % of the draws lie, with the middle
/// draw as a dot. A score that is fully known has no thin line, and without draws a dot.
pub(super) fn drawn(score: Score, spread: Option<&SpanDto>) -> String {
    let (low, high) = (cell(score.low), cell(score.high));
    let known = score.value.map(cell);
    let spread = spread.map(|it| (cell(it.low), cell(it.median), cell(it.high)));
    let middle = cell(f64::midpoint(score.low, score.high));
    (0..CELLS)
        .map(|at| match (spread, known) {
            (Some((_, dot, _)), _) if at == dot => '●',
            (Some((from, _, to)), _) if (from..=to).contains(&at) => '━',
            (None, Some(dot)) if at == dot => '●',
            (_, Some(_)) => '·',
            (None, None) if low == high && at == low => '┼',
            _ if at == low => '├',
            _ if at == high => '┤',
            (None, None) if at == middle => '┼',
            _ if (low..high).contains(&at) => '─',
            _ => '·',
        })
        .collect()
}

/// The cell nearest to a score; whatever lies outside the axis is at its end.
fn cell(score: f64) -> u8 {
    (0..CELLS)
        .min_by(|a, b| {
            let far = |it: u8| (f64::from(it) * 5.0 - score).abs();
            far(*a).total_cmp(&far(*b))
        })
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(low: f64, high: f64, spread: [f64; 3]) -> String {
        let [from, median, to] = spread;
        drawn(Score { value: None, low, high }, Some(&SpanDto { low: from, median, high: to }))
    }

    #[test]
    fn without_draws_an_interval_shows_its_ends_and_its_middle() {
        let open = |low, high| drawn(Score { value: None, low, high }, None);
        assert_eq!(open(20.0, 50.0), "····├──┼──┤··········");
        assert_eq!(open(48.0, 52.0), "··········┼··········");
        assert_eq!(
            drawn(Score { value: Some(75.0), low: 75.0, high: 75.0 }, None),
            "···············●·····"
        );
    }

    #[test]
    fn an_open_score_shows_its_ends_and_where_the_draws_lie() {
        assert_eq!(open(20.0, 50.0, [30.0, 35.0, 40.0]), "····├─━●━─┤··········");
        assert_eq!(open(0.0, 100.0, [0.0, 50.0, 100.0]), "━━━━━━━━━━●━━━━━━━━━━");
    }

    #[test]
    fn a_short_interval_still_shows() {
        assert_eq!(open(48.0, 52.0, [49.0, 50.0, 51.0]), "··········●··········");
        assert_eq!(open(50.0, 60.0, [55.0, 55.0, 55.0]), "··········├●┤········");
    }

    #[test]
    fn a_known_score_shows_its_draws_alone() {
        let score = Score { value: Some(75.0), low: 75.0, high: 75.0 };
        let spread = SpanDto { low: 70.0, median: 75.0, high: 80.0 };
        assert_eq!(drawn(score, Some(&spread)), "··············━●━····");
    }

    #[test]
    fn a_score_outside_the_axis_is_at_its_end() {
        assert_eq!(open(-10.0, 110.0, [50.0, 50.0, 50.0]), "├─────────●─────────┤");
    }

    #[test]
    fn the_axis_is_as_long_as_a_drawing() {
        assert_eq!(AXIS.chars().count(), usize::from(CELLS));
        for (label, at) in [("0", 0), ("25", 5), ("50", 10), ("75", 15)] {
            assert_eq!(&AXIS[at..at + label.len()], label);
        }
        assert!(AXIS.ends_with("100"));
    }
}
