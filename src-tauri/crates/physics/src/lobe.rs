//! Lobing: two drivers one above the other, in phase, cancel at some angle off their common axis.

use crate::air::Air;
use crate::error::{Result, positive, positive_result};

/// Distance between the centres (m) in wavelengths at a frequency (Hz): d·f/c. Above 1 at the
/// crossover is a caution (common practice, no source).
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
///
/// ```
/// let spacing = physics::lobe::spacing_wavelengths(0.160, 3000.0, &physics::air::AIR20)?;
/// assert!((spacing - 1.3986).abs() < 1e-4);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn spacing_wavelengths(spacing_m: f64, f_hz: f64, air: &Air) -> Result<f64> {
    let spacing = positive("spacing_m", spacing_m)?;
    positive_result("spacing_wavelengths", spacing * positive("f_hz", f_hz)? / air.c_m_s())
}

/// Angle above and below the axis, degrees, where two equal sources in phase first cancel:
/// θ = asin(c/(2·f·d)). None when they are closer than half a wavelength.
///
/// Valid in the far field, for drivers of equal level and phase at `f_hz`, as at the crossover of a
/// Linkwitz-Riley pair. Derived from a path difference of half a wavelength.
///
/// # Errors
/// `OutOfDomain` when an input is not positive and finite.
///
/// ```
/// use physics::{air::AIR20, lobe::first_null_deg};
/// let null = first_null_deg(0.160, 3000.0, &AIR20)?;
/// assert!(null.is_some_and(|deg| (deg - 20.94674).abs() < 1e-5));
/// assert_eq!(first_null_deg(0.050, 3000.0, &AIR20)?, None);
/// # Ok::<(), physics::PhysicsError>(())
/// ```
pub fn first_null_deg(spacing_m: f64, f_hz: f64, air: &Air) -> Result<Option<f64>> {
    let sine = 0.5 / spacing_wavelengths(spacing_m, f_hz, air)?;
    Ok((sine <= 1.0).then(|| sine.asin().to_degrees()))
}
