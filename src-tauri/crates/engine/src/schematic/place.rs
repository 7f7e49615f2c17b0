//! Places for a plan: columns of nodes with gaps between them for lying parts, lines from top to bottom.
//!
//! What keeps things apart: upright parts have a strip of their own inside the column of their node, lying parts a gap
//! between two columns, wires that leave for a loop a track of their own at the right of a column, and each line a band
//! as deep as what hangs from it.

use std::collections::HashMap;

use domain::network::{Element, ElementKind};

use super::{
    cut, detail,
    plan::{Branch, INPUT, Plan, RETURN, Stack},
    sentence,
};
use crate::dto::{NamedPlace, PlotPoint, Schematic, SymbolMark, WireMark};

/// Half the length of a symbol, from terminal to terminal.
pub(super) const HALF: f64 = 28.0;
/// Half the width of a symbol.
pub(super) const SIDE: f64 = 14.0;
/// From the left edge to the first column, where the input's terminals are.
const LEFT: f64 = 72.0;
/// Where the input's terminals are.
const TERMINAL: f64 = 18.0;
/// How far the return's terminal lies below the input's.
const APART: f64 = 44.0;
/// The width of a column before its strips.
const COLUMN: f64 = 46.0;
/// The width of a strip with an upright part and what is written beside it.
const STRIP: f64 = 122.0;
/// The width of a track of a loop.
const TRACK: f64 = 20.0;
/// The width of a gap with a lying part.
const GAP: f64 = 124.0;
/// From a line to the middle of the first upright part below it.
const DROP: f64 = 44.0;
/// From one upright part to the next below it.
const STEP: f64 = 74.0;
/// From the last upright part's lower terminal to the mark of the return.
const FOOT: f64 = 14.0;
/// The height of the mark of the return.
pub(super) const MARK: f64 = 10.0;
/// From a line to the one beside it that lies above.
const BESIDE: f64 = 68.0;
/// Room above a line for what is written there.
const HEAD: f64 = 52.0;
/// Room below a line from which nothing hangs.
const LITTLE: f64 = 26.0;
/// The way back of a loop between two nodes of one column.
const BACK: f64 = 24.0;
/// The most characters (7.4 units at the widest) beside an upright part, and above a lying one.
const MOST_BESIDE: usize = 11;
const MOST_ABOVE: usize = 15;

/// Draws a plan.
pub(super) fn drawn(elements: &[Element], plan: &Plan) -> Schematic {
    let grid = Grid::of(plan);
    let mut pen = Pen { elements, plan, grid, out: Drawing::default() };
    pen.nodes();
    pen.loops();
    pen.input();
    pen.finish()
}

/// Where columns and lines are.
#[derive(Debug)]
struct Grid {
    /// The left edge of each column.
    columns: Vec<f64>,
    /// How many strips each column has.
    strips: Vec<usize>,
    /// The right end of each column, where its gap begins.
    ends: Vec<f64>,
    /// Each line.
    lines: Vec<f64>,
    /// Where the drivers at the end begin.
    drivers: f64,
    width: f64,
    height: f64,
    /// The track of each end of each loop, from the left of the drawing.
    tracks: Vec<[f64; 2]>,
}

