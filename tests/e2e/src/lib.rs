//! The real window under WebDriver, and the command line beside it.
//!
//! Everything runs on a catalogue of its own, made by the command line from the seed folder.

mod axe;
mod programs;
mod shelf;
mod window;

pub use axe::violations;
pub use shelf::Shelf;
pub use window::{Look, Window};

/// What a test ends in: any fault fails it with its own words.
pub type Outcome<T = ()> = Result<T, Box<dyn std::error::Error>>;
