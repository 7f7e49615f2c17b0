//! A workbook (XLSX, ECMA-376): one sheet a table, with its title above it, numbers as numbers with their formats, text as
//! text, and a sheet with the words of the report.

use std::{borrow::Cow, collections::BTreeSet};

use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError,
};

use crate::report::{Block, Cell, DataTable, Datum, Report, What};

/// Columns wider than this are wrapped.
const WIDEST: f64 = 48.0;

/// The longest name of a sheet: ECMA-376 part 1, 18.2.19.
const LONGEST_NAME: usize = 31;

/// A cell holds 32,767 units of UTF-16 (ECMA-376 part 1, 18.18.93); so many are left of a longer text, and a sentence says so.
const LONGEST_TEXT: usize = 32_600;

/// The line of a table's head; its title stands above it.
const HEAD: u32 = 1;

/// The workbook, with the day of the report as the time it was made.
///
/// # Errors
/// When a table is larger than a sheet can be.
pub fn to_xlsx(report: &Report) -> Result<Vec<u8>, String> {
    book(report).map_err(|why| why.to_string())
}

fn book(report: &Report) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let mut properties = DocProperties::new()
        .set_title(&report.title)
        .set_subject(&report.subtitle)
        .set_author(&report.author);
    if let Ok(day) = ExcelDateTime::parse_from_str(&report.date) {
        properties = properties.set_creation_datetime(&day);
    }
    book.set_properties(&properties);
    let mut names = BTreeSet::new();
    for table in report.tables() {
        let sheet = book.add_worksheet();
        sheet.set_name(sheet_name(&table.id, &mut names))?;
        data_table(sheet, table)?;
    }
    let sheet = book.add_worksheet();
    sheet.set_name(sheet_name("words", &mut names))?;
    words(sheet, report)?;
    book.save_to_buffer()
}

/// What a sheet may be called: at most 31 characters, each name once, whatever its capitals. A number goes before a name that
/// had to be shortened or is taken; behind it, it would read as that of a model.
fn sheet_name(id: &str, taken: &mut BTreeSet<String>) -> String {
    let id = id.strip_prefix("sheet-").unwrap_or(id);
    let clean: String = id.chars().filter(|it| !"[]:*?/\\'".contains(*it)).collect();
    let clean = if clean.is_empty() { "table".to_owned() } else { clean };
    let fits = clean.chars().count() <= LONGEST_NAME;
    if fits && taken.insert(clean.to_lowercase()) {
        return clean;
    }
    let mut number = if fits { 2 } else { 1 };
    loop {
        let before = format!("{number} ");
        let name: String = before.chars().chain(clean.chars()).take(LONGEST_NAME).collect();
        if taken.insert(name.to_lowercase()) {
            return name;
        }
        number += 1;
    }
}

/// The text as one cell can hold it.
fn in_a_cell(text: &str) -> Cow<'_, str> {
    if text.encode_utf16().count() <= LONGEST_TEXT {
        return Cow::Borrowed(text);
    }
    let mut units = 0;
    let kept = text.chars().take_while(|it| {
        units += it.len_utf16();
        units <= LONGEST_TEXT
    });
    let kept: String = kept.collect();
    Cow::Owned(format!(
        "{kept}… (cut here: a cell holds no more; the other formats have all of it)"
    ))
}

fn data_table(sheet: &mut Worksheet, table: &DataTable) -> Result<(), XlsxError> {
    let head = Format::new()
        .set_bold()
        .set_text_wrap()
        .set_align(FormatAlign::Bottom)
        .set_border_bottom(FormatBorder::Thin);
    let title = Format::new().set_bold().set_align(FormatAlign::Top);
    sheet.write_string_with_format(0, 0, in_a_cell(&table.title), &title)?;
    let (mut column, mut widths) = (0_u16, Vec::new());
    for (at, it) in table.columns.iter().enumerate() {
        let (ends, uncertain) = (table.has_ends(at), table.is_uncertain(at));
        let reasons = table.has_reasons(at);
        let mut titles = vec![it.heading()];
        if ends {
            titles.extend([format!("{}: low", it.heading()), format!("{}: high", it.heading())]);
        }
        if uncertain {
            titles.push(format!("{}: standard uncertainty", it.heading()));
        }
        if reasons {
            titles.push(format!("{}: why there is none", it.title));
        }
        if table.is_noted(at) {
            titles.push(format!("{}: note", it.title));
        }
        for (offset, title) in titles.iter().enumerate() {
            let place = column + u16::try_from(offset).unwrap_or(0);
            sheet.write_string_with_format(HEAD, place, in_a_cell(title), &head)?;
            widths.push(title.chars().count().min(14));
        }
        for (line, row) in (HEAD + 1..).zip(&table.rows) {
            let Some(cell) = row.get(at) else { continue };
            put(sheet, line, column, it.what, cell)?;
            widths[usize::from(column)] =
                widths[usize::from(column)].max(cell.shown(it.what).chars().count());
            let mut next = column + 1;
            if let (true, Datum::Interval { low, high, decimals, .. }) = (ends, &cell.value) {
                let format = number_format(it.what, *decimals);
                sheet.write_number_with_format(line, next, *low, &format)?;
                sheet.write_number_with_format(line, next + 1, *high, &format)?;
            }
            if ends {
                next += 2;
            }
            if let Datum::Number { u: Some(u), decimals, .. } = &cell.value {
                let format = number_format(What::Number, *decimals);
                sheet.write_number_with_format(line, next, *u, &format)?;
            }
            if uncertain {
                next += 1;
            }
            if reasons {
                let why = cell.reason();
                if !why.is_empty() {
                    sheet.write_string(line, next, in_a_cell(why))?;
                    widths[usize::from(next)] = widths[usize::from(next)].max(why.chars().count());
                }
                next += 1;
            }
            let notes = table.notes_of(cell);
            if !notes.is_empty() {
                sheet.write_string(line, next, in_a_cell(&notes))?;
                widths[usize::from(next)] = widths[usize::from(next)].max(notes.chars().count());
            }
        }
        column += u16::try_from(titles.len()).unwrap_or(1);
    }
    for (at, width) in (0_u16..).zip(&widths) {
        #[expect(clippy::cast_precision_loss, reason = "a few dozen characters")]
        let width = (*width as f64 + 2.0).min(WIDEST);
        sheet.set_column_width(at, width)?;
    }
    sheet.set_freeze_panes(HEAD + 1, 1)?;
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    sheet.set_repeat_rows(HEAD, HEAD)?;
    Ok(())
}

