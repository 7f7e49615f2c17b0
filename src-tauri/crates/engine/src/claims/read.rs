//! What a claim speaks of, read off a product: an attribute with its doubt, a property in three values.

use domain::{
    claim::{BadClaim, Operator, Property, SCORE, Term},
    dictionary::Kind,
    finding::{Answer, Gap, Value, read_value},
    part::Part,
    reading,
    unit::Dimension,
};
use physics::{
    air::AIR20,
    quantity::{NoValue, responses, specs},
    spread::Spreads,
};
use standing::claim::{self, Answer as Known, Reading, Side};

use crate::{
    Error,
    drawn::FINDING_DRAWS,
    naming::named,
    scoring::{Scored, ScoredProduct},
};

/// What a claim is about.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Attribute {
    /// The index.
    Score,
    /// The score of a subsystem.
    Subsystem {
        /// Its place among the results.
        place: usize,
        name: String,
    },
    /// A finding or a quantity with a number.
    Number { id: String, dimension: Dimension, unit: String, label: String },
}

impl Attribute {
    /// The attribute of that name.
    pub(super) fn of(name: &str, scored: &Scored) -> Result<Self, Error> {
        if name == SCORE {
            return Ok(Attribute::Score);
        }
        if let Some(place) = scored.subsystems.iter().position(|it| it == name) {
            return Ok(Attribute::Subsystem { place, name: name.to_owned() });
        }
        if let Some(spec) = specs().find(|it| it.id == name) {
            return Ok(Attribute::Number {
                id: name.to_owned(),
                dimension: spec.dimension,
                unit: spec.unit.to_owned(),
                label: spec.label.to_owned(),
            });
        }
        let dictionary = &scored.declarations.dictionary;
        let (dimension, unit) = match entry_of(name, scored)? {
            Kind::Number(dimension, unit) => (dimension, unit.to_owned()),
            Kind::Count => (Dimension::One, String::new()),
            _ => {
                return Err(Error::request(
                    "of",
                    name,
                    "is no number",
                    "score, a subsystem, or a finding or quantity that is a number",
                ));
            }
        };
        let label = named(dictionary, name);
        Ok(Attribute::Number { id: name.to_owned(), dimension, unit, label })
    }

    /// Its name in a sentence: `score`, `wiring score`, `cabinet, wall thickness`.
    pub(super) fn label(&self) -> String {
        match self {
            Attribute::Score => "score".to_owned(),
            Attribute::Subsystem { name, .. } => format!("{name} score"),
            Attribute::Number { label, .. } => label.clone(),
        }
    }

    /// A limit as typed, in the unit in which the attribute is computed.
    pub(super) fn limit(&self, typed: &str) -> Result<f64, Error> {
        let dimension = match self {
            Attribute::Number { dimension, .. } => *dimension,
            Attribute::Score | Attribute::Subsystem { .. } => Dimension::One,
        };
        reading::parse(typed, dimension).map(|it| it.si).map_err(|why| {
            Error::request(
                "limit",
                typed,
                format!("is not understood: {why}"),
                dimension.accepted(),
            )
        })
    }

    /// A value with its standard uncertainty, as people read it.
    pub(super) fn shown(&self, value: f64, u: Option<f64>) -> String {
        match self {
            Attribute::Number { dimension, unit, .. } => reading::shown(value, u, *dimension, unit),
            Attribute::Score | Attribute::Subsystem { .. } => points(value),
        }
    }

    /// The unit after a value; scores have points.
    pub(super) fn unit(&self) -> &str {
        match self {
            Attribute::Number { unit, .. } => unit,
            Attribute::Score | Attribute::Subsystem { .. } => "points",
        }
    }

    /// A value in that unit.
    pub(super) fn in_unit(&self, value: f64) -> f64 {
        match self {
            Attribute::Number { dimension, unit, .. } => {
                reading::in_unit(value, *dimension, unit).unwrap_or(value)
            }
            Attribute::Score | Attribute::Subsystem { .. } => value,
        }
    }
}

/// Whole points, with a true minus sign and no minus before 0.
pub(super) fn points(value: f64) -> String {
    let text = format!("{:.0}", value.abs());
    if value < 0.0 && text != "0" { format!("−{text}") } else { text }
}

fn entry_of<'s>(address: &str, scored: &'s Scored) -> Result<Kind<'s>, Error> {
    let form = "part.key as the sheet lists them, such as cabinet.wall_damping, or a quantity";
    let (part, key) =
        place_of(address).ok_or_else(|| Error::request("claim", address, "is no finding", form))?;
    let dictionary = &scored.declarations.dictionary;
    dictionary
        .entry_for(part, key)
        .map(|it| it.kind)
        .map_err(|why| Error::request("claim", address, format!("is no finding: {why}"), form))
}

