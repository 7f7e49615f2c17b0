//! The United States consumer price index, shipped with the program.
//!
//! CPI-U, U.S. city average, all items, not seasonally adjusted, 1982-84 = 100, series CUUR0000SA0 of the Bureau of Labor
//! Statistics (public domain). All items, because it is the buyer's money that is compared; not seasonally adjusted, because the
//! adjusted series is revised later (Bureau of Labor Statistics, *How to Use the Consumer Price Index for Escalation*).
//! The table is read while the program is compiled: a row that is no row does not compile.

use domain::price::PriceDate;

const TABLE: &Table = &parse(include_bytes!("../data/cpi_u_monthly.csv"));
const FIRST_YEAR: i16 = 2010;
/// Room for this many years; a longer table does not compile.
const YEARS: usize = 40;

/// Index levels in thousandths; 0 where none was published.
struct Table {
    /// January of the first year first.
    months: [u32; YEARS * 12],
    annual: [u32; YEARS],
    /// The last month that has a level.
    last: usize,
}

/// Where a level comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Origin {
    /// The published level of the month.
    Month,
    /// The published annual average, since the month is not known.
    Year,
    /// The mean of the neighbours of a month that was never published (2025-10).
    Interpolated,
    /// The last published month, since the month is after it.
    AfterTable,
}

/// A level of the index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// The level, 1982-84 = 100.
    pub value: f64,
    /// Where it comes from.
    pub origin: Origin,
}

/// A date for which the index has no level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoLevel {
    /// A date before the first month.
    #[error("the US price index on board begins 2010-01; {date} is before it")]
    BeforeTable {
        /// The date asked for.
        date: PriceDate,
    },
    /// A year without an annual average.
    #[error("the US price index on board has no average for {date}; write the month, {date}-MM")]
    NoAnnual {
        /// The date asked for.
        date: PriceDate,
    },
}

/// The level of the index at `date`: of its month, or of its year where no more is known.
///
/// A month inside the table that was not published is the mean of its neighbours; a month after the table has the level of the
/// last one. Both are told by [`Level::origin`].
///
/// # Errors
/// [`NoLevel`] before 2010-01, and for a year alone whose average is not published.
pub fn level(date: PriceDate) -> Result<Level, NoLevel> {
    let year =
        usize::try_from(date.year() - FIRST_YEAR).map_err(|_| NoLevel::BeforeTable { date })?;
    let Some(month) = date.month().and_then(|month| usize::try_from(month - 1).ok()) else {
        return match TABLE.annual.get(year) {
            None | Some(0) => Err(NoLevel::NoAnnual { date }),
            Some(&annual) => Ok(Level { value: f64::from(annual) / 1000.0, origin: Origin::Year }),
        };
    };
    let place = year * 12 + month;
    let (thousandths, origin) = if place > TABLE.last {
        (f64::from(TABLE.months[TABLE.last]), Origin::AfterTable)
    } else if TABLE.months[place] == 0 {
        // The compiler has checked that both neighbours are there.
        (
            f64::from(TABLE.months[place - 1]).midpoint(f64::from(TABLE.months[place + 1])),
            Origin::Interpolated,
        )
    } else {
        (f64::from(TABLE.months[place]), Origin::Month)
    };
    Ok(Level { value: thousandths / 1000.0, origin })
}

const fn parse(text: &[u8]) -> Table {
    let mut table = Table { months: [0; YEARS * 12], annual: [0; YEARS], last: 0 };
    let mut at = 0;
    while at < text.len() {
        let mut end = at;
        while end < text.len() && text[end] != b'\n' {
            end += 1;
        }
        // Other lines are the remark and the heading.
        if text[at].is_ascii_digit() {
            assert!(
                text[at + 4] == b',' && text[at + 5] == b'M' && text[at + 8] == b',',
                "a row is YYYY,Mnn,level"
            );
            let year = digits(text, at, at + 4) as usize - FIRST_YEAR as usize;
            let period = digits(text, at + 6, at + 8) as usize;
            let level = thousandths(text, at + 9, end);
            if period == 13 {
                table.annual[year] = level;
            } else {
                assert!(1 <= period && period <= 12, "periods are M01 to M13");
                let place = year * 12 + period - 1;
                table.months[place] = level;
                if place > table.last {
                    table.last = place;
                }
            }
        }
        at = end + 1;
    }
    let mut place = 0;
    while place < table.last {
        let alone = place > 0 && table.months[place - 1] > 0 && table.months[place + 1] > 0;
        assert!(table.months[place] > 0 || alone, "a gap in the table may be one month long");
        place += 1;
    }
    table
}

