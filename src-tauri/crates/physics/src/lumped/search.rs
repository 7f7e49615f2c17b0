//! The highest point of a smooth curve over frequency.

/// Rows of the grid between two knots.
const STEPS: u32 = 20;
/// How far every hill is narrowed in ln f, so that their heights can be compared.
const COARSE: f64 = 1e-3;
/// How far the highest hill is narrowed in ln f.
const NARROW: f64 = 1e-8;
/// 1/φ, the golden section.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// Where `curve` is highest between the first and the last of `knots` (Hz, ascending), and how high.
///
/// A grid in ln f between knots finds the hills, golden section their tops. Rows crowd at the knots,
/// where the curve changes fastest if the knots are the resonances. A hill narrower than a step is
/// missed. Without knots there is nothing to search and the answer is none.
pub(crate) fn highest(knots: &[f64], curve: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
    let at = |x: f64| curve(x.exp());
    let row = |x: f64| Point { x, y: at(x) };
    let mut before = row(knots.first()?.ln());
    let mut here = before;
    let mut best: Option<Hill> = None;
    let mut consider = |before: Point, here: Point, after: Point| {
        // Flat ground has no top beyond its first row.
        let rises = here.y > before.y || here.x <= before.x;
        if rises && here.y >= after.y {
            let hill = Hill { low: before.x, top: here, high: after.x }.narrowed(COARSE, &at);
            if best.is_none_or(|best| hill.top.y > best.top.y) {
                best = Some(hill);
            }
        }
    };
    for pair in knots.windows(2) {
        let (low, high) = (pair[0].ln(), pair[1].ln());
        for step in 1..=STEPS {
            let t = f64::from(step) / f64::from(STEPS);
            let after = row(low + (high - low) * t * t * (3.0 - 2.0 * t));
            // Knots that coincide leave a step of no width, which is no neighbour.
            if after.x > here.x {
                consider(before, here, after);
                (before, here) = (here, after);
            }
        }
    }
    consider(before, here, here);
    let top = best?.narrowed(NARROW, &at).top;
    Some((top.x.exp(), top.y))
}

/// A point of the curve over ln f.
#[derive(Clone, Copy)]
struct Point {
    x: f64,
    y: f64,
}

/// A top and the points around it that lie no higher.
#[derive(Clone, Copy)]
struct Hill {
    low: f64,
    top: Point,
    high: f64,
}

impl Hill {
    /// The same hill in a bracket no wider than `width`, by golden section.
    fn narrowed(self, width: f64, at: &impl Fn(f64) -> f64) -> Self {
        let Self { mut low, mut top, mut high } = self;
        let row = |x: f64| Point { x, y: at(x) };
        let mut left = row(high - GOLDEN * (high - low));
        let mut right = row(low + GOLDEN * (high - low));
        while high - low > width {
            if left.y > right.y {
                (high, right) = (right.x, left);
                left = row(high - GOLDEN * (high - low));
            } else {
                (low, left) = (left.x, right);
                right = row(low + GOLDEN * (high - low));
            }
        }
        // At an end of the search the row itself stays the top.
        for point in [left, right] {
            if point.y > top.y {
                top = point;
            }
        }
        Self { low, top, high }
    }
}

#[cfg(test)]
mod tests {
    use super::highest;

    #[test]
    fn a_narrow_hill_at_a_knot_and_a_wide_one_between_are_found() {
        // Resonance curves peak at f0·√(1 − 1/(2Q²)).
        for (f0, q, knots) in
            [(100.0, 50.0, vec![10.0, 100.0, 1000.0]), (47.0, 1.5, vec![10.0, 1000.0])]
        {
            let curve = |f: f64| {
                let x: f64 = f / f0;
                1.0 / ((1.0 - x * x).powi(2) + (x / q).powi(2))
            };
            let (f, _) = highest(&knots, curve).expect("two knots");
            let want = f0 * (1.0 - 0.5 / (q * q)).sqrt();
            assert!((f / want - 1.0).abs() < 1e-6, "{f} is not {want}");
        }
    }

    #[test]
    fn of_two_hills_the_higher_counts_even_if_its_rows_are_lower() {
        let hill = |f: f64, f0: f64, width: f64| (-((f / f0).ln() / width).powi(2)).exp();
        // The rows around the narrow hill are 0.17 apart in ln f, and show it at 0.73 of its height.
        let f0 = 100.0 * 10f64.powf(0.5 + 0.0748 / 2.0);
        let curve = |f: f64| 0.9 * hill(f, 20.0, 0.5) + hill(f, f0, 0.15);
        let (f, y) = highest(&[10.0, 100.0, 1000.0], curve).expect("three knots");
        assert!((f / f0 - 1.0).abs() < 1e-6 && (y - 1.0).abs() < 1e-6, "{y} at {f}");
    }

    #[test]
    fn a_curve_that_falls_or_rises_is_highest_at_its_end() {
        assert_eq!(highest(&[10.0, 40.0], |f| -f).map(|top| top.0.round()), Some(10.0));
        assert_eq!(highest(&[10.0, 40.0], |f| f).map(|top| top.0.round()), Some(40.0));
        assert_eq!(highest(&[10.0], |f| f).map(|top| top.0.round()), Some(10.0));
        assert_eq!(highest(&[], |f| f), None);
    }
}