fn place_of(address: &str) -> Option<(Part, &str)> {
    let (part, key) = address.split_once('.')?;
    Some((part.parse().ok()?, key))
}

pub(super) fn bad(why: BadClaim) -> Error {
    Error::request("claim", &why.text, why.why, why.accepted)
}

/// What is known of one thing of one product.
pub(super) enum Found {
    Number(f64),
    /// A whole number that was counted: it has no doubt of degree.
    Count(f64),
    Value(Value),
    /// The question does not apply.
    Senseless,
    /// Nobody looked, or it could not be told; the findings that would tell.
    Missing(Vec<String>),
}

/// Looks a finding or a quantity up.
pub(super) fn found(product: &ScoredProduct, id: &str) -> Found {
    if let Some(it) = product.known.iter().find(|it| it.spec.id == id) {
        return match &it.value {
            Ok(value) => Found::Number(*value),
            Err(NoValue::Missing(list)) => Found::Missing(list.clone()),
            Err(NoValue::NotApplicable(_)) => Found::Senseless,
            Err(NoValue::Refused(_)) => Found::Missing(Vec::new()),
        };
    }
    let missing = || Found::Missing(vec![id.to_owned()]);
    let finding = place_of(id).and_then(|(part, key)| product.dossier.declared(part, key));
    match finding.map(|it| &it.answer) {
        None => missing(),
        Some(Answer::Gap(Gap::NotApplicable)) => Found::Senseless,
        Some(Answer::Gap(_)) => missing(),
        Some(Answer::Value(Value::Number { si, .. })) => Found::Number(*si),
        Some(Answer::Value(Value::Count(it))) => Found::Count(f64::from(*it)),
        Some(Answer::Value(it)) => Found::Value(it.clone()),
    }
}

/// The draws of a number, one where nothing moves it; `None` where there is none.
pub(super) fn draws(
    product: &ScoredProduct,
    id: &str,
    spreads: &Spreads,
    seed: u32,
) -> Option<Vec<f64>> {
    let (Found::Number(value) | Found::Count(value)) = found(product, id) else { return None };
    let it = responses(&product.dossier, &AIR20, &product.fits, spreads, |it| it == id);
    let mut z: Vec<Option<Vec<f64>>> = vec![None; it.sources().len()];
    let key = product.dossier.product.key.as_str();
    for &source in it.sources_of(id) {
        z[source] = Some(it.standard_draws(source, u64::from(seed), key, FINDING_DRAWS));
    }
    // What may be another count is drawn as its neighbours.
    if let Some((source, values)) = it.alternatives(id) {
        let numbers: Vec<f64> = values
            .iter()
            .map(|it| match it {
                Value::Count(it) => f64::from(*it),
                _ => value,
            })
            .collect();
        let at = |z: &f64| {
            let place = numbers.iter().enumerate().find(|(at, _)| (*at as f64 - z).abs() < 0.5);
            place.map_or(value, |(_, it)| *it)
        };
        return Some(z[source].as_ref()?.iter().map(at).collect());
    }
    Some(it.draws(id, &z, FINDING_DRAWS).unwrap_or_else(|| vec![value]))
}

/// The value of a number with the standard deviation of its draws.
pub(super) fn reading_of(
    product: &ScoredProduct,
    id: &str,
    spreads: &Spreads,
    seed: u32,
) -> Option<Reading> {
    let value = match found(product, id) {
        Found::Number(value) => value,
        Found::Count(value) => return Some(Reading { value, u: 0.0 }),
        _ => return None,
    };
    let draws = draws(product, id, spreads, seed)?;
    let n = draws.len() as f64;
    let mean = draws.iter().sum::<f64>() / n;
    let u = (draws.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / n).sqrt();
    Some(Reading { value, u })
}

/// One comparison, with its limit read.
#[derive(Debug, Clone)]
enum Compared {
    Number(f64),
    Value(Value),
}

/// A property that was understood: each comparison with its limit.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    property: Property,
    limits: Vec<Compared>,
}

impl Asked {
    /// Reads the limits of a property.
    pub(super) fn of(property: &Property, scored: &Scored) -> Result<Self, Error> {
        let limits = property.terms().into_iter().map(|it| limit(it, scored));
        Ok(Asked { property: property.clone(), limits: limits.collect::<Result<_, _>>()? })
    }

    /// Whether a product has it.
    pub(super) fn answer(&self, product: &ScoredProduct, spreads: &Spreads, seed: u32) -> Known {
        let mut limits = self.limits.iter();
        answer(&self.property, &mut limits, product, spreads, seed)
    }

    /// The findings that would have to be there to tell.
    pub(super) fn missing(&self, product: &ScoredProduct) -> Vec<String> {
        let of = |it: &Term| match found(product, &it.what) {
            Found::Missing(list) => list,
            _ => Vec::new(),
        };
        self.property.terms().into_iter().flat_map(of).collect()
    }

