//! Which inputs of a manifest the app can ever answer: quantities, findings, and findings of the plugin's own.

use bw_sdk::manifest::{Finding, Input, InputKind, Manifest};
use domain::{
    dictionary::{self, Kind},
    part::Part,
};

/// One phrase for each input that is never answered, with the reason.
pub(crate) fn unanswered(manifest: &Manifest) -> Vec<String> {
    let reason = |it: &Input| why_not(manifest, it).map(|why| format!("`{}` {why}", it.id));
    manifest.inputs.iter().filter_map(reason).collect()
}

fn why_not(manifest: &Manifest, input: &Input) -> Option<String> {
    if let Some(it) = physics::quantity::specs().find(|it| it.id == input.id) {
        return match input.kind {
            InputKind::Number => other_unit(input, it.dimension.si_symbol()),
            _ => Some("is a quantity, which is a number".to_owned()),
        };
    }
    let part_and_key = input.id.split_once('.');
    let Some((part, key)) =
        part_and_key.and_then(|(part, key)| Some((part.parse::<Part>().ok()?, key)))
    else {
        return Some("does not start with a part, such as cabinet or woofer".to_owned());
    };
    if let Some(own) = manifest.findings.iter().find(|it| it.key == key) {
        return other_than_own(input, own);
    }
    let Some(entry) = dictionary::find(part.role, key) else {
        return Some("is neither a finding nor a quantity".to_owned());
    };
    match (input.kind, entry.kind) {
        (InputKind::Number, Kind::Number(dimension, _)) => other_unit(input, dimension.si_symbol()),
        (InputKind::Number | InputKind::Count, Kind::Count) | (InputKind::Bool, Kind::Flag) => None,
        (InputKind::Choice, Kind::Choice(words)) => {
            let words: Vec<String> = words.iter().map(ToString::to_string).collect();
            let unknown = input.choices.iter().find(|it| !words.contains(it))?;
            let accepted = words.join(", ");
            Some(format!("has no choice {unknown:?}; the finding's are {accepted}"))
        }
        _ => Some("is a finding of another kind".to_owned()),
    }
}

fn other_than_own(input: &Input, own: &Finding) -> Option<String> {
    if input.kind != own.kind {
        return Some("has another kind than under findings".to_owned());
    }
    // Units may differ: a finding is written in the unit of the trade and arrives in the SI unit.
    let unknown = input.choices.iter().find(|it| !own.choices.contains(it))?;
    Some(format!("has a choice {unknown:?} that is not under findings"))
}

/// A pure number has the unit `1` in a manifest and none here.
fn other_unit(input: &Input, si: &str) -> Option<String> {
    let wanted = if si.is_empty() { "1" } else { si };
    (input.unit != wanted).then(|| format!("is in {}, it comes in {wanted}", input.unit))
}

#[cfg(test)]
mod tests {
    use bw_sdk::manifest::{InputKind, Manifest};

    use super::unanswered;

    fn example() -> Manifest {
        let json = include_str!("../../../../plugins/examples/rust/manifest.json");
        Manifest::parse(json).unwrap()
    }

    #[test]
    fn what_is_declared_in_its_kind_and_unit_is_answered() {
        assert_eq!(unanswered(&example()), [""; 0]);
        for json in [
            include_str!("../../../../plugins/cabinet/manifest.json"),
            include_str!("../../../../plugins/driver/manifest.json"),
            include_str!("../../../../plugins/crossover/manifest.json"),
            include_str!("../../../../plugins/wiring/manifest.json"),
        ] {
            assert_eq!(unanswered(&Manifest::parse(json).unwrap()), [""; 0]);
        }
    }

    #[test]
    fn what_is_never_answered_comes_with_the_reason() {
        type Change = fn(&mut Manifest);
        let cases: [(&str, Change); 5] = [
            ("neither a finding nor a quantity", |it| {
                it.inputs[0].id = "cabinet.outer_heigth".to_owned();
            }),
            ("does not start with a part", |it| it.inputs[0].id = "grille.gap".to_owned()),
            ("another kind than under findings", |it| it.inputs[0].kind = InputKind::Count),
            ("\"lacquer\" that is not under findings", |it| {
                it.inputs[1].choices[0] = "lacquer".to_owned();
            }),
            ("is in mm, it comes in m", |it| {
                it.inputs[0].id = "cabinet.outer_h".to_owned();
                it.inputs[0].unit = "mm".to_owned();
            }),
        ];
        for (text, change) in cases {
            let mut manifest = example();
            change(&mut manifest);
            let found = unanswered(&manifest);
            assert!(found.len() == 1 && found[0].contains(text), "{text}: {found:?}");
        }
    }
}
