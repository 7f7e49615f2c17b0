//! What may be typed shorter at the bench: the beginning or the number of a choice, `y` and `n`, signs for why there is no
//! value. What is recorded is always the word in full.

use domain::{
    dictionary::{Entry, Kind},
    finding::Gap,
};

/// The signs that stand for a state.
pub(super) const SIGNS: [(&str, Gap); 3] =
    [("?", Gap::NotInspected), ("??", Gap::CouldNotTell), ("-", Gap::NotApplicable)];

/// The word for a thing that was looked for and is not there.
const ABSENT: &str = "absent";

/// The text in full; as it is where nothing short is meant.
pub(super) fn in_full(entry: &Entry<'_>, typed: &str) -> String {
    let typed = typed.trim();
    if typed.is_empty() {
        return String::new();
    }
    if let Some((_, gap)) = SIGNS.iter().find(|(sign, _)| *sign == typed) {
        return gap.word().to_owned();
    }
    let lower = typed.to_lowercase();
    if let Some(gap) = Gap::ALL.iter().find(|it| it.word() == lower) {
        return gap.word().to_owned();
    }
    let word = match entry.kind {
        Kind::Choice(choices) => {
            let words: Vec<&str> = choices.iter().collect();
            if lower == ABSENT { absence(entry) } else { chosen(&words, &lower) }
        }
        Kind::Flag if lower == ABSENT => Some("no"),
        Kind::Flag => chosen(&["yes", "no"], &lower),
        Kind::Count if lower == ABSENT => Some("0"),
        _ => None,
    };
    word.map_or_else(|| typed.to_owned(), str::to_owned)
}

/// What the entry says of a thing that is not there; `None` where it has no word for it.
pub(super) fn absence<'e>(entry: &Entry<'e>) -> Option<&'e str> {
    match entry.kind {
        Kind::Choice(choices) => choices.iter().find(|it| *it == "none"),
        Kind::Flag => Some("no"),
        Kind::Count => Some("0"),
        _ => None,
    }
}

/// The word itself, the one of that number counted from 1, or the only one that begins so.
fn chosen<'w>(words: &[&'w str], lower: &str) -> Option<&'w str> {
    if let Some(word) = words.iter().find(|it| it.to_lowercase() == lower) {
        return Some(word);
    }
    if let Ok(number) = lower.parse::<usize>() {
        return number.checked_sub(1).and_then(|at| words.get(at)).copied();
    }
    let mut begin = words.iter().filter(|it| it.to_lowercase().starts_with(lower));
    match (begin.next(), begin.next()) {
        (Some(only), None) => Some(only),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::{dictionary, part::Role};

    fn full(role: Role, key: &str, typed: &str) -> String {
        in_full(dictionary::find(role, key).unwrap(), typed)
    }

    #[test]
    fn a_choice_is_known_by_beginning_or_number() {
        let basket = |typed| full(Role::Woofer, "basket", typed);
        assert_eq!(basket("st"), "stamped steel");
        assert_eq!(basket("Cast"), "cast");
        assert_eq!(basket("3"), "plastic");
        // Not one of them: left as it is, to be refused with the list.
        for typed in ["4", "0", "steel"] {
            assert_eq!(basket(typed), typed);
        }
        // `m` begins both mineral wool and nothing else; `po` polyester; `f` foam and felt.
        let lining = |typed| full(Role::Cabinet, "lining_material", typed);
        assert_eq!((lining("mi"), lining("f")), ("mineral wool".into(), "f".into()));
    }

    #[test]
    fn absent_is_a_value_and_not_inspected_is_none() {
        assert_eq!(full(Role::Cabinet, "brace_count", "absent"), "0");
        assert_eq!(full(Role::Cabinet, "wall_damping", "absent"), "none");
        assert_eq!(full(Role::Cabinet, "leak_found", "n"), "no");
        // A frame is never absent.
        assert_eq!(full(Role::Woofer, "basket", "absent"), "absent");
        assert_eq!(full(Role::Cabinet, "brace_count", "?"), "not inspected");
        assert_eq!(full(Role::Woofer, "re", "??"), "could not tell");
        assert_eq!(full(Role::Woofer, "re", "-"), "not applicable");
        assert_eq!(full(Role::Woofer, "re", "Not inspected"), "not inspected");
    }

    #[test]
    fn numbers_and_texts_are_left_alone() {
        assert_eq!(full(Role::Woofer, "driver_mass", " 1 lb 6 oz "), "1 lb 6 oz");
        assert_eq!(full(Role::Woofer, "mount", "six screws"), "six screws");
    }
}
