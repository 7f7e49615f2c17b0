//! A finding as somebody types it: an address, a value with its unit, how it is known.

use domain::{
    Date,
    dictionary::{Dictionary, Kind},
    evidence::Evidence,
    finding::{Answer, Finding, Gap, read_value},
    part::Part,
};

use crate::Error;

/// What is typed about one finding.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Typed<'a> {
    /// What the request calls it, for refusals.
    pub(crate) field: &'static str,
    /// `part.key`.
    pub(crate) address: &'a str,
    /// The value: `1 lb 6 oz`, `12.5 ± 0.2 mm`, a choice, or why there is none (`not inspected`).
    pub(crate) value: &'a str,
    /// How it is known; without it numbers count as measured, the rest as inspected.
    pub(crate) evidence: Option<&'a str>,
    /// A remark of the writer.
    pub(crate) note: &'a str,
    /// The day it was found.
    pub(crate) date: Date,
}

impl Typed<'_> {
    /// The part and the key.
    pub(crate) fn place(&self, dictionary: &Dictionary) -> Result<(Part, String), Error> {
        let form = "part.key as the sheet lists them, such as cabinet.wall_damping";
        let (part, key) = self
            .address
            .split_once('.')
            .and_then(|(part, key)| Some((part.parse::<Part>().ok()?, key)))
            .ok_or_else(|| Error::request(self.field, self.address, "is no finding", form))?;
        dictionary.entry_for(part, key).map_err(|why| {
            Error::request(self.field, self.address, format!("is no finding: {why}"), form)
        })?;
        Ok((part, key.to_owned()))
    }

    /// The finding.
    pub(crate) fn read(&self, dictionary: &Dictionary) -> Result<Finding, Error> {
        let (part, key) = self.place(dictionary)?;
        let Ok(entry) = dictionary.entry_for(part, &key) else {
            return Err(Error::Internal(format!("{} is known and is not", self.address)));
        };
        let evidence = match self.evidence {
            Some(word) => Evidence::parse(word).map_err(|why| {
                Error::request("evidence", word, "is not an evidence grade", why.accepted)
            })?,
            None if matches!(entry.kind, Kind::Number(..)) => Evidence::Measured,
            None => Evidence::Inspected,
        };
        let typed = self.value.trim();
        let (value, uncertainty) = match typed.split_once('±') {
            Some((value, u)) => (with_unit_of(value.trim(), u.trim()), Some(u.trim())),
            None => (typed.to_owned(), None),
        };
        let (answer, unit) = match Gap::parse(typed) {
            Ok(gap) => (Answer::Gap(gap), String::new()),
            Err(_) => {
                let it = read_value(&entry, &value, uncertainty).map_err(|why| {
                    Error::request(
                        self.field,
                        &format!("{}={typed}", self.address),
                        format!("is not understood: {why}"),
                        entry.accepted(),
                    )
                })?;
                (Answer::Value(it.value), it.unit)
            }
        };
        Ok(Finding {
            part,
            declared: dictionary.declared(part, &key, &value, &answer),
            key,
            typed: value,
            unit,
            answer,
            evidence,
            note: self.note.trim().to_owned(),
            date: self.date,
        })
    }
}

/// `12.5` of `12.5 ± 0.2 L` has its unit after the uncertainty.
fn with_unit_of(value: &str, uncertainty: &str) -> String {
    let unit =
        uncertainty.trim_start_matches(|it: char| !it.is_alphabetic() && it != '°' && it != '%');
    if value.ends_with(|it: char| it.is_ascii_digit()) {
        format!("{value} {unit}").trim_end().to_owned()
    } else {
        value.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_after_the_uncertainty_is_that_of_both() {
        assert_eq!(with_unit_of("12.5", "0.2 L"), "12.5 L");
        assert_eq!(with_unit_of("12.5 L", "0.2 L"), "12.5 L");
        assert_eq!(with_unit_of("0.38", "0.02"), "0.38");
    }
}
