//! The whole catalogue as one JSON text: facts, evidence, notes, prices, sweeps, networks, and the rubric's changes.
//!
//! It holds what currently holds; what was before, who was trusted, photos, claims and editions stay behind, so that the
//! history of a catalogue made from it begins anew. A text that was read and written again is the same text.

use domain::{
    Date,
    dictionary::Dictionary,
    dossier::{Dossier, Job},
    finding::{Answer, Finding, Gap, Value},
    key::ProductKey,
    money::{Currency, Money},
    network::{Element, ElementKind},
    part::Part,
    price::{Basis, Price, PriceKind, Seller},
    product::{Acquired, Product, ProductKind, Specimen, Teardown},
    sweep::{Point, Sweep},
};
use serde::{Deserialize, Serialize};

use crate::{Info, RubricChange, table::ValueColumns};

/// What the text calls itself.
const FORMAT: &str = "boxworth-catalogue";
/// Its version.
const VERSION: u32 = 1;

/// A catalogue on its way.
#[derive(Debug, Clone, PartialEq)]
pub struct Exchange {
    /// What it says about itself.
    pub info: Info,
    /// The products, by key.
    pub dossiers: Vec<Dossier>,
    /// All changes of the rubric, oldest first.
    pub rubric: Vec<RubricChange>,
}

/// What is wrong with a text, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{place}: {why}")]
pub struct BadExchange {
    /// The place, such as `maker/model, cabinet.joint`.
    pub place: String,
    /// What is wrong.
    pub why: String,
}

fn bad(place: impl Into<String>, why: impl ToString) -> BadExchange {
    BadExchange { place: place.into(), why: why.to_string() }
}

mod form {
    //! The text's own shape.
    use super::{Deserialize, Serialize};

    macro_rules! form {
        ($name:ident { $($field:ident : $ty:ty),* $(,)? }) => {
            #[derive(Debug, Serialize, Deserialize)]
            #[serde(deny_unknown_fields)]
            pub(super) struct $name { $(pub(super) $field: $ty),* }
        };
    }

    form!(Catalogue { format: String, version: u32, info: Info, products: Vec<Product>, rubric: Vec<Change> });
    form!(Info { title: String, currency: String, base_month: String, note: String });
    form!(Change { plugin: Option<String>, path: String, value: Option<String>, reason: String, recorded_at: String });
    form!(Product {
        key: String, maker: String, model: String, kind: String, ways: u8, powered: bool, year: i16, note: String,
        prices: Vec<Price>, specimens: Vec<Specimen>, stated: Vec<Finding>, teardowns: Vec<Teardown>,
    });
    form!(Price {
        amount_minor: i64,
        currency: String,
        basis: String,
        count: u32,
        day: String,
        kind: String,
        seller: String,
        shop: String,
        note: String,
    });
    form!(Specimen { label: String, acquired: String, serial: String });
    form!(Teardown {
        specimen: String, day: String, note: String, findings: Vec<Finding>, network: Vec<Element>, sweeps: Vec<Sweep>,
    });
    form!(Finding {
        part: String, key: String, typed: String, unit: String, kind: String, si: Option<f64>,
        std_uncertainty: Option<f64>, word: Option<String>, evidence: String, note: String, day: String,
    });
    form!(Element {
        name: String, kind: String, from: String, to: String, typed: String, value_si: Option<f64>, loss_typed: String,
        loss_ohm: Option<f64>, tolerance: Option<f64>, construction: String, rating_typed: String, rating_si: Option<f64>,
        part: Option<String>, note: String,
    });
    form!(Sweep { part: String, points: Vec<Vec<f64>>, note: String });
}