impl Grid {
    fn of(plan: &Plan) -> Self {
        let count = plan.places.values().map(|it| it.column + 1).max().unwrap_or(1);
        let mut strips = vec![0; count];
        let mut above = vec![0_usize; plan.rows];
        let mut depth = vec![0_usize; plan.rows];
        let mut most_drivers = 0;
        for it in plan.places.values() {
            strips[it.column] = strips[it.column].max(it.shunts.len());
            deepen(&mut depth[it.row], &it.shunts);
            for (row, branch) in &it.branches {
                match branch {
                    Branch::On { parts, .. } => above[*row] = above[*row].max(parts.len() - 1),
                    Branch::Drivers(stacks) => {
                        most_drivers = most_drivers.max(stacks.len());
                        deepen(&mut depth[*row], stacks);
                    }
                }
            }
        }
        let column_of = |node: usize| plan.places.get(&node).map_or(0, |it| it.column);
        let mut used = vec![0_usize; count];
        let places: Vec<[(usize, usize); 2]> = plan
            .bridges
            .iter()
            .map(|it| {
                it.ends.map(|node| {
                    let column = column_of(node);
                    used[column] += 1;
                    (column, used[column] - 1)
                })
            })
            .collect();
        let turns = plan.bridges.iter().any(|it| {
            let [a, b] = it.ends.map(column_of);
            a == b && a + 1 == count
        });
        let mut columns = Vec::new();
        let mut ends = Vec::new();
        let mut x = LEFT;
        for column in 0..count {
            columns.push(x);
            x += COLUMN + STRIP * number(strips[column]) + TRACK * number(used[column]);
            ends.push(x);
            if column + 1 < count || turns {
                x += GAP;
            }
        }
        let tracks = places
            .iter()
            .map(|ends| {
                ends.map(|(column, at)| {
                    columns[column]
                        + COLUMN
                        + STRIP * number(strips[column])
                        + TRACK * (number(at) + 0.5)
                })
            })
            .collect();
        let mut lines = Vec::new();
        let mut y = 0.0;
        for (row, (above, depth)) in above.iter().zip(&depth).enumerate() {
            let line = y + HEAD + BESIDE * number(*above);
            lines.push(line);
            let hangs = if *depth == 0 { 0.0 } else { hanging(*depth) };
            // The input's second terminal stands below its first.
            let least = if row == 0 { APART + FOOT + MARK + LITTLE } else { LITTLE };
            y = line + f64::max(hangs, least);
        }
        for _ in &plan.bridges {
            lines.push(y + HEAD);
            y += HEAD + BACK + LITTLE;
        }
        let width = if most_drivers == 0 { x + COLUMN } else { x + STRIP * number(most_drivers) };
        Grid { columns, strips, ends, lines, drivers: x, width, height: y + 6.0, tracks }
    }

    /// The middle of an upright part's strip.
    fn strip(&self, column: usize, at: usize) -> f64 {
        self.columns[column] + COLUMN + STRIP * number(at) + SIDE + 2.0
    }

    fn driver(&self, at: usize) -> f64 {
        self.drivers + STRIP * number(at) + SIDE + 6.0
    }

    /// The middle of the gap behind a column.
    fn gap(&self, column: usize) -> f64 {
        self.ends[column] + GAP / 2.0
    }
}

fn deepen(depth: &mut usize, stacks: &[Stack]) {
    for it in stacks {
        *depth = (*depth).max(it.parts.len());
    }
}

/// How far a stack reaches below its line.
fn hanging(parts: usize) -> f64 {
    DROP + STEP * number(parts - 1) + HALF + FOOT + MARK + 8.0
}

/// A count as a measure; a drawing has at most some hundred of anything.
fn number(count: usize) -> f64 {
    u16::try_from(count).map_or(f64::from(u16::MAX), f64::from)
}

#[derive(Debug, Default)]
struct Drawing {
    /// By node, each along one axis.
    wires: Vec<(usize, [f64; 4])>,
    symbols: Vec<SymbolMark>,
    returns: Vec<PlotPoint>,
    terminals: Vec<NamedPlace>,
    nodes: Vec<NamedPlace>,
}

struct Pen<'a> {
    elements: &'a [Element],
    plan: &'a Plan,
    grid: Grid,
    out: Drawing,
}

