//! The memory that a host may share with a worker, so that large batches need not go through the pipe.
//!
//! The host makes two files in memory for each worker and hands them over as the first thing on the worker's standard
//! input, with one byte: [`WITH_MEMORY`] and the two descriptors, or [`WITHOUT_MEMORY`] alone. Each has two halves, so that
//! the host can write the next job and read the last one while a plugin works. A job has its inputs one after the other at
//! the start of a half of the first, and its scores at the start of the same half of the second.

/// Number of parts of each memory.
pub const HALVES: usize = 2;

/// Size of a half of the memory for inputs, in bytes.
pub const INPUT_BYTES: usize = 4 << 20;
/// Size of a half of the memory for scores, in bytes.
pub const SCORE_BYTES: usize = 2 << 20;
/// The byte that comes with two descriptors: that of the inputs, which can only be read, and that of the scores.
pub const WITH_MEMORY: u8 = 1;
/// The byte that comes alone.
pub const WITHOUT_MEMORY: u8 = 0;
