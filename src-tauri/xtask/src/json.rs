//! JSON as far as cargo and npm write it: read into a tree, and written with sorted keys.

use std::collections::BTreeMap;

/// A value. Numbers stay text: none is computed with here.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Json {
    Null,
    Bool(bool),
    Number(String),
    Text(String),
    List(Vec<Json>),
    Object(BTreeMap<String, Json>),
}

impl Json {
    /// Reads one value and nothing behind it. The error names the byte.
    pub(crate) fn read(text: &str) -> Result<Json, String> {
        let mut reader = Reader { text, at: 0 };
        let value = reader.value(0)?;
        reader.space();
        if reader.at == text.len() { Ok(value) } else { Err(reader.fault("the end")) }
    }

    /// The value under a key of an object.
    pub(crate) fn get(&self, key: &str) -> Option<&Json> {
        if let Json::Object(members) = self { members.get(key) } else { None }
    }

    /// The text under a key of an object.
    pub(crate) fn text(&self, key: &str) -> Option<&str> {
        if let Some(Json::Text(text)) = self.get(key) { Some(text) } else { None }
    }

    /// The list under a key of an object; empty where there is none.
    pub(crate) fn list(&self, key: &str) -> &[Json] {
        if let Some(Json::List(items)) = self.get(key) { items } else { &[] }
    }

    /// The members under a key of an object, in the order of their keys; none where it is no object.
    pub(crate) fn members(&self, key: &str) -> impl Iterator<Item = (&String, &Json)> {
        let members = if let Some(Json::Object(it)) = self.get(key) { Some(it) } else { None };
        members.into_iter().flatten()
    }

    /// Indented by two spaces, with sorted keys and a line end.
    pub(crate) fn written(&self) -> String {
        let mut text = String::new();
        self.write(&mut text, 0);
        text.push('\n');
        text
    }

    fn write(&self, to: &mut String, depth: usize) {
        match self {
            Json::Null => to.push_str("null"),
            Json::Bool(it) => to.push_str(if *it { "true" } else { "false" }),
            Json::Number(it) => to.push_str(it),
            Json::Text(it) => quote(it, to),
            Json::List(items) => {
                let items = items.iter().map(|it| (None, it));
                many(to, depth, ['[', ']'], items);
            }
            Json::Object(members) => {
                let members = members.iter().map(|(key, it)| (Some(key.as_str()), it));
                many(to, depth, ['{', '}'], members);
            }
        }
    }
}

/// A text as a value.
pub(crate) fn text(it: impl Into<String>) -> Json {
    Json::Text(it.into())
}

/// An object of these members.
pub(crate) fn object(members: impl IntoIterator<Item = (&'static str, Json)>) -> Json {
    Json::Object(members.into_iter().map(|(key, it)| (key.to_owned(), it)).collect())
}

fn many<'a>(
    to: &mut String,
    depth: usize,
    [open, close]: [char; 2],
    items: impl Iterator<Item = (Option<&'a str>, &'a Json)>,
) {
    to.push(open);
    let mut any = false;
    for (key, item) in items {
        to.push_str(if any { ",\n" } else { "\n" });
        any = true;
        to.push_str(&"  ".repeat(depth + 1));
        if let Some(key) = key {
            quote(key, to);
            to.push_str(": ");
        }
        item.write(to, depth + 1);
    }
    if any {
        to.push('\n');
        to.push_str(&"  ".repeat(depth));
    }
    to.push(close);
}

fn quote(text: &str, to: &mut String) {
    to.push('"');
    for letter in text.chars() {
        match letter {
            '"' => to.push_str("\\\""),
            '\\' => to.push_str("\\\\"),
            '\n' => to.push_str("\\n"),
            other if other < ' ' => to.push_str(&format!("\\u{:04x}", u32::from(other))),
            other => to.push(other),
        }
    }
    to.push('"');
}

/// Deeper nesting is no file of ours, and would use up the stack.
const DEEPEST: usize = 200;

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

