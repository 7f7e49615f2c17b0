//! A property of a product: comparisons of findings or quantities, joined by `and`, `or`, `not` and parentheses.
//!
//! `cabinet.brace_count = 0 and not (driver.cone_material = paper or cabinet.mass >= 5 kg)`. A value runs up to the next `and`, `or` or
//! closing parenthesis; one that holds such a word stands between single quotes.

use std::fmt;

use super::{BadClaim, bad};
use crate::key::word_enum;

word_enum! {
    /// How a value is held against another.
    pub enum Operator: "comparison" {
        /// The same.
        Equal = "=",
        /// Another.
        Unequal = "!=",
        /// At least as much.
        AtLeast = ">=",
        /// At most as much.
        AtMost = "<=",
        /// More.
        More = ">",
        /// Less.
        Less = "<",
    }
}

/// One comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// A finding's address or a quantity's id.
    pub what: String,
    /// How.
    pub operator: Operator,
    /// Against what, as typed.
    pub value: String,
}

/// What is said of a product.
#[derive(Debug, Clone, PartialEq)]
pub enum Property {
    /// One comparison.
    Is(Term),
    /// Not that.
    Not(Box<Property>),
    /// All of these; two or more.
    And(Vec<Property>),
    /// Any of these; two or more.
    Or(Vec<Property>),
}

/// Parentheses and `not` within each other; more is no sentence that anybody could read.
const DEEPEST: usize = 16;
const FORM: &str = "FINDING = VALUE, also != >= <= > <, joined by and, or, not and ( )";

#[derive(Debug, Clone, PartialEq)]
enum Token {
    Open,
    Close,
    Sign(Operator),
    Word(String),
    Quoted(String),
}

impl Token {
    fn is(&self, word: &str) -> bool {
        matches!(self, Token::Word(it) if it == word)
    }
}

impl Property {
    /// Reads a property.
    ///
    /// # Errors
    /// [`BadClaim`] naming the text and the accepted form.
    pub fn parse(text: &str) -> Result<Self, BadClaim> {
        let mut reader = Reader { text, tokens: tokens(text)?, at: 0 };
        let it = reader.any(0)?;
        if reader.at < reader.tokens.len() {
            return Err(bad(text, "has more than one property side by side", FORM));
        }
        Ok(it)
    }

    /// All comparisons in it, from left to right.
    #[must_use]
    pub fn terms(&self) -> Vec<&Term> {
        match self {
            Property::Is(it) => vec![it],
            Property::Not(it) => it.terms(),
            Property::And(list) | Property::Or(list) => {
                list.iter().flat_map(Property::terms).collect()
            }
        }
    }
}

struct Reader<'a> {
    text: &'a str,
    tokens: Vec<Token>,
    at: usize,
}

impl Reader<'_> {
    fn any(&mut self, depth: usize) -> Result<Property, BadClaim> {
        let mut list = vec![self.all(depth)?];
        while self.takes(|it| it.is("or")) {
            list.push(self.all(depth)?);
        }
        Ok(joined(list, Property::Or))
    }

    fn all(&mut self, depth: usize) -> Result<Property, BadClaim> {
        let mut list = vec![self.one(depth)?];
        while self.takes(|it| it.is("and")) {
            list.push(self.one(depth)?);
        }
        Ok(joined(list, Property::And))
    }

    fn one(&mut self, depth: usize) -> Result<Property, BadClaim> {
        if depth > DEEPEST {
            return Err(bad(self.text, "goes too deep", format!("{DEEPEST} levels at most")));
        }
        if self.takes(|it| it.is("not")) {
            return Ok(Property::Not(Box::new(self.one(depth + 1)?)));
        }
        if self.takes(|it| *it == Token::Open) {
            let inner = self.any(depth + 1)?;
            return if self.takes(|it| *it == Token::Close) {
                Ok(inner)
            } else {
                Err(bad(self.text, "has a parenthesis that does not end", FORM))
            };
        }
        let Some(Token::Word(what)) = self.next() else {
            return Err(bad(self.text, "lacks a finding", FORM));
        };
        let Some(Token::Sign(operator)) = self.next() else {
            return Err(bad(self.text, format!("says nothing of {what}"), FORM));
        };
        let value = self.value();
        if value.is_empty() {
            return Err(bad(self.text, format!("lacks a value for {what}"), FORM));
        }
        Ok(Property::Is(Term { what, operator, value }))
    }

    fn value(&mut self) -> String {
        if let Some(Token::Quoted(it)) = self.tokens.get(self.at) {
            let it = it.clone();
            self.at += 1;
            return it;
        }
        let mut words = Vec::new();
        while let Some(Token::Word(it)) =
            self.tokens.get(self.at).filter(|it| !it.is("and") && !it.is("or"))
        {
            words.push(it.clone());
            self.at += 1;
        }
        words.join(" ")
    }

    fn next(&mut self) -> Option<Token> {
        let it = self.tokens.get(self.at).cloned();
        self.at += 1;
        it
    }

    fn takes(&mut self, wanted: impl Fn(&Token) -> bool) -> bool {
        let takes = self.tokens.get(self.at).is_some_and(wanted);
        self.at += usize::from(takes);
        takes
    }
}

