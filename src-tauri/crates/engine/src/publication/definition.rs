//! What a publication shall hold: the file that the command line reads and the window writes.

use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::Error;

/// A publication as it is asked for. Every key may be left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct Definition {
    /// The title; one is made of the band when it is empty.
    pub title: String,
    /// Who answers for it.
    pub author: String,
    /// Products of the comparison, by key; all ranked ones when there are none.
    pub products: Vec<String>,
    /// Columns of the comparison: `price`, `price_date`, `kind`, `year`, `index`, `value`, `coverage`, a subsystem such as `cabinet`, a
    /// finding such as `cabinet.wall_damping`, or a quantity such as `system.f3_hz`.
    pub columns: Vec<String>,
    /// `bench` for the units of the bench, `si` for those of the International System.
    pub units: String,
    /// Whether numbers show how uncertain they are. What missing findings leave open is always shown.
    pub intervals: bool,
    /// Whether findings name their evidence in footnotes.
    pub evidence: bool,
    /// Whether charts are shown.
    pub charts: bool,
    /// Whether the claims that stand and are about this band are printed with their verdicts.
    pub claims: bool,
    /// Whether each product has a sheet.
    pub sheets: bool,
    /// What a reader must be told about how it came about.
    pub disclosure: Disclosure,
}

/// What the program cannot know about how products were chosen and who paid. What is empty is printed as not recorded.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct Disclosure {
    /// How products were chosen.
    pub chosen: String,
    /// The market or country.
    pub market: String,
    /// How many products of this kind and price are known to exist.
    pub known: String,
    /// Brands left out, and why.
    pub left_out: String,
    /// When the specimens were bought.
    pub bought: String,
    /// What was measured with.
    pub instruments: String,
    /// Whether prices hold tax and shipping.
    pub tax_and_shipping: String,
    /// Who paid for products and work.
    pub paid_by: String,
    /// Gifts and loans.
    pub gifts: String,
    /// Links that earn money.
    pub affiliate: String,
}

impl Default for Definition {
    fn default() -> Self {
        let columns = [
            "price",
            "price_date",
            "index",
            "cabinet.net_volume",
            "cabinet.panel_thick.side",
            "cabinet.wall_damping",
            "woofer.nominal_d",
            "system.f3_hz",
            "system.sens_2v83_db",
            "load.z_min_ohm",
            "crossover.tweeter_order",
        ];
        Definition {
            title: String::new(),
            author: String::new(),
            products: Vec::new(),
            columns: columns.map(str::to_owned).into(),
            units: "bench".into(),
            intervals: true,
            evidence: true,
            charts: true,
            claims: true,
            sheets: true,
            disclosure: Disclosure::default(),
        }
    }
}

/// Units of a publication.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Units {
    Bench,
    Si,
}

impl Definition {
    /// Reads a definition file (TOML).
    ///
    /// # Errors
    /// [`Error::Request`] with the place in the file.
    pub fn read(path: &Path) -> Result<Self, Error> {
        let text = std::fs::read_to_string(path).map_err(|why| Error::Request {
            place: "definition",
            text: path.display().to_string(),
            why: format!("cannot be read: {}", why.kind()),
            accepted: "a TOML file, such as `boxworth publish --show-definition` prints".into(),
        })?;
        Definition::parse(&text, &path.display().to_string())
    }

    /// Reads the text of a definition file; `of` is what an error calls it.
    ///
    /// # Errors
    /// [`Error::Request`] with the place in the text.
    pub fn parse(text: &str, of: &str) -> Result<Self, Error> {
        toml::from_str(text).map_err(|why| Error::Request {
            place: "definition",
            text: of.to_owned(),
            why: why.to_string().trim_end().to_owned(),
            accepted: "the keys that `boxworth publish --show-definition` prints".into(),
        })
    }

    /// The text of a definition file.
    ///
    /// # Errors
    /// [`Error::Internal`] when it cannot be written as TOML, which no content causes.
    pub fn text(&self) -> Result<String, Error> {
        toml::to_string(self).map_err(|why| Error::Internal(why.to_string()))
    }

    /// Looks for what cannot be printed: a list that names a thing twice, or no column.
    ///
    /// # Errors
    /// [`Error::Request`] with the place and what would be accepted.
    pub(super) fn check(&self) -> Result<(), Error> {
        if self.columns.is_empty() {
            return Err(Error::Request {
                place: "columns",
                text: "[]".into(),
                why: "names no column".into(),
                accepted:
                    "at least one column, such as price; without the key those that are usual"
                        .into(),
            });
        }
        for (place, list) in [("columns", &self.columns), ("products", &self.products)] {
            let twice = list.iter().enumerate().find(|(at, it)| list[..*at].contains(it));
            if let Some((_, it)) = twice {
                return Err(Error::Request {
                    place,
                    text: it.clone(),
                    why: "is named twice".into(),
                    accepted: "each name once".into(),
                });
            }
        }
        Ok(())
    }

    pub(super) fn units(&self) -> Result<Units, Error> {
        match self.units.as_str() {
            "bench" => Ok(Units::Bench),
            "si" => Ok(Units::Si),
            other => Err(Error::Request {
                place: "units",
                text: other.into(),
                why: "is no choice of units".into(),
                accepted: "bench or si".into(),
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_that_names_a_thing_twice_or_nothing_is_refused_at_its_place() {
        for (text, wanted) in [
            ("columns = []", "columns"),
            ("columns = [\"price\", \"year\", \"price\"]", "columns"),
            ("products = [\"a/b\", \"a/b\"]", "products"),
        ] {
            let refused = Definition::parse(text, "the text").unwrap().check();
            assert!(
                matches!(&refused, Err(Error::Request { place, .. }) if *place == wanted),
                "{text}: {refused:?}"
            );
        }
        assert!(Definition::default().check().is_ok());
    }
}
