//! The rules for names, notes, days and words, which hold in each file of the format.

use domain::{Date, finding::MAX_TEXT, price::PriceDate};

use super::{
    cursor::{Report, Table},
    fault::{Refusal, shortened},
};

/// The longest name, in characters.
const LONGEST_NAME: usize = 80;

/// The accepted form of a name.
pub(super) const NAME: &str = "a name of 1 to 80 characters on one line";

/// The accepted form of a full day.
pub(super) const DAY: &str = "YYYY-MM-DD, such as \"2026-06-02\"";

/// Whether a character turns the direction of writing without being seen.
pub(super) fn turns_direction(c: char) -> bool {
    matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A name as printed.
///
/// Marks that turn the direction of writing are refused: they make one name look like another.
pub(super) fn name(text: &str) -> Result<String, Refusal> {
    let why = if text.trim().is_empty() {
        "is empty"
    } else if text.chars().nth(LONGEST_NAME).is_some() {
        "is too long"
    } else if text.chars().any(char::is_control) {
        "holds a control character, such as a tab or a line break"
    } else if text.chars().any(turns_direction) {
        "holds a mark that turns the direction of writing"
    } else if text.trim() != text {
        "starts or ends with a space"
    } else {
        return Ok(text.to_owned());
    };
    Err(Refusal::new(format!("{:?} {why}", shortened(text, LONGEST_NAME)), NAME))
}

/// A remark; line breaks and tabs are fine.
pub(super) fn note(text: &str) -> Result<String, Refusal> {
    let accepted = format!("plain text of at most {MAX_TEXT} bytes");
    if text.len() > MAX_TEXT {
        return Err(Refusal::new(format!("the text takes {} bytes", text.len()), accepted));
    }
    match text.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\t')) {
        Some(c) => {
            Err(Refusal::new(format!("the text holds the control character {c:?}"), accepted))
        }
        None => Ok(text.to_owned()),
    }
}

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
    fn names_that_can_deceive_are_refused() {
        let why = |text: &str| name(text).unwrap_err().message;
        assert_eq!(why(""), "\"\" is empty");
        assert_eq!(why("  "), "\"  \" is empty");
        assert_eq!(why("Heron "), "\"Heron \" starts or ends with a space");
        assert_eq!(
            why("He\tron"),
            "\"He\\tron\" holds a control character, such as a tab or a line break"
        );
        assert_eq!(
            why("Heron \u{202e}5"),
            "\"Heron \\u{202e}5\" holds a mark that turns the direction of writing"
        );
        assert!(why(&"é".repeat(81)).ends_with("is too long"));
        for good in ["Alder & Fen", "Øre 5", "5", &"é".repeat(80)] {
            assert_eq!(name(good).unwrap(), good);
        }
    }

    #[test]
    fn notes_keep_their_lines() {
        assert_eq!(note("a\n\tb \u{202e}").unwrap(), "a\n\tb \u{202e}");
        assert_eq!(
            note("a\u{7}").unwrap_err().message,
            "the text holds the control character '\\u{7}'"
        );
        assert_eq!(note(&"x".repeat(2001)).unwrap_err().message, "the text takes 2001 bytes");
    }

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
