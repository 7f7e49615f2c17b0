//! What is usual among the products of a band, finding by finding.

use ::standing::{
    confidence::Level,
    gates, order,
    prevalence::{MarketVerdict, Prevalence, Quantity},
    summary,
    two_groups::shift,
};
use domain::{
    dictionary::{Dictionary, Entry, Kind},
    dossier::Dossier,
    finding::{Answer, Gap, Value},
    part::{Part, Role},
    reading,
};

use crate::{
    BandRequest, Engine, Error,
    band::{Field, Member, numbers::internal},
    dto::{DifferenceDto, NormalNumberDto, NormalReport, NormalShareDto},
    naming::named,
};

impl Engine {
    /// What is normal in a band: typical numbers, and how many have what.
    ///
    /// # Errors
    /// As [`Engine::band`].
    pub fn normal(&self, request: &BandRequest) -> Result<NormalReport, Error> {
        let (question, scored) = self.asked(request)?;
        let field = question.field(&scored)?;
        let opened: Vec<&Dossier> = field
            .ranked
            .iter()
            .chain(field.not_ranked.iter().map(|(it, _)| it))
            .map(|it| &it.product.dossier)
            .filter(|it| !it.product.powered && !it.jobs.is_empty())
            .collect();
        let dictionary: &Dictionary = &scored.declarations.dictionary;
        let (mut numbers, mut shares) = (Vec::new(), Vec::new());
        for part in Role::ALL.iter().copied().map(Part::first) {
            for entry in dictionary.entries_of(part.role) {
                let entry = &entry;
                let label = named(dictionary, &format!("{part}.{}", entry.key));
                match entry.kind {
                    Kind::Number(..) => numbers.extend(number(part, entry, &label, &opened)?),
                    Kind::Choice(words) => {
                        for word in words.iter() {
                            let has = |it: &Value| *it == Value::Choice(word.to_owned());
                            shares.extend(share(part, entry, &label, word, &opened, has)?);
                        }
                    }
                    Kind::Flag => {
                        shares.extend(share(part, entry, &label, "yes", &opened, |it| {
                            *it == Value::Flag(true)
                        })?);
                    }
                    Kind::Count => {
                        shares.extend(share(part, entry, &label, "none", &opened, |it| {
                            *it == Value::Count(0)
                        })?);
                    }
                    Kind::Numbers(..) | Kind::Text => {}
                }
            }
        }
        Ok(NormalReport {
            band: question.band_dto(),
            opened: u32::try_from(opened.len()).unwrap_or(u32::MAX),
            numbers,
            shares,
            differences: differences(&field)?,
            remarks: scored.remarks.clone(),
        })
    }
}

/// Median, quartiles and ends of a number, in the unit of the dictionary; nothing where fewer than two have it.
fn number(
    part: Part,
    entry: &Entry<'_>,
    label: &str,
    opened: &[&Dossier],
) -> Result<Option<NormalNumberDto>, Error> {
    let Kind::Number(dimension, unit) = entry.kind else { return Ok(None) };
    let mut values: Vec<f64> = opened
        .iter()
        .filter_map(|it| match it.declared(part, entry.key)?.answer {
            Answer::Value(Value::Number { si, .. }) => reading::in_unit(si, dimension, unit),
            _ => None,
        })
        .collect();
    values.sort_unstable_by(f64::total_cmp);
    let (Some(&min), Some(&max)) = (values.first(), values.last()) else { return Ok(None) };
    if values.len() < 2 {
        return Ok(None);
    }
    let Some(it) = summary::quartiles(&values).map_err(internal)? else { return Ok(None) };
    let quartiles = values.len() >= gates::MIN_QUARTILES;
    let interval = order::median_interval(&values, Level::NINETY).map_err(internal)?;
    let address = format!("{part}.{}", entry.key);
    Ok(Some(NormalNumberDto {
        label: label.to_owned(),
        address,
        unit: unit.to_owned(),
        n: u32::try_from(values.len()).unwrap_or(u32::MAX),
        min,
        q1: quartiles.then_some(it.q1),
        median: it.median,
        median_low: interval.map(|it| it.low),
        median_high: interval.map(|it| it.high),
        q3: quartiles.then_some(it.q3),
        max,
    }))
}