impl Exchange {
    /// The text: keys and lists in a fixed order, two blanks for each level, one line end at the end.
    #[must_use]
    pub fn text(&self) -> String {
        let info = &self.info;
        let it = form::Catalogue {
            format: FORMAT.into(),
            version: VERSION,
            info: form::Info {
                title: info.title.clone(),
                currency: info.currency.clone(),
                base_month: info.base_month.clone(),
                note: info.note.clone(),
            },
            products: self.dossiers.iter().map(product).collect(),
            rubric: self
                .rubric
                .iter()
                .map(|it| form::Change {
                    plugin: it.plugin.clone(),
                    path: it.path.clone(),
                    value: it.value.clone(),
                    reason: it.reason.clone(),
                    recorded_at: it.recorded_at.clone(),
                })
                .collect(),
        };
        // Only maps with other keys than text cannot be written as JSON, and there are none.
        let mut text = serde_json::to_string_pretty(&it).unwrap_or_default();
        text.push('\n');
        text
    }

    /// Reads a text. The dictionary says which findings are declared; others are kept.
    ///
    /// # Errors
    /// [`BadExchange`] at the first place that is not understood.
    pub fn read(text: &str, dictionary: &Dictionary) -> Result<Self, BadExchange> {
        let it: form::Catalogue =
            serde_json::from_str(text).map_err(|why| bad(format!("line {}", why.line()), why))?;
        if it.format != FORMAT || it.version != VERSION {
            let why = format!("is {} {}, not {FORMAT} {VERSION}", it.format, it.version);
            return Err(bad("format", why));
        }
        let mut dossiers = Vec::new();
        for of in &it.products {
            dossiers.push(dossier(of, dictionary)?);
        }
        dossiers.sort_by(|a, b| a.product.key.cmp(&b.product.key));
        if let Some(two) = dossiers.windows(2).find(|it| it[0].product.key == it[1].product.key) {
            return Err(bad(two[0].product.key.to_string(), "is there twice"));
        }
        Ok(Exchange {
            info: Info {
                title: it.info.title,
                currency: it.info.currency,
                base_month: it.info.base_month,
                note: it.info.note,
            },
            dossiers,
            rubric: it
                .rubric
                .into_iter()
                .map(|it| RubricChange {
                    plugin: it.plugin,
                    path: it.path,
                    value: it.value,
                    reason: it.reason,
                    recorded_at: it.recorded_at,
                })
                .collect(),
        })
    }
}

fn product(it: &Dossier) -> form::Product {
    let of = &it.product;
    form::Product {
        key: of.key.to_string(),
        maker: of.maker.clone(),
        model: of.model.clone(),
        kind: of.kind.word().into(),
        ways: of.ways,
        powered: of.powered,
        year: of.year,
        note: of.note.clone(),
        prices: it
            .prices
            .iter()
            .map(|it| form::Price {
                amount_minor: it.money.minor,
                currency: it.money.currency.word().into(),
                basis: it.basis.word().into(),
                count: it.basis.count(),
                day: it.date.to_string(),
                kind: it.kind.word().into(),
                seller: it.seller.word().into(),
                shop: it.shop.clone(),
                note: it.note.clone(),
            })
            .collect(),
        specimens: it
            .specimens
            .iter()
            .map(|it| form::Specimen {
                label: it.label.clone(),
                acquired: it.acquired.word().into(),
                serial: it.serial.clone(),
            })
            .collect(),
        stated: it.stated.iter().map(finding).collect(),
        teardowns: it
            .jobs
            .iter()
            .map(|it| form::Teardown {
                specimen: it.teardown.specimen.clone(),
                day: it.teardown.date.to_string(),
                note: it.teardown.note.clone(),
                findings: it.findings.iter().map(finding).collect(),
                network: it.network.iter().map(element).collect(),
                sweeps: it.sweeps.iter().map(sweep).collect(),
            })
            .collect(),
    }
}

