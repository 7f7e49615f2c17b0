//! The drawing held against the list: every part once, on its nodes, and nothing on anything else.

use domain::part::{Part, Role};
use proptest::prelude::*;

use super::{
    place::{HALF, MARK, SIDE, hundredths},
    *,
};
use crate::dto::{SymbolMark, WireMark};

/// The width of a character, at the widest.
const CHARACTER: f64 = 7.4;

/// `C1 in a 5.6 µF`, one part a line; the first letter is the kind.
fn list(text: &str) -> Vec<Element> {
    text.lines()
        .map(|line| {
            let mut words = line.splitn(4, ' ').map(str::to_owned);
            let mut word = || words.next().unwrap_or_default();
            let (name, from, to, typed) = (word(), word(), word(), word());
            let kind = match name.chars().next() {
                Some('C') => ElementKind::Capacitor,
                Some('L') => ElementKind::Inductor,
                Some('R') => ElementKind::Resistor,
                _ => ElementKind::Driver,
            };
            let is_driver = kind == ElementKind::Driver;
            Element {
                name,
                kind,
                from,
                to,
                typed,
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

type Box4 = [i64; 4];
type Point = (i64, i64);

fn boxed(x1: f64, y1: f64, x2: f64, y2: f64) -> Box4 {
    [x1, y1, x2, y2].map(hundredths)
}

fn body(it: &SymbolMark) -> Box4 {
    let (w, h) = if it.upright { (SIDE, HALF) } else { (HALF, SIDE) };
    boxed(it.x - w, it.y - h, it.x + w, it.y + h)
}

/// What is written beside a part, two lines of 13 units.
fn words(it: &SymbolMark) -> Box4 {
    let longest = it.label.chars().count().max(it.detail.chars().count());
    let width = CHARACTER * f64::from(u32::try_from(longest).unwrap());
    let left = if it.upright { it.label_x } else { it.label_x - width / 2.0 };
    boxed(left, it.label_y - 11.0, left + width, it.label_y + 18.0)
}

/// The first and the second terminal.
fn terminals(it: &SymbolMark) -> [Point; 2] {
    let ends = if it.upright {
        [(it.x, it.y - HALF), (it.x, it.y + HALF)]
    } else {
        [(it.x - HALF, it.y), (it.x + HALF, it.y)]
    };
    let [a, b] = ends.map(|(x, y)| (hundredths(x), hundredths(y)));
    if it.turned { [b, a] } else { [a, b] }
}

fn line(it: &WireMark) -> Box4 {
    boxed(it.x1, it.y1, it.x2, it.y2)
}

fn overlap(a: Box4, b: Box4) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// A wire has no width: it is inside where it passes between the edges.
fn passes(wire: Box4, room: Box4) -> bool {
    wire[0] < room[2] && room[0] < wire[2] && wire[1] > room[1] && wire[1] < room[3]
        || wire[1] < room[3] && room[1] < wire[3] && wire[0] > room[0] && wire[0] < room[2]
}

fn on(wire: Box4, (x, y): Point) -> bool {
    (wire[0]..=wire[2]).contains(&x) && (wire[1]..=wire[3]).contains(&y)
}

/// Two wires of different nodes may cross inside both, at a right angle, and touch nowhere else.
fn wrongly_touch(a: Box4, b: Box4) -> bool {
    let touch = a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3];
    let (lying, upright) = if a[1] == a[3] { (a, b) } else { (b, a) };
    let crosses = lying[1] == lying[3]
        && upright[0] == upright[2]
        && lying[0] < upright[0]
        && upright[0] < lying[2]
        && upright[1] < lying[1]
        && lying[1] < upright[3];
    touch && !crosses
}

/// Everything that a drawing must keep, as the first thing that it breaks.
fn broken(elements: &[Element]) -> Option<String> {
    let drawing = schematic(elements)?;
    let drawn: Vec<&Element> = elements.iter().filter(|it| it.from != it.to).collect();
    if drawing.symbols.len() != drawn.len() {
        return Some(format!("{} symbols of {}", drawing.symbols.len(), drawn.len()));
    }
    let mut rooms: Vec<(String, Box4)> = Vec::new();
    for it in &drawing.symbols {
        rooms.push((it.name.clone(), body(it)));
        rooms.push((format!("words of {}", it.name), words(it)));
    }
    for it in &drawing.returns {
        let room = boxed(it.x - 9.0, it.y, it.x + 9.0, it.y + MARK);
        rooms.push(("return".into(), room));
    }
    for (i, a) in rooms.iter().enumerate() {
        let inside = a.1[0] >= 0
            && a.1[1] >= 0
            && a.1[2] <= hundredths(drawing.width)
            && a.1[3] <= hundredths(drawing.height);
        if !inside {
            return Some(format!("{} is outside", a.0));
        }
        if let Some(b) = rooms[i + 1..].iter().find(|b| overlap(a.1, b.1)) {
            return Some(format!("{} on {}", a.0, b.0));
        }
        if let Some(wire) = drawing.wires.iter().find(|it| passes(line(it), a.1)) {
            return Some(format!("a wire of {} through {}: {wire:?} {:?}", wire.node, a.0, a.1));
        }
    }
    for (i, a) in drawing.wires.iter().enumerate() {
        let touching = |b: &&WireMark| b.node != a.node && wrongly_touch(line(a), line(b));
        if let Some(b) = drawing.wires[i + 1..].iter().find(touching) {
            return Some(format!("wires of {} and {} touch: {a:?} {b:?}", a.node, b.node));
        }
    }
    let mut names: Vec<&str> = drawn.iter().flat_map(|it| [&it.from[..], &it.to]).collect();
    names.sort_unstable();
    names.dedup();
    names.into_iter().find_map(|node| {
        let points: Vec<Point> = drawing
            .symbols
            .iter()
            .flat_map(|it| {
                let of = &elements[it.row as usize];
                let [a, b] = terminals(it);
                let at = |name: &str, point| (name == node).then_some(point);
                [at(&of.from, a), at(&of.to, b)]
            })
            .flatten()
            .collect();
        let wires: Vec<Box4> =
            drawing.wires.iter().filter(|it| it.node == node).map(line).collect();
        if node == "0" {
            // Each way to the return has its mark.
            let marks: Vec<Point> =
                drawing.returns.iter().map(|it| (hundredths(it.x), hundredths(it.y))).collect();
            let is_joined = |point: &Point| {
                wires.iter().any(|wire| on(*wire, *point) && marks.iter().any(|it| on(*wire, *it)))
            };
            return (!points.iter().all(is_joined)).then(|| "a part misses the return".to_owned());
        }
        // One piece: spread from the first wire over all that touch.
        let mut reached = vec![false; wires.len()];
        if let Some(first) = reached.first_mut() {
            *first = true;
        }
        for _ in 0..wires.len() {
            for at in 0..wires.len() {
                let touches = |other: usize| {
                    let (a, b) = (wires[at], wires[other]);
                    a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3]
                };
                if (0..wires.len()).any(|other| reached[other] && touches(other)) {
                    reached[at] = true;
                }
            }
        }
        if reached.iter().any(|it| !it) {
            return Some(format!("node {node} falls apart: {wires:?}"));
        }
        let missed = points.iter().find(|point| !wires.iter().any(|wire| on(*wire, **point)));
        missed.map(|point| format!("a part misses node {node} at {point:?}"))
    })
}

/// Two ways with an attenuator and a damping branch, invented.
const TWO_WAYS: &str = "L1 in w 1.2 mH\nC1 w 0 6.8 µF\nR2 w z 8.2 ohm\nC3 z 0 10 µF\nW w 0\nC2 in t1 6.8 µF\n\
                        L2 t1 0 0.68 mH\nR1 t1 t3 0.68 ohm\nT 0 t3";

#[test]
fn a_usual_network_reads_from_left_to_right() {
    let elements = list(TWO_WAYS);
    assert_eq!(broken(&elements), None);
    let drawing = schematic(&elements).unwrap();
    let of = |name: &str| drawing.symbols.iter().find(|it| it.name == name).unwrap();
    for series in ["L1", "C2", "R1"] {
        assert!(!of(series).upright, "{series} is in series");
    }
    for shunt in ["C1", "R2", "C3", "L2", "W", "T"] {
        assert!(of(shunt).upright, "{shunt} goes to the return");
    }
    // The damping branch hangs as one: the capacitor under its resistor.
    assert_eq!(hundredths(of("R2").x), hundredths(of("C3").x));
    assert!(of("C3").y > of("R2").y);
    // Drivers stand at the end, one above the other.
    assert_eq!(hundredths(of("W").x), hundredths(of("T").x));
    assert!(drawing.symbols.iter().all(|it| it.x <= of("T").x));
    // The tweeter's + is on the return: its first terminal is the lower one.
    assert!(of("T").turned && !of("W").turned);
    assert!(of("C2").y > of("L1").y, "branches in the order of the list");
}

#[test]
fn parts_side_by_side_and_loops_are_drawn() {
    for text in [
        "T in 0",
        // A resistor beside a capacitor, twice along one line.
        "C1 in a 1 µF\nR1 in a 1 ohm\nC2 a b 1 µF\nR2 b a 1 ohm\nT b 0",
        // A bridge between two halves, and two drivers in series.
        "R1 in a\nR2 in b\nR3 a b\nT1 a c\nT2 c 0\nR4 b 0",
        // A loop within one column, at its end.
        "R1 in a\nR2 in b\nR3 b a\nT1 a 0\nT2 b 0",
        // A resistor in the way back of a driver, and a ring that is joined to the return alone.
        "L1 in w\nW w r\nR1 r 0\nR2 0 x\nR3 x 0",
        // Not whole yet: nothing on the input, a part that hangs in the air.
        "C1 a b\nR1 c 0",
        "R1 a a\nT in 0",
    ] {
        assert_eq!(broken(&list(text)), None, "{text}");
    }
    assert_eq!(schematic(&list("R1 a a")), None);
    assert_eq!(schematic(&[]), None);
}

#[test]
fn what_is_long_is_cut_in_the_drawing_and_whole_in_its_sentence() {
    let mut elements = list("R1 in a 12.5 ohm\nT a 0");
    elements[0].name = "the long one beside the coil".into();
    let it = schematic(&elements).unwrap().symbols[0].clone();
    assert_eq!(it.label, "the long one b…");
    assert_eq!(it.sentence, "the long one beside the coil: resistor of 12.5 ohm, from in to a");
}

fn any_network(nodes: usize, most: usize) -> impl Strategy<Value = Vec<Element>> {
    proptest::collection::vec((0..nodes, 0..nodes, 0_usize..4), 1..most).prop_map(|parts| {
        let names = ["in", "0", "a", "b", "c", "d", "e", "f"];
        let lines: Vec<String> = parts
            .iter()
            .enumerate()
            .map(|(i, (a, b, kind))| {
                format!("{}{i} {} {} 1.00 unit", ["R", "C", "L", "T"][*kind], names[*a], names[*b])
            })
            .collect();
        list(&lines.join("\n"))
    })
}

/// Ladders: rungs and rails of one to three ways, as they are built.
fn ladder() -> impl Strategy<Value = Vec<Element>> {
    let way = proptest::collection::vec((0_usize..3, 0_usize..3, any::<bool>()), 0..5);
    proptest::collection::vec(way, 1..4).prop_map(|ways| {
        let mut lines = Vec::new();
        let mut part = |kind: &str, from: &str, to: &str| {
            lines.push(format!("{kind}{} {from} {to} 22.0 unit", lines.len()));
        };
        for (w, rungs) in ways.iter().enumerate() {
            let mut node = "in".to_owned();
            for (r, (series, shunt, damped)) in rungs.iter().enumerate() {
                let next = format!("w{w}n{r}");
                part(["R", "C", "L"][*series], &node, &next);
                if *damped {
                    let inner = format!("w{w}z{r}");
                    part("R", &next, &inner);
                    part(["R", "C", "L"][*shunt], &inner, "0");
                } else {
                    part(["R", "C", "L"][*shunt], &next, "0");
                }
                node = next;
            }
            part("T", &node, "0");
        }
        list(&lines.join("\n"))
    })
}

proptest! {
    #[test]
    fn any_list_is_drawn_as_it_stands(elements in any_network(8, 16)) {
        prop_assert_eq!(broken(&elements), None);
    }

    #[test]
    fn any_tangle_is_drawn_as_it_stands(elements in any_network(5, 20)) {
        prop_assert_eq!(broken(&elements), None);
    }

    #[test]
    fn ladders_have_their_rails_lying_and_their_rungs_upright(elements in ladder()) {
        prop_assert_eq!(broken(&elements), None);
        let drawing = schematic(&elements).unwrap();
        for it in &drawing.symbols {
            let of = &elements[it.row as usize];
            // What is not on the return and not the upper half of a damped rung lies along the line.
            let is_rail = of.to != "0" && !of.to.contains('z');
            prop_assert_eq!(it.upright, !is_rail, "{}", of.name);
        }
        let last = drawing.symbols.iter().map(|it| it.x).fold(0.0, f64::max);
        let drivers = drawing.symbols.iter().filter(|it| it.kind == "driver");
        let ends = drivers.filter(|it| last - it.x < 1.0).count();
        prop_assert!(ends >= 1, "a driver stands at the end");
        prop_assert_eq!(schematic(&elements), Some(drawing));
    }
}
