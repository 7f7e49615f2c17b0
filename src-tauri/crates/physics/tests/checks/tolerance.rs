//! How close is close enough, and how a miss is reported.

/// Relative tolerance of a check value.
pub(crate) const REL: f64 = 1e-6;
/// Absolute tolerance of a level near 0 dB.
pub(crate) const DB: f64 = 1e-6;
/// Relative tolerance of a frequency that the reference found by optimisation.
pub(crate) const OPTIMISED: f64 = 1e-4;
/// Warburton's closed form against a converged Ritz solution.
pub(crate) const WARBURTON: f64 = 5e-3;

/// Relative difference at most `tolerance`.
#[track_caller]
pub(crate) fn near(got: f64, want: f64, tolerance: f64) {
    let miss = ((got - want) / want).abs();
    assert!(miss <= tolerance, "{got} is not {want}: relative difference {miss:e}");
}

/// Absolute difference at most `tolerance`.
#[track_caller]
pub(crate) fn within(got: f64, want: f64, tolerance: f64) {
    let miss = (got - want).abs();
    assert!(miss <= tolerance, "{got} is not {want}: difference {miss:e}");
}
