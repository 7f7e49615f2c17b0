//! Tables and reviews as data, and the formats they are written in.
//!
//! [`Table`] is what a terminal shows; [`Report`] is what is published. This crate knows columns, characters and file
//! formats; what a table says is the caller's. Pure: no I/O, no clock. Every text that goes in may come from a stranger's
//! file: for reading it passes through [`harmless()`] or [`literal()`], for machines it is kept as it is and escaped as the
//! format demands.
#![forbid(unsafe_code)]

mod chart;
mod comma;
mod fitting;
mod harmless;
mod html;
mod linked;
mod literal;
mod markdown;
mod pdf;
mod png;
mod report;
mod svg;
mod table;
mod text;
mod typeface;
mod workbook;

pub use chart::{Anchor, Chart, Edge, Fill, Mark, Tone};
pub use comma::{to_csv, to_csvw};
pub use fitting::{cut, paragraph, width_of};
pub use harmless::harmless;
pub use html::to_html;
pub use linked::to_json_ld;
pub use literal::{literal, literal_line};
pub use markdown::to_markdown;
pub use pdf::to_pdf;
pub use png::to_png;
pub use report::{Asked, Block, Cell, DataColumn, DataTable, Datum, Item, Property, Report, What};
pub use svg::to_svg;
pub use table::{Align, Column, Fit, Row, Table};
pub use text::to_text;
pub use typeface::{Unwritable, printed_width, unwritable};
pub use workbook::to_xlsx;