impl Pen<'_> {
    fn wire(&mut self, node: usize, x1: f64, y1: f64, x2: f64, y2: f64) {
        if (x1 - x2).abs() > 0.0 || (y1 - y2).abs() > 0.0 {
            self.out.wires.push((node, [x1.min(x2), y1.min(y2), x1.max(x2), y1.max(y2)]));
        }
    }

    fn symbol(&mut self, part: usize, (x, y): (f64, f64), upright: bool, first: usize) {
        let it = &self.elements[part];
        let most = if upright { MOST_BESIDE } else { MOST_ABOVE };
        let turned = self.plan.names[first] != it.from;
        self.out.symbols.push(SymbolMark {
            row: u32::try_from(part).unwrap_or(u32::MAX),
            name: it.name.clone(),
            kind: it.kind.word().into(),
            core: it.kind == ElementKind::Inductor
                && !it.construction.is_empty()
                && it.construction != "air",
            x,
            y,
            upright,
            turned,
            label: cut(&it.name, most),
            detail: detail(it, most),
            label_x: if upright { x + SIDE + 6.0 } else { x },
            label_y: if upright { y - 3.0 } else { y - SIDE - 21.0 },
            sentence: sentence(it),
        });
    }

    fn named(&mut self, node: usize, x: f64, y: f64, most: usize) {
        let name = cut(&self.plan.names[node], most);
        self.out.nodes.push(NamedPlace { name, x, y });
    }

    /// All nodes with what hangs from them and what leads on.
    fn nodes(&mut self) {
        let plan = self.plan;
        for &node in &plan.order {
            let Some(place) = plan.places.get(&node) else { continue };
            let (x, y) = (self.grid.columns[place.column], self.grid.lines[place.row]);
            let mut end = x;
            for (at, stack) in place.shunts.iter().enumerate() {
                let at = self.grid.strip(place.column, at);
                self.hang(stack, at, y);
                end = at;
            }
            for (bridge, tracks) in plan.bridges.iter().zip(&self.grid.tracks) {
                for (it, track) in bridge.ends.iter().zip(tracks) {
                    if *it == node {
                        end = end.max(*track);
                    }
                }
            }
            self.wire(node, x, y, end, y);
            if let Some((last, _)) = place.branches.last() {
                self.wire(node, x, y, x, self.grid.lines[*last]);
            }
            for (row, branch) in &place.branches {
                let line = self.grid.lines[*row];
                match branch {
                    Branch::On { to, parts } => self.lie(node, *to, place.column, parts, line),
                    Branch::Drivers(stacks) => {
                        for (at, stack) in stacks.iter().enumerate() {
                            let at = self.grid.driver(at);
                            self.hang(stack, at, line);
                            self.wire(node, x, line, at, line);
                        }
                    }
                }
            }
            if Some(node) != plan.input {
                let room = COLUMN + STRIP * number(self.grid.strips[place.column]);
                let most = if room > COLUMN { 16 } else { 5 };
                self.named(node, x + 4.0, y - 7.0, most);
            }
        }
    }

    /// Parts side by side between two nodes of neighbouring columns, the first on the line.
    fn lie(&mut self, from: usize, to: usize, column: usize, parts: &[usize], line: f64) {
        let (left, right) = (self.grid.columns[column], self.grid.columns[column + 1]);
        let middle = self.grid.gap(column);
        for (at, part) in parts.iter().enumerate() {
            let y = line - BESIDE * number(at);
            self.wire(from, left, y, middle - HALF, y);
            self.symbol(*part, (middle, y), false, from);
            self.wire(to, middle + HALF, y, right, y);
            self.wire(from, left, line, left, y);
            self.wire(to, right, line, right, y);
        }
    }

    /// Parts one below the other from a line to the mark of the return.
    fn hang(&mut self, stack: &Stack, x: f64, line: f64) {
        let mut from = line;
        for (at, (part, node)) in stack.parts.iter().zip(&stack.nodes).enumerate() {
            let y = line + DROP + STEP * number(at);
            self.wire(*node, x, from, x, y - HALF);
            if at > 0 {
                self.named(*node, x + 5.0, y - HALF - 5.0, MOST_BESIDE);
            }
            self.symbol(*part, (x, y), true, *node);
            from = y + HALF;
        }
        self.end_at_return(x, from);
    }

    fn end_at_return(&mut self, x: f64, from: f64) {
        if let Some(back) = self.plan.back {
            self.wire(back, x, from, x, from + FOOT);
        }
        self.out.returns.push(PlotPoint { x, y: from + FOOT });
    }

    /// Parts that close a loop, each on a line of its own below all others.
    fn loops(&mut self) {
        let plan = self.plan;
        for (at, bridge) in plan.bridges.iter().enumerate() {
            let y = self.grid.lines[plan.rows + at];
            let ends = [0, 1].map(|end| {
                let node = bridge.ends[end];
                let (column, row) = plan.places.get(&node).map_or((0, 0), |it| (it.column, it.row));
                (self.grid.tracks[at][end], node, column, self.grid.lines[row])
            });
            // The end further left first.
            let [a, b] = if ends[0].0 <= ends[1].0 { ends } else { [ends[1], ends[0]] };
            let middle = self.grid.gap(a.2);
            self.wire(a.1, a.0, a.3, a.0, y);
            self.wire(a.1, a.0, y, middle - HALF, y);
            self.symbol(bridge.part, (middle, y), false, a.1);
            if a.2 == b.2 {
                let turn = middle + GAP / 2.0 - 4.0;
                self.wire(b.1, middle + HALF, y, turn, y);
                self.wire(b.1, turn, y, turn, y + BACK);
                self.wire(b.1, turn, y + BACK, b.0, y + BACK);
                self.wire(b.1, b.0, y + BACK, b.0, b.3);
            } else {
                self.wire(b.1, middle + HALF, y, b.0, y);
                self.wire(b.1, b.0, y, b.0, b.3);
            }
        }
    }

    fn input(&mut self) {
        let y = self.grid.lines.first().copied().unwrap_or(HEAD);
        let mut terminal = |name: &str, y| {
            self.out.terminals.push(NamedPlace { name: name.into(), x: TERMINAL, y });
        };
        if let Some(input) = self.plan.input {
            terminal(INPUT, y);
            if self.plan.back.is_some() {
                terminal(RETURN, y + APART);
                self.end_at_return(TERMINAL, y + APART);
            }
            self.wire(input, TERMINAL, y, LEFT, y);
        }
    }

    fn finish(self) -> Schematic {
        let Pen { elements, plan, grid, out } = self;
        let joints = joints(&out);
        let wires = merged(&out.wires)
            .into_iter()
            .map(|(node, [x1, y1, x2, y2])| WireMark {
                node: plan.names[node].clone(),
                x1,
                y1,
                x2,
                y2,
            })
            .collect();
        let mut symbols = out.symbols;
        symbols.sort_by_key(|it| it.row);
        let count = |kind| elements.iter().filter(|it| it.kind == kind).count();
        Schematic {
            title: "Crossover as traced".into(),
            description: format!(
                "{} between the input at the left and the drivers at the right: capacitors {}, inductors {}, resistors {}, \
                 drivers {}; each short bar is the return, node 0; the table lists the same parts",
                crate::error::count(elements.len(), "part"),
                count(ElementKind::Capacitor),
                count(ElementKind::Inductor),
                count(ElementKind::Resistor),
                count(ElementKind::Driver),
            ),
            width: grid.width,
            height: grid.height,
            wires,
            joints,
            symbols,
            returns: out.returns,
            terminals: out.terminals,
            nodes: out.nodes,
        }
    }
}

