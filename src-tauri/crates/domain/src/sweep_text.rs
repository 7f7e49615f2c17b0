//! Sweep files as measuring programs write them: plain columns of frequency, magnitude and, where measured, phase.
//!
//! Any usual separator, a header or none, comments, decimal commas, units in the header. Nothing is guessed in
//! silence: what was assumed or converted is a remark, and a row that cannot be read has its line and column.

mod cells;
mod header;

use crate::sweep::{BadSweep, Point, Sweep};

pub use cells::Separator;
use cells::{Decimal, begins_number, is_number_like};
use header::{Column, HEADER, Header, Quantity, Scale};

/// The largest text that is read, in bytes.
pub const MAX_BYTES: usize = 2 << 20;

/// The most rows that are read.
pub const MAX_ROWS: usize = 20_000;

/// The most bad rows that are listed; a wrong unit or sign makes all rows bad.
pub const MAX_BAD_ROWS: usize = 10;

/// The largest phase that is wrapped, in degrees: more than ten turns is no phase of an impedance.
const LARGEST_PHASE_DEG: f64 = 3600.0;

/// How many rows show which separator a file has.
const SAMPLE: usize = 50;

/// The accepted form of a whole file.
const FILE: &str = "rows of frequency in Hz, magnitude in ohm and, where measured, phase in degrees, \
    parted by commas, semicolons, tabs, bars or blanks, with or without a header that names other units";

/// The accepted form of a sweep.
const SWEEP: &str = "at least 20 rows of rising or falling frequency";

/// What a sweep file says.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepText {
    /// The points in rising frequency; they pass [`Sweep::check`].
    pub points: Vec<Point>,
    /// What parts its columns.
    pub separator: Separator,
    /// What was assumed, converted, turned round or passed over.
    pub remarks: Vec<Remark>,
}

/// Something that was understood and is not written in the file in so many words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// The line, from 1, where there is one.
    pub line: Option<u32>,
    /// One sentence without a full stop.
    pub text: String,
}

/// What cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{column}{parted}{message}", parted = if column.is_empty() { "" } else { ": " })]
pub struct BadRow {
    /// The line, from 1; `None` where the file as a whole is meant.
    pub line: Option<u32>,
    /// `frequency`, `magnitude` or `phase`; empty where the row as a whole is meant.
    pub column: &'static str,
    /// What is wrong.
    pub message: String,
    /// What would be right, or empty.
    pub accepted: String,
}

impl BadRow {
    fn new(line: Option<u32>, message: impl Into<String>, accepted: &str) -> Self {
        BadRow { line, column: "", message: message.into(), accepted: accepted.into() }
    }
}

/// A line with its number.
#[derive(Debug, Clone, Copy)]
struct Line<'t> {
    number: u32,
    text: &'t str,
}

/// A row's line and its three cells; of one that has another number of cells that number.
type Row<'t> = (u32, Result<[&'t str; 3], usize>);

/// Reads a sweep file.
///
/// Lines that begin with `#`, `;`, `*`, `//` or a lone quotation mark are comments. Without a header the columns are
/// frequency in Hz, magnitude in ohm, phase in degrees. Frequencies may fall; phases outside ±180° are wrapped.
///
/// # Errors
/// Every bad row up to [`MAX_BAD_ROWS`] and the number of further ones, or what is wrong with the file as a whole.
pub fn parse(text: &str) -> Result<SweepText, Vec<BadRow>> {
    if text.len() > MAX_BYTES {
        return Err(vec![BadRow::new(None, "the file is larger than 2 MiB", "at most 2 MiB")]);
    }
    let (mut lines, comments) = lines(text);
    let Some(separator) = separator(&lines) else {
        let why = "the file holds no row of at least two numbers";
        return Err(vec![BadRow::new(None, why, FILE)]);
    };
    lines.retain(|it| !it.text.starts_with(';') || separator == Separator::Semicolon);
    let is_row = |it: &Line<'_>| {
        separator.makes_row(it.text)
            || separator.split(it.text).first().is_some_and(|it| is_number_like(it))
    };
    let first = lines.iter().position(is_row).unwrap_or(0);
    let (before, rows) = lines.split_at(first);
    let mut remarks = Vec::new();
    let header =
        found_header(before, &comments, rows, separator, &mut remarks).map_err(|why| vec![why])?;
    let rows = cells_of(rows, separator, &header)?;
    let (mut points, mut numbers) = points(&rows, &header, &mut remarks)?;
    let falling = points.windows(2).filter(|it| it[1].f_hz < it[0].f_hz).count();
    let falls = 2 * falling > points.len();
    if falls {
        points.reverse();
        numbers.reverse();
        remarks.push(Remark {
            line: None,
            text: "the frequency falls from row to row: the rows were turned round".into(),
        });
    }
    match Sweep::check(&points) {
        Ok(()) => Ok(SweepText { points, separator, remarks }),
        Err(why) => Err(vec![unsound(&why, &numbers, falls)]),
    }
}

