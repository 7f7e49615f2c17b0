//! Sentences that can be tested, as they are typed: a word for what is claimed, then `key=value` for of whom and where.
//!
//! ```text
//! best product=hollin/arbor-5 of=crossover band=200..500
//! most where="cabinet.brace_count = 0" population=market band=200..500
//! above product=all of=cabinet.mass limit="5 kg" among="cabinet.box_type = vented"
//! ```
//!
//! A value with blanks stands between double quotes. [`Claim`] reads and writes this form; writing what was read gives the one
//! canonical text. Whether an attribute, a finding or a product exists is not known here.

mod property;
mod words;

use std::fmt;

use crate::{
    key::{ProductKey, nearest_word, word_enum},
    product::ProductKind,
};
pub use property::{Operator, Property, Term};
use words::Words;

/// The longest text of a claim, bytes.
pub const MAX_TEXT: usize = 2000;

/// The attribute that is meant where none is named: the index.
pub const SCORE: &str = "score";

word_enum! {
    /// What is claimed, by its first word.
    pub enum Kind: "kind of claim" {
        /// The highest of all in scope.
        Best = "best",
        /// The lowest.
        Worst = "worst",
        /// The only one with a property.
        Only = "only",
        /// More than another.
        More = "more",
        /// Less than another.
        Less = "less",
        /// All have a property.
        All = "all",
        /// More than three quarters have it.
        NearlyAll = "nearly-all",
        /// More than a half.
        Most = "most",
        /// From a quarter to three quarters.
        AboutHalf = "about-half",
        /// Less than a quarter.
        Few = "few",
        /// Nobody.
        None = "none",
        /// So many or more.
        AtLeast = "at-least",
        /// So many or fewer.
        AtMost = "at-most",
        /// Just so many.
        Exactly = "exactly",
        /// At least as much as a limit.
        Above = "above",
        /// At most as much.
        Below = "below",
        /// In the middle half.
        Typical = "typical",
        /// Nothing clearly better for the money.
        Unbeaten = "unbeaten",
        /// More than the money usually buys.
        GoodValue = "good-value",
        /// The most for the money.
        BestValue = "best-value",
        /// Less than the money usually buys, and clearly beaten.
        Overpriced = "overpriced",
        /// More of it in what costs more.
        Rises = "rises",
        /// Less of it.
        Falls = "falls",
    }
}

word_enum! {
    /// A family of kinds, tested alike.
    pub enum Family: "family of claims" {
        /// First, last or alone.
        Superlative = "superlative",
        /// One against another.
        Comparative = "comparative",
        /// How many.
        Prevalence = "prevalence",
        /// Beyond a limit.
        Threshold = "threshold",
        /// Ordinary.
        Typical = "typical",
        /// Value for money.
        Value = "value",
        /// Something with the price.
        Association = "association",
    }
}

word_enum! {
    /// A key of a claim.
    pub enum Key: "key of a claim" {
        /// Of which product; `all` with a limit.
        Product = "product",
        /// The other product.
        Than = "than",
        /// Of what: `score`, a subsystem, a finding or a quantity.
        Of = "of",
        /// The property.
        Where = "where",
        /// How many.
        Count = "count",
        /// The limit, with its unit.
        Limit = "limit",
        /// `opened` or `market`.
        Population = "population",
        /// The price band.
        Band = "band",
        /// Only this kind of product.
        Kind = "kind",
        /// Only products with a property.
        Among = "among",
    }
}

word_enum! {
    /// Of whom a share is said.
    pub enum Population: "population" {
        /// The products that were opened.
        Opened = "opened",
        /// All that are sold.
        Market = "market",
    }
}

impl Kind {
    /// Its family.
    #[must_use]
    pub fn family(self) -> Family {
        match self {
            Kind::Best | Kind::Worst | Kind::Only => Family::Superlative,
            Kind::More | Kind::Less => Family::Comparative,
            Kind::All
            | Kind::NearlyAll
            | Kind::Most
            | Kind::AboutHalf
            | Kind::Few
            | Kind::None
            | Kind::AtLeast
            | Kind::AtMost
            | Kind::Exactly => Family::Prevalence,
            Kind::Above | Kind::Below => Family::Threshold,
            Kind::Typical => Family::Typical,
            Kind::Unbeaten | Kind::GoodValue | Kind::BestValue | Kind::Overpriced => Family::Value,
            Kind::Rises | Kind::Falls => Family::Association,
        }
    }

    /// The keys that it takes beside the scope, and whether each must be there.
    #[must_use]
    pub fn keys(self) -> &'static [(Key, bool)] {
        match self {
            Kind::Only => &[(Key::Product, true), (Key::Where, true)],
            Kind::Best | Kind::Worst | Kind::Typical => &[(Key::Product, true), (Key::Of, false)],
            Kind::More | Kind::Less => &[(Key::Product, true), (Key::Than, true), (Key::Of, false)],
            Kind::AtLeast | Kind::AtMost | Kind::Exactly => {
                &[(Key::Count, true), (Key::Where, true)]
            }
            Kind::All | Kind::None | Kind::NearlyAll | Kind::Most | Kind::AboutHalf | Kind::Few => {
                &[(Key::Where, true), (Key::Population, false)]
            }
            Kind::Above | Kind::Below => {
                &[(Key::Product, true), (Key::Of, true), (Key::Limit, true)]
            }
            Kind::Unbeaten | Kind::GoodValue | Kind::BestValue | Kind::Overpriced => {
                &[(Key::Product, true)]
            }
            Kind::Rises | Kind::Falls => &[(Key::Of, false)],
        }
    }
}