/// A measure as a whole number of hundredths, to be compared exactly.
pub(super) fn hundredths(it: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "a drawing is small")]
    let it = (it * 100.0).round() as i64;
    it
}

/// A node, whether its wires lie, and the place across them in hundredths.
type Track = (usize, bool, i64);

/// From, to, and the place across.
type Span = (f64, f64, f64);

/// Wires of one node that lie on each other or go on from each other become one.
fn merged(wires: &[(usize, [f64; 4])]) -> Vec<(usize, [f64; 4])> {
    let mut along: HashMap<Track, Vec<Span>> = HashMap::new();
    for (node, [x1, y1, x2, y2]) in wires {
        let lies = hundredths(*y1) == hundredths(*y2);
        let (across, from, to) = if lies { (*y1, *x1, *x2) } else { (*x1, *y1, *y2) };
        along.entry((*node, lies, hundredths(across))).or_default().push((from, to, across));
    }
    let mut keys: Vec<_> = along.keys().copied().collect();
    keys.sort_unstable();
    let mut out = Vec::new();
    for key in keys {
        let Some(list) = along.get_mut(&key) else { continue };
        list.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut joined: Vec<Span> = Vec::new();
        for it in list.iter() {
            match joined.last_mut() {
                Some(last) if hundredths(it.0) <= hundredths(last.1) => last.1 = last.1.max(it.1),
                _ => joined.push(*it),
            }
        }
        let lies = key.1;
        out.extend(joined.into_iter().map(|(from, to, across)| {
            (key.0, if lies { [from, across, to, across] } else { [across, from, across, to] })
        }));
    }
    out
}

/// Places where three or more ways of one node meet.
fn joints(out: &Drawing) -> Vec<PlotPoint> {
    // Terminals of parts are ways too, but each of them ends a wire at the symbol itself, where nothing else is.
    let mut found: Vec<(i64, i64, PlotPoint)> = Vec::new();
    for (node, [x1, y1, x2, y2]) in &out.wires {
        for (x, y) in [(*x1, *y1), (*x2, *y2)] {
            let mut ways = [false; 4];
            for (other, [a1, b1, a2, b2]) in &out.wires {
                if other != node {
                    continue;
                }
                let [px, py, a1, b1, a2, b2] = [x, y, *a1, *b1, *a2, *b2].map(hundredths);
                if py == b1 && b1 == b2 && (a1..=a2).contains(&px) {
                    ways[0] |= a1 < px;
                    ways[1] |= px < a2;
                }
                if px == a1 && a1 == a2 && (b1..=b2).contains(&py) {
                    ways[2] |= b1 < py;
                    ways[3] |= py < b2;
                }
            }
            if ways.iter().filter(|it| **it).count() >= 3 {
                found.push((hundredths(x), hundredths(y), PlotPoint { x, y }));
            }
        }
    }
    found.sort_by_key(|it| (it.0, it.1));
    found.dedup_by_key(|it| (it.0, it.1));
    found.into_iter().map(|it| it.2).collect()
}
