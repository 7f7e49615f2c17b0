//! What claims can be made of, for a form that is filled by choosing.

use domain::{
    claim::{Family, Key, Kind, Operator, SCORE},
    dictionary::{Entry, Kind as Value},
    part::{Part, Role},
    product::ProductKind,
};
use physics::quantity::specs;

use crate::{
    Engine, Error,
    dto::{ClaimAttribute, ClaimForms, ClaimKeyDto, ClaimKindDto, ClaimProduct, ClaimPropertyOf},
    naming::named,
    scoring::Scored,
};

impl Engine {
    /// The kinds of claims, and everything that they can be about in this catalogue.
    ///
    /// # Errors
    /// When the catalogue cannot be read.
    pub fn claim_forms(&self) -> Result<ClaimForms, Error> {
        let scored = self.scored_rules()?;
        let mut products: Vec<ClaimProduct> = self
            .shelf(&self.terms()?)?
            .iter()
            .filter(|it| !it.powered)
            .map(|it| ClaimProduct { product: it.key.to_string(), label: it.label.clone() })
            .collect();
        products.sort_by(|a, b| a.label.cmp(&b.label));
        Ok(ClaimForms {
            kinds: Kind::ALL.iter().map(|it| kind(*it)).collect(),
            attributes: attributes(&scored),
            findings: properties(&scored),
            products,
            product_kinds: ProductKind::ALL.iter().map(|it| it.word().to_owned()).collect(),
        })
    }
}

fn kind(it: Kind) -> ClaimKindDto {
    let label = match it {
        Kind::Best => "has the highest",
        Kind::Worst => "has the lowest",
        Kind::Only => "is the only one with",
        Kind::More => "has more than another",
        Kind::Less => "has less than another",
        Kind::All => "all have",
        Kind::NearlyAll => "nearly all have",
        Kind::Most => "most have",
        Kind::AboutHalf => "about half have",
        Kind::Few => "few have",
        Kind::None => "none has",
        Kind::AtLeast => "at least so many have",
        Kind::AtMost => "at most so many have",
        Kind::Exactly => "exactly so many have",
        Kind::Above => "is at least",
        Kind::Below => "is at most",
        Kind::Typical => "is ordinary",
        Kind::Unbeaten => "is unbeaten for the money",
        Kind::GoodValue => "is good value",
        Kind::BestValue => "is the best value",
        Kind::Overpriced => "is overpriced",
        Kind::Rises => "rises with the price",
        Kind::Falls => "falls with the price",
    };
    let keys = it.keys().iter();
    ClaimKindDto {
        word: it.word().into(),
        label: label.into(),
        family: it.family().word().into(),
        keys: keys
            .map(|(key, needed)| ClaimKeyDto { key: key.word().into(), needed: *needed })
            .collect(),
    }
}

fn attributes(scored: &Scored) -> Vec<ClaimAttribute> {
    let one = |id: &str, label: &str, unit: &str, group: &str| ClaimAttribute {
        id: id.into(),
        label: label.into(),
        unit: unit.into(),
        group: group.into(),
    };
    let mut list = vec![one(SCORE, "score", "points", "score")];
    list.extend(scored.subsystems.iter().map(|it| one(it, it, "points", "subsystem")));
    list.extend(specs().map(|it| one(it.id, it.label, it.unit, "quantity")));
    for (address, entry) in addresses(scored) {
        let label = named(&scored.declarations.dictionary, &address);
        match entry.kind {
            Value::Number(_, unit) => list.push(one(&address, &label, unit, "finding")),
            Value::Count => list.push(one(&address, &label, "", "finding")),
            _ => {}
        }
    }
    list
}

fn properties(scored: &Scored) -> Vec<ClaimPropertyOf> {
    let words = |list: &[Operator]| list.iter().map(|it| it.word().to_owned()).collect();
    let mut list: Vec<ClaimPropertyOf> = Vec::new();
    for (address, entry) in addresses(scored) {
        let (operators, choices, unit) = match entry.kind {
            Value::Number(_, unit) => (Operator::ALL, Vec::new(), unit),
            Value::Count => (Operator::ALL, Vec::new(), ""),
            Value::Flag => {
                (&[Operator::Equal, Operator::Unequal][..], vec!["yes".into(), "no".into()], "")
            }
            Value::Choice(choices) => {
                let words = choices.iter().map(str::to_owned).collect();
                (&[Operator::Equal, Operator::Unequal][..], words, "")
            }
            Value::Numbers(..) | Value::Text => continue,
        };
        list.push(ClaimPropertyOf {
            label: named(&scored.declarations.dictionary, &address),
            id: address,
            operators: words(operators),
            choices,
            unit: unit.to_owned(),
        });
    }
    list.extend(specs().map(|it| ClaimPropertyOf {
        id: it.id.into(),
        label: it.label.into(),
        operators: words(Operator::ALL),
        choices: Vec::new(),
        unit: it.unit.into(),
    }));
    list
}

/// All findings that can be spoken of: each entry for the first part of each role that has it.
fn addresses(scored: &Scored) -> Vec<(String, Entry<'_>)> {
    let dictionary = &scored.declarations.dictionary;
    let of = |role: &Role| {
        let role = *role;
        dictionary
            .entries_of(role)
            .map(move |entry| (format!("{}.{}", Part::first(role), entry.key), entry))
    };
    Role::ALL.iter().flat_map(of).collect()
}

/// The keys of a claim that are about whom; for the text of help.
#[must_use]
pub fn claim_help() -> String {
    let mut text = String::from(
        "A claim is a word and key=value; a value with blanks stands between double quotes.\n",
    );
    for family in Family::ALL {
        text.push_str(&format!("\n{}\n", family.word()));
        for kind in Kind::ALL.iter().filter(|it| it.family() == *family) {
            let keys: Vec<String> = kind
                .keys()
                .iter()
                .map(|(key, needed)| match needed {
                    true => format!("{}=…", key.word()),
                    false => format!("[{}=…]", key.word()),
                })
                .collect();
            text.push_str(&format!("  {} {}\n", kind.word(), keys.join(" ")));
        }
    }
    let scope: Vec<&str> = domain::claim::SCOPE_KEYS.iter().map(|it: &Key| it.word()).collect();
    text.push_str(&format!("\nAll of them take {}.\n", scope.join("=…, ") + "=…"));
    text.push_str("of is score, a subsystem, or a finding or quantity that is a number. where and among are properties:\n");
    text.push_str(
        "\"cabinet.brace_count = 0 and not (cabinet.mass >= 5 kg or driver.woofer.x = paper)\".\n",
    );
    text
}
