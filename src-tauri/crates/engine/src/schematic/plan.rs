//! Which parts hang from a node down to the return, which lie along a line, and which lines there are.

use std::collections::{HashMap, VecDeque, hash_map::Entry};

use domain::network::{Element, ElementKind};

/// The name of the input's node.
pub(super) const INPUT: &str = "in";

/// The name of the return's node.
pub(super) const RETURN: &str = "0";

/// Parts in series from a node down to the return, the top one first; nothing else is on the nodes between them.
#[derive(Debug, Clone)]
pub(super) struct Stack {
    /// The parts, by their place in the list.
    pub(super) parts: Vec<usize>,
    /// The nodes: the top one, then the one below each part but the last.
    pub(super) nodes: Vec<usize>,
    is_driver: bool,
}

/// What leads on from a node to the right.
#[derive(Debug, Clone)]
pub(super) enum Branch {
    /// Another node, over one part or several side by side.
    On {
        /// The node.
        to: usize,
        /// The parts, by their place in the list.
        parts: Vec<usize>,
    },
    /// The drivers at the end of the line.
    Drivers(Vec<Stack>),
}

impl Branch {
    /// The first part, which decides the order of branches.
    fn first(&self) -> usize {
        match self {
            Branch::On { parts, .. } => parts.first().copied().unwrap_or_default(),
            Branch::Drivers(stacks) => {
                stacks.iter().flat_map(|it| &it.parts).min().copied().unwrap_or_default()
            }
        }
    }
}

/// A node other than the return, and other than those inside a stack.
#[derive(Debug, Clone, Default)]
pub(super) struct Place {
    /// How many parts lie between it and the input.
    pub(super) column: usize,
    /// The line it is on.
    pub(super) row: usize,
    /// What hangs from it without a driver.
    pub(super) shunts: Vec<Stack>,
    /// What leads on, each with its line; the first goes on along the node's own.
    pub(super) branches: Vec<(usize, Branch)>,
}

/// A part that no tree of branches has room for: it closes a loop.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bridge {
    /// The part, by its place in the list.
    pub(super) part: usize,
    /// Its two nodes.
    pub(super) ends: [usize; 2],
}

/// What is to be drawn where, without measures.
#[derive(Debug)]
pub(super) struct Plan {
    /// The names of the nodes.
    pub(super) names: Vec<String>,
    /// The places of those that have one, by node.
    pub(super) places: HashMap<usize, Place>,
    /// The nodes in the order of their columns.
    pub(super) order: Vec<usize>,
    /// Parts that close a loop, each with a line of its own below the others.
    pub(super) bridges: Vec<Bridge>,
    /// The number of lines.
    pub(super) rows: usize,
    /// The input's node, if a part is on it.
    pub(super) input: Option<usize>,
    /// The return's node, if a part is on it.
    pub(super) back: Option<usize>,
}

/// The nodes of a list with what is on them.
#[derive(Debug)]
struct Graph {
    names: Vec<String>,
    /// The two nodes of each part; `None` where both ends are on one.
    ends: Vec<Option<[usize; 2]>>,
    /// The parts on each node.
    on: Vec<Vec<usize>>,
    is_driver: Vec<bool>,
    input: Option<usize>,
    back: Option<usize>,
}

impl Graph {
    fn of(elements: &[Element]) -> Self {
        let mut names: Vec<String> = Vec::new();
        let mut known: HashMap<&str, usize> = HashMap::new();
        let mut on: Vec<Vec<usize>> = Vec::new();
        let mut ends = Vec::new();
        for (part, it) in elements.iter().enumerate() {
            if it.from == it.to {
                ends.push(None);
                continue;
            }
            let both = [&it.from, &it.to].map(|name| {
                *known.entry(name).or_insert_with(|| {
                    names.push(name.clone());
                    on.push(Vec::new());
                    names.len() - 1
                })
            });
            for node in both {
                on[node].push(part);
            }
            ends.push(Some(both));
        }
        Graph {
            input: known.get(INPUT).copied(),
            back: known.get(RETURN).copied(),
            is_driver: elements.iter().map(|it| it.kind == ElementKind::Driver).collect(),
            names,
            ends,
            on,
        }
    }

    /// The other node of a part.
    fn across(&self, part: usize, node: usize) -> Option<usize> {
        self.ends[part].map(|[a, b]| if a == node { b } else { a })
    }