/// The lines that say something, and the comments.
fn lines(text: &str) -> (Vec<Line<'_>>, Vec<Line<'_>>) {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    // Files of some old instruments end their lines with CR alone.
    let end = if text.contains('\n') { '\n' } else { '\r' };
    let all = (1..).zip(text.split(end)).map(|(number, text)| Line { number, text: text.trim() });
    // What holds separators, quotation marks and dashes alone is an empty row or a rule under a header.
    let said = all.filter(|it| it.text.contains(char::is_alphanumeric));
    said.partition(|it| comment(it.text).is_none())
}

/// What a comment says.
fn comment(line: &str) -> Option<&str> {
    for mark in ["#", "*", "//"] {
        if let Some(it) = line.strip_prefix(mark) {
            return Some(it.trim_start_matches(['#', '*', '/', ' ']));
        }
    }
    // A semicolon may also follow an empty first cell, and a quotation mark may open a quoted one.
    if let Some(it) = line.strip_prefix(';') {
        return (!it.trim_start().starts_with(begins_number)).then_some(it);
    }
    let inner = line.strip_prefix('"')?;
    let is_alone = inner.find('"').is_none_or(|it| it + 1 == inner.len());
    (is_alone && !inner.trim_start().starts_with(begins_number))
        .then(|| inner.trim_end_matches('"'))
}

