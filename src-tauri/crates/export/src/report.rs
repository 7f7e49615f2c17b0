//! A review as data: headings, sentences, tables of typed cells, charts of typed marks. Each writer puts the same report
//! into its own format.

use serde::Serialize;

use crate::chart::Chart;

/// A publication.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// What it is called.
    pub title: String,
    /// A line under the title, or empty.
    pub subtitle: String,
    /// Who answers for it, or empty.
    pub author: String,
    /// The day it speaks of, `YYYY-MM-DD`. Nothing else in a file says when it was made, so that its bytes can be made again.
    pub date: String,
    /// Its number; none for a draft.
    pub edition: Option<u32>,
    /// What it says, in reading order.
    pub blocks: Vec<Block>,
    /// The products that it lists, for machines.
    pub items: Vec<Item>,
    /// Whether the order of the products says which is better.
    pub is_ranked: bool,
}

/// A part of a report.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "block", rename_all = "snake_case")]
pub enum Block {
    /// A heading.
    Heading {
        /// 2 is the highest below the title.
        level: u8,
        /// Its words.
        text: String,
        /// Whether print begins a page with it.
        new_page: bool,
    },
    /// A paragraph.
    Text {
        /// Its sentences.
        text: String,
    },
    /// Sentences one below the other.
    List {
        /// The sentences.
        items: Vec<String>,
    },
    /// Names with what is to be said of each.
    Terms {
        /// Name and text.
        terms: Vec<(String, String)>,
    },
    /// What the reader must know before relying on the rest.
    Caution {
        /// The sentences.
        items: Vec<String>,
    },
    /// A table.
    Table(DataTable),
    /// A chart.
    Chart(Chart),
}

/// A table of typed cells.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DataTable {
    /// A name for files and sheets: `a-z`, `0-9`, dashes and `_`.
    pub id: String,
    /// What it shows.
    pub title: String,
    /// The columns; the first names the row.
    pub columns: Vec<DataColumn>,
    /// One cell a column.
    pub rows: Vec<Vec<Cell>>,
    /// Footnotes; cells refer to them by place.
    pub notes: Vec<String>,
}

/// A column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DataColumn {
    /// A name for machines: `a-z`, `0-9` and `_`.
    pub key: String,
    /// What stands above it.
    pub title: String,
    /// The unit, or empty.
    pub unit: String,
    /// What its cells hold.
    pub what: What,
}

/// What the cells of a column hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// Words.
    Text,
    /// Numbers.
    Number,
    /// Numbers of which some have two ends.
    Interval,
    /// Numbers that say how far above or below.
    Signed,
    /// Amounts of money.
    Money,
    /// Days, `YYYY-MM-DD`.
    Date,
}

impl What {
    /// Whether cells keep to the right.
    #[must_use]
    pub fn is_number(self) -> bool {
        !matches!(self, What::Text | What::Date)
    }
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cell {
    /// What it says.
    pub value: Datum,
    /// Places in the table's footnotes.
    pub notes: Vec<usize>,
}

/// What a cell says.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "is", rename_all = "snake_case")]
pub enum Datum {
    /// Nothing is known or applies.
    Nothing {
        /// Why, or empty.
        why: String,
    },
    /// Words, or a day.
    Text {
        /// The words.
        text: String,
    },
    /// A number, finite.
    Number {
        /// In the column's unit.
        value: f64,
        /// Its standard uncertainty, where one is shown.
        u: Option<f64>,
        /// Decimals shown.
        decimals: u8,
    },
    /// A number with two ends.
    Interval {
        /// The number; none when only the ends are known.
        value: Option<f64>,
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
        /// Decimals shown.
        decimals: u8,
    },
}

impl Cell {
    /// Words.
    #[must_use]
    pub fn text(text: impl Into<String>) -> Self {
        Cell { value: Datum::Text { text: text.into() }, notes: Vec::new() }
    }

    /// A number; one that is not finite is nothing.
    #[must_use]
    pub fn number(value: f64, decimals: u8) -> Self {
        if value.is_finite() {
            Cell { value: Datum::Number { value, u: None, decimals }, notes: Vec::new() }
        } else {
            Cell::nothing("")
        }
    }

