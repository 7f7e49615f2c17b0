//! The law of propagation of uncertainty: what the uncertainties of the inputs make of a result.
//!
//! All uncertainties are standard (k = 1). Valid to first order: the result must be nearly straight
//! over a few standard uncertainties of each input. Source: JCGM 100:2008 (the GUM), clause 5 for
//! the law, 5.2.3 for the covariance of means (clause numbers from memory).

use nalgebra::DMatrix;

use crate::error::{PhysicsError, Result, finite, finite_result, non_negative, positive_result};

/// How far rounding may carry a correlation beyond ±1, a pair of mirrored covariances apart, or a
/// variance below zero, as a fraction of the variances involved.
const ROUNDING: f64 = 1e-9;

/// One factor of a product of powers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// Its value, not 0.
    pub value: f64,
    /// Its standard uncertainty, in the unit of the value.
    pub u: f64,
    /// The power it enters with.
    pub power: f64,
}

/// A value with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertain {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty, in the unit of the value.
    pub u: f64,
    /// The uncertainty as a fraction of the value, without sign.
    pub rel_u: f64,
}

/// The product y = Π xᵢ^aᵢ of independent terms, with (u/y)² = Σ (aᵢ·uᵢ/xᵢ)².
///
/// A negative value takes a whole power only, since another has no real result. Source: JCGM
/// 100:2008, 5.1.6 (clause number from memory).
///
/// # Errors
/// `OutOfDomain` naming the place, as in `terms[0].u`, for no terms at all, a value of 0, a negative
/// uncertainty, a broken power of a negative value, or what is not finite; naming `value` or `u`
/// when the result leaves the range of numbers.
///
/// ```
/// use physics::uncertainty::{Term, product};
/// // Area of a cone from its diameter: 1 % of the diameter is 2 % of the area.
/// let quarter_pi = Term { value: std::f64::consts::FRAC_PI_4, u: 0.0, power: 1.0 };
/// let diameter = Term { value: 0.130, u: 0.0013, power: 2.0 };
/// let area = product(&[quarter_pi, diameter])?;
/// assert!((area.value - 0.013273).abs() < 1e-6);
/// assert!((area.rel_u - 0.02).abs() < 1e-12);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn product(terms: &[Term]) -> Result<Uncertain> {
    if terms.is_empty() {
        return Err(PhysicsError::out_of_domain("terms", "a product needs at least one term"));
    }
    let mut value = 1.0;
    let mut rel_u = 0.0_f64;
    for (index, term) in terms.iter().enumerate() {
        let place = |member: &str| format!("terms[{index}].{member}");
        let factor = finite(&place("value"), term.value)?;
        let power = finite(&place("power"), term.power)?;
        let u = non_negative(&place("u"), term.u)?;
        if factor == 0.0 {
            return Err(PhysicsError::out_of_domain(
                place("value"),
                "0 has no relative uncertainty",
            ));
        }
        if factor < 0.0 && power.fract() != 0.0 {
            return Err(PhysicsError::out_of_domain(
                place("power"),
                format!("{power} is not a whole number, and the value {factor} is negative"),
            ));
        }
        value *= factor.powf(power);
        rel_u = rel_u.hypot(power * (u / factor));
    }
    // A product of terms that are not 0 is 0 only by falling below the smallest number.
    let size = positive_result("value", value.abs())?;
    Ok(Uncertain {
        value,
        u: finite_result("u", rel_u * size)?,
        rel_u: finite_result("rel_u", rel_u)?,
    })
}

/// The combined standard uncertainty of one result: u² = Σᵢ Σⱼ cᵢ·cⱼ·u(xᵢ, xⱼ), with the
/// sensitivities cᵢ = ∂f/∂xᵢ and the covariance matrix of the inputs.
///
/// # Errors
/// As [`propagate`].
///
/// ```
/// use nalgebra::DMatrix;
/// use physics::uncertainty::combined;
/// // A sum of two inputs that always move together: uncertainties add.
/// let u = combined(&[1.0, 1.0], &DMatrix::from_row_slice(2, 2, &[9.0, 12.0, 12.0, 16.0]))?;
/// assert!((u - 7.0).abs() < 1e-12);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn combined(sensitivities: &[f64], covariance: &DMatrix<f64>) -> Result<f64> {
    let row = DMatrix::from_row_slice(1, sensitivities.len(), sensitivities);
    Ok(propagate(&row, covariance)?[(0, 0)].sqrt())
}

