//! The findings of one part: `[teardown.woofer]`, `[stated.whole]`.

use domain::{
    Date,
    dictionary::{Dictionary, Entry, Kind},
    evidence::Evidence,
    finding::{Answer, Finding, Gap, TypedValue, read_value},
    key::nearest_word,
    part::Part,
    reading,
    text::note,
    unit::AWG,
};
use toml::de::DeValue;

use super::{
    cursor::{Field, Report, Table},
    fault::Refusal,
};

/// Where findings come from, and which there are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Origin<'a> {
    /// The day; `None` when it could not be read, which is reported in its own place.
    pub(super) date: Option<Date>,
    /// Whether it is the maker who says so.
    pub(super) is_stated: bool,
    /// What can be found.
    pub(super) dictionary: &'a Dictionary,
}

/// The findings of a part, in the order of the dictionary.
pub(super) fn findings(
    report: &mut Report<'_>,
    table: &Table<'_>,
    part: Part,
    origin: Origin<'_>,
) -> Vec<Finding> {
    let mut found = Vec::new();
    for field in table.fields() {
        descend(report, &field, "", part, origin, &mut found);
    }
    let place = |it: &Finding| {
        origin.dictionary.entries_of(part.role).position(|entry| entry.key == it.key)
    };
    found.sort_by_cached_key(place);
    found
}

/// Joins dotted keys again and reads what the dictionary knows.
fn descend(
    report: &mut Report<'_>,
    field: &Field<'_>,
    prefix: &str,
    part: Part,
    origin: Origin<'_>,
    found: &mut Vec<Finding>,
) {
    let dictionary = origin.dictionary;
    let key = format!("{prefix}{}", field.key);
    let is_quoted = field.key.contains('.');
    if let Some(entry) = dictionary.find(part.role, &key)
        // A key of a plugin is one text, in which the dots part no tables; those of the dictionary are tables.
        && is_quoted == dictionary.own_keys(part.role).any(|it| it == key)
    {
        found.extend(finding(report, field, &entry, part, origin));
        return;
    }
    if let Some(why) = quotes(dictionary, part, &key, is_quoted) {
        report.fault(field.at, &field.path, why);
        return;
    }
    if report.faults.is_full() {
        return report.fault(field.at, "", Refusal::new("", ""));
    }
    let stem = format!("{key}.");
    let known: Vec<&str> = dictionary.entries_of(part.role).map(|it| it.key).collect();
    let below: Vec<&str> = known.iter().copied().filter(|it| it.starts_with(&stem)).collect();
    if !below.is_empty() {
        match field.value {
            DeValue::Table(_) => {
                for it in field.table(report).iter().flat_map(Table::fields) {
                    descend(report, &it, &stem, part, origin, found);
                }
            }
            _ => report.fault(
                field.at,
                &field.path,
                Refusal::new(
                    format!("{part} has no finding {key:?}, only some below it"),
                    below.join(", "),
                ),
            ),
        }
        return;
    }
    if let Err(why) = dictionary.entry_for(part, &key) {
        let accepted = nearest_word(known.iter().copied(), &key)
            .map_or_else(|| known.join(", "), str::to_owned);
        report.fault(field.at, &field.path, Refusal { accepted, ..why.into() });
    }
}

/// What is wrong with a key that stands in quotes and should not, or the other way round, or is that of no plugin.
fn quotes(dictionary: &Dictionary, part: Part, key: &str, is_quoted: bool) -> Option<Refusal> {
    if !is_quoted {
        // `org.example.finish.grille` without quotes is a table `org` with a table in it.
        let stem = format!("{key}.");
        let own = dictionary.own_keys(part.role).find(|it| it.starts_with(&stem))?;
        let accepted = format!("{own:?}, in quotes");
        return Some(Refusal::new("a key of a plugin stands in quotes", accepted));
    }
    // The keys of plugins have two dots and more.
    if dictionary.find(part.role, key).is_some() || key.matches('.').count() < 2 {
        let accepted = format!("{key} without quotes");
        return Some(Refusal::new("a key with a dot stands in quotes", accepted));
    }
    if let Some(of) = dictionary.entries().find(|it| it.key == key) {
        let roles: Vec<&str> = of.roles.iter().map(|it| it.word()).collect();
        let roles = roles.join(", ");
        let message = format!("{key:?} is a finding of {roles}, not of {part}");
        return Some(Refusal::new(message, format!("this key under {roles}")));
    }
    let own: Vec<&str> = dictionary.own_keys(part.role).collect();
    let near = nearest_word(own.iter().copied(), key);
    let hint = near.map(|it| format!("; did you mean {it:?}?")).unwrap_or_default();
    let accepted = match (near, &own[..]) {
        (Some(near), _) => near.to_owned(),
        (None, []) => "this key once its plugin is trusted".to_owned(),
        (None, own) => format!("{}; or this key once its plugin is trusted", own.join(", ")),
    };
    let message = format!("no plugin trusted here has the finding {key:?} of {part}{hint}");
    Some(Refusal::new(message, accepted))
}

