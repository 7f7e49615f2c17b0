//! How a fact came to be known.

use std::fmt;

use crate::key::word_enum;

word_enum! {
    /// The evidence grade of a finding, best first.
    ///
    /// The first three are *hard*: somebody looked at this specimen.
    /// The last two are *soft*: they alone never settle a printed claim.
    pub enum Evidence: "evidence grade" {
        /// Read from an instrument.
        Measured = "measured",
        /// Seen by eye on the opened specimen.
        Inspected = "inspected",
        /// Read off a label or a printed part value.
        Marked = "marked",
        /// Stated by the maker.
        Claimed = "claimed",
        /// Judged from other facts.
        Inferred = "inferred",
    }
}

impl Evidence {
    /// Whether the grade rests on the opened specimen itself.
    #[must_use]
    pub fn is_hard(self) -> bool {
        self <= Evidence::Marked
    }
}

impl fmt::Display for Evidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hard_grades_come_first() {
        let hard: Vec<bool> = Evidence::ALL.iter().map(|it| it.is_hard()).collect();
        assert_eq!(hard, [true, true, true, false, false]);
    }

    #[test]
    fn an_unknown_grade_names_the_accepted_ones() {
        let why = Evidence::parse("seen").unwrap_err().to_string();
        assert_eq!(
            why,
            "\"seen\" is not an evidence grade; accepted: measured, inspected, marked, claimed, inferred"
        );
    }
}
