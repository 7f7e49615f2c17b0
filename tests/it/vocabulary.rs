//! What the plugins of this build ask for is what findings and quantities are called.

use std::{collections::BTreeSet, fs};

use bw_sdk::manifest::{Input, InputKind, Manifest};
use domain::{
    dictionary::{self, Kind},
    part::Part,
};
use tests::repository;

/// The plugins of this build.
pub(crate) const PLUGINS: [&str; 4] = ["cabinet", "driver", "crossover", "wiring"];

/// The manifest of one of them.
pub(crate) fn manifest(plugin: &str) -> Manifest {
    let file = repository().join("plugins").join(plugin).join("manifest.json");
    let text = fs::read_to_string(&file).unwrap();
    Manifest::parse(&text).unwrap_or_else(|why| panic!("{plugin}: {why:?}"))
}

/// Why nobody can answer an input, or `None` when it is a quantity or a finding of that kind.
fn unanswered(input: &Input) -> Option<String> {
    if let Some(it) = physics::quantity::specs().find(|it| it.id == input.id) {
        let unit = it.dimension.si_symbol();
        return match input.kind {
            InputKind::Number if is_unit(&input.unit, unit) => None,
            InputKind::Number => Some(format!("unit {:?}, the quantity's is {unit:?}", input.unit)),
            kind => Some(format!("{kind:?} of a quantity, which is a number")),
        };
    }
    let Some((part, key)) = input.id.split_once('.') else { return Some("not an address".into()) };
    let Ok(part) = part.parse::<Part>() else { return Some(format!("no part {part:?}")) };
    let Some(entry) = dictionary::find(part.role, key) else {
        return Some("neither a finding nor a quantity".into());
    };
    match (input.kind, entry.kind) {
        (InputKind::Number, Kind::Number(dimension, _)) => {
            let unit = dimension.si_symbol();
            (!is_unit(&input.unit, unit))
                .then(|| format!("unit {:?}, the finding's is {unit:?}", input.unit))
        }
        (InputKind::Number | InputKind::Count, Kind::Count) | (InputKind::Bool, Kind::Flag) => None,
        (InputKind::Choice, Kind::Choice(words)) => {
            let same = input.choices.iter().map(String::as_str).eq(words.iter());
            (!same).then(|| format!("choices {:?}, the finding's are {words:?}", input.choices))
        }
        (asked, kept) => Some(format!("asks for {asked:?}, the finding is {kept:?}")),
    }
}

/// Pure numbers carry the unit `1` or none.
fn is_unit(declared: &str, si: &str) -> bool {
    declared == si || (si.is_empty() && declared == "1")
}

#[test]
fn every_input_is_a_finding_or_a_quantity() {
    let mut n_inputs = 0;
    for plugin in PLUGINS {
        for input in &manifest(plugin).inputs {
            assert_eq!(unanswered(input), None, "{plugin}: {}", input.id);
            n_inputs += 1;
        }
    }
    assert!(n_inputs >= 20, "{n_inputs} inputs");
}

/// Where order of choices matters, a slip is noticed: a plugin reads a choice as its place in the list.
#[test]
fn a_slip_in_a_manifest_is_noticed() {
    let cabinet = manifest("cabinet");
    let gasket = cabinet.inputs.iter().find(|it| it.id == "cabinet.gasket").unwrap();
    let mut slips = vec![gasket.clone(), gasket.clone(), gasket.clone()];
    slips[0].choices.reverse();
    slips[1].id = "cabinet.gaskett".into();
    slips[2].kind = InputKind::Bool;
    let panel = cabinet.inputs.iter().find(|it| it.id == "cabinet.panel_f_hz").unwrap();
    slips.push(Input { unit: "kHz".into(), ..panel.clone() });
    for it in &slips {
        assert!(unanswered(it).is_some(), "{it:?}");
    }
}

#[test]
fn each_plugin_scores_its_own_subsystem() {
    let found: BTreeSet<String> = PLUGINS.iter().map(|it| manifest(it).subsystem).collect();
    assert_eq!(found, PLUGINS.iter().map(|it| (*it).to_owned()).collect());
}
