//! What of a parts list cannot be solved, and which part is to blame.

use std::collections::{HashMap, HashSet};

use super::{Element, ElementKind};
use crate::dictionary::element::NODES;

/// The node of the input.
const INPUT: &str = "in";

/// The node of the return.
const RETURN: &str = "0";

/// Why a parts list cannot be solved.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct BadNetwork {
    /// The part to blame by its place in the list, from 0; `None` where the network as a whole is meant.
    pub place: Option<usize>,
    /// The name of that part, or empty.
    pub element: String,
    /// The key of the part that is wrong: `name` or `nodes`; empty where the network as a whole is meant.
    pub key: &'static str,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub accepted: String,
}

impl BadNetwork {
    fn part(
        place: usize,
        it: &Element,
        key: &'static str,
        message: String,
        accepted: &str,
    ) -> Self {
        BadNetwork {
            place: Some(place),
            element: it.name.clone(),
            key,
            message,
            accepted: accepted.into(),
        }
    }

    fn whole(message: &str, accepted: &str) -> Self {
        BadNetwork {
            place: None,
            element: String::new(),
            key: "",
            message: message.into(),
            accepted: accepted.into(),
        }
    }
}

/// What is wrong with single parts, whatever else the list holds: a name that stands twice, both ends on one node.
#[must_use]
pub fn check_each(elements: &[Element]) -> Vec<BadNetwork> {
    let mut names = HashSet::new();
    let mut bad = Vec::new();
    for (place, it) in elements.iter().enumerate() {
        if !names.insert(it.name.as_str()) {
            let message = format!("a second element {:?}", it.name);
            bad.push(BadNetwork::part(place, it, "name", message, "each name once"));
        }
        if it.from == it.to {
            let message = format!("both ends of {:?} are on node {:?}", it.name, it.from);
            bad.push(BadNetwork::part(place, it, "nodes", message, NODES));
        }
    }
    bad
}

/// What of a whole parts list cannot be solved; nothing for an empty list, which says that none was traced.
///
/// One thing at a time, so that a slip is not reported under several names: single parts as [`check_each`]; input and
/// return touched and joined; no part apart from both; no part with an end on which nothing else is, for it carries no
/// current; a driver within reach.
#[must_use]
pub fn check(elements: &[Element]) -> Vec<BadNetwork> {
    if elements.is_empty() {
        return Vec::new();
    }
    let each = check_each(elements);
    if !each.is_empty() {
        return each;
    }
    let mut nodes = Nodes::default();
    let ends: Vec<[usize; 2]> =
        elements.iter().map(|it| [nodes.place(&it.from), nodes.place(&it.to)]).collect();
    let (Some(&input), Some(&back)) = (nodes.places.get(INPUT), nodes.places.get(RETURN)) else {
        return untouched(&nodes);
    };
    let mut groups = Groups::new(nodes.places.len());
    for [a, b] in &ends {
        groups.join(*a, *b);
    }
    let (in_input, in_return) = (groups.of(input), groups.of(back));
    let mut apart = Vec::new();
    for (place, (it, [a, _])) in elements.iter().zip(&ends).enumerate() {
        let group = groups.of(*a);
        if group != in_input && group != in_return {
            let message = format!(
                "{:?} is joined to neither the input nor the return: from node {:?} no path leads to either",
                it.name, it.from
            );
            let accepted = "nodes that other parts join to \"in\" or \"0\"";
            apart.push(BadNetwork::part(place, it, "nodes", message, accepted));
        }
    }
    if !apart.is_empty() {
        return apart;
    }
    let mut touched = vec![0_usize; nodes.places.len()];
    for end in ends.iter().flatten() {
        if let Some(it) = touched.get_mut(*end) {
            *it += 1;
        }
    }
    let mut dead = Vec::new();
    for (place, (it, [a, b])) in elements.iter().zip(&ends).enumerate() {
        for (node, end) in [(&it.from, *a), (&it.to, *b)] {
            if end != input && end != back && touched.get(end) == Some(&1) {
                let message = format!(
                    "{:?} carries no current: nothing else is on its node {node:?}",
                    it.name
                );
                let accepted = "nodes that at least one other part is on";
                dead.push(BadNetwork::part(place, it, "nodes", message, accepted));
            }
        }
    }
    if !dead.is_empty() {
        return dead;
    }
    if in_input != in_return {
        return vec![BadNetwork::whole(
            "no path leads from the input to the return",
            "parts that join node \"in\" to node \"0\"",
        )];
    }
    if !elements.iter().any(|it| it.kind == ElementKind::Driver) {
        return vec![BadNetwork::whole(
            "the network reaches no driver",
            "at least one element of kind driver",
        )];
    }
    Vec::new()
}

fn untouched(nodes: &Nodes<'_>) -> Vec<BadNetwork> {
    [(INPUT, "input"), (RETURN, "return")]
        .into_iter()
        .filter(|(node, _)| !nodes.places.contains_key(node))
        .map(|(node, name)| {
            let message = format!("no element is on the {name}");
            BadNetwork::whole(&message, &format!("the node {node:?} on at least one element"))
        })
        .collect()
}

/// Nodes by name, numbered as they come.
#[derive(Debug, Default)]
struct Nodes<'e> {
    places: HashMap<&'e str, usize>,
}

impl<'e> Nodes<'e> {
    fn place(&mut self, node: &'e str) -> usize {
        let next = self.places.len();
        *self.places.entry(node).or_insert(next)
    }
}

/// Nodes that a path joins (disjoint sets with halved paths).
#[derive(Debug)]
struct Groups {
    above: Vec<usize>,
}

impl Groups {
    fn new(count: usize) -> Self {
        Groups { above: (0..count).collect() }
    }

