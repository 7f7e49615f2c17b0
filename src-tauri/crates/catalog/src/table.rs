//! How domain types stand in rows, and back.

use std::str::FromStr;

use domain::{
    Date,
    dictionary::Dictionary,
    evidence::Evidence,
    finding::{Answer, Finding, Gap, Value},
    money::{Currency, Money},
    network::{Element, ElementKind},
    part::Part,
    price::{Basis, Price, PriceKind, Seller},
    product::{Acquired, Product, ProductKind},
    sweep::Point,
};
use rusqlite::{Connection, Row, Statement, types::FromSql};

use crate::{Error, priced::text};

/// A finding's value as the four columns `kind`, `si`, `std_uncertainty`, `word`.
#[derive(Debug, PartialEq)]
pub(crate) struct ValueColumns {
    pub(crate) kind: &'static str,
    pub(crate) si: Option<f64>,
    pub(crate) std_uncertainty: Option<f64>,
    pub(crate) word: Option<String>,
}

impl From<&Answer> for ValueColumns {
    fn from(answer: &Answer) -> Self {
        let of = |kind, si, word| ValueColumns { kind, si, std_uncertainty: None, word };
        match answer {
            Answer::Gap(gap) => of("gap", None, Some(gap.word().to_owned())),
            Answer::Value(Value::Number { si, std_uncertainty }) => ValueColumns {
                kind: "number",
                si: Some(*si),
                std_uncertainty: *std_uncertainty,
                word: None,
            },
            Answer::Value(Value::Numbers(list)) => {
                of("numbers", None, Some(serde_json::Value::from(list.clone()).to_string()))
            }
            Answer::Value(Value::Choice(it)) => of("choice", None, Some(it.clone())),
            Answer::Value(Value::Count(it)) => of("count", Some(f64::from(*it)), None),
            Answer::Value(Value::Flag(it)) => of("flag", Some(f64::from(u8::from(*it))), None),
            Answer::Value(Value::Text(it)) => of("text", None, Some(it.clone())),
        }
    }
}

/// The names of a statement's columns, asked for once: SQLite would be asked for all of them again for each value of each row.
pub(crate) struct Columns(Vec<String>);

impl Columns {
    pub(crate) fn of(statement: &Statement<'_>) -> Self {
        Columns(statement.column_names().map(str::to_owned).collect())
    }
}

/// A row that names its table in errors.
pub(crate) struct Located<'r> {
    pub(crate) table: &'static str,
    pub(crate) columns: &'r Columns,
    pub(crate) row: &'r Row<'r>,
}

