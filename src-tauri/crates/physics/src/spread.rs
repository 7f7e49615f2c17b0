//! How far a finding of each evidence grade may be off where nobody stated an uncertainty.
//!
//! All numbers here are editorial judgement, not measured reliability, and a catalogue may change each of them. The
//! laws are those of JCGM 100:2008, 4.3.7 and 4.3.9 (clause numbers from memory): a rectangle of half width a has the
//! standard uncertainty a/√3, a triangle a/√6.

use domain::evidence::Evidence;

/// How far findings may be off, by their grade; editorial judgement, not measured reliability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spreads {
    /// Relative standard uncertainty of a measured number, taken as normal (editorial judgement).
    pub measured_u: f64,
    /// Relative half width of the triangle of a number judged by eye (editorial judgement).
    pub inspected_half: f64,
    /// Relative half width of the rectangle of a number read off a part (editorial judgement).
    pub marked_half: f64,
    /// Relative half width of the rectangle of a number that the maker states (editorial judgement).
    pub claimed_half: f64,
    /// Relative half width of the triangle of a number judged from other facts (editorial judgement).
    pub inferred_half: f64,
    /// Probability that a category, count or yes/no seen by eye is its neighbour instead (editorial judgement).
    pub inspected_slip: f64,
    /// The same of one that the maker states (editorial judgement).
    pub claimed_slip: f64,
    /// The same of one judged from other facts (editorial judgement).
    pub inferred_slip: f64,
}

/// One of the numbers of [`Spreads`], for lists and for a catalogue that changes it.
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    /// By which it is named.
    pub id: &'static str,
    /// What it is called on screens.
    pub title: &'static str,
    /// What it means, one sentence.
    pub doc: &'static str,
    /// Where the default comes from.
    pub source: &'static str,
    /// The default.
    pub default: f64,
    /// The least that is accepted.
    pub min: f64,
    /// The greatest that is accepted.
    pub max: f64,
    place: fn(&mut Spreads) -> &mut f64,
}

/// A change of a spread that is refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BadSpread {
    /// There is no such number.
    #[error("there is no spread {id:?}; accepted: {accepted}")]
    Unknown {
        /// The id as found.
        id: String,
        /// All ids.
        accepted: String,
    },
    /// The value lies outside the range.
    #[error("{id} cannot be {value}; accepted: {min} to {max}")]
    Range {
        /// The id.
        id: &'static str,
        /// The value as found.
        value: f64,
        /// The least that is accepted.
        min: f64,
        /// The greatest that is accepted.
        max: f64,
    },
}

/// The law of a number of some grade, about its recorded value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Relative {
    /// Normal, by its relative standard uncertainty.
    Normal(f64),
    /// Rectangular, by its relative half width.
    Rectangular(f64),
    /// Triangular, by its relative half width.
    Triangular(f64),
}

/// A judgement of this project.
const EDITORIAL: &str = "editorial";

/// All numbers of [`Spreads`].
pub static ENTRIES: [Entry; 8] = [
    Entry {
        id: "measured_u",
        title: "spread of a measured number",
        doc: "Relative standard uncertainty of a measured number without a stated one; normal.",
        source: EDITORIAL,
        default: 0.03,
        min: 0.0,
        max: 0.2,
        place: |it| &mut it.measured_u,
    },
    Entry {
        id: "inspected_half",
        title: "spread of a number judged by eye",
        doc: "Half width of its triangle, as a share of the value.",
        source: EDITORIAL,
        default: 0.15,
        min: 0.0,
        max: 0.5,
        place: |it| &mut it.inspected_half,
    },
    Entry {
        id: "marked_half",
        title: "spread of a number read off a part",
        doc: "Half width of its rectangle, as a share of the value.",
        source: EDITORIAL,
        default: 0.05,
        min: 0.0,
        max: 0.5,
        place: |it| &mut it.marked_half,
    },
    Entry {
        id: "claimed_half",
        title: "spread of a number that the maker states",
        doc: "Half width of its rectangle, as a share of the value.",
        source: EDITORIAL,
        default: 0.2,
        min: 0.0,
        max: 0.5,
        place: |it| &mut it.claimed_half,
    },
    Entry {
        id: "inferred_half",
        title: "spread of a number judged from other facts",
        doc: "Half width of its triangle, as a share of the value.",
        source: EDITORIAL,
        default: 0.3,
        min: 0.0,
        max: 0.5,
        place: |it| &mut it.inferred_half,
    },
    Entry {
        id: "inspected_slip",
        title: "slip of a category seen by eye",
        doc: "Probability that a category, count or yes/no seen by eye is its neighbour instead.",
        source: EDITORIAL,
        default: 0.03,
        min: 0.0,
        max: 0.5,
        place: |it| &mut it.inspected_slip,
    },
    Entry {
        id: "claimed_slip",
        title: "slip of a category that the maker states",
        doc: "Probability that a stated category, count or yes/no is its neighbour instead.",
        source: EDITORIAL,
        default: 0.1,
        min: 0.0,
        max: 0.5,
        place: |it| &mut it.claimed_slip,
    },
    Entry {
        id: "inferred_slip",
        title: "slip of a category judged from other facts",
        doc: "Probability that such a category, count or yes/no is its neighbour instead.",
        source: EDITORIAL,
        default: 0.2,
        min: 0.0,
        max: 0.5,
        place: |it| &mut it.inferred_slip,
    },
];

