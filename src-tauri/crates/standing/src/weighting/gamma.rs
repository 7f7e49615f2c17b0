//! Gamma deviates, of which Dirichlet draws are made.

use domain::draw::Stream;

/// A gamma distribution of scale 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gamma {
    /// A third below the shape, or below the shape plus one where that is below 1.
    d: f64,
    /// `1 / sqrt(9 d)`.
    c: f64,
    /// `1 / shape` where the shape is below 1.
    boost: Option<f64>,
}

impl Gamma {
    /// Of a shape above 0; a shape too small to divide by counts as the smallest that is not.
    pub(super) fn new(shape: f64) -> Self {
        // With deviates of the logarithm of at most 37, the quotient stays finite.
        let shape = shape.max(1e-300);
        let boost = (shape < 1.0).then(|| 1.0 / shape);
        let d = if boost.is_some() { shape + 1.0 } else { shape } - 1.0 / 3.0;
        Gamma { d, c: 1.0 / (9.0 * d).sqrt(), boost }
    }

    /// A deviate as a factor and the logarithm of a second factor, which is 0 for a shape of at least 1.
    ///
    /// Squeeze and rejection of G. Marsaglia, W. W. Tsang, *A Simple Method for Generating Gamma Variables*, ACM
    /// Transactions on Mathematical Software 26 (2000) 363-372; for a shape below 1 a deviate of the shape plus one
    /// times `U^(1/shape)`. The second factor underflows for small shapes, therefore its logarithm.
    fn draw(self, stream: &mut Stream) -> (f64, f64) {
        let factor = loop {
            let x = stream.normal();
            let root = 1.0 + self.c * x;
            if root <= 0.0 {
                continue;
            }
            let v = root * root * root;
            let u = 1.0 - stream.unit();
            if u < 1.0 - 0.0331 * (x * x) * (x * x)
                || u.ln() < 0.5 * x * x + self.d * (1.0 - v + v.ln())
            {
                break self.d * v;
            }
        };
        (factor, self.boost.map_or(0.0, |it| (1.0 - stream.unit()).ln() * it))
    }
}

/// Appends one deviate a part to `out`, all times a factor that keeps the largest of them from vanishing; 0 for `None`.
pub(super) fn row(parts: &[Option<Gamma>], stream: &mut Stream, out: &mut Vec<f64>) {
    let start = out.len();
    if parts.iter().flatten().all(|it| it.boost.is_none()) {
        out.extend(parts.iter().map(|it| it.map_or(0.0, |it| it.draw(stream).0)));
        return;
    }
    out.extend(parts.iter().map(|it| {
        it.map_or(f64::NEG_INFINITY, |it| {
            let (factor, ln) = it.draw(stream);
            factor.ln() + ln
        })
    }));
    let row = &mut out[start..];
    let largest = row.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    row.iter_mut().for_each(|it| *it = (*it - largest).exp());
}

#[cfg(test)]
mod tests {
    use statrs::distribution::{ContinuousCDF, Gamma as Exact};

    use super::*;
    use crate::fixture::near;

    /// Shares of 20,000 deviates below nine points, within four standard errors of the distribution function of
    /// statrs 0.19.1.
    #[test]
    fn deviates_follow_the_distribution_of_statrs() {
        let n = 20_000;
        for shape in [0.05, 0.4, 0.999, 1.0, 1.5, 10.0, 300.0] {
            let exact = Exact::new(shape, 1.0).unwrap();
            let mut stream = Stream::named("deviates");
            let gamma = Gamma::new(shape);
            let list: Vec<f64> = (0..n)
                .map(|_| {
                    let (factor, ln) = gamma.draw(&mut stream);
                    factor * ln.exp()
                })
                .collect();
            for p in [0.01, 0.05, 0.2, 0.4, 0.5, 0.6, 0.8, 0.95, 0.99] {
                let x = exact.inverse_cdf(p);
                let p = exact.cdf(x);
                let below = list.iter().filter(|it| **it <= x).count();
                #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
                near(below as f64 / f64::from(n), p, 4.0 * (p * (1.0 - p) / f64::from(n)).sqrt());
            }
        }
    }
}
