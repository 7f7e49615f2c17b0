//! Tables as data, and their text form for a terminal.
//!
//! This crate knows columns, widths and characters; what a table says is the caller's.
//! Pure: no I/O, no clock. Every text that goes in may come from a stranger's file, so all output passes through
//! [`harmless()`].
#![forbid(unsafe_code)]

mod fitting;
mod harmless;
mod table;
mod text;

pub use fitting::{cut, paragraph, width_of};
pub use harmless::harmless;
pub use table::{Align, Column, Fit, Row, Table};
pub use text::to_text;
