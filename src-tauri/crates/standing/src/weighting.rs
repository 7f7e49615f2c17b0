//! Draws of the weights of subsystems.

/// Draws of weights: one row a draw, each summing to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Weightings {
    n_parts: usize,
    values: Vec<f64>,
}

/// Rows that are no draws of weights. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadWeighting {
    /// No row, or rows without a weight.
    #[error("there are no weights; give at least one row of at least one weight")]
    Empty,
    /// A row of another length than the first.
    #[error("row {place} has {found} weights; the first has {wanted}")]
    Lengths {
        /// Which row.
        place: usize,
        /// How many weights it has.
        found: usize,
        /// How many the first has.
        wanted: usize,
    },
    /// A weight that is none.
    #[error("row {place} has the weight {weight}; write a number from 0 to 1")]
    Weight {
        /// Which row.
        place: usize,
        /// The weight found.
        weight: f64,
    },
    /// Weights that had to be shares and are not.
    #[error("the weights of row {place} sum to {sum}; they must sum to 1 within 1e-9")]
    Sum {
        /// Which row.
        place: usize,
        /// Their sum.
        sum: f64,
    },
    /// A concentration that is none.
    #[error("the concentration {kappa} is out of range; give a finite number above 0")]
    Concentration {
        /// The concentration found.
        kappa: f64,
    },
}

impl Weightings {
    /// Weights as given, one row a draw.
    ///
    /// # Errors
    /// [`BadWeighting`] for no rows, rows of different lengths, a weight outside 0 to 1, or a row that does not sum to 1
    /// within 1e-9.
    pub fn from_rows(rows: &[Vec<f64>]) -> Result<Self, BadWeighting> {
        let n_parts = rows.first().map_or(0, Vec::len);
        if n_parts == 0 {
            return Err(BadWeighting::Empty);
        }
        for (place, row) in (1..).zip(rows) {
            check(place, row, n_parts)?;
        }
        Ok(Weightings { n_parts, values: rows.concat() })
    }

    /// How many weights a draw has.
    #[must_use]
    pub fn n_parts(&self) -> usize {
        self.n_parts
    }

    /// How many draws there are.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.values.len() / self.n_parts
    }

    /// The weights of draw `d`, which is below [`Weightings::draws`].
    #[must_use]
    pub fn row(&self, d: usize) -> &[f64] {
        &self.values[d * self.n_parts..(d + 1) * self.n_parts]
    }
}

fn check(place: usize, row: &[f64], wanted: usize) -> Result<(), BadWeighting> {
    if row.len() != wanted {
        return Err(BadWeighting::Lengths { place, found: row.len(), wanted });
    }
    if let Some(&weight) = row.iter().find(|it| !(0.0..=1.0).contains(*it)) {
        return Err(BadWeighting::Weight { place, weight });
    }
    let sum: f64 = row.iter().sum();
    if (sum - 1.0).abs() > 1e-9 {
        return Err(BadWeighting::Sum { place, sum });
    }
    Ok(())
}
