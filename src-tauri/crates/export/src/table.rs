//! A table as data.

/// The side that a column's cells keep to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// What becomes of a column's cells when the table is wider than the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// They stay whole; the line grows if there is no other way.
    Whole,
    /// They end in an ellipsis.
    Cut,
    /// They go on in further lines.
    Wrap,
}

/// A column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// What stands above it.
    pub title: String,
    /// The side it keeps to.
    pub align: Align,
    /// The unit of its numbers, below the title; empty when there is none.
    pub unit: String,
    /// What becomes of it when the line is too short.
    pub fit: Fit,
    /// Blanks before it.
    pub gap: usize,
}

impl Column {
    /// A column of words that are cut when the line is too short.
    #[must_use]
    pub fn words(title: impl Into<String>) -> Self {
        Column {
            title: title.into(),
            align: Align::Left,
            unit: String::new(),
            fit: Fit::Cut,
            gap: 2,
        }
    }

    /// A column of words that go on in further lines when the line is too short.
    #[must_use]
    pub fn prose(title: impl Into<String>) -> Self {
        Column { fit: Fit::Wrap, ..Column::words(title) }
    }

    /// A column of numbers, never shortened: half a number is a wrong number.
    #[must_use]
    pub fn numbers(title: impl Into<String>, unit: impl Into<String>) -> Self {
        Column {
            title: title.into(),
            align: Align::Right,
            unit: unit.into(),
            fit: Fit::Whole,
            gap: 2,
        }
    }

    /// The same column with another number of blanks before it.
    #[must_use]
    pub fn gap(self, gap: usize) -> Self {
        Column { gap, ..self }
    }

    /// The same column, with cells that stay whole.
    #[must_use]
    pub fn whole(self) -> Self {
        Column { fit: Fit::Whole, ..self }
    }
}

/// A row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Row {
    /// One text a column; missing ones at the end are empty.
    Cells(Vec<String>),
    /// A line across all columns: it names the rows below it, or says more about the row above. Its indent is kept
    /// when it is wrapped.
    Line(String),
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// What it shows; empty when the text around it says so.
    pub title: String,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows.
    pub rows: Vec<Row>,
}

impl Table {
    /// An empty table.
    #[must_use]
    pub fn new(title: impl Into<String>, columns: Vec<Column>) -> Self {
        Table { title: title.into(), columns, rows: Vec::new() }
    }

    /// Adds a row of cells.
    pub fn push<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) {
        self.rows.push(Row::Cells(cells.into_iter().map(Into::into).collect()));
    }

    /// Adds a line across all columns.
    pub fn line(&mut self, text: impl Into<String>) {
        self.rows.push(Row::Line(text.into()));
    }
}
