//! What a scoring plugin for Boxworth is made with: the C interface, the manifest, and a safe layer for Rust.
//!
//! - [`abi`] mirrors `include/bw_plugin.h`, the contract for every language.
//! - [`manifest`] reads and checks the JSON text in which a plugin says what it reads and scores.
//! - With the feature `sdk` (on by default), [`RowScorer`] or [`Scorer`] and [`export_plugins!`] make a plugin without
//!   unsafe code, and [`testing`] runs it inside a unit test.
//!
//! It does not load plugins, and it does not turn measures into scores of products: the app does.
//! `boxworth plugin new NAME --lang rust` writes a plugin to begin with, and the `README.md` of this crate leads from
//! there to a scored price band.
//!
//! # Rules
//!
//! - Inputs come in the order of the manifest and in the units it declares; a choice is an index from 0, yes or no is
//!   1 or 0, what is missing is NaN.
//! - A score is a measure in the unit and range of its criterion, NaN ([`abi::NOT_SCORED`], where it stands already)
//!   when an input is missing, or [`abi::NOT_APPLICABLE`] when the criterion has no meaning for the product. Anything
//!   else makes the row faulty: the host shows it as not scored, with the reason.
//! - A row can be a random draw of a product. A number may then lie outside what can be measured, such as a length
//!   below 0: hold it to the range of the measure.
//! - What is wrong with one row is a remark or nothing; an error is for a whole call. Panics are caught: the call fails,
//!   and the instance is thrown away.
//! - The same inputs give the same bits when the manifest says `deterministic`, and a row is scored alike in any batch
//!   when it says `independent`.
//! - A call that takes longer asks [`Sink::should_stop`] at least every 100 ms; [`RowScorer`] does so between rows.
//!
//! # Example
//!
//! ```
//! use bw_sdk::{Row, RowScorer, RowSink, testing};
//!
//! struct Wall;
//!
//! impl RowScorer for Wall {
//!     const MANIFEST: &'static str = r#"{
//!         "abi": {"major": 1, "minor": 0}, "id": "org.example.wall", "subsystem": "wall", "version": "1.0.0",
//!         "name": "Wall", "vendor": "Example", "licence": "MIT", "rubric": "wall 1",
//!         "inputs": [{"id": "cabinet.wall", "kind": "number", "unit": "m"}],
//!         "criteria": [{"id": "thickness", "title": "Wall thickness", "unit": "mm", "better": "higher",
//!             "range": [0, null], "weight": 1, "inputs": ["cabinet.wall"],
//!             "utility": {"scale": "linear", "points": [[9, 0], [25, 100]]},
//!             "doc": "Thicker walls bend less.", "source": "editorial"}],
//!         "batch": "independent", "deterministic": true
//!     }"#;
//!
//!     fn new(_params: &[f64]) -> Result<Self, String> {
//!         Ok(Wall)
//!     }
//!
//!     fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
//!         out.score(0, row.number(0).map(|wall_m| wall_m * 1000.0));
//!     }
//! }
//!
//! let outcome = testing::run::<Wall>(&[], &[&[("cabinet.wall", 0.015)], &[]]).unwrap();
//! assert_eq!(outcome.score(0, "thickness"), 15.0);
//! assert!(outcome.score(1, "thickness").is_nan()); // Not scored.
//! ```
//!
//! In a library, which has `crate-type = ["cdylib"]`, `export_plugins!(Wall);` follows.

pub mod abi;
pub mod manifest;
#[cfg(feature = "sdk")]
pub mod sdk;

#[cfg(feature = "sdk")]
pub use sdk::{Batch, Input, Level, Row, RowScorer, RowSink, Scorer, Sink, params, testing};