    /// What it is about.
    pub(super) fn addresses(&self) -> Vec<String> {
        self.property.terms().into_iter().map(|it| it.what.clone()).collect()
    }

    /// The property in words.
    pub(super) fn words(&self, scored: &Scored) -> String {
        words(&self.property, scored)
    }
}

fn limit(term: &Term, scored: &Scored) -> Result<Compared, Error> {
    let ordered = !matches!(term.operator, Operator::Equal | Operator::Unequal);
    if let Some(spec) = specs().find(|it| it.id == term.what) {
        return reading::parse(&term.value, spec.dimension)
            .map(|it| Compared::Number(it.si))
            .map_err(|why| {
                let accepted = spec.dimension.accepted();
                Error::request(
                    "claim",
                    &term.to_string(),
                    format!("is not understood: {why}"),
                    accepted,
                )
            });
    }
    entry_of(&term.what, scored)?;
    let Some((part, key)) = place_of(&term.what) else {
        return Err(Error::Internal("a finding that is known has no part".into()));
    };
    let entry = scored
        .declarations
        .dictionary
        .entry_for(part, key)
        .map_err(|why| Error::Internal(why.to_string()))?;
    let value = read_value(&entry, &term.value, None).map_err(|why| {
        Error::request(
            "claim",
            &term.to_string(),
            format!("is not understood: {why}"),
            entry.accepted(),
        )
    })?;
    Ok(match value.value {
        Value::Number { si, .. } => Compared::Number(si),
        Value::Count(it) => Compared::Number(f64::from(it)),
        _ if ordered => {
            return Err(Error::request("claim", &term.to_string(), "has no order", "= or !="));
        }
        it => Compared::Value(it),
    })
}

fn answer<'a>(
    property: &Property,
    limits: &mut impl Iterator<Item = &'a Compared>,
    product: &ScoredProduct,
    spreads: &Spreads,
    seed: u32,
) -> Known {
    match property {
        Property::Not(it) => claim::not(answer(it, limits, product, spreads, seed)),
        Property::And(list) => {
            let all: Vec<Known> =
                list.iter().map(|it| answer(it, limits, product, spreads, seed)).collect();
            claim::all_of(all)
        }
        Property::Or(list) => {
            let all: Vec<Known> =
                list.iter().map(|it| answer(it, limits, product, spreads, seed)).collect();
            claim::any_of(all)
        }
        Property::Is(term) => match limits.next() {
            Some(limit) => compared(term, limit, product, spreads, seed),
            None => Known::Undetermined,
        },
    }
}

fn compared(
    term: &Term,
    limit: &Compared,
    product: &ScoredProduct,
    spreads: &Spreads,
    seed: u32,
) -> Known {
    match (found(product, &term.what), limit) {
        (Found::Missing(_), _) => Known::Undetermined,
        (Found::Senseless, _) => Known::No,
        (Found::Value(it), Compared::Value(wanted)) => {
            Known::from(it.is_same(wanted) == (term.operator == Operator::Equal))
        }
        (Found::Number(value) | Found::Count(value), Compared::Number(wanted)) => {
            let same = standing::rank::quantise(value) == standing::rank::quantise(*wanted);
            let at_least = |side| {
                let reading = reading_of(product, &term.what, spreads, seed);
                let test = claim::threshold(reading, side, *wanted);
                match test.map(|it| it.world) {
                    Ok(claim::World::Holds) => Known::Yes,
                    Ok(claim::World::Fails) => Known::No,
                    _ => Known::Undetermined,
                }
            };
            match term.operator {
                Operator::Equal => Known::from(same),
                Operator::Unequal => Known::from(!same),
                Operator::AtLeast => at_least(Side::AtLeast),
                Operator::AtMost => at_least(Side::AtMost),
                Operator::More => claim::not(at_least(Side::AtMost)),
                Operator::Less => claim::not(at_least(Side::AtLeast)),
            }
        }
        _ => Known::Undetermined,
    }
}

fn words(property: &Property, scored: &Scored) -> String {
    let list = |list: &[Property], word: &str| {
        list.iter().map(|it| words(it, scored)).collect::<Vec<_>>().join(word)
    };
    match property {
        Property::Not(it) => format!("not ({})", words(it, scored)),
        Property::And(all) => list(all, " and "),
        Property::Or(all) => list(all, " or "),
        Property::Is(it) => {
            let spec = specs().find(|spec| spec.id == it.what);
            let label = spec.map_or_else(
                || named(&scored.declarations.dictionary, &it.what),
                |it| it.label.to_owned(),
            );
            let sign = match it.operator {
                Operator::Equal => ":",
                Operator::Unequal => " other than",
                Operator::AtLeast => " of at least",
                Operator::AtMost => " of at most",
                Operator::More => " above",
                Operator::Less => " below",
            };
            format!("{label}{sign} {}", it.value)
        }
    }
}
