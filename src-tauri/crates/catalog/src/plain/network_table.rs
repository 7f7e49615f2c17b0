//! The parts list of the network: `[[teardown.element]]`.

use std::collections::HashSet;

use domain::{
    network::{Element, ElementKind},
    part::{Part, Role},
    reading,
    unit::Dimension,
};

use super::{
    cursor::{Field, Report, Table},
    fault::{Refusal, shortened},
    text::name,
};

const KEYS: &[&str] = &["name", "kind", "nodes", "value", "loss", "tolerance", "part", "note"];

/// The accepted form of the nodes.
const NODES: &str = "two different names, such as [\"in\", \"0\"]";

/// The node of the input.
const INPUT: &str = "in";

/// The network of a teardown, in the order written.
pub(super) fn network(
    report: &mut Report<'_>,
    teardown: &Table<'_>,
    ways: Option<u8>,
) -> Vec<Element> {
    let tables = teardown.tables(report, "element");
    let mut names = HashSet::new();
    let mut elements = Vec::with_capacity(tables.len());
    for table in &tables {
        if let Some(it) = element(report, table, ways) {
            if !names.insert(it.name.clone()) {
                let at = table.get("name").map_or(table.at, |it| it.at);
                let message = format!("a second element {:?}", it.name);
                report.fault(
                    at,
                    &format!("{}.name", table.path),
                    Refusal::new(message, "each name once"),
                );
            }
            elements.push(it);
        }
    }
    // With an element that could not be read, the input may be on that one.
    let all_read = elements.len() == tables.len();
    if let (Some(first), true) = (tables.first(), all_read)
        && !elements.iter().any(|it| it.from == INPUT || it.to == INPUT)
    {
        let path = first.path.trim_end_matches("[1]");
        let why = Refusal::new(
            "no element is on the input",
            format!("the node {INPUT:?} on at least one element"),
        );
        report.fault(first.at, path, why);
    }
    elements
}

fn element(report: &mut Report<'_>, table: &Table<'_>, ways: Option<u8>) -> Option<Element> {
    table.only(report, KEYS);
    let name = table.need_name(report, "name");
    let nodes = table.need(report, "nodes", NODES).and_then(|it| nodes(report, &it));
    let note = table.note(report);
    // What else may stand here depends on the kind.
    let kind = table.need_word(report, "kind", ElementKind::parse)?;
    let (value, part) = match dimension(kind) {
        Some(it) => (needed_value(report, table, it).map(Some), Some(None)),
        None => (Some(None), needed_part(report, table, ways).map(Some)),
    };
    for key in ["value", "loss", "tolerance", "part"] {
        forbid(report, table, kind, key);
    }
    let loss = match table.get("loss") {
        Some(it) => quantity(report, &it, Dimension::Resistance).map(Some),
        None => Some(None),
    };
    let tolerance = match table.get("tolerance") {
        Some(it) => tolerance(report, &it).map(Some),
        None => Some(None),
    };
    let (from, to) = nodes?;
    let (typed, value_si) = value?.unzip();
    let (loss_typed, loss_ohm) = loss?.unzip();
    Some(Element {
        name: name?,
        kind,
        from,
        to,
        typed: typed.unwrap_or_default(),
        value_si,
        loss_typed: loss_typed.unwrap_or_default(),
        loss_ohm,
        tolerance: tolerance?,
        part: part?,
        note: note?,
    })
}

/// The dimension of the value; a driver has none.
fn dimension(kind: ElementKind) -> Option<Dimension> {
    match kind {
        ElementKind::Resistor => Some(Dimension::Resistance),
        ElementKind::Capacitor => Some(Dimension::Capacitance),
        ElementKind::Inductor => Some(Dimension::Inductance),
        ElementKind::Driver => None,
    }
}

/// Reports a key that an element of this kind does not have.
fn forbid(report: &mut Report<'_>, table: &Table<'_>, kind: ElementKind, key: &str) {
    let has = match (key, kind) {
        ("part", _) => kind == ElementKind::Driver,
        (_, ElementKind::Driver) | ("loss", ElementKind::Resistor) => false,
        _ => true,
    };
    if let (Some(field), false) = (table.get(key), has) {
        let article = if kind == ElementKind::Inductor { "an" } else { "a" };
        let message = format!("{article} {} has no {key}", kind.word());
        let accepted = match key {
            "part" => "part for a driver only",
            "loss" => "loss for a capacitor or an inductor only",
            _ => "values for resistors, capacitors and inductors only",
        };
        report.fault(field.at, &field.path, Refusal::new(message, accepted));
    }
}