/// The number in `text[from..to]`, at most seven digits.
const fn digits(text: &[u8], from: usize, to: usize) -> u32 {
    assert!(from < to && to - from <= 7, "a number has one to seven digits");
    let mut number = 0;
    let mut at = from;
    while at < to {
        assert!(text[at].is_ascii_digit(), "a number consists of digits");
        number = number * 10 + (text[at] - b'0') as u32;
        at += 1;
    }
    number
}

/// The level in `text[from..to]`, up to three decimals, in thousandths.
const fn thousandths(text: &[u8], from: usize, to: usize) -> u32 {
    let mut point = from;
    while point < to && text[point] != b'.' {
        point += 1;
    }
    let mut level = digits(text, from, point);
    let mut decimals = 0;
    while decimals < 3 {
        let at = point + 1 + decimals;
        level = level * 10 + if at < to { digits(text, at, at + 1) } else { 0 };
        decimals += 1;
    }
    assert!(point + 4 >= to && level > 0, "a level is above 0 and has at most three decimals");
    level
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::near;

    fn at(date: &str) -> Result<Level, NoLevel> {
        level(date.parse().unwrap())
    }

    /// Reads the file a second way, with the standard library's own number parser.
    #[test]
    fn every_row_of_the_file_is_in_the_table() {
        let text = include_str!("../data/cpi_u_monthly.csv");
        let mut lines = text.lines();
        assert!(lines.next().unwrap().contains("CUUR0000SA0"), "the first line names the series");
        assert_eq!(lines.next(), Some("year,period,value"));
        let mut rows = 0;
        for line in lines {
            let [year, period, value] = line.split(',').collect::<Vec<_>>().try_into().unwrap();
            let (date, origin) = match period.strip_prefix('M').unwrap() {
                "13" => (year.to_owned(), Origin::Year),
                month => (format!("{year}-{month}"), Origin::Month),
            };
            assert_eq!(at(&date), Ok(Level { value: value.parse().unwrap(), origin }), "{line}");
            rows += 1;
        }
        let stored = TABLE.months.iter().chain(&TABLE.annual).filter(|&&it| it > 0).count();
        assert_eq!(stored, rows);
        // 2010-01 to 2026-08 without 2025-10, and 16 annual averages.
        assert_eq!(rows, 16 * 12 + 8 - 1 + 16);
    }

    /// Annual averages as listed by the Bureau of Labor Statistics (period M13, read from its bulk data).
    #[test]
    fn annual_averages_agree_with_the_published_ones() {
        for (year, want) in [
            ("2015", 237.017),
            ("2016", 240.007),
            ("2017", 245.120),
            ("2018", 251.107),
            ("2019", 255.657),
            ("2020", 258.811),
            ("2021", 270.970),
            ("2022", 292.655),
            ("2023", 304.702),
            ("2024", 313.689),
            ("2025", 321.943), // the mean of 11 months
        ] {
            near(at(year).unwrap().value, want, 0.0);
        }
    }

    /// The mean of 324.800 (September) and 324.122 (November), by hand; October 2025 was never collected.
    #[test]
    fn october_2025_is_the_mean_of_its_neighbours() {
        let got = at("2025-10").unwrap();
        near(got.value, 324.461, 1e-9);
        assert_eq!(got.origin, Origin::Interpolated);
        assert_eq!(at("2025-10-31").unwrap(), got);
    }

    #[test]
    fn a_month_after_the_table_has_the_last_level_and_a_date_before_it_none() {
        for date in ["2026-09", "2031-01-31", "2199-12"] {
            assert_eq!(at(date), Ok(Level { value: 334.98, origin: Origin::AfterTable }), "{date}");
        }
        for date in ["2009-12", "2009", "1950-01-01"] {
            assert!(matches!(at(date), Err(NoLevel::BeforeTable { .. })), "{date}");
        }
        for date in ["2026", "2199"] {
            let error = at(date).unwrap_err().to_string();
            assert!(error.contains(&format!("write the month, {date}-MM")), "{error}");
        }
    }
}