    fn up(&self, node: usize) -> usize {
        self.above.get(node).copied().unwrap_or(node)
    }

    fn of(&mut self, mut node: usize) -> usize {
        loop {
            let above = self.up(node);
            if above == node {
                return node;
            }
            let next = self.up(above);
            if let Some(it) = self.above.get_mut(node) {
                *it = next;
            }
            node = next;
        }
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.of(a), self.of(b));
        if let Some(it) = self.above.get_mut(a) {
            *it = b;
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::part::{Part, Role};

    /// `R1 in a` or `T a 0`: names with T are drivers.
    fn list(text: &str) -> Vec<Element> {
        text.lines()
            .map(|line| {
                let mut words = line.split(' ').map(str::to_owned);
                let mut word = || words.next().unwrap_or_default();
                let (name, from, to) = (word(), word(), word());
                let is_driver = name.starts_with('T');
                Element {
                    name,
                    kind: if is_driver { ElementKind::Driver } else { ElementKind::Resistor },
                    from,
                    to,
                    typed: "1 ohm".into(),
                    value_si: (!is_driver).then_some(1.0),
                    loss_typed: String::new(),
                    loss_ohm: None,
                    tolerance: None,
                    construction: String::new(),
                    rating_typed: String::new(),
                    rating_si: None,
                    part: is_driver.then_some(Part::first(Role::Tweeter)),
                    note: String::new(),
                }
            })
            .collect()
    }

    fn refused(text: &str) -> Vec<String> {
        check(&list(text))
            .iter()
            .map(|it| format!("{}: {}; {}", it.element, it.message, it.accepted))
            .collect()
    }

    #[test]
    fn a_network_that_can_be_solved_passes() {
        for good in [
            "T in 0",
            "C1 in a\nT 0 a",
            "R1 in a\nR2 a b\nT a b\nC1 b 0",
            // A bridge between two halves, and two drivers in series.
            "R1 in a\nR2 in b\nR3 a b\nT1 a c\nT2 c 0\nR4 b 0",
        ] {
            assert_eq!(refused(good), [""; 0], "{good}");
        }
        assert_eq!(check(&[]), []);
    }

    #[test]
    fn what_cannot_be_solved_names_the_part() {
        for (text, wanted) in [
            ("T in 0\nT in 0", vec!["T: a second element \"T\"; each name once"]),
            (
                "T in 0\nR1 a a",
                vec![
                    "R1: both ends of \"R1\" are on node \"a\"; two different names, such as [\"in\", \"0\"]",
                ],
            ),
            (
                "T a 0\nR1 a 0",
                vec![": no element is on the input; the node \"in\" on at least one element"],
            ),
            (
                "T a b\nR1 a b",
                vec![
                    ": no element is on the input; the node \"in\" on at least one element",
                    ": no element is on the return; the node \"0\" on at least one element",
                ],
            ),
            (
                "T in 0\nR1 a b\nR2 b a",
                vec![
                    "R1: \"R1\" is joined to neither the input nor the return: from node \"a\" no path leads to either; nodes that other parts join to \"in\" or \"0\"",
                    "R2: \"R2\" is joined to neither the input nor the return: from node \"b\" no path leads to either; nodes that other parts join to \"in\" or \"0\"",
                ],
            ),
            (
                "C1 in a\nR1 in 0\nT b 0",
                vec![
                    "C1: \"C1\" carries no current: nothing else is on its node \"a\"; nodes that at least one other part is on",
                    "T: \"T\" carries no current: nothing else is on its node \"b\"; nodes that at least one other part is on",
                ],
            ),
            (
                "R1 in a\nR2 a in\nT 0 b\nR3 b 0",
                vec![
                    ": no path leads from the input to the return; parts that join node \"in\" to node \"0\"",
                ],
            ),
            (
                "R1 in 0",
                vec![": the network reaches no driver; at least one element of kind driver"],
            ),
        ] {
            assert_eq!(refused(text), wanted, "{text}");
        }
    }

    #[test]
    fn the_place_tells_parts_of_one_name_apart() {
        let bad = check(&list("T in 0\nR1 in 0\nR1 in 0"));
        assert_eq!((bad[0].place, bad[0].key), (Some(2), "name"));
    }

    proptest! {
        /// Whatever passes has input and return in one piece, and no node that only one part touches.
        #[test]
        fn what_passes_is_one_piece(ends in proptest::collection::vec((0_usize..5, 0_usize..5, any::<bool>()), 0..9)) {
            let names = ["in", "0", "a", "b", "c"];
            let lines: Vec<String> = ends.iter().enumerate()
                .map(|(i, (a, b, is_driver))| {
                    format!("{}{i} {} {}", if *is_driver { "T" } else { "R" }, names[*a], names[*b])
                })
                .collect();
            let elements = list(&lines.join("\n"));
            if !elements.is_empty() && check(&elements).is_empty() {
                // Reachability by a second road: repeated sweeps over the parts from the input.
                let mut reached = HashSet::from(["in"]);
                for _ in 0..elements.len() {
                    for it in &elements {
                        if reached.contains(it.from.as_str()) || reached.contains(it.to.as_str()) {
                            reached.extend([it.from.as_str(), it.to.as_str()]);
                        }
                    }
                }
                prop_assert!(reached.contains("0"));
                for it in &elements {
                    prop_assert!(reached.contains(it.from.as_str()) && it.from != it.to);
                    for node in [&it.from, &it.to] {
                        let touching = elements.iter().filter(|it| it.from == *node || it.to == *node).count();
                        prop_assert!(touching > 1 || node == "in" || node == "0");
                    }
                }
                prop_assert!(elements.iter().any(|it| it.kind == ElementKind::Driver));
            }
        }
    }
}
