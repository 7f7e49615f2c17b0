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

/// A plugin that is given whole batches. One that scores each row by itself is a [`RowScorer`], which is less to write.
///
/// ```
/// use bw_sdk::{Batch, Scorer, Sink, testing};
///
/// /// How far each row lies above the lowest of the batch.
/// struct AboveLowest;
///
/// impl Scorer for AboveLowest {
///     const MANIFEST: &'static str = r#"{
///         "abi": {"major": 1, "minor": 0}, "id": "org.example.mass", "subsystem": "mass", "version": "1.0.0",
///         "name": "Mass", "vendor": "Example", "licence": "MIT", "rubric": "mass 1",
///         "inputs": [{"id": "woofer.driver_mass", "kind": "number", "unit": "kg"}],
///         "criteria": [{"id": "above", "title": "Above the lightest", "unit": "kg", "better": "higher",
///             "range": [0, null], "weight": 1, "inputs": ["woofer.driver_mass"],
///             "utility": {"scale": "linear", "points": [[0, 0], [1, 100]]},
///             "doc": "Mass above that of the lightest.", "source": "editorial"}],
///         "batch": "relative", "deterministic": true
///     }"#;
///
///     fn new(_params: &[f64]) -> Result<Self, String> {
///         Ok(AboveLowest)
///     }
///
///     fn evaluate(&mut self, batch: &Batch<'_>, sink: &mut Sink<'_>) -> Result<(), String> {
///         let kg = |row| batch.scalar(0, row);
///         let lowest = (0..batch.n_rows).filter_map(kg).fold(f64::INFINITY, f64::min);
///         for row in 0..batch.n_rows {
///             if let Some(kg) = kg(row) {
///                 sink.score(row, 0, kg - lowest);
///             }
///         }
///         Ok(())
///     }
/// }
///
/// let rows: &[&[_]] = &[&[("woofer.driver_mass", 1.5)], &[("woofer.driver_mass", 2.0)], &[]];
/// let outcome = testing::run::<AboveLowest>(&[], rows).unwrap();
/// assert_eq!([outcome.score(0, "above"), outcome.score(1, "above")], [0.0, 0.5]);
/// assert!(outcome.score(2, "above").is_nan());
/// ```
pub trait Scorer: Sized + Send + 'static {
    /// The manifest, usually `include_str!("../manifest.json")`.
    const MANIFEST: &'static str;

    /// Makes an instance from the parameters, in the order and the units of the manifest.
    ///
    /// # Errors
    /// A text when the parameters are not what the manifest declares. The host gets `BW_E_INPUT`.
    fn new(params: &[f64]) -> Result<Self, String>;

    /// Scores all rows of a batch. A row with a missing input stays unscored; it is not an error. A batch may have no
    /// rows, and unless the manifest says `relative` it may be any part of what is asked.
    ///
    /// # Errors
    /// A text when the batch as a whole cannot be scored. The host gets `BW_E_OTHER`, throws the instance away and shows
    /// the text.
    fn evaluate(&mut self, batch: &Batch<'_>, sink: &mut Sink<'_>) -> Result<(), String>;
}

/// Exports one or several [`Scorer`]s from a library of type `cdylib`: the one function that the host
/// looks for. The program uses the first of a library.
///
/// ```
/// # use bw_sdk::{Row, RowScorer, RowSink, export_plugins};
/// # struct Wall;
/// # impl RowScorer for Wall {
/// #     const MANIFEST: &'static str = "{}";
/// #     fn new(_params: &[f64]) -> Result<Self, String> { Ok(Wall) }
/// #     fn row(&self, _row: &Row<'_>, _out: &mut RowSink<'_, '_>) {}
/// # }
/// export_plugins!(Wall);
///
/// # fn main() {
/// assert!(!bw_plugin_v1(0).is_null());
/// assert!(bw_plugin_v1(1).is_null());
/// # }
/// ```
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
