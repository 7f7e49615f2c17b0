//! Utility curves: a physical quantity in, points from 0 to 100 out.

/// How the quantity runs between two points of a curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Scale {
    /// In proportion to the quantity.
    Linear,
    /// In proportion to its logarithm: equal ratios count alike, as with frequencies.
    Log,
}

/// A piecewise linear utility over listed points, flat outside them.
///
/// `u(x) = u_k + (u_k+1 - u_k) (s(x) - s(x_k)) / (s(x_k+1) - s(x_k))` with `s(x) = x` or `ln x`. The anchors are fixed and do not
/// depend on the other products, so a product added later moves nobody else (R. L. Keeney, H. Raiffa, *Decisions with Multiple
/// Objectives*, 1976, value functions; OECD/JRC, *Handbook on Constructing Composite Indicators*, 2008, distance to a reference).
#[derive(Debug, Clone, PartialEq)]
pub struct Utility {
    scale: Scale,
    // Never empty.
    points: Vec<(f64, f64)>,
}

/// Points that make no curve. Places count from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BadUtility {
    /// No point at all.
    #[error("a utility needs at least one point (x, u)")]
    Empty,
    /// A quantity that is no finite number, or not above 0 on a logarithmic scale.
    #[error(
        "utility point {place}: x is {x}; write a finite number, above 0 on a logarithmic scale"
    )]
    Quantity {
        /// Which point.
        place: usize,
        /// The quantity found.
        x: f64,
    },
    /// Points outside 0 to 100.
    #[error("utility point {place}: u is {u}; write points from 0 to 100")]
    Points {
        /// Which point.
        place: usize,
        /// The points found.
        u: f64,
    },
    /// A quantity that is not above the one before.
    #[error(
        "utility point {place}: x is {x}, not above {before} of the point before; list the points with x rising"
    )]
    NotRising {
        /// Which point.
        place: usize,
        /// The quantity found.
        x: f64,
        /// The quantity before.
        before: f64,
    },
}

impl Utility {
    /// A curve through `points`, each (quantity in its own unit, points 0 to 100).
    ///
    /// # Errors
    /// [`BadUtility`] without points, for x that does not rise strictly, is not finite, or is not above 0 on a logarithmic scale,
    /// and for u outside 0 to 100.
    pub fn new(scale: Scale, points: Vec<(f64, f64)>) -> Result<Self, BadUtility> {
        if points.is_empty() {
            return Err(BadUtility::Empty);
        }
        let mut last: Option<f64> = None;
        for (place, &(x, u)) in (1..).zip(&points) {
            if !x.is_finite() || (scale == Scale::Log && x <= 0.0) {
                return Err(BadUtility::Quantity { place, x });
            }
            if !(0.0..=100.0).contains(&u) {
                return Err(BadUtility::Points { place, u });
            }
            if let Some(before) = last.filter(|&before| x <= before) {
                return Err(BadUtility::NotRising { place, x, before });
            }
            last = Some(x);
        }
        Ok(Utility { scale, points })
    }

    /// The scale between points.
    #[must_use]
    pub fn scale(&self) -> Scale {
        self.scale
    }