impl Located<'_> {
    pub(crate) fn damaged(&self, why: impl ToString) -> Error {
        let row = self.get("id").unwrap_or(0);
        Error::Damaged { table: self.table, row, why: why.to_string() }
    }

    /// Of two columns of a name, the first.
    fn place(&self, column: &str) -> Result<usize, Error> {
        let place = self.columns.0.iter().position(|it| it == column);
        Ok(place.ok_or_else(|| rusqlite::Error::InvalidColumnName(column.to_owned()))?)
    }

    pub(crate) fn get<T: FromSql>(&self, column: &str) -> Result<T, Error> {
        Ok(self.row.get(self.place(column)?)?)
    }

    pub(crate) fn text(&self, column: &str) -> Result<String, Error> {
        self.get(column)
    }

    /// A text that is looked at and not kept.
    fn glance(&self, column: &str) -> Result<&str, Error> {
        text(self.row, self.place(column)?)
    }

    /// A word of a closed list.
    pub(crate) fn word<T, E: ToString>(
        &self,
        column: &str,
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Result<T, Error> {
        parse(self.glance(column)?).map_err(|why| self.damaged(why.to_string()))
    }

    pub(crate) fn parsed<T: FromStr<Err: ToString>>(&self, column: &str) -> Result<T, Error> {
        self.word(column, str::parse)
    }

    pub(crate) fn day(&self, column: &str) -> Result<Date, Error> {
        self.parsed(column)
    }

    /// A small whole number.
    pub(crate) fn whole<T: TryFrom<i64>>(&self, column: &str) -> Result<T, Error> {
        let number: i64 = self.get(column)?;
        T::try_from(number).map_err(|_| self.damaged(format!("{column} is {number}")))
    }

    pub(crate) fn product(&self) -> Result<Product, Error> {
        Ok(Product {
            key: self.word("key", domain::key::ProductKey::parse)?,
            maker: self.text("maker")?,
            model: self.text("model")?,
            kind: self.word("kind", ProductKind::parse)?,
            ways: self.whole("ways")?,
            powered: self.get("powered")?,
            year: self.whole("year")?,
            note: self.text("note")?,
        })
    }

    pub(crate) fn acquired(&self) -> Result<Acquired, Error> {
        self.word("acquired", Acquired::parse)
    }

    pub(crate) fn finding(&self, dictionary: &Dictionary) -> Result<Finding, Error> {
        let (part, key, typed) = (self.part()?, self.text("key")?, self.text("typed")?);
        let answer = self.answer()?;
        Ok(Finding {
            part,
            declared: dictionary.declared(part, &key, &typed, &answer),
            key,
            typed,
            unit: self.text("unit")?,
            answer,
            evidence: self.word("evidence", Evidence::parse)?,
            note: self.text("note")?,
            date: self.day("day")?,
        })
    }

    fn answer(&self) -> Result<Answer, Error> {
        let word = || self.text("word");
        let si = || self.get::<f64>("si");
        Ok(Answer::Value(match self.glance("kind")? {
            "gap" => return Ok(Answer::Gap(self.word("word", Gap::parse)?)),
            "number" => Value::Number { si: si()?, std_uncertainty: self.get("std_uncertainty")? },
            "numbers" => Value::Numbers(
                serde_json::from_str(self.glance("word")?).map_err(|why| self.damaged(why))?,
            ),
            "choice" => Value::Choice(word()?),
            "count" => Value::Count(counted(si()?).map_err(|why| self.damaged(why))?),
            "flag" => Value::Flag(si()? > 0.5),
            "text" => Value::Text(word()?),
            other => return Err(self.damaged(format!("{other} is no kind of value"))),
        }))
    }

    pub(crate) fn price(&self) -> Result<Price, Error> {
        let count: u32 = self.whole("count")?;
        Ok(Price {
            money: Money {
                minor: self.get("amount_minor")?,
                currency: self.word("currency", Currency::parse)?,
            },
            basis: match self.glance("basis")? {
                "each" => Basis::Each,
                "pair" => Basis::Pair,
                "set" => Basis::Set(count),
                other => return Err(self.damaged(format!("{other} is no price basis"))),
            },
            date: self.parsed("day")?,
            kind: self.word("kind", PriceKind::parse)?,
            seller: self.word("seller", Seller::parse)?,
            shop: self.text("shop")?,
            note: self.text("note")?,
        })
    }

    pub(crate) fn element(&self) -> Result<Element, Error> {
        let part: Option<String> = self.get("part")?;
        Ok(Element {
            name: self.text("name")?,
            kind: self.word("kind", ElementKind::parse)?,
            from: self.text("node_from")?,
            to: self.text("node_to")?,
            typed: self.text("typed")?,
            value_si: self.get("value_si")?,
            loss_typed: self.text("loss_typed")?,
            loss_ohm: self.get("loss_ohm")?,
            tolerance: self.get("tolerance")?,
            construction: self.text("construction")?,
            rating_typed: self.text("rating_typed")?,
            rating_si: self.get("rating_si")?,
            part: part.map(|it| it.parse::<Part>()).transpose().map_err(|why| self.damaged(why))?,
            note: self.text("note")?,
        })
    }

    pub(crate) fn points(&self) -> Result<Vec<Point>, Error> {
        points_from_text(self.glance("points")?).map_err(|why| self.damaged(why))
    }

    pub(crate) fn part(&self) -> Result<Part, Error> {
        self.parsed("part")
    }
}

/// A count that is stored as a number.
pub(crate) fn counted(si: f64) -> Result<u32, String> {
    if si.fract().abs() > 0.0 || !(0.0..=f64::from(u32::MAX)).contains(&si) {
        return Err(format!("{si} is no count"));
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "checked on the line above"
    )]
    Ok(si as u32)
}

/// The parts list of a network, in its order.
pub(crate) fn elements(sql: &Connection, network_id: i64) -> Result<Vec<Element>, Error> {
    let mut statement = sql.prepare_cached(
        "SELECT *, network_id AS id FROM element WHERE network_id = ?1 ORDER BY position",
    )?;
    let columns = Columns::of(&statement);
    let mut rows = statement.query([network_id])?;
    let mut elements = Vec::new();
    while let Some(row) = rows.next()? {
        elements.push(Located { table: "element", columns: &columns, row }.element()?);
    }
    Ok(elements)
}

/// Points as one JSON array of `[f, z]` or `[f, z, phase]`.
pub(crate) fn points_to_text(points: &[Point]) -> String {
    let rows = points.iter().map(|it| {
        let mut row = vec![it.f_hz, it.z_ohm];
        row.extend(it.phase_deg);
        serde_json::Value::from(row)
    });
    serde_json::Value::Array(rows.collect()).to_string()
}

fn points_from_text(text: &str) -> Result<Vec<Point>, String> {
    let rows: Vec<Vec<f64>> = serde_json::from_str(text).map_err(|why| why.to_string())?;
    let points: Option<Vec<Point>> = rows
        .iter()
        .map(|row| match row[..] {
            [f_hz, z_ohm] => Some(Point { f_hz, z_ohm, phase_deg: None }),
            [f_hz, z_ohm, phase] => Some(Point { f_hz, z_ohm, phase_deg: Some(phase) }),
            _ => None,
        })
        .collect();
    let points = points.ok_or("a point has neither two nor three numbers")?;
    domain::sweep::Sweep::check(&points).map_err(|why| why.to_string())?;
    Ok(points)
}
