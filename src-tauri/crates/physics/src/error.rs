//! Why a quantity cannot be computed, and the checks that decide it.

/// The result of every fallible calculation in this crate.
pub type Result<T> = std::result::Result<T, PhysicsError>;

/// Why a quantity cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PhysicsError {
    /// A value that the calculation needs was not given.
    #[error("{field} is missing")]
    Missing {
        /// The value that is absent.
        field: String,
    },
    /// A value lies outside the range in which the formula means anything.
    #[error("{field} is out of its domain: {why}")]
    OutOfDomain {
        /// The value at fault, or the result that left the range of numbers.
        field: String,
        /// What is accepted.
        why: String,
    },
    /// Two or more values contradict each other.
    #[error("{field} is inconsistent: {relation}{}", z.map(|z| format!(" (z = {z:.2})")).unwrap_or_default())]
    Inconsistent {
        /// The value or part at fault.
        field: String,
        /// The relation that does not hold.
        relation: String,
        /// How many standard uncertainties it misses by, where uncertainties are known.
        z: Option<f64>,
    },
    /// A search ended without an answer.
    #[error("no solution found: {why}")]
    NotConverged {
        /// What was searched for and how it failed.
        why: String,
    },
    /// The question does not apply to this object.
    #[error("not applicable: {why}")]
    NotApplicable {
        /// Why not.
        why: String,
    },
}

impl PhysicsError {
    pub(crate) fn out_of_domain(field: impl Into<String>, why: impl Into<String>) -> Self {
        Self::OutOfDomain { field: field.into(), why: why.into() }
    }

    pub(crate) fn inconsistent(field: impl Into<String>, relation: impl Into<String>) -> Self {
        Self::Inconsistent { field: field.into(), relation: relation.into(), z: None }
    }

    pub(crate) fn not_applicable(why: impl Into<String>) -> Self {
        Self::NotApplicable { why: why.into() }
    }

    pub(crate) fn not_converged(why: impl Into<String>) -> Self {
        Self::NotConverged { why: why.into() }
    }
}

/// Accepts a number greater than zero and finite.
///
/// # Errors
/// [`PhysicsError::OutOfDomain`] naming `field` for zero, negatives, infinities and NaN.
///
/// ```
/// assert!(physics::error::positive("re_ohm", 5.6).is_ok());
/// assert!(physics::error::positive("re_ohm", f64::NAN).is_err());
/// ```
pub fn positive(field: &str, value: f64) -> Result<f64> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(PhysicsError::out_of_domain(
            field,
            format!("{value} is not a finite number greater than 0"),
        ))
    }
}

/// Accepts zero or a positive finite number.
///
/// # Errors
/// [`PhysicsError::OutOfDomain`] naming `field` otherwise.
pub fn non_negative(field: &str, value: f64) -> Result<f64> {
    if value.is_finite() && value >= 0.0 {
        Ok(value)
    } else {
        Err(PhysicsError::out_of_domain(field, format!("{value} is not a finite number from 0 up")))
    }
}

/// Accepts any finite number.
///
/// # Errors
/// [`PhysicsError::OutOfDomain`] naming `field` for infinities and NaN.
pub fn finite(field: &str, value: f64) -> Result<f64> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(PhysicsError::out_of_domain(field, format!("{value} is not a finite number")))
    }
}

/// Accepts a count of at least one.
///
/// # Errors
/// [`PhysicsError::OutOfDomain`] naming `field` for zero.
pub fn at_least_one(field: &str, count: u32) -> Result<f64> {
    if count == 0 {
        return Err(PhysicsError::out_of_domain(field, "a count starts at 1"));
    }
    Ok(f64::from(count))
}

/// Accepts a result that must be positive: inputs far outside practice can underflow or overflow
/// it.
pub(crate) fn positive_result(name: &str, value: f64) -> Result<f64> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(beyond_numbers(name)) }
}

/// Accepts a result that may have any sign.
pub(crate) fn finite_result(name: &str, value: f64) -> Result<f64> {
    if value.is_finite() { Ok(value) } else { Err(beyond_numbers(name)) }
}

fn beyond_numbers(name: &str) -> PhysicsError {
    PhysicsError::out_of_domain(
        name,
        "the inputs are so far apart that the result is beyond the range of numbers",
    )
}
