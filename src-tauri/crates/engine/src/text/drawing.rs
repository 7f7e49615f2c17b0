//! A score drawn on an axis of characters.

use super::number::Score;

/// Cells of the axis: one for each 5 points from 0 to 100.
const CELLS: u8 = 21;

/// The labels of the axis, each below or above its own cell.
pub(super) const AXIS: &str = "0    25   50   75 100";

/// `●` when known; else both ends, the way between them and the middle, which orders the table.
pub(super) fn drawn(score: Score) -> String {
    let known = score.value.map(cell);
    let (low, high) = (cell(score.low), cell(score.high));
    let middle = cell(f64::midpoint(score.low, score.high));
    (0..CELLS)
        .map(|at| match known {
            Some(it) if it == at => '●',
            Some(_) => '·',
            None if low == high && at == low => '┼',
            None if at == low => '├',
            None if at == high => '┤',
            None if at == middle => '┼',
            None if (low..high).contains(&at) => '─',
            None => '·',
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

    fn open(low: f64, high: f64) -> String {
        drawn(Score { value: None, low, high })
    }

    #[test]
    fn an_interval_shows_its_ends_and_its_middle() {
        assert_eq!(open(20.0, 50.0), "····├──┼──┤··········");
        assert_eq!(open(0.0, 100.0), "├─────────┼─────────┤");
    }

    #[test]
    fn a_short_interval_still_shows() {
        assert_eq!(open(48.0, 52.0), "··········┼··········");
        assert_eq!(open(50.0, 55.0), "··········├┤·········");
        assert_eq!(open(50.0, 60.0), "··········├┼┤········");
    }

    #[test]
    fn a_known_score_is_a_dot() {
        assert_eq!(
            drawn(Score { value: Some(75.0), low: 75.0, high: 75.0 }),
            "···············●·····"
        );
    }

    #[test]
    fn a_score_outside_the_axis_is_at_its_end() {
        assert_eq!(open(-10.0, 110.0), "├─────────┼─────────┤");
        assert_eq!(open(120.0, 130.0), "····················┼");
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
