//! A walk over a TOML document that knows the place of each value.
//!
//! A fault never ends the walk: what cannot be read is `None`, and the fault is in the report.

use toml::de::{DeTable, DeValue};

use domain::{key::nearest_word, text::shortened};

use super::fault::{Faults, Refusal};

/// Where the faults of one file go, and which line a byte of it is on.
#[derive(Debug)]
pub(super) struct Report<'a> {
    /// The file, relative to the folder.
    pub(super) file: &'a str,
    /// The faults of all files.
    pub(super) faults: &'a mut Faults,
    newlines: Vec<usize>,
}

impl<'a> Report<'a> {
    pub(super) fn new(file: &'a str, text: &str, faults: &'a mut Faults) -> Self {
        let newlines = text.bytes().enumerate().filter(|it| it.1 == b'\n').map(|it| it.0).collect();
        Report { file, faults, newlines }
    }

    /// Reports a fault at a byte of the file.
    pub(super) fn fault(&mut self, at: usize, key: &str, why: impl Into<Refusal>) {
        let line = self.line(at);
        self.faults.add(self.file, line, key, why.into());
    }

    /// Notes what is no fault at a byte of the file.
    pub(super) fn note(&mut self, at: usize, text: &str) {
        let line = self.line(at);
        self.faults.note(self.file, line, text);
    }

    fn line(&self, at: usize) -> Option<u32> {
        u32::try_from(self.newlines.partition_point(|it| *it < at) + 1).ok()
    }

    /// Parses the file; each syntax error is a fault.
    ///
    /// After a syntax error the table is not used: what recovery leaves out would be reported as missing.
    pub(super) fn parse<'t>(&mut self, text: &'t str) -> Option<DeTable<'t>> {
        let (table, errors) = DeTable::parse_recoverable(text);
        for it in &errors {
            let at = it.span().map_or(text.len(), |it| it.start);
            let (message, expected) =
                it.message().split_once(", expected ").unwrap_or((it.message(), "TOML"));
            self.fault(at, "", Refusal::new(format!("no TOML: {message}"), expected));
        }
        errors.is_empty().then(|| table.into_inner())
    }
}

/// A table and its place.
#[derive(Debug)]
pub(super) struct Table<'t> {
    /// The path of keys to it, empty for the document.
    pub(super) path: String,
    /// The byte at which it starts: its header, its brace or the key that implies it.
    pub(super) at: usize,
    entries: &'t DeTable<'t>,
}

/// A key with its value and their place.
#[derive(Debug)]
pub(super) struct Field<'t> {
    /// The path of keys to it.
    pub(super) path: String,
    /// The byte at which the value (of a table: the header or key) starts.
    pub(super) at: usize,
    /// The key alone.
    pub(super) key: &'t str,
    /// The value.
    pub(super) value: &'t DeValue<'t>,
}

impl<'t> Table<'t> {
    /// The document as a whole.
    pub(super) fn document(entries: &'t DeTable<'t>) -> Self {
        Table { path: String::new(), at: 0, entries }
    }

    /// All fields.
    pub(super) fn fields(&self) -> impl Iterator<Item = Field<'t>> {
        self.entries.iter().map(|(key, value)| Field {
            path: joined(&self.path, key.get_ref()),
            at: value.span().start,
            key: key.get_ref(),
            value: value.get_ref(),
        })
    }

    /// The field of a key, if it is there.
    pub(super) fn get(&self, key: &str) -> Option<Field<'t>> {
        let (key, value) = self.entries.get_key_value(key)?;
        Some(Field {
            path: joined(&self.path, key.get_ref()),
            at: value.span().start,
            key: key.get_ref(),
            value: value.get_ref(),
        })
    }

    /// The field of a key that must be there.
    pub(super) fn need(
        &self,
        report: &mut Report<'_>,
        key: &str,
        accepted: &str,
    ) -> Option<Field<'t>> {
        let field = self.get(key);
        if field.is_none() {
            let why = Refusal::new("the key is missing", accepted);
            report.fault(self.at, &joined(&self.path, key), why);
        }
        field
    }

    /// Reports each key that is none of those known.
    pub(super) fn only(&self, report: &mut Report<'_>, known: &[&str]) {
        for it in self.fields().filter(|it| !known.contains(&it.key)) {
            it.unknown(report, known);
        }
    }

    /// The tables of a list of tables; none when the key is not there.
    pub(super) fn tables(&self, report: &mut Report<'_>, key: &str) -> Vec<Table<'t>> {
        let Some(field) = self.get(key) else { return Vec::new() };
        let accepted = format!("[[{}]] for each", field.path);
        let DeValue::Array(list) = field.value else {
            field.wrong_kind(report, "a list of tables", &accepted);
            return Vec::new();
        };
        let mut tables = Vec::with_capacity(list.len());
        for (place, it) in list.iter().enumerate() {
            let path = format!("{}[{}]", field.path, place + 1);
            let (at, value) = (it.span().start, it.get_ref());
            match value {
                DeValue::Table(entries) => tables.push(Table { path, at, entries }),
                _ => Field { path, at, key: field.key, value }
                    .wrong_kind(report, "a table", &accepted),
            }
        }
        tables
    }
}