    /// A number with its standard uncertainty, both finite.
    #[must_use]
    pub fn uncertain(value: f64, u: f64, decimals: u8) -> Self {
        match Cell::number(value, decimals).value {
            Datum::Number { value, .. } if u.is_finite() => {
                Cell { value: Datum::Number { value, u: Some(u), decimals }, notes: Vec::new() }
            }
            value => Cell { value, notes: Vec::new() },
        }
    }

    /// A number with two ends.
    #[must_use]
    pub fn interval(value: Option<f64>, low: f64, high: f64, decimals: u8) -> Self {
        Cell { value: Datum::Interval { value, low, high, decimals }, notes: Vec::new() }
    }

    /// Nothing, and why.
    #[must_use]
    pub fn nothing(why: impl Into<String>) -> Self {
        Cell { value: Datum::Nothing { why: why.into() }, notes: Vec::new() }
    }

    /// The same with footnotes.
    #[must_use]
    pub fn noted(self, notes: Vec<usize>) -> Self {
        Cell { notes, ..self }
    }

    /// Why it holds nothing; empty when it holds something or nobody says.
    #[must_use]
    pub fn reason(&self) -> &str {
        match &self.value {
            Datum::Nothing { why } => why,
            _ => "",
        }
    }

    /// What people read: a true minus sign, thousands apart in money, `61 (52–70)` or `52–70` for an interval.
    #[must_use]
    pub fn shown(&self, what: What) -> String {
        let one = |value: f64, decimals: u8| figure(value, decimals, what);
        match &self.value {
            Datum::Nothing { why } if why.is_empty() => "–".to_owned(),
            Datum::Nothing { why } => why.clone(),
            Datum::Text { text } => text.clone(),
            Datum::Number { value, u: None, decimals } => one(*value, *decimals),
            Datum::Number { value, u: Some(u), decimals } => {
                format!("{} ± {}", one(*value, *decimals), figure(*u, *decimals, What::Number))
            }
            Datum::Interval { value, low, high, decimals } => {
                let (low, high) = (one(*low, *decimals), one(*high, *decimals));
                // A dash beside a minus sign cannot be told from it.
                let between = if low.starts_with('−') || high.starts_with(['−', '+']) {
                    " to "
                } else {
                    "–"
                };
                match value {
                    Some(value) => format!("{} ({low}{between}{high})", one(*value, *decimals)),
                    None if low == high => format!("≈{low}"),
                    None => format!("{low}{between}{high}"),
                }
            }
        }
    }
}

fn figure(value: f64, decimals: u8, what: What) -> String {
    let digits = format!("{:.*}", usize::from(decimals), value.abs());
    let is_zero = digits.chars().all(|it| matches!(it, '0' | '.'));
    let digits = if what == What::Money { apart(&digits) } else { digits };
    match (what, value < 0.0, is_zero) {
        (_, _, true) => digits,
        (_, true, _) => format!("−{digits}"),
        (What::Signed, false, _) => format!("+{digits}"),
        _ => digits,
    }
}

/// Thousands apart: `1,250.50`.
fn apart(digits: &str) -> String {
    let (whole, rest) = digits.split_once('.').map_or((digits, None), |(a, b)| (a, Some(b)));
    let mut text = String::new();
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    if let Some(rest) = rest {
        text.push('.');
        text.push_str(rest);
    }
    text
}

impl DataTable {
    /// The mark of a footnote: `a` to `z`, then `aa` and so on.
    #[must_use]
    pub fn mark(note: usize) -> String {
        let letter = |it: usize| char::from(b'a' + u8::try_from(it % 26).unwrap_or(0));
        match note / 26 {
            0 => letter(note).to_string(),
            round => format!("{}{}", DataTable::mark(round - 1), letter(note)),
        }
    }

    /// The marks of a cell, `a,c`; empty when it has none.
    #[must_use]
    pub fn marks(cell: &Cell) -> String {
        cell.notes.iter().map(|it| DataTable::mark(*it)).collect::<Vec<_>>().join(",")
    }

    /// Whether any cell of a column has a footnote.
    #[must_use]
    pub fn is_noted(&self, column: usize) -> bool {
        self.rows.iter().any(|row| row.get(column).is_some_and(|it| !it.notes.is_empty()))
    }

    /// Whether any cell of a column has two ends.
    #[must_use]
    pub fn has_ends(&self, column: usize) -> bool {
        let mut cells = self.rows.iter().filter_map(|row| row.get(column));
        cells.any(|it| matches!(it.value, Datum::Interval { .. }))
    }