impl Default for Spreads {
    fn default() -> Self {
        let mut it = Spreads {
            measured_u: 0.0,
            inspected_half: 0.0,
            marked_half: 0.0,
            claimed_half: 0.0,
            inferred_half: 0.0,
            inspected_slip: 0.0,
            claimed_slip: 0.0,
            inferred_slip: 0.0,
        };
        for entry in &ENTRIES {
            *(entry.place)(&mut it) = entry.default;
        }
        it
    }
}

impl Spreads {
    /// The number of an id; `None` where there is no such id.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<f64> {
        let mut copy = *self;
        ENTRIES.iter().find(|it| it.id == id).map(|it| *(it.place)(&mut copy))
    }

    /// Changes the number of an id.
    ///
    /// # Errors
    /// [`BadSpread`] for an id that is none, and for a value outside its range; nothing is changed then.
    pub fn set(&mut self, id: &str, value: f64) -> Result<(), BadSpread> {
        let Some(entry) = ENTRIES.iter().find(|it| it.id == id) else {
            let ids: Vec<&str> = ENTRIES.iter().map(|it| it.id).collect();
            return Err(BadSpread::Unknown { id: id.to_owned(), accepted: ids.join(", ") });
        };
        let Entry { id, min, max, .. } = *entry;
        if !(min..=max).contains(&value) {
            return Err(BadSpread::Range { id, value, min, max });
        }
        *(entry.place)(self) = value;
        Ok(())
    }

    /// The law of a number of a grade.
    pub(crate) fn relative(&self, evidence: Evidence) -> Relative {
        match evidence {
            Evidence::Measured => Relative::Normal(self.measured_u),
            Evidence::Inspected => Relative::Triangular(self.inspected_half),
            Evidence::Marked => Relative::Rectangular(self.marked_half),
            Evidence::Claimed => Relative::Rectangular(self.claimed_half),
            Evidence::Inferred => Relative::Triangular(self.inferred_half),
        }
    }

    /// The probability that a category, count or yes/no of a grade is its neighbour instead; what was measured or read
    /// off a part is taken as read.
    pub(crate) fn slip(&self, evidence: Evidence) -> f64 {
        match evidence {
            Evidence::Measured | Evidence::Marked => 0.0,
            Evidence::Inspected => self.inspected_slip,
            Evidence::Claimed => self.claimed_slip,
            Evidence::Inferred => self.inferred_slip,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_entry_is_a_field_of_its_own() {
        for (place, entry) in ENTRIES.iter().enumerate() {
            assert_eq!(Spreads::default().get(entry.id), Some(entry.default), "{}", entry.id);
            let mut it = Spreads::default();
            it.set(entry.id, entry.max).unwrap();
            for (other, of) in ENTRIES.iter().enumerate() {
                let want = if other == place { of.max } else { of.default };
                assert_eq!(it.get(of.id), Some(want), "{} after {}", of.id, entry.id);
            }
        }
        assert_eq!(Spreads::default().get("measured"), None);
    }

    #[test]
    fn what_is_refused_changes_nothing_and_names_the_range() {
        let mut it = Spreads::default();
        let why = it.set("claimed_half", 0.6).unwrap_err().to_string();
        assert_eq!(why, "claimed_half cannot be 0.6; accepted: 0 to 0.5");
        assert!(it.set("claimed_half", f64::NAN).is_err());
        let why = it.set("claimed", 0.1).unwrap_err().to_string();
        assert!(why.starts_with("there is no spread \"claimed\"; accepted: measured_u, "), "{why}");
        assert_eq!(it, Spreads::default());
    }
}
