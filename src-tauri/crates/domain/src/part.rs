//! The parts of a loudspeaker that findings belong to.

use std::{fmt, str::FromStr};

use crate::key::{UnknownWord, word_enum};

word_enum! {
    /// What a part does. Drivers of one role are numbered when they differ.
    pub enum Role: "part" {
        /// The product as a whole.
        Whole = "whole",
        /// The box.
        Cabinet = "cabinet",
        /// The driver with the lowest range.
        Woofer = "woofer",
        /// The driver between woofer and tweeter.
        Midrange = "midrange",
        /// The driver with the highest range.
        Tweeter = "tweeter",
        /// The passive network.
        Crossover = "crossover",
        /// Conductors, joints and terminals.
        Wiring = "wiring",
    }
}

impl Role {
    /// Whether the role is that of a driver.
    #[must_use]
    pub fn is_driver(self) -> bool {
        matches!(self, Role::Woofer | Role::Midrange | Role::Tweeter)
    }
}

/// A role and, for the second and further drivers that differ, its number: `woofer`, `woofer2`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Part {
    /// What the part does.
    pub role: Role,
    /// 1 for the only or first of its role.
    pub number: u8,
}

impl Part {
    /// The only or first part of a role.
    #[must_use]
    pub const fn first(role: Role) -> Self {
        Part { role, number: 1 }
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.role.word())?;
        if self.number > 1 { write!(f, "{}", self.number) } else { Ok(()) }
    }
}

impl FromStr for Part {
    type Err = UnknownWord;

    /// Reads `woofer` or, for drivers only, `woofer2` to `woofer9`.
    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let unknown = |_| {
            UnknownWord {
            text: text.to_owned(),
            what: "part",
            accepted: "whole, cabinet, woofer, midrange, tweeter, crossover, wiring; drivers may end in 2 to 9".into(),
        }
        };
        if let Ok(role) = Role::parse(text) {
            return Ok(Part::first(role));
        }
        let (name, digit) = text.split_at(text.floor_char_boundary(text.len().saturating_sub(1)));
        let role = Role::parse(name).map_err(unknown)?;
        match digit.parse::<u8>() {
            Ok(number @ 2..=9) if role.is_driver() => Ok(Part { role, number }),
            _ => Role::parse(text).map(Part::first).map_err(unknown),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_read_back_as_written() {
        for text in
            ["whole", "cabinet", "woofer", "woofer2", "midrange9", "tweeter", "crossover", "wiring"]
        {
            assert_eq!(text.parse::<Part>().unwrap().to_string(), text);
        }
    }

    #[test]
    fn numbers_are_for_further_drivers_only() {
        for bad in
            ["", "2", "woofer1", "woofer0", "woofer22", "cabinet2", "subwoofer", "é", "wooferé"]
        {
            assert!(bad.parse::<Part>().is_err(), "{bad} was accepted");
        }
    }
}
