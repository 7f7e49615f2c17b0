//! Non-linear least squares: one driver for every fit of this crate.
//!
//! The search is Levenberg and Marquardt's in Moré's form (MINPACK, crate `levenberg-marquardt`).
//! All it asks of residuals r and Jacobian J at a point are norms and angles, and the triangle R of
//! [J r] = QR has the same ones; so it is given R, a few rows instead of some hundred. R comes from
//! the normal equations, and once more from JR⁻¹ where the search ended, which makes it as exact as
//! an orthogonal decomposition of J. What the search ends on is judged here, by the Gauss-Newton step
//! that is still left, and not by the reason it gives.
//!
//! Sources: J. J. Moré, "The Levenberg-Marquardt Algorithm: Implementation and Theory", Lecture
//! Notes in Mathematics 630, 1978 (from memory); Y. Yamamoto, Y. Nakatsukasa, Y. Yanagisawa and
//! T. Fukaya, "Roundoff error analysis of the CholeskyQR2 algorithm", ETNA 44, 2015 (from memory).

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use crate::error::{PhysicsError, Result};

/// Relative step at which the search ends.
const STEP: f64 = 1e-10;
/// Length of the first step against that of the scaled parameters. The usual 100 throws a far start
/// into valleys from which the way back is long.
const FIRST_STEP: f64 = 1.0;
/// Evaluations allowed, for each free parameter and one more.
const PATIENCE: usize = 200;
/// Relative Gauss-Newton step that may be left at the end.
const LEFT: f64 = 1e-7;
/// A column of which no more than this share is its own, and not a sum of others, has no direction.
const RANK: f64 = 1e-15;

/// A model with `P` parameters and the data it is fitted to.
pub trait Residuals<const P: usize> {
    /// How many residuals there are.
    fn count(&self) -> usize;

    /// Calls `row` with every residual at parameters `x` and its gradient.
    fn visit(&self, x: &[f64; P], row: impl FnMut(f64, &[f64; P]));
}

/// The least-squares solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Minimum<const P: usize> {
    /// The parameters; those held are as they were given.
    pub x: [f64; P],
    /// Residual sum of squares.
    pub rss: f64,
    /// Residuals less free parameters.
    pub degrees_of_freedom: usize,
    /// s²·(JᵀJ)⁻¹ with s² = RSS/degrees of freedom; rows and columns of held parameters are 0.
    pub covariance: [[f64; P]; P],
    /// Condition number of JᵀJ over the free parameters.
    pub condition: f64,
}

/// The minimum of the sum of squares that is reached from `start`, moving the parameters that `free`
/// marks.
///
/// # Errors
/// `OutOfDomain` when there are not more residuals than free parameters; `NotConverged` when the
/// search ends on no minimum, or on one at which a parameter has no influence of its own.
pub fn minimize<const P: usize, R: Residuals<P>>(
    problem: &R,
    start: [f64; P],
    free: [bool; P],
) -> Result<Minimum<P>> {
    let columns: Vec<usize> = (0..P).filter(|&at| free[at]).collect();
    let count = problem.count();
    if columns.is_empty() || count <= columns.len() {
        return Err(PhysicsError::out_of_domain(
            "rows",
            format!("{count} residuals do not determine {} parameters", columns.len()),
        ));
    }
    let triangle = Triangle::of(&Gram::at(problem, &start), &columns);
    let search = LevenbergMarquardt::new()
        .with_ftol(1e-15)
        .with_xtol(STEP)
        .with_gtol(1e-13)
        .with_stepbound(FIRST_STEP)
        .with_patience(PATIENCE);
    let (end, _) = search.minimize(Search { problem, x: start, columns: &columns, triangle });
    judge(problem, end.x, &columns)
}

/// Where the search ended: is it a minimum, and how well is it known?
fn judge<const P: usize, R: Residuals<P>>(
    problem: &R,
    x: [f64; P],
    columns: &[usize],
) -> Result<Minimum<P>> {
    let n = columns.len();
    let gram = Gram::at(problem, &x);
    if !gram.is_finite() {
        return Err(PhysicsError::not_converged("the least-squares search left the numbers"));
    }
    let flat =
        || PhysicsError::not_converged("a parameter has no influence of its own on the residuals");
    let first = Triangle::of(&gram, columns);
    if !first.full_rank {
        return Err(flat());
    }
    let inverse = first.inverse().ok_or_else(flat)?;
    let second = Triangle::of(&Gram::turned(problem, &x, columns, &inverse), columns);
    let inverse = &inverse * second.inverse().ok_or_else(flat)?;
    if inverse.iter().any(|it| !it.is_finite()) {
        return Err(flat());
    }
    let left = &inverse * second.residuals.rows(0, n);
    let scaled = |by: &dyn Fn(usize) -> f64| {
        (0..n).map(|at| (gram.diagonal(columns[at]).sqrt() * by(at)).powi(2)).sum::<f64>().sqrt()
    };
    if scaled(&|at| left[at]) > LEFT * scaled(&|at| x[columns[at]]) {
        return Err(PhysicsError::not_converged("the least-squares search ended on no minimum"));
    }
    let degrees_of_freedom = problem.count() - n;
    #[expect(clippy::cast_precision_loss, reason = "a count of rows is far below 2^53")]
    let variance = gram.rss / degrees_of_freedom as f64;
    let mut covariance = [[0.0; P]; P];
    for (a, &row) in columns.iter().enumerate() {
        for (b, &column) in columns.iter().enumerate() {
            covariance[row][column] = variance * inverse.row(a).dot(&inverse.row(b));
        }
    }
    let singular = inverse.singular_values();
    let condition = (singular.max() / singular.min()).powi(2);
    Ok(Minimum { x, rss: gram.rss, degrees_of_freedom, covariance, condition })
}