/// The covariance matrix of several results of the same inputs: J·V·Jᵀ, with one row of
/// sensitivities a result in J and the covariance matrix V of the inputs.
///
/// Source: JCGM 100:2008, H.2.3 and JCGM 102:2011, 6.2 (clause numbers from memory).
///
/// # Errors
/// `Inconsistent` when the shapes do not fit, or V is not the covariance of anything: not symmetric,
/// a correlation beyond ±1, or a result of negative variance. `OutOfDomain` for no inputs, a
/// negative variance, or what is not finite.
///
/// ```
/// use nalgebra::DMatrix;
/// use physics::uncertainty::propagate;
/// // Sum and difference of two independent inputs of equal uncertainty do not correlate.
/// let both = DMatrix::from_row_slice(2, 2, &[1.0, 1.0, 1.0, -1.0]);
/// let v = propagate(&both, &(DMatrix::identity(2, 2) * 0.5))?;
/// assert!((v[(0, 0)] - 1.0).abs() < 1e-15 && v[(0, 1)].abs() < 1e-15);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn propagate(sensitivities: &DMatrix<f64>, covariance: &DMatrix<f64>) -> Result<DMatrix<f64>> {
    let inputs = sensitivities.ncols();
    if inputs == 0 || sensitivities.nrows() == 0 {
        return Err(PhysicsError::out_of_domain("sensitivities", "there are none"));
    }
    if covariance.shape() != (inputs, inputs) {
        return Err(PhysicsError::inconsistent(
            "covariance",
            format!(
                "{inputs} sensitivities need a {inputs} x {inputs} matrix, not {} x {}",
                covariance.nrows(),
                covariance.ncols()
            ),
        ));
    }
    for value in sensitivities {
        finite("sensitivities", *value)?;
    }
    check_covariance(covariance)?;
    let mut result = sensitivities * covariance * sensitivities.transpose();
    for (index, row) in sensitivities.row_iter().enumerate() {
        // The largest variance that these inputs can give, against which rounding is measured.
        let bound: f64 =
            row.iter().zip(covariance.diagonal().iter()).map(|(c, v)| c.abs() * v.sqrt()).sum();
        let variance = finite_result("variance", result[(index, index)])?;
        if variance < -ROUNDING * bound * bound {
            return Err(PhysicsError::inconsistent(
                "covariance",
                format!("result {index} would have the variance {variance}, below 0"),
            ));
        }
        result[(index, index)] = variance.max(0.0);
    }
    for value in &result {
        finite_result("covariance", *value)?;
    }
    Ok(result)
}

/// The covariance matrix of the means of quantities that were observed together: for n sets of
/// observations, s(q̄, r̄) = Σ (qₖ − q̄)(rₖ − r̄)/(n·(n − 1)).
///
/// `samples` holds one list a quantity, in the order of observation. Source: JCGM 100:2008, 5.2.3,
/// equation 17 (number from memory).
///
/// # Errors
/// `OutOfDomain` for no quantities, fewer than 2 observations, or a value that is not finite, with
/// its place as in `samples[1][3]`; `Inconsistent` when the lists differ in length.
///
/// ```
/// use physics::uncertainty::covariance_of_means;
/// let v = covariance_of_means(&[&[1.0, 2.0, 3.0], &[6.0, 4.0, 2.0]])?;
/// assert!((v[(0, 0)] - 1.0 / 3.0).abs() < 1e-15);
/// assert!((v[(0, 1)] + 2.0 / 3.0).abs() < 1e-15);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn covariance_of_means(samples: &[&[f64]]) -> Result<DMatrix<f64>> {
    let Some(first) = samples.first() else {
        return Err(PhysicsError::out_of_domain("samples", "there are none"));
    };
    let n = first.len();
    if n < 2 {
        return Err(PhysicsError::out_of_domain(
            "samples",
            format!("{n} observations do not show a spread; at least 2 do"),
        ));
    }
    for (i, list) in samples.iter().enumerate() {
        if list.len() != n {
            return Err(PhysicsError::inconsistent(
                format!("samples[{i}]"),
                format!("it holds {} observations and samples[0] holds {n}", list.len()),
            ));
        }
        for (k, value) in list.iter().enumerate() {
            finite(&format!("samples[{i}][{k}]"), *value)?;
        }
    }
    let deviations: Vec<Vec<f64>> = samples.iter().map(|list| deviations(list)).collect();
    let pairs = count(n) * count(n - 1);
    let covariance = DMatrix::from_fn(samples.len(), samples.len(), |i, j| {
        let (a, b) = (&deviations[i], &deviations[j]);
        a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / pairs
    });
    for value in &covariance {
        finite_result("covariance", *value)?;
    }
    Ok(covariance)
}

/// Distances from the mean. The mean is taken of differences to the first observation, so that
/// values that differ in their last digits keep them.
fn deviations(list: &[f64]) -> Vec<f64> {
    let origin = list.first().copied().unwrap_or_default();
    let mean = list.iter().map(|x| x - origin).sum::<f64>() / count(list.len());
    list.iter().map(|x| x - origin - mean).collect()
}

#[expect(clippy::cast_precision_loss, reason = "no list in memory is longer than 2^53")]
fn count(n: usize) -> f64 {
    n as f64
}

fn check_covariance(covariance: &DMatrix<f64>) -> Result<()> {
    let variances = covariance.diagonal();
    for (i, variance) in variances.iter().enumerate() {
        non_negative(&format!("covariance[{i}][{i}]"), *variance)?;
    }
    for (i, a) in variances.iter().enumerate() {
        for (j, b) in variances.iter().enumerate().skip(i + 1) {
            let here = finite(&format!("covariance[{i}][{j}]"), covariance[(i, j)])?;
            let mirrored = finite(&format!("covariance[{j}][{i}]"), covariance[(j, i)])?;
            let limit = a.sqrt() * b.sqrt();
            if (here - mirrored).abs() > ROUNDING * limit {
                return Err(PhysicsError::inconsistent(
                    format!("covariance[{i}][{j}]"),
                    format!("it is {here} and covariance[{j}][{i}] is {mirrored}"),
                ));
            }
            if here.abs() > limit * (1.0 + ROUNDING) {
                return Err(PhysicsError::inconsistent(
                    format!("covariance[{i}][{j}]"),
                    format!("{here} makes a correlation beyond ±1"),
                ));
            }
        }
    }
    Ok(())
}