impl<'t> Field<'t> {
    /// Reports that there is no such key.
    pub(super) fn unknown(&self, report: &mut Report<'_>, known: &[&str]) {
        if report.faults.is_full() {
            return report.fault(self.at, "", Refusal::new("", ""));
        }
        let hint = nearest_word(known.iter().copied(), self.key)
            .map(|it| format!("; did you mean {it:?}?"))
            .unwrap_or_default();
        let message = format!("unknown key {:?}{hint}", shortened(self.key, 40));
        report.fault(self.at, &self.path, Refusal::new(message, known.join(", ")));
    }

    /// Reports that the value is of the wrong kind.
    pub(super) fn wrong_kind(&self, report: &mut Report<'_>, wanted: &str, accepted: &str) {
        let found = match self.value {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) => "a whole number",
            DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date without quotes",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        report.fault(
            self.at,
            &self.path,
            Refusal::new(format!("{found} stands here, not {wanted}"), accepted),
        );
    }

    /// The text.
    pub(super) fn text(&self, report: &mut Report<'_>, accepted: &str) -> Option<&'t str> {
        match self.value {
            DeValue::String(it) => Some(it),
            _ => {
                self.wrong_kind(report, "a text", &format!("{accepted}, as text in quotes"));
                None
            }
        }
    }

    /// The text, read as something.
    pub(super) fn read<T, E: Into<Refusal>>(
        &self,
        report: &mut Report<'_>,
        accepted: &str,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<T> {
        let text = self.text(report, accepted)?;
        read(text).map_err(|why| report.fault(self.at, &self.path, why)).ok()
    }

    /// A whole number from `low` to `high`.
    pub(super) fn whole(&self, report: &mut Report<'_>, low: i64, high: i64) -> Option<i64> {
        let accepted = format!("a whole number from {low} to {high}, without quotes");
        let DeValue::Integer(it) = self.value else {
            self.wrong_kind(report, "a whole number", &accepted);
            return None;
        };
        let number = i64::from_str_radix(it.as_str(), it.radix())
            .ok()
            .filter(|it| (low..=high).contains(it));
        if number.is_none() {
            let shown = shortened(&it.to_string(), 30);
            report.fault(
                self.at,
                &self.path,
                Refusal::new(format!("{shown} is out of range"), accepted),
            );
        }
        number
    }

    /// True or false.
    pub(super) fn flag(&self, report: &mut Report<'_>) -> Option<bool> {
        let flag = self.value.as_bool();
        if flag.is_none() {
            self.wrong_kind(report, "true or false", "true, false, without quotes");
        }
        flag
    }

    /// The texts of a list.
    pub(super) fn texts(&self, report: &mut Report<'_>, accepted: &str) -> Option<Vec<&'t str>> {
        let DeValue::Array(list) = self.value else {
            self.wrong_kind(report, "a list", accepted);
            return None;
        };
        let texts: Option<Vec<&str>> = list.iter().map(|it| it.get_ref().as_str()).collect();
        if texts.is_none() {
            report.fault(
                self.at,
                &self.path,
                Refusal::new("not each item of the list is a text", accepted),
            );
        }
        texts
    }

    /// The table.
    pub(super) fn table(&self, report: &mut Report<'_>) -> Option<Table<'t>> {
        match self.value {
            DeValue::Table(entries) => {
                Some(Table { path: self.path.clone(), at: self.at, entries })
            }
            _ => {
                self.wrong_kind(report, "a table", &format!("[{}] with keys below it", self.path));
                None
            }
        }
    }
}

/// A path with one more key, quoted where TOML would want it quoted.
fn joined(path: &str, key: &str) -> String {
    let bare =
        !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    let key = shortened(key, 40);
    let key = if bare { key } else { format!("{key:?}") };
    if path.is_empty() { key } else { format!("{path}.{key}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What `walk` reports about `text`.
    fn faults(text: &str, walk: impl FnOnce(&mut Report<'_>, Table<'_>)) -> Vec<String> {
        let mut faults = Faults::default();
        let mut report = Report::new("f", text, &mut faults);
        if let Some(table) = report.parse(text) {
            walk(&mut report, Table::document(&table));
        }
        faults.finish().err().unwrap_or_default().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn each_syntax_error_has_its_line() {
        assert_eq!(
            faults("a = 1\nb = Heron\n\nc = 'x\nd = 2\na = 3\n", |_, _| {}),
            [
                "f:2: no TOML: string values must be quoted; accepted: literal string",
                "f:4: no TOML: invalid literal string; accepted: `'`",
                "f:6: no TOML: duplicate key; accepted: TOML",
            ]
        );
    }

    #[test]
    fn deep_nesting_is_an_error_and_no_crash() {
        for text in
            [format!("a = {}", "[".repeat(200_000)), format!("a = {}", "{a=".repeat(200_000))]
        {
            assert!(!faults(&text, |_, _| {}).is_empty());
        }
        assert_eq!(faults(&format!("{}a = 1", "a.".repeat(200_000)), |_, _| {}).len(), 1);
    }

    #[test]
    fn unknown_keys_are_named_with_the_nearest_and_the_known_ones() {
        assert_eq!(
            faults("\nprise = 1\n\"a b\\u202E\" = 2\n", |report, table| table
                .only(report, &["price", "note"])),
            [
                "f:2: prise: unknown key \"prise\"; did you mean \"price\"?; accepted: price, note",
                "f:3: \"a b\\u{202e}\": unknown key \"a b\\u{202e}\"; accepted: price, note",
            ]
        );
    }

    #[test]
    fn values_of_the_wrong_kind_are_located() {
        let text = "a = 1\nb = 'x'\nc = 2026-05-01\n[[d]]\n[[d]]\ne = ['x', 1]\nf = 3\n";
        let walk = |report: &mut Report<'_>, table: Table<'_>| {
            let read = |it: &str| Ok::<_, Refusal>(it.to_owned());
            assert_eq!(table.get("a").unwrap().read(report, "words", read), None);
            assert_eq!(table.get("b").unwrap().whole(report, 1, 4), None);
            assert_eq!(table.get("a").unwrap().whole(report, 2, 4), None);
            assert_eq!(table.get("b").unwrap().flag(report), None);
            assert_eq!(table.get("c").unwrap().text(report, "YYYY"), None);
            let list = table.tables(report, "d");
            assert_eq!(list[1].get("e").unwrap().texts(report, "[\"in\", \"a\"]"), None);
            assert!(list[1].get("f").unwrap().table(report).is_none());
            assert!(list[0].need(report, "g", "a text").is_none());
            assert!(table.tables(report, "a").is_empty() && table.tables(report, "x").is_empty());
        };
        assert_eq!(
            faults(text, walk),
            [
                "f:1: a: 1 is out of range; accepted: a whole number from 2 to 4, without quotes",
                "f:1: a: a whole number stands here, not a list of tables; accepted: [[a]] for each",
                "f:1: a: a whole number stands here, not a text; accepted: words, as text in quotes",
                "f:2: b: a text stands here, not a whole number; accepted: a whole number from 1 to 4, without quotes",
                "f:2: b: a text stands here, not true or false; accepted: true, false, without quotes",
                "f:3: c: a date without quotes stands here, not a text; accepted: YYYY, as text in quotes",
                "f:4: d[1].g: the key is missing; accepted: a text",
                "f:6: d[2].e: not each item of the list is a text; accepted: [\"in\", \"a\"]",
                "f:7: d[2].f: a whole number stands here, not a table; accepted: [d[2].f] with keys below it",
            ]
        );
    }
}
