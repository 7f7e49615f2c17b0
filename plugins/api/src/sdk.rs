//! The safe layer: a plugin in Rust is a type that implements [`Scorer`] or [`RowScorer`], named in [`export_plugins!`](crate::export_plugins).

mod batch;
mod row;
mod shim;
mod sink;
pub mod testing;

pub use batch::{Batch, Input};
pub use row::{Row, RowScorer, RowSink, params};
pub use shim::{nth, table};
pub use sink::{Level, Sink};

/// A plugin.
pub trait Scorer: Sized + Send + 'static {
    /// The manifest, usually `include_str!("../manifest.json")`.
    const MANIFEST: &'static str;

    /// Makes an instance from the parameters, in the order of the manifest.
    ///
    /// # Errors
    /// A text when the parameters are not what the manifest declares.
    fn new(params: &[f64]) -> Result<Self, String>;

    /// Scores all rows of a batch. A row with a missing input stays unscored; it is not an error.
    ///
    /// # Errors
    /// A text when the batch as a whole cannot be scored.
    fn evaluate(&mut self, batch: &Batch<'_>, sink: &mut Sink<'_>) -> Result<(), String>;
}

/// Exports one or several [`Scorer`]s from a library of type `cdylib`.
#[macro_export]
macro_rules! export_plugins {
    ($($scorer:ty),+ $(,)?) => {
        /// The plugins of this library, one for each index from 0; null past the last.
        #[unsafe(no_mangle)]
        pub extern "C" fn bw_plugin_v1(index: u32) -> *const $crate::abi::Plugin {
            static TABLES: &[$crate::abi::Plugin] = &[$($crate::sdk::table::<$scorer>()),+];
            $crate::sdk::nth(TABLES, index)
        }
    };
}
