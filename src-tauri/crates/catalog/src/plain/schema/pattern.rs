//! Patterns for texts with units.
//!
//! A pattern is never stricter than the reader: an editor must not underline what an import accepts.
//! It may be wider; the import has the last word.

use domain::unit::{AWG, Dimension};

/// The spaces that the reader takes for one.
const SPACE: &str = "[ \u{a0}\u{2007}\u{2009}\u{202f}]";

/// A whole, decimal, exponent, fraction or mixed number.
fn number() -> String {
    format!(
        "[0-9.,]+(?:[eE][-+\u{2212}]?[0-9]+)?(?:/[0-9]+|(?:{SPACE}+|[-\u{2212}])[0-9]+/[0-9]+)?"
    )
}

/// The pattern of one reading.
pub(super) fn reading(dimension: Dimension) -> String {
    format!("^{}$", one(dimension))
}

/// The pattern of readings separated by semicolons.
pub(super) fn list(dimension: Dimension) -> String {
    let one = one(dimension);
    format!("^(?:{one})(?:;(?:{one}))*$")
}

fn one(dimension: Dimension) -> String {
    let number = number();
    let spellings: Vec<String> = dimension
        .units()
        .iter()
        .flat_map(|it| std::iter::once(it.symbol).chain(it.aliases.iter().copied()))
        .filter(|it| !it.is_empty())
        .map(spelling)
        .collect();
    let units = spellings.join("|");
    let takes_plain = dimension.units().iter().any(|it| it.symbol.is_empty());
    let sign = if dimension == Dimension::Level { "[-+\u{2212}]?" } else { "" };
    let core = match (takes_plain, units.is_empty()) {
        (true, true) => number,
        (true, false) => format!("{number}{SPACE}*(?:{units})?"),
        // Sums: `1 lb 6 oz`, `2ft3in`.
        (false, _) => format!("(?:{number}{SPACE}*(?:{units}){SPACE}*)+"),
    };
    let gauge = if dimension == Dimension::WireSize {
        let figure = "[0-9]+(?:/0)?";
        let words = [AWG, "gauge", "ga"].map(spelling).join("|");
        format!(
            "|{SPACE}*{}{SPACE}*{figure}{SPACE}*|{SPACE}*{figure}{SPACE}*(?:{words}){SPACE}*",
            spelling(AWG)
        )
    } else {
        String::new()
    };
    format!("(?:{SPACE}*{sign}{core}{SPACE}*{gauge})")
}

/// A unit in any case but that of a first `m`, and in all code points that are read alike.
fn spelling(text: &str) -> String {
    let mut out = String::new();
    for (place, c) in text.chars().enumerate() {
        match c {
            'm' | 'M' if place == 0 => out.push(c),
            'µ' => out.push_str("[µ\u{3bc}]"),
            'Ω' => out.push_str("[Ω\u{2126}]"),
            '·' => out.push_str("[·\u{22c5}]"),
            ' ' => {
                out.push_str(SPACE);
                out.push('+');
            }
            c if c.is_ascii_alphabetic() => {
                out.push('[');
                out.push(c.to_ascii_lowercase());
                out.push(c.to_ascii_uppercase());
                out.push(']');
            }
            c => {
                if r"\^$.|?*+()[]{}".contains(c) {
                    out.push('\\');
                }
                out.push(c);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use domain::reading::{parse, parse_list};
    use proptest::prelude::*;

    use super::*;

    fn matches(pattern: &str, text: &str) -> bool {
        let schema = serde_json::json!({ "type": "string", "pattern": pattern });
        jsonschema::is_valid(&schema, &serde_json::json!(text))
    }

    #[test]
    fn bench_texts_match_and_others_do_not() {
        for (dimension, good, bad) in [
            (
                Dimension::Mass,
                vec!["1 lb 6 oz", "0.35 kg", "1lb6oz", " 350 G"],
                vec!["350", "1 mm", "-1 kg", ""],
            ),
            (
                Dimension::Length,
                vec!["11/16 in", "1 1/2\"", "1-1/2 in", "312 mm", "0,5 m"],
                vec!["312", "312 MM", "x"],
            ),
            (
                Dimension::Capacitance,
                vec!["4,7 µF", "4.7 μF", "4.7 uf", "1e-6 F"],
                vec!["4.7", "4.7 mH"],
            ),
            (
                Dimension::WireSize,
                vec!["18 AWG", "AWG 18", "2/0 awg", "0.75 mm²", "16ga"],
                vec!["18", "AWG"],
            ),
            (Dimension::Level, vec!["87 dB", "-3 db", "−0.5 dB"], vec!["87", "87 dBm"]),
            (Dimension::Fraction, vec!["60 %", "0.6", "60percent"], vec!["60 dB", "-1 %"]),
            (Dimension::One, vec!["0.35", "1/2"], vec!["0.35 mm", "", "a"]),
        ] {
            for text in good {
                assert!(
                    parse(text, dimension).is_ok() && matches(&reading(dimension), text),
                    "{text}"
                );
            }
            for text in bad {
                assert!(
                    parse(text, dimension).is_err() && !matches(&reading(dimension), text),
                    "{text}"
                );
            }
        }
        let pattern = list(Dimension::Length);
        assert!(
            matches(&pattern, "100 mm; 1 ft 2 in;3 cm")
                && !matches(&pattern, "100 mm; ")
                && !matches(&pattern, "")
        );
    }

    fn number_text() -> impl Strategy<Value = String> {
        prop_oneof![
            "[0-9]{1,4}",
            "[0-9]{0,3}[.,][0-9]{1,4}",
            "[0-9]{1,3}[eE][-+−]?[0-9]{1,2}",
            "[1-9]/[1-9]{1,2}",
            "[0-9]{1,2}[ \u{a0}-][1-9]/[1-9]{1,2}",
        ]
    }

    fn unit_text(dimension: Dimension) -> impl Strategy<Value = String> {
        let mut spellings: Vec<&'static str> = dimension
            .units()
            .iter()
            .flat_map(|it| std::iter::once(it.symbol).chain(it.aliases.iter().copied()))
            .collect();
        if dimension == Dimension::WireSize {
            spellings.extend([AWG, "ga", "gauge"]);
        }
        (proptest::sample::select(spellings), 0..3_u8).prop_map(|(text, case)| match case {
            0 => text.to_owned(),
            1 => text.to_uppercase(),
            _ => text.replace('µ', "\u{3bc}").replace('Ω', "\u{2126}").replace('·', "\u{22c5}"),
        })
    }

    proptest! {
        /// The reader is the reference; the pattern must let through all that it reads.
        #[test]
        fn what_is_read_is_never_underlined(
            (dimension, parts) in proptest::sample::select(Dimension::ALL).prop_flat_map(|dimension| {
                let part = (number_text(), "[ \u{202f}]{0,2}", unit_text(dimension), "[ \u{a0}]{0,2}");
                (Just(dimension), proptest::collection::vec(part, 1..3))
            }),
            lead in "[-+ ]?",
        ) {
            let text: String = lead
                + &parts.into_iter().map(|(number, gap, unit, end)| number + &gap + &unit + &end).collect::<String>();
            if parse(&text, dimension).is_ok() {
                prop_assert!(matches(&reading(dimension), &text), "{text:?} as {dimension:?}");
            }
            let twice = format!("{text};{text}");
            if parse_list(&twice, dimension).is_ok() {
                prop_assert!(matches(&list(dimension), &twice), "{twice:?} as {dimension:?}");
            }
        }
    }
}