/// How many have a property; nothing where it applies to none, or none has it and most are unknown.
fn share(
    part: Part,
    entry: &Entry<'_>,
    label: &str,
    word: &str,
    opened: &[&Dossier],
    has: impl Fn(&Value) -> bool,
) -> Result<Option<NormalShareDto>, Error> {
    let (mut yes, mut unknown, mut total) = (0_u32, 0_u32, 0_u32);
    for it in opened {
        match it.declared(part, entry.key).map(|it| &it.answer) {
            Some(Answer::Gap(Gap::NotApplicable)) => continue,
            Some(Answer::Value(value)) => yes += u32::from(has(value)),
            Some(Answer::Gap(_)) | None => unknown += 1,
        }
        total += 1;
    }
    if total == 0 || yes == 0 || unknown * 2 > total {
        return Ok(None);
    }
    let it = Prevalence::new(yes, unknown, total).map_err(internal)?;
    let limits = it.exact(Level::NINETY);
    let words = [
        (Quantity::NearlyAll, "nearly all"),
        (Quantity::Most, "most"),
        (Quantity::AboutHalf, "about half"),
        (Quantity::Few, "few"),
    ];
    let said = words.into_iter().find(|(of, _)| it.verdict(*of) == MarketVerdict::Supported);
    let address = format!("{part}.{}", entry.key);
    let property = format!("{label}: {word}");
    Ok(Some(NormalShareDto {
        address,
        text: format!("{property}: {}.", it.safe()),
        property,
        yes,
        unknown,
        opened: total,
        low: limits.low,
        high: limits.high,
        word: said.map_or_else(String::new, |(_, word)| word.to_owned()),
    }))
}

/// The index of one kind of product against the other.
fn differences(field: &Field<'_>) -> Result<Vec<DifferenceDto>, Error> {
    let kinds = domain::product::ProductKind::ALL;
    let mut list = Vec::new();
    for (at, a) in kinds.iter().enumerate() {
        for b in &kinds[at + 1..] {
            let of = |kind| -> Vec<f64> {
                let of_kind =
                    field.ranked.iter().filter(|it| it.product.dossier.product.kind == kind);
                of_kind.map(Member::middle).collect()
            };
            let (mut x, mut y) = (of(*a), of(*b));
            if x.len() < gates::MIN_SHIFT || y.len() < gates::MIN_SHIFT {
                continue;
            }
            x.sort_unstable_by(f64::total_cmp);
            y.sort_unstable_by(f64::total_cmp);
            let found = shift(&x, &y, Level::NINETY).map_err(internal)?;
            let (low, high) = (found.interval.map(|it| it.low), found.interval.map(|it| it.high));
            let settled = found.p_value <= 0.05;
            let text = if settled {
                format!(
                    "The {} ones score about {:.0} points {} than the {} ones here.",
                    a.word(),
                    found.shift.abs(),
                    if found.shift < 0.0 { "less" } else { "more" },
                    b.word()
                )
            } else {
                format!(
                    "Between {} {} and {} {} ones no difference in the index is settled.",
                    x.len(),
                    a.word(),
                    y.len(),
                    b.word()
                )
            };
            list.push(DifferenceDto {
                of: "index".into(),
                a: a.word().into(),
                b: b.word().into(),
                n_a: u32::try_from(x.len()).unwrap_or(u32::MAX),
                n_b: u32::try_from(y.len()).unwrap_or(u32::MAX),
                shift: found.shift,
                low,
                high,
                p: found.p_value,
                text,
            });
        }
    }
    Ok(list)
}
