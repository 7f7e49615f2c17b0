//! Which of many products can be among the first in a draw of weights, by whole numbers of eight bits.
//!
//! Processors that multiply numbers of eight bits by fours and add them up do in one instruction what takes four in f32. [`Points`]
//! makes such numbers of points and weights and says by how much scores made of them can be wrong; [`Sieve`] leaves those products
//! that cannot be told from the first ones. It leaves some dozens of ten thousand, and never loses one.
//!
//! Pure: no files, no clock. It is a crate of its own since three places of it cannot be safe: the call of functions that were compiled
//! for more than every processor has, right after the processor was asked; a loop of instructions for matrices, which the standard
//! library does not offer in stable form; and the call that asks the system for their registers.
#![deny(unsafe_code)]

#[cfg(target_arch = "x86_64")]
mod amx;
#[cfg(target_arch = "x86_64")]
mod list;
mod points;
mod sieve;
#[cfg(test)]
mod tests;
#[cfg(target_arch = "x86_64")]
mod vnni;

pub use points::{PART, Part, Points, Scale};
pub use sieve::{DEEPEST, DRAWS, Reached, Sieve, has_matrices, is_there};
