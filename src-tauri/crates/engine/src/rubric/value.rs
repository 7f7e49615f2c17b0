//! What a number of the rubric may be: its typed form, its JSON, and what is refused.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use standing::utility::{Scale, Utility};

/// The highest weight, as the index takes it.
const MOST: f64 = 1e6;

/// What may stand at an address.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Form {
    /// One number between two ends, both included.
    Number { min: f64, max: f64 },
    /// Points of a curve.
    Curve { scale: Scale },
    /// Points of each word of a choice.
    Table { words: Vec<String> },
}

/// What stands at an address. As JSON: a number, `[[measure, points], …]`, or `{"word": points, …}`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub(super) enum Value {
    Number(f64),
    Curve(Vec<[f64; 2]>),
    Table(BTreeMap<String, f64>),
}

impl Form {
    /// A weight; only ratios matter.
    pub(super) const WEIGHT: Form = Form::Number { min: 0.0, max: MOST };

    /// Points on top of others.
    pub(super) const BONUS: Form = Form::Number { min: 0.0, max: 100.0 };

    /// Reads what somebody typed.
    ///
    /// # Errors
    /// What is wrong with it, as the end of a sentence about the text.
    pub(super) fn parse(&self, text: &str) -> Result<Value, String> {
        let value = match self {
            Form::Number { .. } => {
                Value::Number(text.trim().parse().map_err(|_| "is no number".to_owned())?)
            }
            Form::Curve { .. } => {
                let number = |(x, u): (String, f64)| match x.parse() {
                    Ok(x) => Ok([x, u]),
                    Err(_) => Err(format!("is no curve: {x:?} is no number")),
                };
                Value::Curve(pairs(text)?.into_iter().map(number).collect::<Result<_, _>>()?)
            }
            Form::Table { .. } => {
                let mut table = BTreeMap::new();
                for (word, u) in pairs(text)? {
                    if table.insert(word.clone(), u).is_some() {
                        return Err(format!("is no table: {word:?} stands there twice"));
                    }
                }
                Value::Table(table)
            }
        };
        self.check(&value)?;
        Ok(value)
    }

    /// Reads what a catalogue holds.
    ///
    /// # Errors
    /// As [`Form::parse`].
    pub(super) fn read(&self, json: &str) -> Result<Value, String> {
        let value = serde_json::from_str(json).map_err(|_| "is no value".to_owned())?;
        self.check(&value)?;
        Ok(value)
    }

    fn check(&self, value: &Value) -> Result<(), String> {
        match (self, value) {
            (Form::Number { min, max }, Value::Number(it)) => {
                let inside = (*min..=*max).contains(it);
                if inside { Ok(()) } else { Err(format!("is outside {min} to {max}")) }
            }
            (Form::Curve { .. }, Value::Curve(points)) if points.len() < 2 => {
                Err("is no curve: it has fewer than two points".into())
            }
            (Form::Curve { scale }, Value::Curve(points)) => {
                let points = points.iter().map(|[x, u]| (*x, *u)).collect();
                Utility::new(*scale, points).map(drop).map_err(|why| format!("is no curve: {why}"))
            }
            (Form::Table { words }, Value::Table(table)) => check_table(words, table),
            _ => Err("is of another kind".into()),
        }
    }

    /// What is accepted; the value of now shows how it is written.
    pub(super) fn accepted(&self, now: &Value) -> String {
        match self {
            Form::Number { min, max } => format!("a number from {min} to {max}"),
            Form::Curve { scale } => format!(
                "two or more pairs MEASURE: POINTS, the measure rising{}, points from 0 to 100, such as {}",
                if *scale == Scale::Log { " and above 0" } else { "" },
                self.text(now)
            ),
            Form::Table { .. } => format!(
                "a pair WORD: POINTS for each word, points from 0 to 100, such as {}",
                self.text(now)
            ),
        }
    }

    /// The value as [`Form::parse`] reads it.
    pub(super) fn text(&self, value: &Value) -> String {
        let pair = |(name, u): (String, f64)| format!("{name}: {u}");
        let pairs: Vec<String> = match value {
            Value::Number(it) => return it.to_string(),
            Value::Curve(points) => points.iter().map(|[x, u]| pair((x.to_string(), *u))).collect(),
            Value::Table(table) => match self {
                Form::Table { words } => words
                    .iter()
                    .filter_map(|word| Some(pair((word.clone(), *table.get(word)?))))
                    .collect(),
                _ => table.iter().map(|(word, u)| pair((word.clone(), *u))).collect(),
            },
        };
        pairs.join(", ")
    }
}

