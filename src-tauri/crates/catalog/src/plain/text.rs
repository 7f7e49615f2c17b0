//! Names, notes, days and words as keys of a table.

use domain::{
    Date,
    price::PriceDate,
    text::{NAME, name, note, shortened},
};

use super::{
    cursor::{Report, Table},
    fault::Refusal,
};

/// The accepted form of a full day.
pub(super) const DAY: &str = "YYYY-MM-DD, such as \"2026-06-02\"";

/// A day of the calendar, written in full.
pub(super) fn day(text: &str) -> Result<Date, Refusal> {
    match text.parse::<PriceDate>() {
        Ok(it) if text.len() == 10 => Ok(it.nominal_day()),
        Ok(_) => Err(Refusal::new(format!("{text:?} is not a full day"), DAY)),
        Err(why) => {
            Err(Refusal::new(Refusal::from(why).message, format!("{DAY}, from 1950 to 2199")))
        }
    }
}

/// A month of a year.
pub(super) fn month(text: &str) -> Result<PriceDate, Refusal> {
    match text.parse::<PriceDate>() {
        Ok(it) if text.len() == 7 => Ok(it),
        _ => Err(Refusal::new(
            format!("{:?} is not a month", shortened(text, 40)),
            "YYYY-MM, such as \"2026-06\", from 1950 to 2199",
        )),
    }
}

impl Table<'_> {
    /// A name that must be there.
    pub(super) fn need_name(&self, report: &mut Report<'_>, key: &str) -> Option<String> {
        self.need(report, key, NAME)?.read(report, NAME, name)
    }

    /// A name that may be left out: empty then.
    pub(super) fn name_or_empty(&self, report: &mut Report<'_>, key: &str) -> Option<String> {
        match self.get(key) {
            Some(it) => it.read(report, NAME, name),
            None => Some(String::new()),
        }
    }

    /// The `note`, empty when it is left out.
    pub(super) fn note(&self, report: &mut Report<'_>) -> Option<String> {
        match self.get("note") {
            Some(it) => it.read(report, "plain text", note),
            None => Some(String::new()),
        }
    }

    /// The `date`, a full day.
    pub(super) fn need_day(&self, report: &mut Report<'_>) -> Option<Date> {
        self.need(report, "date", DAY)?.read(report, DAY, day)
    }

    /// A word of a closed list that must be there.
    pub(super) fn need_word<T, E: Into<Refusal>>(
        &self,
        report: &mut Report<'_>,
        key: &str,
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Option<T> {
        // The parser alone knows the words; it is asked with a text that is none of them.
        let accepted = parse("").err().map(|it| it.into().accepted).unwrap_or_default();
        self.need(report, key, &accepted)?.read(report, &accepted, parse)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_a_day_of_the_calendar() {
        assert_eq!(day("2024-02-29").unwrap(), Date::new(2024, 2, 29).unwrap());
        assert_eq!(day("2026-06").unwrap_err().message, "\"2026-06\" is not a full day");
        assert_eq!(day("2026-06-31").unwrap_err().message, "\"2026-06-31\" is not a date");
        assert_eq!(month("2026-06").unwrap().to_string(), "2026-06");
        for bad in ["2026", "2026-06-01", "June", "2026-13"] {
            assert!(month(bad).is_err(), "{bad}");
        }
    }
}
