//! The highest point of a smooth curve over frequency.

/// Rows of the grid between two knots.
const STEPS: u32 = 12;
/// The search ends when the bracket is this narrow in ln f.
const NARROW: f64 = 1e-8;
/// 1/φ, the golden section.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// Where `curve` is highest between the first and the last of `knots` (Hz, ascending), and how high.
///
/// A grid in ln f between knots finds the hill, golden section its top. A hill is found for certain
/// when it is wider than a step or its top is near a knot, so the knots are the resonances. With
/// fewer than two knots there is nothing to search and the answer is none.
pub(crate) fn highest(knots: &[f64], curve: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
    let at = |x: f64| curve(x.exp());
    let grid = knots.windows(2).flat_map(|pair| {
        let (low, high) = (pair[0].ln(), pair[1].ln());
        (0..STEPS).map(move |step| low + (high - low) * f64::from(step) / f64::from(STEPS))
    });
    let end = knots.last()?.ln();
    let mut before = knots.first()?.ln();
    let mut top: Option<Top> = None;
    let mut previous_is_top = false;
    for x in grid.chain([end]) {
        // Knots that coincide leave a step of no width, which is no neighbour.
        if top.is_some() && x <= before {
            continue;
        }
        let y = at(x);
        if let (true, Some(top)) = (previous_is_top, top.as_mut()) {
            top.after = x;
        }
        previous_is_top = top.is_none_or(|top| y > top.y);
        if previous_is_top {
            top = Some(Top { before, x, y, after: x });
        }
        before = x;
    }
    let (x, y) = golden(top?, at);
    Some((x.exp(), y))
}

/// The highest row of a grid with its neighbours.
#[derive(Clone, Copy)]
struct Top {
    before: f64,
    x: f64,
    y: f64,
    after: f64,
}

fn golden(top: Top, at: impl Fn(f64) -> f64) -> (f64, f64) {
    let (mut low, mut high) = (top.before, top.after);
    let mut left = high - GOLDEN * (high - low);
    let mut right = low + GOLDEN * (high - low);
    let (mut y_left, mut y_right) = (at(left), at(right));
    while high - low > NARROW {
        if y_left > y_right {
            (high, right, y_right) = (right, left, y_left);
            left = high - GOLDEN * (high - low);
            y_left = at(left);
        } else {
            (low, left, y_left) = (left, right, y_right);
            right = low + GOLDEN * (high - low);
            y_right = at(right);
        }
    }
    let inner = (low + high) / 2.0;
    let y = at(inner);
    // At an end of the search the row itself is the top.
    if y > top.y { (inner, y) } else { (top.x, top.y) }
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
    fn a_curve_that_falls_or_rises_is_highest_at_its_end() {
        assert_eq!(highest(&[10.0, 40.0], |f| -f).map(|top| top.0.round()), Some(10.0));
        assert_eq!(highest(&[10.0, 40.0], |f| f).map(|top| top.0.round()), Some(40.0));
        assert_eq!(highest(&[10.0], |f| f), Some((10.000_000_000_000_002, 10.000_000_000_000_002)));
        assert_eq!(highest(&[], |f| f), None);
    }
}