impl Value {
    /// The value as JSON. Numbers are finite, so nothing is lost.
    pub(super) fn json(&self) -> String {
        serde_json::json!(self).to_string()
    }
}

fn check_table(words: &[String], table: &BTreeMap<String, f64>) -> Result<(), String> {
    if let Some(word) = words.iter().find(|it| !table.contains_key(*it)) {
        return Err(format!("is no table: {word:?} has no points"));
    }
    for (word, u) in table {
        if !words.contains(word) {
            return Err(format!("is no table: {word:?} is no word of this choice"));
        }
        if !(0.0..=100.0).contains(u) {
            return Err(format!("is no table: {word:?} has {u}, outside 0 to 100"));
        }
    }
    Ok(())
}

/// Pairs `NAME: NUMBER` between commas. A comma inside a name is part of it, since no number stands before it.
fn pairs(text: &str) -> Result<Vec<(String, f64)>, String> {
    let mut pairs = Vec::new();
    let mut held = String::new();
    for piece in text.split(',') {
        held.push_str(piece);
        let pair = held.rsplit_once(':').and_then(|(name, number)| {
            Some((name.trim().to_owned(), number.trim().parse::<f64>().ok()?))
        });
        if let Some(pair) = pair {
            pairs.push(pair);
            held.clear();
        } else {
            held.push(',');
        }
    }
    if held.is_empty() && !pairs.is_empty() {
        Ok(pairs)
    } else {
        let left = held.strip_suffix(',').unwrap_or(&held).trim();
        Err(format!("is no list of pairs: {left:?} is no NAME: NUMBER"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Form {
        Form::Table { words: ["none", "foam, thin", "caulk"].map(str::to_owned).into() }
    }

    #[test]
    fn what_is_printed_can_be_typed_and_kept() {
        for (form, text) in [
            (Form::WEIGHT, "12.5"),
            (Form::Number { min: -4.0, max: 0.0 }, "-1"),
            (Form::Curve { scale: Scale::Log }, "120: 0, 200.5: 30, 700: 100"),
            (Form::Curve { scale: Scale::Linear }, "-3: 100, 0: 50"),
            (table(), "none: 40, foam, thin: 70, caulk: 90"),
        ] {
            let value = form.parse(text).unwrap();
            assert_eq!(form.text(&value), text);
            assert_eq!(form.read(&value.json()).as_ref(), Ok(&value), "{text}");
        }
    }

    #[test]
    fn what_does_not_fit_is_refused_with_the_reason() {
        let log = Form::Curve { scale: Scale::Log };
        for (form, text, why) in [
            (Form::WEIGHT, "-1", "outside 0 to 1000000"),
            (Form::WEIGHT, "NaN", "outside"),
            (Form::WEIGHT, "inf", "outside"),
            (Form::WEIGHT, "12,5", "is no number"),
            (Form::WEIGHT, "", "is no number"),
            (Form::Number { min: 1.0, max: 50.0 }, "50.1", "outside 1 to 50"),
            (log.clone(), "120: 0", "fewer than two"),
            (log.clone(), "", "NAME: NUMBER"),
            (log.clone(), "120: 0, 200: 30,", "NAME: NUMBER"),
            (log.clone(), "120: 0,, 200: 30", "\", 200\" is no number"),
            (log.clone(), "120: 0, 100: 30", "not above 120"),
            (log.clone(), "120: 0, 120: 30", "not above 120"),
            (log.clone(), "0: 0, 100: 30", "above 0 on a logarithmic scale"),
            (log.clone(), "120: 0, 200: 101", "from 0 to 100"),
            (log.clone(), "120: 0, 200: NaN", "from 0 to 100"),
            (log.clone(), "120: 0, 200", "\"200\" is no NAME: NUMBER"),
            (log, "low: 0, 200: 30", "\"low\" is no number"),
            (table(), "none: 40, caulk: 90", "\"foam, thin\" has no points"),
            (table(), "none: 40, foam, thin: 70, caulk: 90, tar: 1", "\"tar\" is no word"),
            (table(), "none: 40, foam, thin: 70, caulk: 100.5", "outside 0 to 100"),
            (table(), "none: 40, none: 41, foam, thin: 70, caulk: 9", "twice"),
        ] {
            let told = form.parse(text).unwrap_err();
            assert!(told.contains(why), "{text}: {told}");
        }
        for (form, json) in
            [(Form::WEIGHT, "[[1,2],[3,4]]"), (Form::WEIGHT, "\"12\""), (table(), "12")]
        {
            assert!(form.read(json).is_err(), "{json}");
        }
    }
}
