//! One cell of a parts list as it is typed: what each kind of element takes there, and what is refused.

use super::ElementKind;
use crate::{
    dictionary::{Kind, element},
    key::nearest_word,
    part::{Part, Role},
    reading,
    text::BadText,
};

/// Which key a kind of element does not have: `a resistor has no loss`.
#[must_use]
pub fn has_no(kind: ElementKind, key: &str) -> BadText {
    BadText::new(
        format!("{} has no {key}", kind.with_article()),
        format!("{key} for these kinds only: {}", element::kinds_with(key)),
    )
}

/// The SI value of `value`, `loss`, `tolerance` or `rating`: ohm, farad, henry, volt, watt, or a fraction.
///
/// A coil or capacitor may be said to have no loss; nothing else may be 0, and a tolerance is below 100 %.
///
/// # Errors
/// [`BadText`] for a text that is no such number, or for a key that the kind of element does not have.
pub fn quantity(kind: ElementKind, key: &str, typed: &str) -> Result<f64, BadText> {
    let entry = element::find(kind, key).ok_or_else(|| has_no(kind, key))?;
    let Kind::Number(dimension, _) = entry.kind else {
        return Err(BadText::new(format!("{key} is no number"), entry.kind.accepted()));
    };
    let si = reading::parse(typed, dimension)?.si;
    match key {
        "tolerance" if si > 0.0 && si < 1.0 => Ok(si),
        "tolerance" => {
            Err(BadText::new(format!("{typed:?} is no tolerance"), "above 0 % and below 100 %"))
        }
        "loss" => Ok(si),
        _ if si > 0.0 => Ok(si),
        _ => Err(BadText::new(format!("{typed:?} is not above 0"), entry.kind.accepted())),
    }
}

/// The word for how an element is made.
///
/// # Errors
/// [`BadText`] with the words of that kind of element, and the nearest of them.
pub fn construction(kind: ElementKind, typed: &str) -> Result<String, BadText> {
    let entry = element::find(kind, "construction").ok_or_else(|| has_no(kind, "construction"))?;
    let Kind::Choice(words) = entry.kind else {
        return Err(BadText::new("construction is no choice", entry.kind.accepted()));
    };
    if words.position(typed).is_some() {
        return Ok(typed.to_owned());
    }
    let hint = nearest_word(words.iter(), typed)
        .map(|it| format!("; did you mean {it:?}?"))
        .unwrap_or_default();
    let message = format!("{typed:?} is no construction of {}{hint}", kind.with_article());
    Err(BadText::new(message, entry.kind.accepted()))
}

/// The drivers of a product of so many ways; any where the number is not known.
#[must_use]
pub fn driver_roles(ways: Option<u8>) -> &'static [Role] {
    match ways {
        Some(1) => &[Role::Woofer],
        Some(2) => &[Role::Woofer, Role::Tweeter],
        _ => &[Role::Woofer, Role::Midrange, Role::Tweeter],
    }
}

/// The accepted form of a driver of a product of so many ways.
#[must_use]
pub fn accepted_drivers(ways: Option<u8>) -> String {
    let words: Vec<&str> = driver_roles(ways).iter().map(|it| it.word()).collect();
    format!("{}, and 2 to 9 behind it for further ones that differ", words.join(", "))
}

/// Which driver of the product an element is.
///
/// # Errors
/// [`BadText`] for what is no part, no driver, or no driver of a product of so many ways.
pub fn driver(ways: Option<u8>, typed: &str) -> Result<Part, BadText> {
    let accepted = accepted_drivers(ways);
    let part = typed.parse::<Part>().map_err(|why| {
        // The list of all parts would offer what cannot stand here.
        let full = why.to_string();
        let message = full.split("; accepted: ").next().unwrap_or_default();
        BadText::new(message, accepted.clone())
    })?;
    if driver_roles(ways).contains(&part.role) {
        return Ok(part);
    }
    let message = match ways {
        Some(ways) if part.role.is_driver() => format!("a product of {ways} ways has no {part}"),
        _ => format!("{part} is not a driver"),
    };
    Err(BadText::new(message, accepted))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_takes_what_it_has() {
        let of = |kind, key, typed: &str| quantity(kind, key, typed);
        assert!((of(ElementKind::Capacitor, "value", "5.6 µF").unwrap() - 5.6e-6).abs() < 1e-18);
        assert!((of(ElementKind::Resistor, "tolerance", "5 %").unwrap() - 0.05).abs() < 1e-15);
        assert!(of(ElementKind::Inductor, "loss", "0 ohm").unwrap().abs() < 1e-15);
        let why = |kind, key, typed: &str| of(kind, key, typed).unwrap_err().to_string();
        assert_eq!(
            why(ElementKind::Resistor, "loss", "1 ohm"),
            "a resistor has no loss; accepted: loss for these kinds only: capacitor, inductor"
        );
        assert!(why(ElementKind::Resistor, "value", "0 ohm").starts_with("\"0 ohm\" is not above"));
        assert!(why(ElementKind::Resistor, "tolerance", "100 %").contains("below 100 %"));
        assert_eq!(
            why(ElementKind::Capacitor, "value", "5.6 mH"),
            "cannot read \"5.6 mH\": \"mH\" is not a unit of capacitance; accepted: µF, nF, pF, F"
        );
        assert!(
            construction(ElementKind::Capacitor, "polipropylene")
                .unwrap_err()
                .message
                .contains("did you mean \"polypropylene\"")
        );
    }

    #[test]
    fn a_driver_belongs_to_the_product() {
        assert_eq!(driver(Some(2), "woofer2").unwrap(), Part { role: Role::Woofer, number: 2 });
        let why = |ways, typed: &str| driver(ways, typed).unwrap_err().message;
        assert_eq!(why(Some(2), "midrange"), "a product of 2 ways has no midrange");
        assert_eq!(why(None, "cabinet"), "cabinet is not a driver");
        assert_eq!(why(Some(3), "horn"), "\"horn\" is not a part");
    }
}