/// The separator that most of the first rows have.
fn separator(lines: &[Line<'_>]) -> Option<Separator> {
    let mut fits: Vec<(Separator, usize)> = Separator::ALL.iter().map(|it| (*it, 0)).collect();
    let mut sampled = 0;
    for line in lines.iter().filter(|it| !it.text.starts_with(';')) {
        let mut is_row = false;
        for (it, count) in &mut fits {
            if it.makes_row(line.text) {
                *count += 1;
                is_row = true;
            }
        }
        sampled += usize::from(is_row);
        if sampled == SAMPLE {
            break;
        }
    }
    // The first of equals: a tab parts columns sooner than a blank.
    let (best, count) = fits.into_iter().rev().max_by_key(|it| it.1)?;
    (count > 0).then_some(best)
}

/// The header above the rows, else the one in a comment, else none.
fn found_header(
    before: &[Line<'_>],
    comments: &[Line<'_>],
    rows: &[Line<'_>],
    separator: Separator,
    remarks: &mut Vec<Remark>,
) -> Result<Header, BadRow> {
    let Some(first) = rows.first() else {
        return Err(BadRow::new(None, "the file holds no row", FILE));
    };
    let count = separator.split(first.text).len();
    let mut remark = |line, text: String| remarks.push(Remark { line, text });
    let header = if let Some((last, titles)) = before.split_last() {
        let header = Header::read(last.text, separator, count)
            .map_err(|why| BadRow::new(Some(last.number), why, HEADER))?;
        if let Some(title) = titles.first() {
            let text = format!(
                "{} lines above the header are passed over, from {:?}",
                titles.len(),
                shortened(title.text, 40)
            );
            remark(Some(title.number), text);
        }
        header
    } else {
        let in_comment =
            comments.iter().rev().filter(|it| it.number < first.number).find_map(|it| {
                let header = Header::read(comment(it.text)?, separator, count).ok()?;
                (header.count == count && header.ignored.is_empty()).then_some((it.number, header))
            });
        if let Some((number, header)) = in_comment {
            remark(Some(number), "this comment is taken as the header".into());
            header
        } else {
            let header = Header::absent(count).ok_or_else(|| {
                let why = format!("{count} values stand here, and no header says which is which");
                BadRow::new(Some(first.number), why, HEADER)
            })?;
            let phase = if count == 3 { ", phase in degrees" } else { "" };
            let text = format!(
                "there is no header: the columns are taken as frequency in Hz, magnitude in ohm{phase}"
            );
            remark(None, text);
            return Ok(header);
        }
    };
    if !header.ignored.is_empty() {
        let names: Vec<&str> = header.ignored.iter().map(|it| shortened(it, 40)).take(10).collect();
        remark(None, format!("columns that are not read: {}", names.join(", ")));
    }
    for (quantity, column) in Quantity::ALL.into_iter().zip(header.columns) {
        let (Some(Column { unit, .. }), kept) = (column, quantity.unit()) else { continue };
        match unit {
            None => remark(
                None,
                format!(
                    "the header names no unit of {}: taken as {}",
                    quantity.word(),
                    kept.symbol
                ),
            ),
            Some(it) if it.scale != kept.scale => remark(
                None,
                format!("{} converted from {} to {}", quantity.word(), it.symbol, kept.symbol),
            ),
            Some(_) => {}
        }
    }
    Ok(header)
}

fn cells_of<'t>(
    rows: &[Line<'t>],
    separator: Separator,
    header: &Header,
) -> Result<Vec<Row<'t>>, Vec<BadRow>> {
    if let Some(it) = rows.get(MAX_ROWS) {
        let why = format!("the file holds more than {MAX_ROWS} rows");
        return Err(vec![BadRow::new(Some(it.number), why, "at most 20000 rows")]);
    }
    let row = |it: &Line<'t>| {
        let cells = separator.split(it.text);
        if cells.len() != header.count {
            return (it.number, Err(cells.len()));
        }
        let cell = |column: Option<Column>| {
            column.and_then(|it| cells.get(it.place).copied()).unwrap_or_default()
        };
        (it.number, Ok(header.columns.map(cell)))
    };
    Ok(rows.iter().map(row).collect())
}

/// The points in the order of the file, and the line of each.
fn points(
    rows: &[Row<'_>],
    header: &Header,
    remarks: &mut Vec<Remark>,
) -> Result<(Vec<Point>, Vec<u32>), Vec<BadRow>> {
    let decimal = Decimal::of(rows.iter().filter_map(|it| it.1.as_ref().ok()).flatten().copied());
    let mut points = Vec::with_capacity(rows.len());
    let mut numbers = Vec::with_capacity(rows.len());
    let mut bad = Vec::new();
    let mut more = 0_usize;
    let mut wrapped = 0_usize;
    for (number, cells) in rows {
        let found = match cells {
            Ok(cells) => point(*number, cells, header, decimal),
            Err(found) => {
                let why = format!("{found} values stand here, not {}", header.count);
                Err(BadRow::new(Some(*number), why, &format!("{} values", header.count)))
            }
        };
        match found {
            Ok((point, is_wrapped)) => {
                wrapped += usize::from(is_wrapped);
                points.push(point);
                numbers.push(*number);
            }
            Err(why) if bad.len() < MAX_BAD_ROWS => bad.push(why),
            Err(_) => more += 1,
        }
    }
    if more > 0 {
        bad.push(BadRow::new(None, format!("{more} more rows cannot be read"), ""));
    }
    if !bad.is_empty() {
        return Err(bad);
    }
    let mut remark = |text: String| remarks.push(Remark { line: None, text });
    if decimal == Decimal::Comma {
        remark("commas are read as decimal signs".into());
    }
    if wrapped > 0 {
        remark(format!("the phase of {wrapped} rows was wrapped into -180 to 180 degrees"));
    }
    doubts(&points, header, &mut remark);
    Ok((points, numbers))
}

/// Says what else the numbers of a column without a unit could be.
fn doubts(points: &[Point], header: &Header, remark: &mut impl FnMut(String)) {
    let has_no_unit = |it: Option<Column>| it.is_some_and(|it| it.unit.is_none());
    let [frequency, _, phase] = header.columns;
    if has_no_unit(frequency) && points.iter().all(|it| it.f_hz <= 100.0) {
        remark("no frequency is above 100 Hz: if these are kHz, the header must say so".into());
    }
    let largest = points.iter().filter_map(|it| it.phase_deg).fold(0.0, |a: f64, b| a.max(b.abs()));
    if has_no_unit(phase) && largest > 0.0 && largest <= std::f64::consts::PI {
        remark("no phase is above 3.15: if these are radians, the header must say so".into());
    }
}

/// The point of a row, and whether its phase was wrapped.
fn point(
    line: u32,
    cells: &[&str; 3],
    header: &Header,
    decimal: Decimal,
) -> Result<(Point, bool), BadRow> {
    let number = |quantity: Quantity, cell: &str, column: Option<Column>| {
        let refuse = |why: &str, accepted: &str| BadRow {
            line: Some(line),
            column: quantity.word(),
            message: format!("{:?} {why}", shortened(cell, 40)),
            accepted: accepted.into(),
        };
        let found = decimal.number(cell).map_err(|why| {
            let form = if decimal == Decimal::Comma { "6,28" } else { "6.28" };
            refuse(why, &format!("a number, such as {form}"))
        })?;
        let unit = column.and_then(|it| it.unit).unwrap_or(quantity.unit());
        let value = match unit.scale {
            Scale::Factor(by) => found * by,
            Scale::DecibelOhm => 10_f64.powf(found / 20.0),
        };
        let is_sound = match quantity {
            Quantity::Phase => value.abs() <= LARGEST_PHASE_DEG,
            _ => value.is_finite() && value > 0.0,
        };
        match (is_sound, quantity) {
            (true, _) => Ok(value),
            (_, Quantity::Phase) => {
                Err(refuse("is no phase", "within ten turns of 0, that is 3600 degrees"))
            }
            _ => Err(refuse("is out of range", &format!("a {} above 0", quantity.word()))),
        }
    };
    let [frequency, magnitude, phase] = header.columns;
    let f_hz = number(Quantity::Frequency, cells[0], frequency)?;
    let z_ohm = number(Quantity::Magnitude, cells[1], magnitude)?;
    let Some(phase) = phase else { return Ok((Point { f_hz, z_ohm, phase_deg: None }, false)) };
    let found = number(Quantity::Phase, cells[2], Some(phase))?;
    let phase_deg = wrapped(found);
    let is_wrapped = !(-180.0..=180.0).contains(&found);
    Ok((Point { f_hz, z_ohm, phase_deg: Some(phase_deg) }, is_wrapped))
}

/// An angle in -180 to 180 degrees.
fn wrapped(deg: f64) -> f64 {
    if (-180.0..=180.0).contains(&deg) {
        return deg;
    }
    (deg - 360.0 * (deg / 360.0).round()).clamp(-180.0, 180.0)
}

/// What [`Sweep::check`] found, at its line.
fn unsound(why: &BadSweep, numbers: &[u32], falls: bool) -> BadRow {
    let line = |point: usize| point.checked_sub(1).and_then(|it| numbers.get(it).copied());
    match why {
        // In the file the point before is the row after.
        BadSweep::NotRising { number, .. } if falls => BadRow::new(
            line(number.saturating_sub(1)),
            "the frequency does not fall below that of the row above",
            SWEEP,
        ),
        BadSweep::NotRising { number, .. }
        | BadSweep::OutOfDomain { number, .. }
        | BadSweep::MixedPhase { number } => BadRow::new(line(*number), why.to_string(), SWEEP),
        BadSweep::TooFew { .. } => BadRow::new(None, why.to_string(), SWEEP),
    }
}

/// A text cut to a number of characters.
fn shortened(text: &str, most: usize) -> &str {
    text.char_indices().nth(most).map_or(text, |(end, _)| &text[..end])
}

#[cfg(test)]
mod tests;
