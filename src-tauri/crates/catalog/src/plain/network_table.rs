//! The parts list of the network: `[[teardown.element]]`.

use domain::{
    dictionary::element::{self, ElementEntry, NODES},
    network::{self, Element, ElementKind, cell},
    part::Part,
    text::{BadText, name},
};

use super::{
    cursor::{Field, Report, Table},
    fault::Refusal,
};

/// The network of a teardown, in the order written.
pub(super) fn network(
    report: &mut Report<'_>,
    teardown: &Table<'_>,
    ways: Option<u8>,
) -> Vec<Element> {
    let tables = teardown.tables(report, "element");
    let (elements, read): (Vec<Element>, Vec<&Table<'_>>) =
        tables.iter().filter_map(|it| Some((element(report, it, ways)?, it))).unzip();
    // With an element that could not be read, the whole is not known: what seems missing may be on that one.
    let bad = if elements.len() == tables.len() {
        network::check(&elements)
    } else {
        network::check_each(&elements)
    };
    for it in bad {
        let why = Refusal::new(it.message, it.accepted);
        match it.place.and_then(|place| read.get(place)) {
            Some(table) => {
                let at = table.get(it.key).map_or(table.at, |it| it.at);
                report.fault(at, &format!("{}.{}", table.path, it.key), why);
            }
            None => {
                let Some(first) = tables.first() else { continue };
                report.fault(first.at, first.path.trim_end_matches("[1]"), why);
            }
        }
    }
    for (it, table) in elements.iter().zip(read) {
        if let (Some(text), Some(value)) = (it.unusual(), table.get("value")) {
            report.note(value.at, &text);
        }
    }
    elements
}

fn element(report: &mut Report<'_>, table: &Table<'_>, ways: Option<u8>) -> Option<Element> {
    table.only(report, &element::keys());
    let name = table.need_name(report, "name");
    let nodes = table.need(report, "nodes", NODES).and_then(|it| nodes(report, &it));
    let note = table.note(report);
    // What else may stand here depends on the kind.
    let kind = table.need_word(report, "kind", ElementKind::parse)?;
    forbid(report, table, kind);
    let value = match element::find(kind, "value") {
        Some(it) => needed_value(report, table, it, kind).map(Some),
        None => Some(None),
    };
    let part = match element::find(kind, "part") {
        Some(_) => needed_part(report, table, ways).map(Some),
        None => Some(None),
    };
    let loss = quantity_if_there(report, table, kind, "loss");
    let rating = quantity_if_there(report, table, kind, "rating");
    let construction = construction(report, table, kind);
    let tolerance = quantity_if_there(report, table, kind, "tolerance");
    let (from, to) = nodes?;
    let (typed, value_si) = value?.unzip();
    let (loss_typed, loss_ohm) = loss?.unzip();
    let (rating_typed, rating_si) = rating?.unzip();
    Some(Element {
        name: name?,
        kind,
        from,
        to,
        typed: typed.unwrap_or_default(),
        value_si,
        loss_typed: loss_typed.unwrap_or_default(),
        loss_ohm,
        tolerance: tolerance?.map(|it| it.1),
        construction: construction?,
        rating_typed: rating_typed.unwrap_or_default(),
        rating_si,
        part: part?,
        note: note?,
    })
}

/// Reports the keys that an element of this kind does not have.
fn forbid(report: &mut Report<'_>, table: &Table<'_>, kind: ElementKind) {
    for field in table.fields() {
        if !element::kinds_with(field.key).is_empty() && element::find(kind, field.key).is_none() {
            report.fault(field.at, &field.path, cell::has_no(kind, field.key));
        }
    }
}

/// The word for how a part is made, empty where none is given.
fn construction(report: &mut Report<'_>, table: &Table<'_>, kind: ElementKind) -> Option<String> {
    let (Some(field), Some(entry)) =
        (table.get("construction"), element::find(kind, "construction"))
    else {
        return Some(String::new());
    };
    field.read(report, &entry.kind.accepted(), |text| cell::construction(kind, text))
}

fn needed_value(
    report: &mut Report<'_>,
    table: &Table<'_>,
    entry: &ElementEntry,
    kind: ElementKind,
) -> Option<(String, f64)> {
    let field = table.need(report, entry.key, &entry.kind.accepted())?;
    quantity(report, &field, entry, kind)
}

/// The text as typed and its SI value, where the key is there and its kind of element has it.
fn quantity_if_there(
    report: &mut Report<'_>,
    table: &Table<'_>,
    kind: ElementKind,
    key: &str,
) -> Option<Option<(String, f64)>> {
    match (table.get(key), element::find(kind, key)) {
        (Some(field), Some(entry)) => quantity(report, &field, entry, kind).map(Some),
        _ => Some(None),
    }
}

/// The text as typed and its SI value.
fn quantity(
    report: &mut Report<'_>,
    field: &Field<'_>,
    entry: &ElementEntry,
    kind: ElementKind,
) -> Option<(String, f64)> {
    field.read(report, &entry.kind.accepted(), |text| {
        Ok::<_, BadText>((text.to_owned(), cell::quantity(kind, entry.key, text)?))
    })
}

fn nodes(report: &mut Report<'_>, field: &Field<'_>) -> Option<(String, String)> {
    let texts = field.texts(report, NODES)?;
    let why = match texts.as_slice() {
        [from, to] => match (name(from), name(to)) {
            (Ok(from), Ok(to)) => return Some((from, to)),
            (Err(why), _) | (_, Err(why)) => why,
        },
        _ => BadText::new(format!("an element has two nodes, not {}", texts.len()), NODES),
    };
    report.fault(field.at, &field.path, why);
    None
}

fn needed_part(report: &mut Report<'_>, table: &Table<'_>, ways: Option<u8>) -> Option<Part> {
    // Where the ways could not be read, any driver may be meant.
    let accepted = cell::accepted_drivers(ways);
    table.need(report, "part", &accepted)?.read(report, &accepted, |text| cell::driver(ways, text))
}

#[cfg(test)]
mod tests {
    use domain::part::Role;

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
construction = "electrolytic"
rating = "50 V"
note = "two in series"
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
        assert_eq!(
            (c.construction.as_str(), c.rating_typed.as_str(), c.rating_si, c.note.as_str()),
            ("electrolytic", "50 V", Some(50.0), "two in series")
        );
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
                "f:6: element[1].part: a capacitor has no part; accepted: part for these kinds only: driver".into(),
                "f:7: element[2].value: the key is missing; accepted: a number with a unit: ohm, mohm, kohm".into(),
                "f:11: element[2].loss: a resistor has no loss; accepted: loss for these kinds only: capacitor, inductor".into(),
                "f:12: element[2].tolerance: \"100 %\" is no tolerance; accepted: above 0 % and below 100 %".into(),
                format!("f:17: element[3].part: a product of 2 ways has no midrange; accepted: {parts}"),
                "f:18: element[3].value: a driver has no value; accepted: value for these kinds only: resistor, capacitor, inductor".into(),
                "f:21: element[4].kind: \"coil\" is not a network element; accepted: resistor, capacitor, inductor, driver".into(),
                format!("f:22: element[4].nodes: a text stands here, not a list; accepted: {nodes}"),
                "f:26: element[5].nodes: \"\" is empty; accepted: a name of 1 to 80 characters on one line".into(),
                "f:27: element[5].value: \"0 mH\" is not above 0; accepted: a number with a unit: mH, µH, H".into(),
                format!("f:32: element[6].part: cabinet is not a driver; accepted: {parts}"),
                format!("f:33: element[7].part: the key is missing; accepted: {parts}"),
            ]
        );
    }

    #[test]
    fn how_a_part_is_made_depends_on_its_kind() {
        let text = r#"[[element]]
name = "C1"
kind = "capacitor"
nodes = ["in", "a"]
value = "5.6 µF"
construction = "polipropylene"
rating = "5 W"
[[element]]
name = "L1"
kind = "inductor"
nodes = ["a", "0"]
value = "1 mH"
construction = "film"
rating = "2 A"
[[element]]
name = "R1"
kind = "resistor"
nodes = ["a", "0"]
value = "1 ohm"
rating = "0 W"
[[element]]
name = "T"
kind = "driver"
nodes = ["a", "0"]
part = "tweeter"
construction = "air"
"#;
        assert_eq!(
            read(text, 2).unwrap_err(),
            [
                "f:6: element[1].construction: \"polipropylene\" is no construction of a capacitor; did you mean \"polypropylene\"?; accepted: electrolytic, polyester, polypropylene",
                "f:7: element[1].rating: cannot read \"5 W\": \"W\" is not a unit of voltage; accepted: V, mV",
                "f:13: element[2].construction: \"film\" is no construction of an inductor; accepted: air, ferrite, iron, laminated",
                "f:14: element[2].rating: an inductor has no rating; accepted: rating for these kinds only: resistor, capacitor",
                "f:20: element[3].rating: \"0 W\" is not above 0; accepted: a number with a unit: W",
                "f:26: element[4].construction: a driver has no construction; accepted: construction for these kinds only: resistor, capacitor, inductor",
            ]
        );
    }

    #[test]
    fn what_cannot_be_solved_is_refused_at_its_line() {
        let row = |name: &str, from: &str, to: &str| {
            format!(
                "[[element]]\nname = '{name}'\nkind = 'resistor'\nnodes = ['{from}', '{to}']\nvalue = '1 ohm'\n"
            )
        };
        let why = |rows: &[String]| read(&rows.concat(), 2).unwrap_err();
        let driver =
            "[[element]]\nname = 'T'\nkind = 'driver'\nnodes = ['in', '0']\npart = 'tweeter'\n"
                .to_owned();
        assert_eq!(
            why(&[row("R1", "a", "0")]),
            [
                "f:1: element: no element is on the input; accepted: the node \"in\" on at least one element"
            ]
        );
        assert_eq!(
            why(&[row("R1", "in", "0")]),
            [
                "f:1: element: the network reaches no driver; accepted: at least one element of kind driver"
            ]
        );
        assert_eq!(
            why(&[driver.clone(), row("R1", "in", "a"), row("R1", "b", "b")]),
            [
                "f:12: element[3].name: a second element \"R1\"; accepted: each name once",
                "f:14: element[3].nodes: both ends of \"R1\" are on node \"b\"; accepted: two different names, such as [\"in\", \"0\"]",
            ]
        );
        assert_eq!(
            why(&[driver.clone(), row("R1", "in", "a")]),
            [
                "f:9: element[2].nodes: \"R1\" carries no current: nothing else is on its node \"a\"; accepted: nodes that at least one other part is on"
            ]
        );
        // What one part is missing may be on the one that cannot be read; a name that stands twice is wrong anyway.
        let unread = row("R2", "a", "0").replace("1 ohm", "1 mm");
        assert_eq!(why(&[driver, row("R1", "in", "a"), row("R1", "in", "a"), unread]).len(), 2);
    }

    #[test]
    fn a_value_with_a_probably_wrong_unit_is_noted_at_its_line() {
        let text = "[[element]]\nname = 'C1'\nkind = 'capacitor'\nnodes = ['in', 'a']\nvalue = '4.7 nF'\n\
            [[element]]\nname = 'T'\nkind = 'driver'\nnodes = ['a', '0']\npart = 'tweeter'\n";
        let mut faults = Faults::default();
        let mut report = Report::new("f", text, &mut faults);
        let entries = report.parse(text).unwrap();
        assert_eq!(network(&mut report, &Table::document(&entries), Some(2)).len(), 2);
        let notes = faults.finish().unwrap();
        assert_eq!((notes.len(), notes[0].line), (1, Some(5)));
        assert!(notes[0].text.starts_with("C1: 4.7 nF is outside the usual"), "{notes:?}");
    }
}