fn put(
    sheet: &mut Worksheet,
    line: u32,
    column: u16,
    what: What,
    cell: &Cell,
) -> Result<(), XlsxError> {
    match &cell.value {
        // An empty cell is what formulas skip; the reason would make a column of numbers one of text.
        Datum::Nothing { .. } | Datum::Interval { value: None, .. } => {}
        Datum::Text { text } => match (what, ExcelDateTime::parse_from_str(text)) {
            (What::Date, Ok(day)) => {
                let format = Format::new().set_num_format("yyyy-mm-dd");
                sheet.write_datetime_with_format(line, column, &day, &format)?;
            }
            _ => {
                let format = Format::new().set_text_wrap().set_align(FormatAlign::Top);
                sheet.write_string_with_format(line, column, in_a_cell(text), &format)?;
            }
        },
        Datum::Number { value, decimals, .. }
        | Datum::Interval { value: Some(value), decimals, .. } => {
            let format = number_format(what, *decimals);
            sheet.write_number_with_format(line, column, *value, &format)?;
        }
    }
    Ok(())
}

fn number_format(what: What, decimals: u8) -> Format {
    let digits = match decimals {
        0 => "0".to_owned(),
        more => format!("0.{}", "0".repeat(usize::from(more))),
    };
    let code = match what {
        What::Money => format!("#,##{digits}"),
        What::Signed => format!("+{digits};-{digits};{digits}"),
        _ => digits,
    };
    Format::new().set_num_format(code).set_align(FormatAlign::Top)
}

fn words(sheet: &mut Worksheet, report: &Report) -> Result<(), XlsxError> {
    let bold = Format::new().set_bold().set_text_wrap().set_align(FormatAlign::Top);
    let plain = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    sheet.set_column_width(0, 26)?;
    sheet.set_column_width(1, 96)?;
    let mut line = 0;
    let mut put = |name: &str, text: &str| -> Result<(), XlsxError> {
        sheet.write_string_with_format(line, 0, in_a_cell(name), &bold)?;
        sheet.write_string_with_format(line, 1, in_a_cell(text), &plain)?;
        line += 1;
        Ok(())
    };
    put(&report.title, &report.subtitle)?;
    put(&report.dateline(), &report.author)?;
    for block in &report.blocks {
        match block {
            Block::Heading { text, .. } => put(text, "")?,
            Block::Text { text } => put("", text)?,
            Block::List { items } => items.iter().try_for_each(|it| put("", it))?,
            Block::Terms { terms } => terms.iter().try_for_each(|(name, text)| put(name, text))?,
            Block::Caution { items } => items.iter().try_for_each(|it| put("Caution", it))?,
            Block::Table(_) | Block::Chart(_) => {}
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_is_called_like_its_product_and_no_number_reads_as_a_model() {
        let mut taken = BTreeSet::new();
        let mut name = |id: &str| sheet_name(id, &mut taken);
        assert_eq!(name("standings"), "standings");
        assert_eq!(name("sheet-alder-heron-5"), "alder-heron-5");
        assert_eq!(name("Standings"), "2 Standings");
        let long = "sheet-alder-and-daughters-of-the-fen-heron-5";
        assert_eq!(name(long), "1 alder-and-daughters-of-the-fe");
        assert_eq!(name(long), "2 alder-and-daughters-of-the-fe");
    }

    /// 32,767 characters: the specification and limits of the format, ECMA-376 part 1, 18.18.93.
    #[test]
    fn a_text_longer_than_a_cell_is_cut_and_says_so() {
        let whole = "a".repeat(32_000);
        assert_eq!(in_a_cell(&whole), whole);
        let cut = in_a_cell(&"\u{1F50A}".repeat(20_000)).into_owned();
        assert!(cut.encode_utf16().count() <= 32_767);
        assert!(cut.contains("cut here"), "nothing says that it was cut");
    }
}