    /// The points, x rising.
    #[must_use]
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Points, 0 to 100, for the quantity `x`: the first point's below the first x (on a logarithmic scale for 0 and negative
    /// quantities too), the last one's above the last x. NaN gives NaN, which [`crate::index::subsystem`] refuses.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        if x.is_nan() {
            return x;
        }
        // The first point above x; its neighbour on the left starts the segment.
        let right = self.points.partition_point(|&(px, _)| px <= x);
        if right == 0 {
            return self.points[0].1;
        }
        let (x0, u0) = self.points[right - 1];
        let Some(&(x1, u1)) = self.points.get(right) else { return u0 };
        let t = match self.scale {
            Scale::Linear => (x / 2.0 - x0 / 2.0) / (x1 / 2.0 - x0 / 2.0), // halves, since x1 - x0 may overflow
            Scale::Log => (x.ln() - x0.ln()) / (x1.ln() - x0.ln()),
        };
        (u0 + (u1 - u0) * t).clamp(u0.min(u1), u0.max(u1))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::{fixture::near, rank::quantise};

    /// Values by `numpy.interp` (numpy 2.4.6) on x, or on `ln x` where marked log.
    #[test]
    fn worked_utilities_agree_with_numpy_interp() {
        let panel = vec![(120.0, 0.0), (200.0, 30.0), (300.0, 60.0), (450.0, 85.0), (700.0, 100.0)];
        let cavity = vec![(2.0, 100.0), (4.0, 80.0), (8.0, 55.0), (20.0, 25.0), (60.0, 0.0)];
        let rated = vec![(0.5, 0.0), (0.7, 40.0), (0.8, 80.0), (0.9, 100.0)];
        let margin = vec![(0.5, 0.0), (1.0, 40.0), (1.5, 70.0), (2.0, 90.0), (2.5, 100.0)];
        let port = vec![(10.0, 100.0), (17.0, 70.0), (25.0, 40.0), (35.0, 10.0), (45.0, 0.0)];
        for (scale, points, x, want, tolerance) in [
            (Scale::Log, panel.clone(), 260.0, 49.4121, 5e-5),
            (Scale::Linear, panel, 260.0, 48.0, 1e-9),
            (Scale::Log, cavity, 8.807_999_3, 51.849_73, 5e-6),
            (Scale::Linear, rated, 0.72, 48.0, 1e-9),
            (Scale::Linear, margin, 1.735_303_5, 79.412_14, 1e-9),
            (Scale::Linear, port, 25.0, 40.0, 0.0),
        ] {
            let got = Utility::new(scale, points).unwrap().at(x);
            assert!((got - want).abs() <= tolerance, "{x}: {got} instead of {want}");
        }
    }

    #[test]
    fn outside_the_points_it_is_flat() {
        let curve = Utility::new(Scale::Log, vec![(35.0, 100.0), (110.0, 0.0)]).unwrap();
        for (x, want) in [
            (-1.0, 100.0),
            (0.0, 100.0),
            (35.0, 100.0),
            (110.0, 0.0),
            (f64::MAX, 0.0),
            (f64::INFINITY, 0.0),
        ] {
            near(curve.at(x), want, 0.0);
        }
        let flat = Utility::new(Scale::Linear, vec![(3.0, 70.0)]).unwrap();
        for x in [f64::NEG_INFINITY, 3.0, 1e300] {
            near(flat.at(x), 70.0, 0.0);
        }
        let wide = Utility::new(Scale::Linear, vec![(-f64::MAX, 0.0), (f64::MAX, 100.0)]).unwrap();
        near(wide.at(0.0), 50.0, 1e-12);
        assert!(curve.at(f64::NAN).is_nan());
    }

    #[test]
    fn points_that_make_no_curve_are_refused_with_their_place() {
        use Scale::{Linear, Log};
        for (scale, points, says) in [
            (Linear, vec![], "at least one point"),
            (Linear, vec![(1.0, 0.0), (1.0, 50.0)], "point 2: x is 1, not above 1"),
            (Linear, vec![(2.0, 0.0), (1.0, 50.0)], "point 2: x is 1, not above 2"),
            (
                Linear,
                vec![(1.0, 0.0), (2.0, 100.5)],
                "point 2: u is 100.5; write points from 0 to 100",
            ),
            (Linear, vec![(1.0, f64::NAN)], "point 1: u is NaN"),
            (Linear, vec![(f64::INFINITY, 1.0)], "point 1: x is inf"),
            (Log, vec![(0.0, 1.0)], "point 1: x is 0; write a finite number, above 0"),
        ] {
            let error = Utility::new(scale, points).unwrap_err().to_string();
            assert!(error.contains(says), "{error:?} does not say {says:?}");
        }
    }

    proptest! {
        #[test]
        fn monotone_points_make_a_monotone_curve(
            log in any::<bool>(),
            steps in prop::collection::vec((0.01..50.0_f64, 0.0..20.0_f64), 1..8),
            a in 0.001..500.0_f64,
            b in 0.001..500.0_f64,
        ) {
            let mut at = (0.1, 0.0);
            let points = steps.iter().map(|(dx, du)| {
                at = (at.0 + dx, f64::min(at.1 + du, 100.0));
                at
            });
            let curve = Utility::new(if log { Scale::Log } else { Scale::Linear }, points.collect()).unwrap();
            prop_assert!(quantise(curve.at(a.min(b))) <= quantise(curve.at(a.max(b))));
        }
    }
}
