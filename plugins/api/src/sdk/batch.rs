//! What a call brings: inputs by row.

use std::slice;

use crate::abi;

/// One input for all rows, in the unit the manifest declares.
#[derive(Debug, Clone, Copy)]
pub struct Input<'a> {
    /// Abscissae of a curve, in its `x_unit`; empty for a scalar.
    pub grid: &'a [f64],
    values: &'a [f64],
}

impl<'a> Input<'a> {
    /// The values of one row: one for a scalar, as many as `grid` for a curve. What is missing is NaN.
    ///
    /// # Panics
    /// When there is no such row, which is a bug of the plugin: the call fails, the process goes on.
    #[must_use]
    pub fn row(&self, row: usize) -> &'a [f64] {
        let width = self.grid.len().max(1);
        &self.values[row * width..(row + 1) * width]
    }
}

/// What one call evaluates. Numbers are in the units of the manifest.
#[derive(Debug)]
pub struct Batch<'a> {
    /// Number of rows.
    pub n_rows: usize,
    /// Number of criteria.
    pub n_criteria: usize,
    /// Inputs in the order of the manifest.
    pub inputs: Vec<Input<'a>>,
}

impl Batch<'_> {
    /// A scalar input of one row; `None` when it is missing.
    ///
    /// # Panics
    /// When the input or the row does not exist, which is a bug of the plugin: the call fails, the process goes on.
    #[must_use]
    pub fn scalar(&self, input: usize, row: usize) -> Option<f64> {
        let value = self.inputs[input].row(row)[0];
        (!value.is_nan()).then_some(value)
    }

    /// A choice of one row as an index into the choices of the manifest, from 0; `None` when it is missing.
    ///
    /// # Panics
    /// As [`Batch::scalar`].
    #[must_use]
    pub fn choice(&self, input: usize, row: usize) -> Option<usize> {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "`as` saturates, a choice is small"
        )]
        self.scalar(input, row).map(|value| value as usize)
    }

    /// A yes or no of one row; `None` when it is missing.
    ///
    /// # Panics
    /// As [`Batch::scalar`].
    #[must_use]
    pub fn flag(&self, input: usize, row: usize) -> Option<bool> {
        self.scalar(input, row).map(|value| 0.5 <= value)
    }
}

/// Takes a raw batch over, or says what is wrong with it.
///
/// # Safety
/// `raw` is not null and keeps the promises of the header: its pointers hold as many elements as it says, for the time of `'a`.
pub(super) unsafe fn from_raw<'a>(
    raw: *const abi::Batch,
) -> Result<(Batch<'a>, &'a mut [f64]), String> {
    // SAFETY: not null, says the caller.
    let raw = unsafe { &*raw };
    if raw.struct_size < abi::size_of_u32::<abi::Batch>() {
        return Err(format!("a batch of {} bytes is too short", raw.struct_size));
    }
    let n_scores = raw.n_rows.checked_mul(raw.n_criteria).ok_or("the batch is too large")?;
    let mut inputs = Vec::new();
    // SAFETY: the caller vouches for `inputs`.
    for &input in unsafe { view(raw.inputs, raw.n_inputs as usize) }? {
        if input.is_null() {
            return Err("an input is null".to_owned());
        }
        // SAFETY: not null, and the caller vouches for each element.
        let input = unsafe { &*input };
        let is_curve = input.kind == abi::KIND_CURVE;
        let n_values = raw.n_rows.checked_mul(if is_curve { input.n_points } else { 1 });
        let n_values = n_values.ok_or("the batch is too large")?;
        // SAFETY: the caller vouches for `grid`.
        let grid = if is_curve { unsafe { view(input.grid, input.n_points) }? } else { &[] };
        // SAFETY: the caller vouches for `values`.
        let values = unsafe { view(input.values, n_values) }?;
        inputs.push(Input { grid, values });
    }
    let scores: &mut [f64] = if n_scores == 0 {
        &mut []
    } else if raw.scores.is_null() {
        return Err("the batch has no room for scores".to_owned());
    } else {
        // SAFETY: not null, and the caller vouches for the length; nothing else refers to the scores during a call.
        unsafe { slice::from_raw_parts_mut(raw.scores, n_scores) }
    };
    Ok((Batch { n_rows: raw.n_rows, n_criteria: raw.n_criteria, inputs }, scores))
}

/// A slice from a pointer that may be null when it is empty.
///
/// # Safety
/// `ptr` holds `len` elements for the time of `'a`, unless it is null.
pub(super) unsafe fn view<'a, T>(ptr: *const T, len: usize) -> Result<&'a [T], String> {
    match (len, ptr.is_null()) {
        (0, _) => Ok(&[]),
        (_, true) => Err("an array of the batch is null".to_owned()),
        // SAFETY: not null, and the caller vouches for the length.
        (_, false) => Ok(unsafe { slice::from_raw_parts(ptr, len) }),
    }
}