    /// Whether any cell of a column has an uncertainty.
    #[must_use]
    pub fn is_uncertain(&self, column: usize) -> bool {
        let mut cells = self.rows.iter().filter_map(|row| row.get(column));
        cells.any(|it| matches!(it.value, Datum::Number { u: Some(_), .. }))
    }

    /// Whether any cell of a column says why it holds nothing.
    #[must_use]
    pub fn has_reasons(&self, column: usize) -> bool {
        let mut cells = self.rows.iter().filter_map(|row| row.get(column));
        cells.any(|it| !it.reason().is_empty())
    }

    /// The words of a cell's footnotes.
    #[must_use]
    pub fn notes_of(&self, cell: &Cell) -> String {
        let words = cell.notes.iter().filter_map(|it| self.notes.get(*it)).map(String::as_str);
        words.collect::<Vec<_>>().join("; ")
    }
}

impl DataColumn {
    /// Title and unit: `price, USD`.
    #[must_use]
    pub fn heading(&self) -> String {
        if self.unit.is_empty() {
            self.title.clone()
        } else {
            format!("{}, {}", self.title, self.unit)
        }
    }
}

/// A product with what is said of it, for machines.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Item {
    /// Its key in the catalogue.
    pub key: String,
    /// The maker.
    pub maker: String,
    /// The model.
    pub model: String,
    /// What kind of thing it is.
    pub category: String,
    /// The price as asked.
    pub price: Option<Asked>,
    /// The index, 0 to 100; its middle where it is open.
    pub rating: f64,
    /// What the rating leaves open, or empty.
    pub rating_note: String,
    /// Named numbers: name, value, low, high, unit.
    pub properties: Vec<Property>,
    /// What may be said of it.
    pub sentences: Vec<String>,
}

/// A named number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Property {
    /// The name.
    pub name: String,
    /// The number.
    pub value: Option<f64>,
    /// Lower end.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// The unit in words, or empty.
    pub unit: String,
}

/// A price as somebody asked it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Asked {
    /// The amount.
    pub amount: f64,
    /// Its currency, as ISO 4217 writes it.
    pub currency: String,
    /// How many it buys.
    pub count: u32,
    /// When: a day, a month or a year.
    pub date: String,
}

impl Report {
    /// Its tables.
    pub fn tables(&self) -> impl Iterator<Item = &DataTable> {
        self.blocks.iter().filter_map(|it| match it {
            Block::Table(it) => Some(it),
            _ => None,
        })
    }

    /// Its charts.
    pub fn charts(&self) -> impl Iterator<Item = &Chart> {
        self.blocks.iter().filter_map(|it| match it {
            Block::Chart(it) => Some(it),
            _ => None,
        })
    }

    /// `Edition 3, 2026-11-25`, or `Draft, …`.
    #[must_use]
    pub fn dateline(&self) -> String {
        match self.edition {
            Some(number) => format!("Edition {number}, {}", self.date),
            None => format!("Draft, {}", self.date),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_a_true_minus_and_thousands_apart() {
        assert_eq!(Cell::number(-3.04, 1).shown(What::Number), "−3.0");
        assert_eq!(Cell::number(-0.04, 1).shown(What::Signed), "0.0");
        assert_eq!(Cell::number(3.0, 0).shown(What::Signed), "+3");
        assert_eq!(Cell::number(1_250.5, 2).shown(What::Money), "1,250.50");
        assert_eq!(Cell::number(f64::NAN, 2).shown(What::Number), "–");
    }

    #[test]
    fn intervals_read_unambiguously() {
        let shown = |value, low, high, what| Cell::interval(value, low, high, 0).shown(what);
        assert_eq!(shown(Some(61.0), 52.0, 70.0, What::Interval), "61 (52–70)");
        assert_eq!(shown(None, 52.0, 70.0, What::Interval), "52–70");
        assert_eq!(shown(None, 61.2, 61.4, What::Interval), "≈61");
        assert_eq!(shown(Some(1.0), -3.0, 5.0, What::Signed), "+1 (−3 to +5)");
        assert_eq!(Cell::uncertain(47.26, 1.24, 1).shown(What::Number), "47.3 ± 1.2");
    }

    #[test]
    fn footnotes_never_run_out_of_letters() {
        let marks: Vec<String> = [0, 25, 26, 51, 52].map(DataTable::mark).into();
        assert_eq!(marks, ["a", "z", "aa", "az", "ba"]);
    }
}