    /// What hangs from a node down to the return, beginning with the part that ends there.
    ///
    /// It goes up as long as nothing else is on the way; above a driver only further drivers belong to it, for what is
    /// before a driver lies along the line.
    fn stack(&self, last: usize, back: usize, is_placed: &[bool]) -> Option<Stack> {
        let mut parts = vec![last];
        let mut node = self.across(last, back)?;
        let mut nodes = vec![node];
        let mut is_driver = self.is_driver[last];
        while Some(node) != self.input
            && let [one, other] = self.on[node][..]
        {
            let above = if parts.last() == Some(&one) { other } else { one };
            let Some(next) = self.across(above, node) else { break };
            if next == back || is_placed[above] || (is_driver && !self.is_driver[above]) {
                break;
            }
            is_driver |= self.is_driver[above];
            parts.push(above);
            node = next;
            nodes.push(node);
        }
        parts.reverse();
        nodes.reverse();
        Some(Stack { parts, nodes, is_driver })
    }
}

impl Plan {
    /// The plan of a parts list.
    pub(super) fn of(elements: &[Element]) -> Self {
        let graph = Graph::of(elements);
        let mut is_placed = vec![false; elements.len()];
        let mut hanging: HashMap<usize, Vec<Stack>> = HashMap::new();
        for part in 0..elements.len() {
            let (Some(ends), Some(back)) = (graph.ends[part], graph.back) else { continue };
            if !ends.contains(&back) || is_placed[part] {
                continue;
            }
            let Some(stack) = graph.stack(part, back, &is_placed) else { continue };
            for it in &stack.parts {
                is_placed[*it] = true;
            }
            hanging.entry(stack.nodes[0]).or_default().push(stack);
        }
        let lying: Vec<usize> = (0..elements.len())
            .filter(|part| graph.ends[*part].is_some() && !is_placed[*part])
            .collect();
        let mut plan = Plan {
            places: HashMap::new(),
            order: Vec::new(),
            bridges: Vec::new(),
            rows: 0,
            input: graph.input,
            back: graph.back,
            names: graph.names.clone(),
        };
        let mut is_drawn = vec![false; elements.len()];
        let all = lying.iter().filter_map(|part| graph.ends[*part]).flatten();
        let mut roots: Vec<usize> = all.chain(hanging.keys().copied()).collect();
        // The input first, then nodes in the order in which the list names them.
        roots.sort_unstable_by_key(|node| (Some(*node) != graph.input, *node));
        for root in roots {
            if plan.places.contains_key(&root) {
                continue;
            }
            plan.grow(root, &graph, &lying, &mut is_drawn, &mut hanging);
            let row = plan.rows;
            plan.rows += 1;
            plan.assign_rows(root, row);
        }
        plan.bridges = lying
            .iter()
            .filter(|part| !is_drawn[**part])
            .filter_map(|part| Some(Bridge { part: *part, ends: graph.ends[*part]? }))
            .collect();
        plan
    }

    /// Finds all that is joined to a root without the return, the nearest first.
    fn grow(
        &mut self,
        root: usize,
        graph: &Graph,
        lying: &[usize],
        is_drawn: &mut [bool],
        hanging: &mut HashMap<usize, Vec<Stack>>,
    ) {
        let mut queue = VecDeque::from([(root, 0)]);
        self.places.insert(root, Place::default());
        while let Some((node, column)) = queue.pop_front() {
            let mut branches: Vec<Branch> = Vec::new();
            for &part in lying.iter().filter(|part| graph.on[node].contains(part)) {
                let Some(to) = graph.across(part, node).filter(|_| !is_drawn[part]) else {
                    continue;
                };
                let beside = branches.iter_mut().find_map(|it| match it {
                    Branch::On { to: at, parts } if *at == to => Some(parts),
                    _ => None,
                });
                if let Some(parts) = beside {
                    parts.push(part);
                } else if let Entry::Vacant(place) = self.places.entry(to) {
                    place.insert(Place::default());
                    queue.push_back((to, column + 1));
                    branches.push(Branch::On { to, parts: vec![part] });
                } else {
                    continue;
                }
                is_drawn[part] = true;
            }
            let (drivers, shunts): (Vec<Stack>, Vec<Stack>) =
                hanging.remove(&node).unwrap_or_default().into_iter().partition(|it| it.is_driver);
            if !drivers.is_empty() {
                branches.push(Branch::Drivers(drivers));
            }
            branches.sort_by_key(Branch::first);
            let branches = branches.into_iter().map(|it| (0, it)).collect();
            self.places.insert(node, Place { column, row: 0, shunts, branches });
            self.order.push(node);
        }
    }

    /// Gives each branch its line: the first goes on along the node's own, the others lie below all that the first needs.
    fn assign_rows(&mut self, node: usize, row: usize) {
        let Some(mut place) = self.places.remove(&node) else { return };
        place.row = row;
        for (at, (line, branch)) in place.branches.iter_mut().enumerate() {
            if at > 0 {
                *line = self.rows;
                self.rows += 1;
            } else {
                *line = row;
            }
            if let Branch::On { to, .. } = branch {
                self.assign_rows(*to, *line);
            }
        }
        self.places.insert(node, place);
    }
}