fn needed_value(
    report: &mut Report<'_>,
    table: &Table<'_>,
    dimension: Dimension,
) -> Option<(String, f64)> {
    let accepted = format!("a number with a unit: {}", dimension.accepted());
    let field = table.need(report, "value", &accepted)?;
    let (typed, si) = quantity(report, &field, dimension)?;
    if si <= 0.0 {
        let why = Refusal::new(
            format!("{typed:?} is not above 0"),
            format!("a value above 0 in {}", dimension.accepted()),
        );
        report.fault(field.at, &field.path, why);
        return None;
    }
    Some((typed, si))
}

/// The text as typed and its SI value.
fn quantity(
    report: &mut Report<'_>,
    field: &Field<'_>,
    dimension: Dimension,
) -> Option<(String, f64)> {
    let accepted = format!("a number with a unit: {}", dimension.accepted());
    let typed = field.text(report, &accepted)?;
    let it = reading::parse(typed, dimension)
        .map_err(|why| report.fault(field.at, &field.path, why))
        .ok()?;
    Some((typed.to_owned(), it.si))
}

fn tolerance(report: &mut Report<'_>, field: &Field<'_>) -> Option<f64> {
    let (typed, fraction) = quantity(report, field, Dimension::Fraction)?;
    if fraction > 0.0 && fraction < 1.0 {
        return Some(fraction);
    }
    let why = Refusal::new(format!("{typed:?} is no tolerance"), "above 0 % and below 100 %");
    report.fault(field.at, &field.path, why);
    None
}

fn nodes(report: &mut Report<'_>, field: &Field<'_>) -> Option<(String, String)> {
    let texts = field.texts(report, NODES)?;
    let why = match texts.as_slice() {
        [from, to] if from == to => {
            Refusal::new(format!("both ends are on node {:?}", shortened(from, 40)), NODES)
        }
        [from, to] => match (name(from), name(to)) {
            (Ok(from), Ok(to)) => return Some((from, to)),
            (Err(why), _) | (_, Err(why)) => why,
        },
        _ => Refusal::new(format!("an element has two nodes, not {}", texts.len()), NODES),
    };
    report.fault(field.at, &field.path, why);
    None
}

