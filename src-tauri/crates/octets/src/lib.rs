//! Which of many products can be among the first in a draw of weights, by whole numbers of eight bits.
//!
//! Processors that multiply numbers of eight bits by fours and add them up do in one instruction what takes four in f32. [`Points`]
//! makes such numbers of points and weights and says by how much scores made of them can be wrong; [`Sieve`] leaves those products
//! that cannot be told from the first ones. It leaves some dozens of ten thousand, and never loses one.
//!
//! Pure: no files, no clock. It is a crate of its own since one line of it cannot be safe: the call of a function that was compiled
//! for more than every processor has, right after the processor was asked.
#![deny(unsafe_code)]

#[cfg(target_arch = "x86_64")]
mod list;
mod points;
mod sieve;
#[cfg(test)]
mod tests;
#[cfg(target_arch = "x86_64")]
mod vnni;

pub use points::Points;
pub use sieve::{DEEPEST, DRAWS, Reached, Sieve, is_there};