/// The products of the columns of [J r] with each other.
struct Gram<const P: usize> {
    /// JᵀJ, its upper half.
    jj: [[f64; P]; P],
    /// Jᵀr.
    jr: [f64; P],
    /// rᵀr.
    rss: f64,
}

impl<const P: usize> Gram<P> {
    const ZERO: Self = Self { jj: [[0.0; P]; P], jr: [0.0; P], rss: 0.0 };

    fn at<R: Residuals<P>>(problem: &R, x: &[f64; P]) -> Self {
        let mut sums = Self::ZERO;
        problem.visit(x, |residual, gradient| sums.add(residual, gradient));
        sums
    }

    /// That of [JT r], T square and upper triangular over the free columns.
    fn turned<R: Residuals<P>>(
        problem: &R,
        x: &[f64; P],
        columns: &[usize],
        by: &DMatrix<f64>,
    ) -> Self {
        let mut sums = Self::ZERO;
        problem.visit(x, |residual, gradient| {
            let mut turned = [0.0; P];
            for (b, &column) in columns.iter().enumerate() {
                turned[column] = (0..=b).map(|a| gradient[columns[a]] * by[(a, b)]).sum();
            }
            sums.add(residual, &turned);
        });
        sums
    }

    #[inline(always)]
    fn add(&mut self, residual: f64, gradient: &[f64; P]) {
        for a in 0..P {
            for b in a..P {
                self.jj[a][b] += gradient[a] * gradient[b];
            }
            self.jr[a] += gradient[a] * residual;
        }
        self.rss += residual * residual;
    }

    fn diagonal(&self, column: usize) -> f64 {
        self.jj[column][column]
    }

    fn is_finite(&self) -> bool {
        self.rss.is_finite() && self.jj.as_flattened().iter().all(|it| it.is_finite())
    }
}

/// The triangle R of [J r] = QR over the free columns, split into that of J and Qᵀr.
struct Triangle {
    jacobian: DMatrix<f64>,
    residuals: DVector<f64>,
    full_rank: bool,
}

impl Triangle {
    /// By Cholesky's decomposition, which needs no scaling of columns. A column without a direction
    /// of its own gets a row of zeros, as it would in an exact decomposition.
    fn of<const P: usize>(gram: &Gram<P>, columns: &[usize]) -> Self {
        let n = columns.len();
        let mut r = DMatrix::zeros(n + 1, n);
        let mut y = DVector::zeros(n + 1);
        let mut full_rank = true;
        let mut rest = gram.rss;
        for a in 0..n {
            let own = gram.diagonal(columns[a]);
            let pivot = own - (0..a).map(|i| r[(i, a)] * r[(i, a)]).sum::<f64>();
            if pivot.is_nan() || pivot <= RANK * own {
                full_rank = false;
                continue;
            }
            let pivot = pivot.sqrt();
            r[(a, a)] = pivot;
            for b in a + 1..n {
                let known: f64 = (0..a).map(|i| r[(i, a)] * r[(i, b)]).sum();
                r[(a, b)] = (gram.jj[columns[a]][columns[b]] - known) / pivot;
            }
            let known: f64 = (0..a).map(|i| r[(i, a)] * y[i]).sum();
            y[a] = (gram.jr[columns[a]] - known) / pivot;
            rest -= y[a] * y[a];
        }
        y[n] = rest.max(0.0).sqrt();
        Self { jacobian: r, residuals: y, full_rank }
    }

    fn inverse(&self) -> Option<DMatrix<f64>> {
        let n = self.jacobian.ncols();
        let mut inverse = DMatrix::identity(n, n);
        self.jacobian.rows(0, n).solve_upper_triangular_mut(&mut inverse).then_some(inverse)
    }
}

/// The problem as the search sees it: the free parameters and the triangle at them.
struct Search<'a, const P: usize, R> {
    problem: &'a R,
    x: [f64; P],
    columns: &'a [usize],
    triangle: Triangle,
}

impl<const P: usize, R: Residuals<P>> LeastSquaresProblem<f64, Dyn, Dyn> for Search<'_, P, R> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        for (&at, &value) in self.columns.iter().zip(x.iter()) {
            self.x[at] = value;
        }
        self.triangle = Triangle::of(&Gram::at(self.problem, &self.x), self.columns);
    }

    fn params(&self) -> DVector<f64> {
        DVector::from_iterator(self.columns.len(), self.columns.iter().map(|&at| self.x[at]))
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.triangle.residuals.clone())
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        Some(self.triangle.jacobian.clone())
    }
}