/// The keys of the scope, which every claim takes.
pub const SCOPE_KEYS: [Key; 3] = [Key::Band, Key::Kind, Key::Among];

/// Of which products something is claimed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Scope {
    /// The price band as typed, `200..500`; all prices when absent.
    pub band: Option<String>,
    /// Only this kind of product.
    pub kind: Option<ProductKind>,
    /// Only products that surely have this property.
    pub among: Option<Property>,
}

/// A sentence that can be tested. Fields that the kind does not take are empty.
#[derive(Debug, Clone, PartialEq)]
pub struct Claim {
    /// What is claimed.
    pub kind: Kind,
    /// The product; `None` for `all`, and where no product is named.
    pub product: Option<ProductKey>,
    /// The product it is held against.
    pub than: Option<ProductKey>,
    /// Of what; [`SCORE`] when not named.
    pub of: String,
    /// The property.
    pub having: Option<Property>,
    /// How many.
    pub count: Option<u32>,
    /// The limit as typed, with its unit.
    pub limit: Option<String>,
    /// Of whom a share is said.
    pub population: Population,
    /// Of which products.
    pub scope: Scope,
}

/// A text that is no claim.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} {why}; accepted: {accepted}")]
pub struct BadClaim {
    /// The part that is not understood.
    pub text: String,
    /// What is wrong.
    pub why: String,
    /// What would be right.
    pub accepted: String,
}

pub(crate) fn bad(text: &str, why: impl Into<String>, accepted: impl Into<String>) -> BadClaim {
    BadClaim { text: text.chars().take(80).collect(), why: why.into(), accepted: accepted.into() }
}

impl Claim {
    /// Reads a claim.
    ///
    /// # Errors
    /// [`BadClaim`] naming the part that is not understood, and the accepted form.
    pub fn parse(text: &str) -> Result<Self, BadClaim> {
        if text.len() > MAX_TEXT {
            return Err(bad(text, "is too long", format!("at most {MAX_TEXT} bytes")));
        }
        let words = Words::of(text)?;
        let kind = Kind::parse(words.first()).map_err(|why| {
            let near = nearest_word(Kind::ALL.iter().map(|it| it.word()), words.first());
            let hint = near.map(|it| format!("; did you mean {it}")).unwrap_or_default();
            bad(words.first(), format!("is no kind of claim{hint}"), why.accepted)
        })?;
        words.check(kind)?;
        let property = |key| words.get(key).map(Property::parse).transpose();
        let product = |key: Key| {
            words.get(key).map(|it| {
                ProductKey::parse(it)
                    .map_err(|_| bad(it, "is no product", "the key of a product, maker/model"))
            })
        };
        let of_all = kind.family() == Family::Threshold && words.get(Key::Product) == Some("all");
        let claim = Claim {
            kind,
            product: if of_all { None } else { product(Key::Product).transpose()? },
            than: product(Key::Than).transpose()?,
            of: words.get(Key::Of).unwrap_or(SCORE).to_owned(),
            having: property(Key::Where)?,
            count: words
                .get(Key::Count)
                .map(|it| it.parse().map_err(|_| bad(it, "is no number", "a whole number from 0")))
                .transpose()?,
            limit: words.get(Key::Limit).map(str::to_owned),
            population: match words.get(Key::Population) {
                Some(it) => Population::parse(it)
                    .map_err(|why| bad(it, "is no population", why.accepted))?,
                None => Population::Opened,
            },
            scope: Scope {
                band: words.get(Key::Band).map(str::to_owned),
                kind: words
                    .get(Key::Kind)
                    .map(|it| {
                        ProductKind::parse(it)
                            .map_err(|why| bad(it, "is no kind of product", why.accepted))
                    })
                    .transpose()?,
                among: property(Key::Among)?,
            },
        };
        // It is kept as it is written out, with what goes without saying, and must be read again.
        let written = claim.to_string().len();
        if written > MAX_TEXT {
            let why = format!("is too long: {written} bytes when it is written out");
            return Err(bad(text, why, format!("at most {MAX_TEXT} bytes")));
        }
        Ok(claim)
    }
}

impl fmt::Display for Claim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.kind.word())?;
        let takes = |key: Key| self.kind.keys().iter().any(|(it, _)| *it == key);
        let mut put = |key: Key, value: Option<String>| match value {
            Some(it) => write!(f, " {}={}", key.word(), words::quoted(&it)),
            None => Ok(()),
        };
        let of_all = self.kind.family() == Family::Threshold && self.product.is_none();
        let product = self.product.as_ref().map(ToString::to_string);
        put(Key::Product, if of_all { Some("all".into()) } else { product })?;
        put(Key::Than, self.than.as_ref().map(ToString::to_string))?;
        put(Key::Of, takes(Key::Of).then(|| self.of.clone()))?;
        put(Key::Count, self.count.map(|it| it.to_string()))?;
        put(Key::Limit, self.limit.clone())?;
        put(Key::Where, self.having.as_ref().map(ToString::to_string))?;
        let population = takes(Key::Population).then(|| self.population.word().to_owned());
        put(Key::Population, population)?;
        put(Key::Band, self.scope.band.clone())?;
        put(Key::Kind, self.scope.kind.map(|it| it.word().to_owned()))?;
        put(Key::Among, self.scope.among.as_ref().map(ToString::to_string))
    }
}

#[cfg(test)]
mod tests;