fn finding(it: &Finding) -> form::Finding {
    let value = ValueColumns::from(&it.answer);
    form::Finding {
        part: it.part.to_string(),
        key: it.key.clone(),
        typed: it.typed.clone(),
        unit: it.unit.clone(),
        kind: value.kind.into(),
        si: value.si,
        std_uncertainty: value.std_uncertainty,
        word: value.word,
        evidence: it.evidence.word().into(),
        note: it.note.clone(),
        day: it.date.to_string(),
    }
}

fn element(it: &Element) -> form::Element {
    form::Element {
        name: it.name.clone(),
        kind: it.kind.word().into(),
        from: it.from.clone(),
        to: it.to.clone(),
        typed: it.typed.clone(),
        value_si: it.value_si,
        loss_typed: it.loss_typed.clone(),
        loss_ohm: it.loss_ohm,
        tolerance: it.tolerance,
        construction: it.construction.clone(),
        rating_typed: it.rating_typed.clone(),
        rating_si: it.rating_si,
        part: it.part.map(|it| it.to_string()),
        note: it.note.clone(),
    }
}

fn sweep(it: &Sweep) -> form::Sweep {
    let point = |it: &Point| [it.f_hz, it.z_ohm].into_iter().chain(it.phase_deg).collect();
    form::Sweep {
        part: it.part.to_string(),
        points: it.points.iter().map(point).collect(),
        note: it.note.clone(),
    }
}

fn dossier(it: &form::Product, dictionary: &Dictionary) -> Result<Dossier, BadExchange> {
    let at = |what: &str| format!("{}, {what}", it.key);
    let mut prices = Vec::new();
    for of in &it.prices {
        prices.push(price(of).map_err(|why| bad(at("prices"), why))?);
    }
    let mut specimens = Vec::new();
    for of in &it.specimens {
        let acquired = Acquired::parse(&of.acquired).map_err(|why| bad(at("specimens"), why))?;
        specimens.push(Specimen { label: of.label.clone(), acquired, serial: of.serial.clone() });
    }
    let finding = |of: &form::Finding| {
        read_finding(of, dictionary).map_err(|why| bad(at(&format!("{}.{}", of.part, of.key)), why))
    };
    let mut jobs = Vec::new();
    for of in &it.teardowns {
        let place = format!("teardown of {}", of.day);
        if !specimens.iter().any(|it| it.label == of.specimen) {
            return Err(bad(at(&place), format!("there is no specimen {:?}", of.specimen)));
        }
        let element = |of: &form::Element| {
            read_element(of).map_err(|why| bad(at(&format!("part {}", of.name)), why))
        };
        let sweep = |of: &form::Sweep| {
            read_sweep(of).map_err(|why| bad(at(&format!("sweep of {}", of.part)), why))
        };
        jobs.push(Job {
            teardown: Teardown {
                specimen: of.specimen.clone(),
                date: of.day.parse::<Date>().map_err(|why| bad(at(&place), why))?,
                note: of.note.clone(),
            },
            findings: of.findings.iter().map(finding).collect::<Result<_, _>>()?,
            network: of.network.iter().map(element).collect::<Result<_, _>>()?,
            sweeps: of.sweeps.iter().map(sweep).collect::<Result<_, _>>()?,
        });
    }
    Ok(Dossier {
        product: Product {
            key: ProductKey::parse(&it.key).map_err(|why| bad(&it.key, why))?,
            maker: it.maker.clone(),
            model: it.model.clone(),
            kind: ProductKind::parse(&it.kind).map_err(|why| bad(at("kind"), why))?,
            ways: it.ways,
            powered: it.powered,
            year: it.year,
            note: it.note.clone(),
        },
        prices,
        specimens,
        stated: it.stated.iter().map(finding).collect::<Result<_, _>>()?,
        jobs,
    })
}