impl Reader<'_> {
    fn fault(&self, wanted: &str) -> String {
        format!("byte {}: {wanted} was expected", self.at)
    }

    fn rest(&self) -> &str {
        &self.text[self.at..]
    }

    fn space(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start_matches([' ', '\t', '\n', '\r']).len();
    }

    /// Takes a word if it comes next, after white space.
    fn takes(&mut self, word: &str) -> bool {
        self.space();
        let there = self.rest().starts_with(word);
        self.at += if there { word.len() } else { 0 };
        there
    }

    fn value(&mut self, depth: usize) -> Result<Json, String> {
        if depth > DEEPEST {
            return Err(self.fault("less nesting"));
        }
        self.space();
        match self.rest().bytes().next() {
            Some(b'"') => self.string().map(Json::Text),
            Some(b'{') => self.object(depth),
            Some(b'[') => self.list(depth),
            Some(b'-' | b'0'..=b'9') => {
                let rest = self.rest();
                let inside = |it: char| it.is_ascii_digit() || "+-.eE".contains(it);
                let number = rest[..rest.find(|it| !inside(it)).unwrap_or(rest.len())].to_owned();
                if number.parse::<f64>().is_err() {
                    return Err(self.fault("a number"));
                }
                self.at += number.len();
                Ok(Json::Number(number))
            }
            _ if self.takes("null") => Ok(Json::Null),
            _ if self.takes("true") => Ok(Json::Bool(true)),
            _ if self.takes("false") => Ok(Json::Bool(false)),
            _ => Err(self.fault("a value")),
        }
    }

    fn list(&mut self, depth: usize) -> Result<Json, String> {
        let mut items = Vec::new();
        self.takes("[");
        if self.takes("]") {
            return Ok(Json::List(items));
        }
        loop {
            items.push(self.value(depth + 1)?);
            if self.takes("]") {
                return Ok(Json::List(items));
            } else if !self.takes(",") {
                return Err(self.fault("`,` or `]`"));
            }
        }
    }

    fn object(&mut self, depth: usize) -> Result<Json, String> {
        let mut members = BTreeMap::new();
        self.takes("{");
        if self.takes("}") {
            return Ok(Json::Object(members));
        }
        loop {
            self.space();
            let key = self.string()?;
            if !self.takes(":") {
                return Err(self.fault("`:`"));
            }
            members.insert(key, self.value(depth + 1)?);
            if self.takes("}") {
                return Ok(Json::Object(members));
            } else if !self.takes(",") {
                return Err(self.fault("`,` or `}`"));
            }
        }
    }

    fn string(&mut self) -> Result<String, String> {
        if !self.takes("\"") {
            return Err(self.fault("`\"`"));
        }
        let mut text = String::new();
        loop {
            let rest = self.rest();
            let plain = rest.find(['"', '\\']).ok_or_else(|| self.fault("`\"`"))?;
            text.push_str(&rest[..plain]);
            let is_end = rest[plain..].starts_with('"');
            self.at += plain + 1;
            if is_end {
                return Ok(text);
            }
            text.push(self.escaped()?);
        }
    }

    /// What stands behind a backslash.
    fn escaped(&mut self) -> Result<char, String> {
        let letter = self.rest().chars().next().ok_or_else(|| self.fault("a letter"))?;
        self.at += letter.len_utf8();
        Ok(match letter {
            '"' | '\\' | '/' => letter,
            'n' => '\n',
            't' => '\t',
            'r' => '\r',
            'b' => '\u{8}',
            'f' => '\u{c}',
            'u' => {
                let first = self.unit()?;
                let mut units = vec![first];
                // A letter beyond the first 65,536 is written as two.
                if (0xd800..0xdc00).contains(&first) && self.rest().starts_with("\\u") {
                    self.at += 2;
                    units.push(self.unit()?);
                }
                let read: Vec<char> =
                    char::decode_utf16(units).map(|it| it.unwrap_or('\u{fffd}')).collect();
                return if let [one] = read[..] { Ok(one) } else { Err(self.fault("a pair")) };
            }
            _ => return Err(self.fault("an escape")),
        })
    }

    /// Four hexadecimal digits.
    fn unit(&mut self) -> Result<u16, String> {
        let digits = self.rest().get(..4).filter(|it| it.bytes().all(|it| it.is_ascii_hexdigit()));
        let unit = digits.and_then(|it| u16::from_str_radix(it, 16).ok());
        let unit = unit.ok_or_else(|| self.fault("four hexadecimal digits"))?;
        self.at += 4;
        Ok(unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_again() {
        let line = "a \"quoted\" \\ line\nand \u{1} and 𝄞";
        let whole = object([
            ("b", Json::List(vec![Json::Null, Json::Bool(true), Json::Number("-1.5e3".into())])),
            ("a", text(line)),
            ("c", Json::List(Vec::new())),
            ("d", object([])),
        ]);
        let written = whole.written();
        assert_eq!(Json::read(&written), Ok(whole));
        // Keys are sorted, so the same tree has the same bytes.
        assert!(written.starts_with("{\n  \"a\": \"a \\\"quoted"), "{written}");
        assert!(written.contains("\"c\": [],\n  \"d\": {}\n}"), "{written}");
    }

    /// RFC 8259, section 7: the G clef.
    #[test]
    fn letters_are_read_as_the_standard_says() {
        assert_eq!(Json::read(r#""\uD834\uDD1E""#), Ok(text("\u{1d11e}")));
        assert_eq!(Json::read(r#" "\u00b5\/\t" "#), Ok(text("µ/\t")));
    }

    #[test]
    fn what_is_no_json_is_refused_with_its_place() {
        for (faulty, place) in [
            ("", "byte 0"),
            ("{\"a\" 1}", "byte 5"),
            ("[1,]", "byte 3"),
            ("[1 2]", "byte 3"),
            ("\"a", "byte 1"),
            ("1 2", "byte 2"),
            ("-", "byte 0"),
            ("\"\\x\"", "byte 3"),
            ("{1: 2}", "byte 1"),
        ] {
            let fault = Json::read(faulty).expect_err(faulty);
            assert!(fault.starts_with(place), "{faulty}: {fault}");
        }
        assert!(Json::read(&"[".repeat(100_000)).is_err());
    }

    #[test]
    fn members_are_found_by_key() {
        let it = Json::read(r#"{"a": "b", "c": ["d"], "e": {"f": null}}"#).expect("read");
        assert_eq!(it.text("a"), Some("b"));
        assert_eq!(it.text("c"), None);
        assert_eq!(it.list("c"), [text("d")]);
        assert_eq!(it.list("a"), []);
        assert_eq!(it.members("e").count(), 1);
        assert_eq!(it.members("x").count(), 0);
    }
}