fn needed_part(report: &mut Report<'_>, table: &Table<'_>, ways: Option<u8>) -> Option<Part> {
    // Where the ways could not be read, any driver may be meant.
    let roles: &[Role] = match ways {
        Some(1) => &[Role::Woofer],
        Some(2) => &[Role::Woofer, Role::Tweeter],
        _ => &[Role::Woofer, Role::Midrange, Role::Tweeter],
    };
    let words: Vec<&str> = roles.iter().map(|it| it.word()).collect();
    let accepted =
        format!("{}, and 2 to 9 behind it for further ones that differ", words.join(", "));
    let field = table.need(report, "part", &accepted)?;
    let part = field.read(report, &accepted, |text| {
        text.parse::<Part>().map_err(|why| Refusal { accepted: accepted.clone(), ..why.into() })
    })?;
    if roles.contains(&part.role) {
        return Some(part);
    }
    let message = match ways {
        Some(ways) if part.role.is_driver() => format!("a product of {ways} ways has no {part}"),
        _ => format!("{part} is not a driver"),
    };
    report.fault(field.at, &field.path, Refusal::new(message, accepted));
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::fault::Faults;

    fn read(text: &str, ways: u8) -> Result<Vec<Element>, Vec<String>> {
        let mut faults = Faults::default();
        let mut report = Report::new("f", text, &mut faults);
        let entries = report.parse(text).expect("the text of a test is TOML");
        let found = network(&mut report, &Table::document(&entries), Some(ways));
        match faults.finish() {
            Ok(_) => Ok(found),
            Err(all) => Err(all.iter().map(ToString::to_string).collect()),
        }
    }

    #[test]
    fn a_network_reads_in_the_order_traced() {
        let text = r#"
[[element]]
name = "C1"
kind = "capacitor"
nodes = ["in", "a"]
value = "5.6 µF"
loss = "0.03 ohm"
tolerance = "10 %"
note = "electrolytic, 50 V"
[[element]]
name = "T"
kind = "driver"
part = "tweeter"
nodes = ["0", "a"]
"#;
        let found = read(text, 2).unwrap();
        assert_eq!(found.len(), 2);
        let c = &found[0];
        assert_eq!(
            (c.typed.as_str(), c.loss_typed.as_str(), c.loss_ohm),
            ("5.6 µF", "0.03 ohm", Some(0.03))
        );
        assert!(c.value_si.is_some_and(|it| (it - 5.6e-6).abs() < 1e-18), "{c:?}");
        assert!(c.tolerance.is_some_and(|it| (it - 0.1).abs() < 1e-15), "{c:?}");
        let t = &found[1];
        assert_eq!((t.from.as_str(), t.to.as_str(), t.value_si), ("0", "a", None));
        assert_eq!(t.part, Some(Part::first(Role::Tweeter)));
    }

    #[test]
    fn each_refusal_names_its_place_and_what_is_accepted() {
        let text = r#"[[element]]
name = "C1"
kind = "capacitor"
nodes = ["in", "a", "b"]
value = "5.6 mH"
part = "woofer"
[[element]]
name = "R1"
kind = "resistor"
nodes = ["a", "a"]
loss = "1 ohm"
tolerance = "100 %"
[[element]]
kind = "driver"
name = "M"
nodes = ["a", "0"]
part = "midrange"
value = "8 ohm"
[[element]]
name = "L1"
kind = "coil"
nodes = "in, 0"
[[element]]
name = "L2"
kind = "inductor"
nodes = ["in", ""]
value = "0 mH"
[[element]]
name = "W"
kind = "driver"
nodes = ["in", "0"]
part = "cabinet"
[[element]]
name = "V"
kind = "driver"
nodes = ["in", "0"]
"#;
        let parts = "woofer, tweeter, and 2 to 9 behind it for further ones that differ";
        let nodes = "two different names, such as [\"in\", \"0\"]";
        assert_eq!(
            read(text, 2).unwrap_err(),
            [
                format!("f:4: element[1].nodes: an element has two nodes, not 3; accepted: {nodes}"),
                "f:5: element[1].value: cannot read \"5.6 mH\": \"mH\" is not a unit of capacitance; accepted: µF, nF, pF, F".into(),
                "f:6: element[1].part: a capacitor has no part; accepted: part for a driver only".into(),
                "f:7: element[2].value: the key is missing; accepted: a number with a unit: ohm, mohm, kohm".into(),
                format!("f:10: element[2].nodes: both ends are on node \"a\"; accepted: {nodes}"),
                "f:11: element[2].loss: a resistor has no loss; accepted: loss for a capacitor or an inductor only".into(),
                "f:12: element[2].tolerance: \"100 %\" is no tolerance; accepted: above 0 % and below 100 %".into(),
                format!("f:17: element[3].part: a product of 2 ways has no midrange; accepted: {parts}"),
                "f:18: element[3].value: a driver has no value; accepted: values for resistors, capacitors and inductors only".into(),
                "f:21: element[4].kind: \"coil\" is not a network element; accepted: resistor, capacitor, inductor, driver".into(),
                format!("f:22: element[4].nodes: a text stands here, not a list; accepted: {nodes}"),
                "f:26: element[5].nodes: \"\" is empty; accepted: a name of 1 to 80 characters on one line".into(),
                "f:27: element[5].value: \"0 mH\" is not above 0; accepted: a value above 0 in mH, µH, H".into(),
                format!("f:32: element[6].part: cabinet is not a driver; accepted: {parts}"),
                format!("f:33: element[7].part: the key is missing; accepted: {parts}"),
            ]
        );
    }

    #[test]
    fn names_are_unique_and_something_is_on_the_input() {
        let one =
            "[[element]]\nname = 'R1'\nkind = 'resistor'\nnodes = ['a', 'b']\nvalue = '1 ohm'\n";
        assert_eq!(
            read(&one.repeat(2), 2).unwrap_err(),
            [
                "f:1: element: no element is on the input; accepted: the node \"in\" on at least one element",
                "f:7: element[2].name: a second element \"R1\"; accepted: each name once",
            ]
        );
    }
}