fn joined(mut list: Vec<Property>, with: fn(Vec<Property>) -> Property) -> Property {
    match list.len() {
        1 => list.remove(0),
        _ => with(list),
    }
}

fn tokens(text: &str) -> Result<Vec<Token>, BadClaim> {
    let mut tokens = Vec::new();
    let mut letters = text.chars().peekable();
    let mut word = String::new();
    let end = |word: &mut String, tokens: &mut Vec<Token>| {
        if !word.is_empty() {
            tokens.push(Token::Word(std::mem::take(word)));
        }
    };
    while let Some(it) = letters.next() {
        let then_equal = letters.peek() == Some(&'=');
        let sign = match it {
            '=' => Some(Operator::Equal),
            '!' if then_equal => Some(Operator::Unequal),
            '>' if then_equal => Some(Operator::AtLeast),
            '<' if then_equal => Some(Operator::AtMost),
            '>' => Some(Operator::More),
            '<' => Some(Operator::Less),
            _ => None,
        };
        if let Some(sign) = sign {
            end(&mut word, &mut tokens);
            if sign.word().len() == 2 {
                letters.next();
            }
            tokens.push(Token::Sign(sign));
            continue;
        }
        match it {
            '(' | ')' => {
                end(&mut word, &mut tokens);
                tokens.push(if it == '(' { Token::Open } else { Token::Close });
            }
            '\'' if word.is_empty() => {
                let quoted: String = letters.by_ref().take_while(|it| *it != '\'').collect();
                if quoted.trim().is_empty() {
                    return Err(bad(text, "has quotes around nothing", "'…'"));
                }
                tokens.push(Token::Quoted(quoted));
            }
            '\'' => return Err(bad(text, "has a quote inside a word", "'…' around a whole value")),
            it if it.is_whitespace() => end(&mut word, &mut tokens),
            it => word.push(it),
        }
    }
    end(&mut word, &mut tokens);
    Ok(tokens)
}

impl fmt::Display for Property {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let inner = |it: &Property, f: &mut fmt::Formatter<'_>| match it {
            Property::Is(_) | Property::Not(_) => write!(f, "{it}"),
            Property::And(_) | Property::Or(_) => write!(f, "({it})"),
        };
        match self {
            Property::Is(it) => write!(f, "{it}"),
            Property::Not(it) => {
                f.write_str("not ")?;
                inner(it, f)
            }
            Property::And(list) | Property::Or(list) => {
                let word = if matches!(self, Property::And(_)) { " and " } else { " or " };
                for (at, it) in list.iter().enumerate() {
                    f.write_str(if at == 0 { "" } else { word })?;
                    inner(it, f)?;
                }
                Ok(())
            }
        }
    }
}

impl fmt::Display for Term {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let plain = !self.value.contains(['(', ')', '=', '<', '>', '\''])
            && self.value.split(' ').all(|it| !it.is_empty() && it != "and" && it != "or")
            && !self.value.contains(|it: char| it.is_whitespace() && it != ' ');
        let (what, sign, value) = (&self.what, self.operator.word(), &self.value);
        if plain {
            write!(f, "{what} {sign} {value}")
        } else {
            write!(f, "{what} {sign} '{value}'")
        }
    }
}