fn finding(
    report: &mut Report<'_>,
    field: &Field<'_>,
    entry: &Entry<'_>,
    part: Part,
    origin: Origin<'_>,
) -> Option<Finding> {
    let make = |typed: &str, unit: String, answer, evidence, note: String| {
        Some(Finding {
            part,
            declared: origin.dictionary.declared(part, entry.key, typed, &answer),
            key: entry.key.to_owned(),
            typed: typed.to_owned(),
            unit,
            answer,
            evidence,
            note,
            date: origin.date?,
        })
    };
    if !matches!(field.value, DeValue::Table(_)) {
        let (typed, it) = value(report, field, entry)?;
        let evidence = usual_evidence(entry, origin);
        return make(typed, it.unit, Answer::Value(it.value), evidence, String::new());
    }
    let table = field.table(report)?;
    table.only(report, &["value", "u", "evidence", "note", "state"]);
    let evidence = match table.get("evidence") {
        Some(it) => evidence(report, &it, origin),
        None => Some(usual_evidence(entry, origin)),
    };
    let remark =
        table.get("note").map_or(Some(String::new()), |it| it.read(report, "plain text", note));
    let u = table.get("u");
    match (table.get("value"), table.get("state")) {
        (Some(typed), None) => {
            let read = value(report, &typed, entry);
            let spread = u.and_then(|it| uncertainty(report, &it, entry).map(|text| (it, text)));
            let (typed, mut it) = read?;
            if let Some((u, text)) = spread {
                it = read_value(entry, typed, Some(text))
                    .map_err(|why| report.fault(u.at, &u.path, why))
                    .ok()?;
            }
            make(typed, it.unit, Answer::Value(it.value), evidence?, remark?)
        }
        (None, Some(state)) => {
            let words = words(Gap::ALL.iter().map(|it| it.word()));
            let gap = state.read(report, &words, Gap::parse);
            if let Some(u) = u {
                report.fault(
                    u.at,
                    &u.path,
                    Refusal::new("there is no value to be uncertain", "state without u"),
                );
            }
            let evidence = match (table.get("evidence"), origin.is_stated) {
                (None, false) => Evidence::Inspected,
                _ => evidence?,
            };
            let gap = gap?;
            make(gap.word(), String::new(), Answer::Gap(gap), evidence, remark?)
        }
        (Some(_), Some(state)) => {
            report.fault(
                state.at,
                &state.path,
                Refusal::new("a finding has a value or a state, not both", "value or state"),
            );
            None
        }
        (None, None) => {
            let accepted = format!("value = {}; or state = one of the states", entry.accepted());
            report.fault(
                field.at,
                &field.path,
                Refusal::new("neither value nor state stands here", accepted),
            );
            None
        }
    }
}

/// The text as typed and what it means.
fn value<'t>(
    report: &mut Report<'_>,
    field: &Field<'t>,
    entry: &Entry<'_>,
) -> Option<(&'t str, TypedValue)> {
    let typed = field.text(report, &entry.accepted())?;
    let it = read_value(entry, typed, None)
        .map_err(|why| report.fault(field.at, &field.path, why))
        .ok()?;
    Some((typed, it))
}

