//! From node names to places in the matrix, and the refusals of parts lists that cannot be solved.

use std::collections::{BTreeMap, BTreeSet};

use super::Element;
use crate::error::{PhysicsError, Result};

/// The node that the source drives.
pub const SOURCE: &str = "in";
/// The node that all voltages are measured against.
pub const GROUND: &str = "0";
/// The largest network accepted, nodes. A loudspeaker's has a tenth of them.
pub const MAX_NODES: usize = 200;

/// One end of an element.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// On node `0`.
    Ground,
    /// On node `in`, whose voltage is known.
    Source,
    /// On a node of unknown voltage: its row in the matrix.
    Unknown(usize),
}

/// Both ends of an element.
pub(super) type Ends = [End; 2];

/// The ends of each element, and for each unknown node the later ones that are its neighbours when
/// elimination comes to it, rising.
pub(super) fn connect(elements: &[Element]) -> Result<(Vec<Ends>, Vec<Vec<usize>>)> {
    let mut names = BTreeSet::new();
    // Number of a node in order of appearance, and how many ends touch it.
    let mut nodes: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for Element { name, nodes: [a, b], .. } in elements {
        if !names.insert(name.as_str()) {
            return Err(PhysicsError::inconsistent(name, "two parts have this name"));
        }
        if a == b {
            return Err(PhysicsError::inconsistent(name, format!("both ends are on node `{a}`")));
        }
        for node in [a, b] {
            let next = nodes.len();
            nodes.entry(node).or_insert((next, 0)).1 += 1;
        }
    }
    if nodes.len() > MAX_NODES {
        return Err(PhysicsError::out_of_domain(
            "elements",
            format!("they join {} nodes; at most {MAX_NODES} are accepted", nodes.len()),
        ));
    }
    for node in [SOURCE, GROUND] {
        if !nodes.contains_key(node) {
            return Err(PhysicsError::inconsistent(node, "no part touches this node"));
        }
    }
    for Element { name, nodes: ends, .. } in elements {
        for node in ends {
            let touched = nodes.get(node.as_str()).map_or(0, |it| it.1);
            if touched < 2 && node != SOURCE && node != GROUND {
                return Err(PhysicsError::inconsistent(
                    name,
                    format!("its end at node `{node}` floats: nothing else touches that node"),
                ));
            }
        }
    }
    refuse_islands(elements)?;
    let (rows, later) = order(elements);
    let end = |node: &String| match node.as_str() {
        GROUND => End::Ground,
        SOURCE => End::Source,
        other => rows.get(other).map_or(End::Ground, |&row| End::Unknown(row)),
    };
    let ends = elements.iter().map(|it| [end(&it.nodes[0]), end(&it.nodes[1])]).collect();
    Ok((ends, later))
}

/// Refuses parts that no path joins to the rest: their voltages would have no answer.
fn refuse_islands(elements: &[Element]) -> Result<()> {
    let mut reached = BTreeSet::from([SOURCE]);
    let mut grown = true;
    while grown {
        grown = false;
        for Element { nodes: [a, b], .. } in elements {
            if reached.contains(a.as_str()) != reached.contains(b.as_str()) {
                reached.extend([a.as_str(), b.as_str()]);
                grown = true;
            }
        }
    }
    if !reached.contains(GROUND) {
        return Err(PhysicsError::inconsistent(GROUND, "no path leads here from node `in`"));
    }
    elements.iter().find(|it| !reached.contains(it.nodes[0].as_str())).map_or(Ok(()), |island| {
        Err(PhysicsError::inconsistent(
            &island.name,
            format!("node `{}` floats: no path leads from it to `in` or `0`", island.nodes[0]),
        ))
    })
}

/// A row for each unknown node, the one with the fewest neighbours first, as elimination goes: few
/// entries that are zero fill up. With it, for each row, the later rows that it touches by then.
/// (Minimum degree, after W. F. Tinney and J. W. Walker, Proc. IEEE 55(11), 1967; from memory.)
fn order(elements: &[Element]) -> (BTreeMap<&str, usize>, Vec<Vec<usize>>) {
    let mut neighbours: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    let known = |node: &str| node == SOURCE || node == GROUND;
    for Element { nodes: [a, b], .. } in elements {
        for (node, other) in [(a.as_str(), b.as_str()), (b.as_str(), a.as_str())] {
            if !known(node) {
                let joined = neighbours.entry(node).or_default();
                if !known(other) {
                    joined.insert(other);
                }
            }
        }
    }
    let (mut rows, mut touched) = (BTreeMap::new(), Vec::new());
    while let Some(node) = neighbours.iter().min_by_key(|(_, it)| it.len()).map(|(&node, _)| node) {
        rows.insert(node, rows.len());
        let joined = neighbours.remove(node).unwrap_or_default();
        for &other in &joined {
            if let Some(around) = neighbours.get_mut(other) {
                around.extend(&joined);
                around.remove(node);
                around.remove(other);
            }
        }
        touched.push(joined);
    }
    let later = touched.into_iter().map(|joined| {
        let mut later: Vec<usize> = joined.iter().filter_map(|it| rows.get(it).copied()).collect();
        later.sort_unstable();
        later
    });
    let later = later.collect();
    (rows, later)
}
