//! Findings and other sources by the names that people use.

use domain::{
    dictionary::Dictionary,
    part::{Part, Role},
};

/// What an address or another source of doubt is called: `cabinet, lining thickness` of `cabinet.lining_thick`.
pub(crate) fn named(dictionary: &Dictionary, source: &str) -> String {
    let known = source.split_once('.').and_then(|(part, key)| {
        let part: Part = part.parse().ok()?;
        let entry = dictionary.find(part.role, key)?;
        Some(named_in(part, entry.label))
    });
    known.or_else(|| sweep(source)).unwrap_or_else(|| source.to_owned())
}

/// A part's sweep has no entry of its own.
fn sweep(source: &str) -> Option<String> {
    let (part, key) = source.split_once('.')?;
    let part: Part = part.parse().ok()?;
    let word = match key {
        "sweep" => "impedance sweep",
        "parts" => "parts list",
        _ => return None,
    };
    Some(named_in(part, word))
}

fn named_in(part: Part, label: &str) -> String {
    if part.role == Role::Whole { label.to_owned() } else { format!("{part}, {label}") }
}

/// A few sources in one phrase.
pub(crate) fn named_list(dictionary: &Dictionary, sources: &[String]) -> String {
    let names: Vec<String> = sources.iter().map(|it| named(dictionary, it)).collect();
    match &names[..] {
        [] => String::new(),
        [one] => one.clone(),
        [first, second] => format!("{first} and {second}"),
        [first, second, rest @ ..] => format!("{first}, {second} and {} more", rest.len()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_get_the_labels_of_the_dictionary() {
        let standard = Dictionary::standard();
        let named = |it| named(&standard, it);
        assert_eq!(named("cabinet.wall_damping"), "cabinet, wall damping");
        assert_eq!(named("woofer.sweep"), "woofer, impedance sweep");
        assert_eq!(named("fit to woofer.sweep"), "fit to woofer.sweep");
        assert_eq!(named("modulus of mdf"), "modulus of mdf");
    }

    #[test]
    fn long_lists_are_cut() {
        let list: Vec<String> =
            ["cabinet.joint", "cabinet.gasket", "cabinet.leak_found"].map(str::to_owned).into();
        assert_eq!(
            named_list(&Dictionary::standard(), &list),
            "cabinet, panel joint, cabinet, driver gasket and 1 more"
        );
    }
}