/// The text of an uncertainty that the entry can have.
fn uncertainty<'t>(
    report: &mut Report<'_>,
    field: &Field<'t>,
    entry: &Entry<'_>,
) -> Option<&'t str> {
    let text = field.text(report, &entry.accepted())?;
    let why: Refusal = match entry.kind {
        Kind::Number(dimension, _) => match reading::parse(text, dimension) {
            Ok(it) if it.unit == AWG => Refusal::new(
                format!("{text:?} is a gauge, which is no spread"),
                "an area, such as \"0.05 mm²\"",
            ),
            Ok(_) => return Some(text),
            Err(why) => why.into(),
        },
        _ => Refusal::new("only a number can have an uncertainty", "no u here"),
    };
    report.fault(field.at, &field.path, why);
    None
}

fn evidence(report: &mut Report<'_>, field: &Field<'_>, origin: Origin<'_>) -> Option<Evidence> {
    let words = words(Evidence::ALL.iter().map(|it| it.word()));
    let found = field.read(report, &words, Evidence::parse)?;
    if origin.is_stated && found != Evidence::Claimed {
        let message = format!("what a maker states is not {found}");
        report.fault(field.at, &field.path, Refusal::new(message, "claimed"));
        return None;
    }
    Some(found)
}

/// The grade of a finding that names none: an instrument for numbers, the eye for the rest, the maker for what he states.
fn usual_evidence(entry: &Entry<'_>, origin: Origin<'_>) -> Evidence {
    match entry.kind {
        _ if origin.is_stated => Evidence::Claimed,
        Kind::Number(..) | Kind::Numbers(..) => Evidence::Measured,
        Kind::Choice(_) | Kind::Count | Kind::Flag | Kind::Text => Evidence::Inspected,
    }
}

