//! Drives the real window: WebKit's own driver starts `boxworth-app` on a catalogue made for the test.
//!
//! Everything that a test starts or writes goes away with the value that stands for it, also when the test fails.
//! There must be a display; `xvfb-run` makes one.
#![forbid(unsafe_code)]

mod axe;
mod programs;
mod screens;
mod shelf;
mod window;

pub use axe::violations;
pub use programs::root;
pub use screens::{OPENED, screens};
pub use shelf::Shelf;
pub use window::{Look, Window};

/// What goes wrong in a test ends it, with the reason.
pub type Outcome<T = ()> = Result<T, Box<dyn std::error::Error>>;
