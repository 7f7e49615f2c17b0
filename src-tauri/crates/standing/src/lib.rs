//! From scores to statements about a price band.
//!
//! Utilities turn a physical quantity into points, [`index::subsystem`] and [`index::index`] turn points into an interval score,
//! [`effective::effective_price`] turns observed prices into one real price per pair, and [`band`], [`rank`], [`frontier`] and
//! [`summary`] say how products stand to each other. [`prevalence`] says what a count among those opened says about all.
//!
//! Pure: no I/O, no clock, no global state. Scores are points from 0 to 100, prices are whole currency units for two speakers.
//! A finding that is missing widens an interval; it is never filled in. No function given finite numbers returns NaN or an
//! infinity; what cannot be computed is an error that names the place and the accepted form.
//! Scores and prices are compared after [`rank::quantise`], so that the order of a sum never decides a rank.
#![forbid(unsafe_code)]

pub mod acceptability;
pub mod aggregate;
pub mod association;
pub mod band;
pub mod basis;
pub mod bootstrap;
pub mod claim;
pub mod confidence;
pub mod conformity;
pub mod cpi;
pub mod default_bands;
pub mod deflate;
pub mod dominance;
pub mod effective;
pub mod finite_population;
pub mod frontier;
pub mod gates;
pub mod gates_left;
pub mod index;
pub mod isotonic;
pub mod kernel;
pub mod lowess;
pub mod monte_carlo;
pub mod multiple;
pub mod next;
pub mod normal;
pub mod ols;
pub mod one_group;
pub mod order;
pub mod power_mean;
pub mod prevalence;
pub mod profile;
pub mod proportion;
pub mod rank;
pub mod sensitivity;
pub mod stability;
pub mod summary;
pub mod too_few;
pub mod two_groups;
pub mod two_shares;
pub mod utility;
pub mod value;
pub mod verdict;
pub mod weighting;

mod chunks;
mod offered;
mod permutation;
mod rank_sums;
mod ranks;
mod theil_sen;

#[cfg(test)]
mod fixture;
