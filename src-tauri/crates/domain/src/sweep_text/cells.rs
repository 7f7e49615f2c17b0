//! Cells of a line: which separator parts them, and which decimal sign their numbers have.

use crate::key::word_enum;

word_enum! {
    /// What parts the columns of a sweep file.
    pub enum Separator: "separator" {
        /// A tab.
        Tab = "tab",
        /// A semicolon.
        Semicolon = "semicolon",
        /// A vertical bar.
        Bar = "vertical bar",
        /// A comma.
        Comma = "comma",
        /// A run of blanks or tabs.
        Blanks = "blanks",
    }
}

impl Separator {
    fn parts(self, c: char) -> bool {
        match self {
            Separator::Tab => c == '\t',
            Separator::Semicolon => c == ';',
            Separator::Bar => c == '|',
            Separator::Comma => c == ',',
            Separator::Blanks => c.is_whitespace(),
        }
    }

    /// The cells of a line, without blanks and quotes around them; empty ones at the end are dropped.
    pub(super) fn split(self, line: &str) -> Vec<&str> {
        let mut line = line.trim();
        if self == Separator::Bar {
            // A table drawn with bars has them at both ends too.
            line = line.strip_prefix('|').unwrap_or(line);
        }
        let mut quoted = false;
        let parts = line.split(|c: char| {
            quoted ^= c == '"';
            !quoted && self.parts(c)
        });
        let mut cells: Vec<&str> =
            parts.filter(|it| self != Separator::Blanks || !it.is_empty()).map(bare).collect();
        while cells.last().is_some_and(|it| it.is_empty()) {
            cells.pop();
        }
        cells
    }

    /// Whether a line parted by this separator could be a row: two cells at least are numbers, and none is several.
    pub(super) fn makes_row(self, line: &str) -> bool {
        let cells = self.split(line);
        let is_several = |it: &&str| {
            it.contains(char::is_whitespace) && it.split_whitespace().all(is_number_like)
        };
        !cells.iter().any(is_several) && cells.iter().filter(|it| is_number_like(it)).count() >= 2
    }
}

fn bare(cell: &str) -> &str {
    let cell = cell.trim();
    cell.strip_prefix('"').and_then(|it| it.strip_suffix('"')).unwrap_or(cell).trim()
}

/// Whether a number could be meant, with either decimal sign.
pub(super) fn is_number_like(cell: &str) -> bool {
    cell.starts_with(begins_number)
        && cell.contains(|c: char| c.is_ascii_digit())
        && cell.chars().all(|c| begins_number(c) || matches!(c, 'e' | 'E'))
}

/// Whether a number can begin with this character.
pub(super) fn begins_number(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '+' | '-' | '\u{2212}' | '.' | ',')
}

/// The decimal sign of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Decimal {
    /// A point.
    Point,
    /// A comma that can be nothing else.
    Comma,
    /// Commas that may all part thousands.
    Unclear,
}

impl Decimal {
    /// The sign that more of the cells have.
    pub(super) fn of<'a>(cells: impl Iterator<Item = &'a str>) -> Self {
        let (mut points, mut commas, mut is_clear) = (0_usize, 0_usize, false);
        for it in cells {
            points += usize::from(it.contains('.'));
            if it.contains(',') {
                commas += 1;
                is_clear |= !could_be_thousands(it);
            }
        }
        match (commas > points, is_clear) {
            (true, true) => Decimal::Comma,
            (true, false) => Decimal::Unclear,
            (false, _) => Decimal::Point,
        }
    }

    /// Reads a finite number.
    ///
    /// # Errors
    /// What is wrong with the cell, as the end of a sentence that begins with it.
    pub(super) fn number(self, cell: &str) -> Result<f64, &'static str> {
        if !is_number_like(cell) {
            return Err("is not a number");
        }
        let stranger = match self {
            Decimal::Point => (',', "has a comma, where the file writes decimal points"),
            Decimal::Comma => ('.', "has a point, where the file writes decimal commas"),
            Decimal::Unclear => (',', "has a comma that may part decimals or thousands"),
        };
        if cell.contains(stranger.0) {
            return Err(stranger.1);
        }
        let plain = cell.replace(',', ".").replace('\u{2212}', "-");
        match plain.parse::<f64>() {
            Ok(it) if it.is_finite() => Ok(it),
            Ok(_) => Err("is too large"),
            Err(_) => Err("is not a number"),
        }
    }
}

/// Whether the one comma of a number may part thousands: one to three digits before it, not 0, and three after it.
fn could_be_thousands(cell: &str) -> bool {
    let unsigned = cell.trim_start_matches(['+', '-', '\u{2212}']);
    let Some((head, tail)) = unsigned.split_once(',') else { return false };
    let is_digits = |it: &str| it.bytes().all(|b| b.is_ascii_digit());
    tail.len() == 3
        && is_digits(tail)
        && (1..=3).contains(&head.len())
        && is_digits(head)
        && !head.starts_with('0')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_part_into_cells() {
        assert_eq!(Separator::Comma.split(" 10 , \"6,5\",,"), ["10", "6,5"]);
        assert_eq!(Separator::Blanks.split("\t10   6.5 \u{a0} -3 "), ["10", "6.5", "-3"]);
        assert_eq!(Separator::Bar.split("| 10 | 6.5 |"), ["10", "6.5"]);
        assert_eq!(Separator::Semicolon.split(";;"), [""; 0]);
    }

    #[test]
    fn a_separator_fits_where_each_cell_is_one_thing() {
        let fits = |line: &str| -> Vec<Separator> {
            Separator::ALL.iter().copied().filter(|it| it.makes_row(line)).collect()
        };
        assert_eq!(fits("10,5 6,5 0,1"), [Separator::Blanks]);
        assert_eq!(fits("10, 6.5, 1"), [Separator::Comma, Separator::Blanks]);
        assert_eq!(fits("10;6,5"), [Separator::Semicolon]);
        assert_eq!(fits("10\t6.5 1"), [Separator::Blanks]);
        assert_eq!(fits("f_hz,z_ohm"), []);
    }

    #[test]
    fn a_decimal_comma_must_be_clear() {
        let of = |cells: &[&str]| Decimal::of(cells.iter().copied());
        assert_eq!(of(&["10", "6,5"]), Decimal::Comma);
        assert_eq!(of(&["10,000", "6,500"]), Decimal::Unclear);
        assert_eq!(of(&["10,000", "0,500"]), Decimal::Comma);
        assert_eq!(of(&["1000,000", "6,500"]), Decimal::Comma);
        assert_eq!(of(&["1,234.5", "6.5"]), Decimal::Point);
        assert_eq!(Decimal::Comma.number("\u{2212}6,5e1"), Ok(-65.0));
        for (decimal, cell, why) in [
            (Decimal::Point, "1,234.5", "has a comma, where the file writes decimal points"),
            (Decimal::Comma, "6.5", "has a point, where the file writes decimal commas"),
            (Decimal::Unclear, "6,500", "has a comma that may part decimals or thousands"),
            (Decimal::Point, "nan", "is not a number"),
            (Decimal::Point, "1e400", "is too large"),
            (Decimal::Point, "1-2", "is not a number"),
            (Decimal::Point, "", "is not a number"),
        ] {
            assert_eq!(decimal.number(cell), Err(why), "{cell}");
        }
    }
}
