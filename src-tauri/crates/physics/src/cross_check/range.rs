//! A number outside the usual range: a probable slip of unit or decimal point, with the reading that fits.

use domain::{
    dictionary::{Entry, Kind, Typical},
    dossier::Dossier,
    finding::{Finding, Value},
    part::Role,
    reading,
    unit::Dimension,
};

use super::{CrossCheck, Offer, Severity, Subject};

/// Powers of ten by which a decimal point slips; no more offers than these are made.
const SLIPS: [f64; 4] = [0.1, 10.0, 0.01, 100.0];
/// How far beyond a range end a value must lie before a slip is likely; nearer ones are just unusual products.
const LIKELY: f64 = 1.5;

pub(super) fn checks(dossier: &Dossier) -> Vec<CrossCheck> {
    dossier
        .findings()
        .filter(|it| {
            dossier.current(it.part, &it.key).is_some_and(|holds| std::ptr::eq(holds, *it))
        })
        .filter_map(check)
        .collect()
}

fn check(it: &Finding) -> Option<CrossCheck> {
    let entry = it.entry()?;
    let Kind::Number(dimension, unit) = entry.kind else { return None };
    let Some(Value::Number { si, .. }) = it.answer.value() else { return None };
    let (range, value) = entry.unusual(it.part.role, *si)?;
    let label = label(&entry, it.part.role);
    let usual = format!("{} to {} {unit}", range.low, range.high);
    let shown = reading::shown(*si, None, dimension, unit);
    let offers = offers(it, dimension, unit, range, value);
    let mut text = format!("The {label}, {shown}, lies outside the usual {}.", usual.trim_end());
    if let Some(first) = offers.first() {
        text.push_str(&format!(
            " Perhaps it is {}: check the unit and the decimal point.",
            first.typed
        ));
    }
    Some(CrossCheck {
        code: "outside_usual_range",
        severity: if offers.is_empty() { Severity::Info } else { Severity::Caution },
        subject: Subject::Record,
        text,
        addresses: vec![it.address()],
        z: None,
        offers,
    })
}

fn label(entry: &Entry<'_>, role: Role) -> String {
    if role.is_driver() {
        format!("{} of the {}", entry.label, role.word())
    } else {
        entry.label.into()
    }
}

/// The same figures in another unit, or with the point moved, where that lies in the usual range; nearest to its middle
/// first, units before points.
fn offers(
    it: &Finding,
    dimension: Dimension,
    unit: &str,
    range: Typical,
    value: f64,
) -> Vec<Offer> {
    let far = value > range.high * LIKELY || value < range.low / LIKELY;
    let Some((figures, typed_unit)) = parted(&it.typed, dimension).filter(|_| far) else {
        return Vec::new();
    };
    let middle = (range.low.max(f64::MIN_POSITIVE) * range.high).sqrt();
    let distance = |in_unit: f64| (in_unit / middle).ln().abs();
    let fits = |typed: String| {
        let si = reading::parse(&typed, dimension).ok()?.si;
        let in_unit = reading::in_unit(si, dimension, unit)?;
        (range.low..=range.high).contains(&in_unit).then(|| (distance(in_unit), typed))
    };
    let mut units: Vec<(f64, String)> = dimension
        .units()
        .iter()
        .filter(|other| other.symbol != typed_unit)
        .filter_map(|other| fits(format!("{figures} {}", other.symbol).trim_end().to_owned()))
        .collect();
    units.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut points: Vec<(f64, String)> = SLIPS
        .iter()
        .filter_map(|slip| moved(figures, *slip))
        .filter_map(|figures| fits(format!("{figures} {typed_unit}").trim_end().to_owned()))
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    units
        .into_iter()
        .chain(points)
        .map(|(_, typed)| Offer { address: it.address(), typed })
        .collect()
}

/// Figures and unit of a text that is one number with one unit.
fn parted(typed: &str, dimension: Dimension) -> Option<(&str, &'static str)> {
    let typed = typed.trim();
    let end = typed
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
        .unwrap_or(typed.len());
    let (figures, rest) = typed.split_at(end);
    let unit = dimension.unit(rest.trim())?;
    (!figures.is_empty()).then_some((figures, unit.symbol))
}

/// The figures with the point moved, without digits that nobody typed.
fn moved(figures: &str, by: f64) -> Option<String> {
    let value: f64 = figures.replace(',', ".").parse().ok()?;
    let text = format!("{:.9}", value * by);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    (!text.is_empty() && text != "0").then(|| text.to_owned())
}
