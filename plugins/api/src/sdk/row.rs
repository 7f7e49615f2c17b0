//! Plugins that score each product by itself.

use super::{Batch, Scorer, Sink};

/// A plugin that scores row by row. Every one is a [`Scorer`], which stops between two rows when the host asks. Its
/// manifest says `"batch": "independent"`. The page of the crate has an example.
pub trait RowScorer: Sized + Send + 'static {
    /// As [`Scorer::MANIFEST`].
    const MANIFEST: &'static str;

    /// As [`Scorer::new`].
    ///
    /// # Errors
    /// A text when the parameters are not what the manifest declares.
    fn new(params: &[f64]) -> Result<Self, String>;

    /// Scores one row, which is a product or a random draw of one. What is not scored counts as missing.
    fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>);
}

impl<T: RowScorer> Scorer for T {
    const MANIFEST: &'static str = <T as RowScorer>::MANIFEST;

    fn new(params: &[f64]) -> Result<Self, String> {
        <T as RowScorer>::new(params)
    }

    fn evaluate(&mut self, batch: &Batch<'_>, sink: &mut Sink<'_>) -> Result<(), String> {
        for row in 0..batch.n_rows {
            if sink.should_stop() {
                break;
            }
            self.row(&Row { batch, row }, &mut RowSink { sink, row });
        }
        Ok(())
    }
}

/// The parameters as an array, for [`RowScorer::new`].
///
/// # Errors
/// A text when there are not `N`.
///
/// ```
/// let [limit_mm, share] = bw_sdk::params(&[2.0, 0.5])?;
/// assert_eq!((limit_mm, share), (2.0, 0.5));
/// assert_eq!(bw_sdk::params::<1>(&[]), Err("wants 1 parameters, got 0".to_owned()));
/// # Ok::<(), String>(())
/// ```
pub fn params<const N: usize>(params: &[f64]) -> Result<[f64; N], String> {
    params.try_into().map_err(|_| format!("wants {N} parameters, got {}", params.len()))
}

/// The inputs of one row. All methods panic when there is no such input, which is a bug of the plugin: the call fails,
/// the process goes on.
#[derive(Debug)]
pub struct Row<'a> {
    batch: &'a Batch<'a>,
    row: usize,
}

impl<'a> Row<'a> {
    /// A number in the declared unit; `None` when it is missing or infinite, since an infinity would read as "not applicable" in a score.
    #[must_use]
    pub fn number(&self, input: usize) -> Option<f64> {
        self.batch.scalar(input, self.row).filter(|it| it.is_finite())
    }

    /// A choice as an index into the choices of the manifest, from 0; `None` when it is missing.
    #[must_use]
    pub fn choice(&self, input: usize) -> Option<usize> {
        self.batch.choice(input, self.row)
    }

    /// A yes or no; `None` when it is missing.
    #[must_use]
    pub fn flag(&self, input: usize) -> Option<bool> {
        self.batch.flag(input, self.row)
    }

    /// A curve as its grid and its values, in the declared units; `None` when there is no point or one is missing.
    #[must_use]
    pub fn curve(&self, input: usize) -> Option<(&'a [f64], &'a [f64])> {
        let curve = &self.batch.inputs[input];
        if curve.grid.is_empty() {
            return None;
        }
        let values = curve.row(self.row);
        let is_whole = values.iter().all(|it| !it.is_nan());
        is_whole.then_some((curve.grid, values))
    }
}

/// Takes what a plugin says about one row.
#[derive(Debug)]
pub struct RowSink<'a, 's> {
    sink: &'a mut Sink<'s>,
    row: usize,
}

impl RowSink<'_, '_> {
    /// Sets a criterion's measure, in its unit and range; `None` leaves it unscored, and
    /// [`NOT_APPLICABLE`](crate::abi::NOT_APPLICABLE) says that the criterion has no meaning for the row.
    ///
    /// # Panics
    /// As [`Sink::score`].
    pub fn score(&mut self, criterion: usize, measure: impl Into<Option<f64>>) {
        if let Some(measure) = measure.into() {
            self.sink.score(self.row, criterion, measure);
        }
    }

    /// Says something about the row, as [`Sink::remark`].
    pub fn remark(&mut self, code: usize, args: &[f64]) {
        self.sink.remark(self.row, code, args);
    }
}

/// Names the places of a manifest's lists: a module with one `usize` a name, in the order of the list, and `IDS`, the ids
/// they stand for, which a test holds against the manifest with [`testing::places`](crate::testing::places).
///
/// ```
/// bw_sdk::places! {
///     /// Inputs by their place in the manifest.
///     input { WALL = "cabinet.wall", SURFACE = "cabinet.surface" }
///     /// Criteria by their place in the manifest.
///     criterion { THICKNESS = "thickness" }
/// }
///
/// # fn main() {
/// assert_eq!((input::WALL, input::SURFACE, criterion::THICKNESS), (0, 1, 0));
/// assert_eq!(input::IDS, ["cabinet.wall", "cabinet.surface"]);
/// # }
/// ```
#[macro_export]
macro_rules! places {
    ($($(#[$doc:meta])* $list:ident { $($name:ident = $id:literal),+ $(,)? })+) => {
        $($(#[$doc])*
        mod $list {
            #[allow(non_camel_case_types, clippy::upper_case_acronyms, reason = "names of constants")]
            enum Place { $($name),+ }
            $(pub(super) const $name: usize = Place::$name as usize;)+
            #[allow(dead_code, reason = "a test reads it, and `params` its length")]
            pub(super) const IDS: &[&str] = &[$($id),+];
        })+
    };
}