fn price(it: &form::Price) -> Result<Price, String> {
    if it.amount_minor <= 0 || it.count == 0 {
        return Err("amount and count must be above 0".into());
    }
    Ok(Price {
        money: Money {
            minor: it.amount_minor,
            currency: Currency::parse(&it.currency).map_err(|why| why.to_string())?,
        },
        basis: match it.basis.as_str() {
            "each" => Basis::Each,
            "pair" => Basis::Pair,
            "set" => Basis::Set(it.count),
            other => return Err(format!("{other} is no price basis")),
        },
        date: it.day.parse().map_err(|_| format!("{} is no day", it.day))?,
        kind: PriceKind::parse(&it.kind).map_err(|why| why.to_string())?,
        seller: Seller::parse(&it.seller).map_err(|why| why.to_string())?,
        shop: it.shop.clone(),
        note: it.note.clone(),
    })
}

fn read_finding(it: &form::Finding, dictionary: &Dictionary) -> Result<Finding, String> {
    let part: Part = it.part.parse().map_err(|_| format!("{} is no part", it.part))?;
    let answer = answer(it)?;
    Ok(Finding {
        part,
        declared: dictionary.declared(part, &it.key, &it.typed, &answer),
        key: it.key.clone(),
        typed: it.typed.clone(),
        unit: it.unit.clone(),
        answer,
        evidence: domain::evidence::Evidence::parse(&it.evidence).map_err(|why| why.to_string())?,
        note: it.note.clone(),
        date: it.day.parse::<Date>().map_err(|why| why.to_string())?,
    })
}

fn answer(it: &form::Finding) -> Result<Answer, String> {
    let word = || it.word.clone().ok_or_else(|| format!("a {} needs `word`", it.kind));
    let si = || it.si.ok_or_else(|| format!("a {} needs `si`", it.kind));
    if it.std_uncertainty.is_some_and(|it| it < 0.0) {
        return Err("an uncertainty is not below 0".into());
    }
    Ok(Answer::Value(match it.kind.as_str() {
        "gap" => return Ok(Answer::Gap(Gap::parse(&word()?).map_err(|why| why.to_string())?)),
        "number" => Value::Number { si: si()?, std_uncertainty: it.std_uncertainty },
        "numbers" => Value::Numbers(serde_json::from_str(&word()?).map_err(|why| why.to_string())?),
        "choice" => Value::Choice(word()?),
        "count" => Value::Count(crate::table::counted(si()?)?),
        "flag" => Value::Flag(si()? > 0.5),
        "text" => Value::Text(word()?),
        other => return Err(format!("{other} is no kind of value")),
    }))
}

fn read_element(it: &form::Element) -> Result<Element, String> {
    Ok(Element {
        name: it.name.clone(),
        kind: ElementKind::parse(&it.kind).map_err(|why| why.to_string())?,
        from: it.from.clone(),
        to: it.to.clone(),
        typed: it.typed.clone(),
        value_si: it.value_si,
        loss_typed: it.loss_typed.clone(),
        loss_ohm: it.loss_ohm,
        tolerance: it.tolerance,
        construction: it.construction.clone(),
        rating_typed: it.rating_typed.clone(),
        rating_si: it.rating_si,
        part: match &it.part {
            Some(part) => Some(part.parse().map_err(|_| format!("{part} is no part"))?),
            None => None,
        },
        note: it.note.clone(),
    })
}

fn read_sweep(it: &form::Sweep) -> Result<Sweep, String> {
    let points = it
        .points
        .iter()
        .map(|row| match row[..] {
            [f_hz, z_ohm] => Ok(Point { f_hz, z_ohm, phase_deg: None }),
            [f_hz, z_ohm, phase] => Ok(Point { f_hz, z_ohm, phase_deg: Some(phase) }),
            _ => Err("a point has neither two nor three numbers".to_owned()),
        })
        .collect::<Result<Vec<_>, _>>()?;
    Sweep::check(&points).map_err(|why| why.to_string())?;
    let part = it.part.parse().map_err(|_| format!("{} is no part", it.part))?;
    Ok(Sweep { part, points, note: it.note.clone() })
}