fn words<'a>(words: impl Iterator<Item = &'a str>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::fault::Faults;
    use domain::{
        dictionary::{self, Expected, Own, OwnKind},
        finding::{Declared, Value},
        part::Role,
        unit::Dimension,
    };

    fn read(text: &str, part: &str, is_stated: bool) -> Result<Vec<Finding>, Vec<String>> {
        read_with(&Dictionary::standard(), text, part, is_stated)
    }

    fn read_with(
        dictionary: &Dictionary,
        text: &str,
        part: &str,
        is_stated: bool,
    ) -> Result<Vec<Finding>, Vec<String>> {
        let mut faults = Faults::default();
        let mut report = Report::new("f", text, &mut faults);
        let entries = report.parse(text).expect("the text of a test is TOML");
        let date = Some(Date::constant(2026, 6, 2));
        let origin = Origin { date, is_stated, dictionary };
        let found =
            findings(&mut report, &Table::document(&entries), part.parse().unwrap(), origin);
        match faults.finish() {
            Ok(_) => Ok(found),
            Err(all) => Err(all.iter().map(ToString::to_string).collect()),
        }
    }

    #[test]
    fn short_and_long_forms_read_by_the_rules_of_their_entry() {
        let text = r#"
            lining_thick = { state = "not inspected" }
            panel_thick.front = { value = "11/16 in", u = "0.5 mm", note = "at the port" }
            brace_count = "0"
            outer_h = "312 mm"
            panel_material = { value = "mdf", evidence = "inferred" }
            net_volume = { value = "9 L", evidence = "claimed" }
        "#;
        let found = read(text, "cabinet", false).unwrap();
        let shown: Vec<String> = found
            .iter()
            .map(|it| {
                format!(
                    "{} | {} | {} | {} | {}",
                    it.address(),
                    it.typed,
                    it.unit,
                    it.evidence,
                    it.note
                )
            })
            .collect();
        assert_eq!(
            shown,
            [
                "cabinet.outer_h | 312 mm | mm | measured | ",
                "cabinet.panel_thick.front | 11/16 in | in | measured | at the port",
                "cabinet.panel_material | mdf |  | inferred | ",
                "cabinet.brace_count | 0 |  | inspected | ",
                "cabinet.net_volume | 9 L | L | claimed | ",
                "cabinet.lining_thick | not inspected |  | inspected | ",
            ]
        );
        // 11/16 in is 17.4625 mm exactly, by the definition of the inch.
        match &found[1].answer {
            Answer::Value(Value::Number { si, std_uncertainty: Some(u) }) => {
                assert!((si - 0.017_462_5).abs() < 1e-15 && (u - 0.0005).abs() < 1e-15, "{si} {u}");
            }
            other => panic!("{other:?}"),
        }
        assert_eq!(found[5].answer, Answer::Gap(Gap::NotInspected));
    }

    #[test]
    fn what_a_maker_states_is_claimed_and_nothing_else() {
        let found =
            read("rated_z = '8 ohm'\nmass_each = { state = 'not applicable' }\n", "whole", true)
                .unwrap();
        assert!(found.iter().all(|it| it.evidence == Evidence::Claimed), "{found:?}");
        assert_eq!(
            read("rated_z = { value = '8 ohm', evidence = 'measured' }\n", "whole", true)
                .unwrap_err(),
            ["f:1: rated_z.evidence: what a maker states is not measured; accepted: claimed"]
        );
    }

    #[test]
    fn each_refusal_names_its_place_and_what_is_accepted() {
        let text = r#"outer_h = "312"
panel_materal = "mdf"
panel_thick = "18 mm"
panel_thickness.front = "18 mm"
"port_flare.in" = "3 mm"
brace_count = 2
panel_material = "wood"
box_type = { value = "vented", state = "could not tell" }
gasket = { evidence = "inspected" }
joint = { state = "unknown" }
port_n = { value = "1", u = "1" }
port_d = { value = "50 mm", u = "1" }
port_l = { value = "x", u = "y" }
net_volume = { value = "9 L", evidence = "seen" }
lining_thick = { state = "not inspected", u = "1 mm" }
outer_w = { valu = "1 mm", value = "180 mm", note = "a\u0007" }
"#;
        let units = "mm, cm, m, µm, mil, in, ft";
        let form = format!("a number, such as 12.5, 0,47 or 1 1/2, with a unit: {units}");
        let keys: Vec<&str> = dictionary::entries()
            .filter(|it| it.roles[0].word() == "cabinet")
            .map(|it| it.key)
            .collect();
        let keys = keys.join(", ");
        assert_eq!(
            read(text, "cabinet", false).unwrap_err(),
            [
                format!("f:1: outer_h: cannot read \"312\": length needs a unit after \"312\"; accepted: {units}"),
                "f:2: panel_materal: cabinet has no finding \"panel_materal\"; did you mean \"panel_material\"?; accepted: panel_material".into(),
                "f:3: panel_thick: cabinet has no finding \"panel_thick\", only some below it; accepted: panel_thick.front, panel_thick.side, panel_thick.top, panel_thick.back".into(),
                format!("f:4: panel_thickness: cabinet has no finding \"panel_thickness\"; accepted: {keys}"),
                "f:5: \"port_flare.in\": a key with a dot stands in quotes; accepted: port_flare.in without quotes".into(),
                "f:6: brace_count: a whole number stands here, not a text; accepted: a whole number from 0, as text in quotes".into(),
                "f:7: panel_material: \"wood\" is not a choice here; accepted: mdf, particle, ply, moulded, other".into(),
                "f:8: box_type.state: a finding has a value or a state, not both; accepted: value or state".into(),
                "f:9: gasket: neither value nor state stands here; accepted: value = none, foam, caulk; or state = one of the states".into(),
                "f:10: joint.state: \"unknown\" is not a state; accepted: not inspected, could not tell, not applicable".into(),
                "f:11: port_n.u: only a number can have an uncertainty; accepted: no u here".into(),
                format!("f:12: port_d.u: cannot read \"1\": length needs a unit after \"1\"; accepted: {units}"),
                format!("f:13: port_l.u: cannot read \"y\": no number at the start; accepted: {form}"),
                format!("f:13: port_l.value: cannot read \"x\": no number at the start; accepted: {form}"),
                "f:14: net_volume.evidence: \"seen\" is not an evidence grade; accepted: measured, inspected, marked, claimed, inferred".into(),
                "f:15: lining_thick.u: there is no value to be uncertain; accepted: state without u".into(),
                "f:16: outer_w.note: the text holds the control character '\\u{7}'; accepted: plain text of at most 2000 bytes".into(),
                "f:16: outer_w.valu: unknown key \"valu\"; did you mean \"value\"?; accepted: value, u, evidence, note, state".into(),
            ]
        );
    }

    /// Of an invented plugin.
    fn with_own() -> Dictionary {
        let mut it = Dictionary::standard();
        for (key, role, kind) in [
            ("film", Role::Cabinet, OwnKind::Number(Dimension::Length, "mm")),
            ("grille", Role::Cabinet, OwnKind::Choice(vec!["cloth".into(), "metal".into()])),
            ("coats", Role::Cabinet, OwnKind::Count),
            ("scratched", Role::Whole, OwnKind::Flag),
        ] {
            let own = Own {
                plugin: "org.example.finish".into(),
                key: format!("org.example.finish.{key}"),
                role,
                label: key.into(),
                kind,
                typical: None,
                expected: Expected::Optional,
                why: String::new(),
            };
            it.add(own).unwrap();
        }
        it
    }

    #[test]
    fn keys_of_plugins_stand_in_quotes_and_read_like_all_others() {
        let text = r#"
            "org.example.finish.coats" = { value = "3", evidence = "inferred", note = "by the edge" }
            "org.example.finish.film" = { value = "0.2 mm", u = "20 µm" }
            "org.example.finish.grille" = { state = "could not tell" }
            panel_thick.front = "18 mm"
        "#;
        let found = read_with(&with_own(), text, "cabinet", false).unwrap();
        let keys: Vec<&str> = found.iter().map(|it| it.key.rsplit('.').next().unwrap()).collect();
        assert_eq!(keys, ["front", "film", "grille", "coats"]);
        assert_eq!(found[0].declared, Declared::Standard);
        assert!(found[1..].iter().all(|it| matches!(it.declared, Declared::Own(_))), "{found:?}");
        assert_eq!(found[1].address(), "cabinet.org.example.finish.film");
        assert!(matches!(
            found[1].answer,
            Answer::Value(Value::Number { si, std_uncertainty: Some(u) })
                if (si - 2e-4).abs() < 1e-12 && (u - 2e-5).abs() < 1e-12
        ));
        assert_eq!(found[2].answer, Answer::Gap(Gap::CouldNotTell));
        assert_eq!(
            (found[1].evidence, found[3].evidence),
            (Evidence::Measured, Evidence::Inferred)
        );
    }

    #[test]
    fn slips_in_keys_of_plugins_are_told_with_what_is_near() {
        let text = r#"org.example.finish.film = "0.2 mm"
"org.example.finish.fill" = "0.2 mm"
"org.example.finish.scratched" = "no"
"org.example.varnish.gloss" = "high"
"org.example.finish.grille" = "wood"
"#;
        assert_eq!(
            read_with(&with_own(), text, "cabinet", false).unwrap_err(),
            [
                "f:1: org: a key of a plugin stands in quotes; accepted: \"org.example.finish.film\", in quotes",
                "f:2: \"org.example.finish.fill\": no plugin trusted here has the finding \"org.example.finish.fill\" of cabinet; did you mean \"org.example.finish.film\"?; accepted: org.example.finish.film",
                "f:3: \"org.example.finish.scratched\": \"org.example.finish.scratched\" is a finding of whole, not of cabinet; accepted: this key under whole",
                "f:4: \"org.example.varnish.gloss\": no plugin trusted here has the finding \"org.example.varnish.gloss\" of cabinet; accepted: org.example.finish.film, org.example.finish.grille, org.example.finish.coats; or this key once its plugin is trusted",
                "f:5: \"org.example.finish.grille\": \"wood\" is not a choice here; accepted: cloth, metal",
            ]
        );
        assert_eq!(
            read("\"org.example.varnish.gloss\" = 'high'", "cabinet", false).unwrap_err(),
            [
                "f:1: \"org.example.varnish.gloss\": no plugin trusted here has the finding \"org.example.varnish.gloss\" of cabinet; accepted: this key once its plugin is trusted"
            ]
        );
    }

    #[test]
    fn a_gauge_is_a_size_and_no_spread() {
        assert!(read("wire_size = { value = '18 AWG', u = '0.05 mm²' }", "wiring", false).is_ok());
        assert_eq!(
            read("wire_size = { value = '18 AWG', u = '1 AWG' }", "wiring", false).unwrap_err(),
            [
                "f:1: wire_size.u: \"1 AWG\" is a gauge, which is no spread; accepted: an area, such as \"0.05 mm²\""
            ]
        );
    }
}
