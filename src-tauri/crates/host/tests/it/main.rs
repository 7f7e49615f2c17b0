//! The host against real workers and plugins that are compiled for the occasion. Needs `cc`.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail like tests")]

mod corpus;
mod files;
mod life;
mod memory;
mod modes;
mod sandbox;
mod session;
mod testing;
