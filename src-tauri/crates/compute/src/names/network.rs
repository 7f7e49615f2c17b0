//! The crossover network, solved with its drivers.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use physics::crossover::{Crossover, Options, Order, WAYS, crossover};
use physics::error::PhysicsError;
use physics::lumped::{Enclosure, MountedDriver};
use physics::network::{Element, Load, Network, Part, Solution};

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::{AIR, DRIVER, NUMBERS, NUMBERS_OR_NULL, air, driver};
use crate::input::Input;
use crate::shape::{Calculation, Choice, Field, Keys, Shape, gives, may_give, needed, optional};
use crate::value::{Value, joined};

/// The most elements; a loudspeaker has a tenth of them.
const ELEMENTS_MAX: usize = 200;
/// The most frequencies of one call.
const FREQS_MAX: usize = 20_000;
/// The most elimination steps of one call, frequencies × elements³: some seconds.
const WORK_MAX: usize = 2_000_000_000;

const NAME: Field = needed("name", Shape::Text, "", "its name, once in the list");
const NODES: Field = needed(
    "nodes",
    Shape::List { of: &Shape::Text, min: 2, max: 2 },
    "",
    "the nodes it joins; the source of 1 V drives in against 0",
);
const KIND: Field = needed("kind", Shape::Word(&["R", "L", "C", "driver"]), "", "what it is");

static ELEMENT: Shape = Shape::Tagged {
    tag: "kind",
    cases: &[
        (
            "R",
            Keys::plain(&[
                NAME,
                KIND,
                NODES,
                needed("value", Shape::POSITIVE, "ohm", "resistance"),
            ]),
        ),
        (
            "L",
            Keys::plain(&[
                NAME,
                KIND,
                NODES,
                needed("value", Shape::POSITIVE, "H", "inductance"),
                optional("dcr", Shape::NON_NEGATIVE, "ohm", "resistance of the winding"),
            ]),
        ),
        (
            "C",
            Keys::plain(&[
                NAME,
                KIND,
                NODES,
                needed("value", Shape::POSITIVE, "F", "capacitance"),
                optional("esr", Shape::NON_NEGATIVE, "ohm", "equivalent series resistance"),
            ]),
        ),
        (
            "driver",
            Keys {
                fields: &[
                    NAME,
                    KIND,
                    NODES,
                    optional("driver", Shape::Object(&DRIVER), "", "the driver, in free air"),
                    optional("load", Shape::POSITIVE, "ohm", "a resistor in its place"),
                ],
                choices: &[Choice { required: true, sets: &[&["driver"], &["load"]] }],
            },
        ),
    ],
};

static CROSSINGS: Keys = Keys::plain(&[
    needed("3dB", NUMBERS, "Hz", "points 10·log10 2 dB below the passband"),
    needed("6dB", NUMBERS, "Hz", "points 20·log10 2 dB below the passband"),
]);
const CROSSINGS_SHAPE: Shape = Shape::Nullable(&Shape::Object(&CROSSINGS));
const ORDER: Shape = Shape::Any(&[
    Shape::Nullable(&Shape::Integer(0, 255)),
    Shape::List { of: &Shape::Integer(0, 255), min: 2, max: 2 },
]);
/// One figure of a two-way, one a pair of neighbours with a midrange.
const BY_PAIR: Shape = Shape::Any(&[Shape::Nullable(&Shape::ANY), NUMBERS_OR_NULL]);

pub(crate) static NETWORK: Calculation = Calculation {
    name: "network",
    title: "a crossover network with its drivers: voltages, impedance, crossings, orders",
    input: Keys::plain(&[
        needed(
            "elements",
            Shape::List { of: &ELEMENT, min: 1, max: ELEMENTS_MAX },
            "",
            "the parts; drivers named woofer, mid, tweeter have these roles",
        ),
        needed(
            "freqs",
            Shape::List { of: &Shape::POSITIVE, min: 1, max: FREQS_MAX },
            "Hz",
            "frequencies of the lists; minima and crossings are searched from 20 Hz to 20 kHz",
        ),
        optional(
            "passband",
            Shape::Map(&Shape::POSITIVE),
            "Hz",
            "by driver, where its passband level is taken; woofer 200, tweeter 10000, others none",
        ),
        optional(
            "sensitivity_db",
            Shape::Map(&Shape::ANY),
            "dB",
            "by driver, level for 2.83 V; without them voltages alone say where two ways cross",
        ),
        optional("rated_z", Shape::POSITIVE, "ohm", "the rated impedance that is claimed"),
        optional(
            "tweeter_fs",
            Shape::POSITIVE,
            "Hz",
            "resonance of the tweeter; that of its parameters when absent",
        ),
        AIR,
    ]),
    output: &[
        needed("h_db", Shape::Map(&NUMBERS_OR_NULL), "dB", "by driver, voltage re the source"),
        needed("h_phase", Shape::Map(&NUMBERS_OR_NULL), "°", "by driver, its phase"),
        needed("z_mag", NUMBERS, "ohm", "magnitude of the impedance at the source"),
        needed("z_phase", NUMBERS, "°", "its phase"),
        gives("z_min", "ohm", "lowest impedance from 20 Hz to 20 kHz"),
        gives("f_z_min", "Hz", "where it lies"),
        needed(
            "rated_pass",
            Shape::Nullable(&Shape::Boolean),
            "",
            "whether z_min is at least 0.8 of rated_z; null without rated_z",
        ),
        may_give(
            "highest_rating_passed",
            "ohm",
            "the highest of 4, 6, 8 that passes; null if none",
        ),
        needed(
            "orders",
            Shape::Map(&ORDER),
            "",
            "by driver, electrical order with ideal parts and resistors for drivers; of a mid \
             [high, low]; null where the far slope is no whole one",
        ),
        needed("crossings", Shape::Map(&CROSSINGS_SHAPE), "Hz", "by driver; null without passband"),
        needed("crossover_hz", BY_PAIR, "Hz", "where neighbouring ways are equally loud"),
        needed("crossover_db", BY_PAIR, "dB", "voltage of the lower way there, re the source"),
        may_give("tweeter_margin_octaves", "octaves", "from tweeter_fs to the tweeter's crossover"),
        may_give("tweeter_attenuation_at_fs_db", "dB", "level at tweeter_fs re the passband"),
        gives("r_pd_min", "ohm", "smallest equivalent peak-dissipation resistance"),
        gives("f_r_pd_min", "Hz", "where it lies"),
    ],
    formula: "modified nodal analysis at each frequency; H = driver voltage / source voltage
        an inductor is jωL + dcr, a capacitor 1/(jωC) + esr
        a driver is re + jω·le or k·(jω)ⁿ + bl²/(jω·mms + rms + 1/(jω·cms))
        tweeter_margin_octaves = log2(crossover_hz/tweeter_fs)
        r_pd = |Z|·0.25/max over t of (1 − sin t)·sin(t − |phase|)",
    valid: "linear parts that do not couple; levels are electrical, so no acoustic order is claimed",
    source: "C.-W. Ho, A. E. Ruehli and P. A. Brennan, IEEE Trans. CAS-22, 504-509, 1975; IEC \
        60268-5:2003, 16.1 (rating); E. Benjamin, JAES 42(9), 1994 (peak dissipation) (all from \
        memory)",
    example: r#"{"elements": [
        {"name": "L1", "kind": "L", "nodes": ["in", "w"], "value": 1.2e-3, "dcr": 0.4},
        {"name": "C1", "kind": "C", "nodes": ["w", "0"], "value": 10e-6, "esr": 0.05},
        {"name": "woofer", "kind": "driver", "nodes": ["w", "0"], "driver":
            {"re": 5.6, "mms": 0.0142, "cms": 0.00098, "rms": 0.85, "bl": 6.1, "sd": 0.0133,
            "le": 0.00055}},
        {"name": "C2", "kind": "C", "nodes": ["in", "a"], "value": 5.6e-6, "esr": 0.03},
        {"name": "L2", "kind": "L", "nodes": ["a", "0"], "value": 0.3e-3, "dcr": 0.35},
        {"name": "C3", "kind": "C", "nodes": ["a", "b"], "value": 15e-6, "esr": 0.03},
        {"name": "R1", "kind": "R", "nodes": ["b", "t"], "value": 2.2},
        {"name": "R2", "kind": "R", "nodes": ["t", "0"], "value": 10},
        {"name": "tweeter", "kind": "driver", "nodes": ["t", "0"], "driver":
            {"re": 5.4, "mms": 0.0003, "cms": 0.000104, "rms": 0.45, "bl": 2.6, "sd": 0.00075,
            "le": 0.00005}}],
        "freqs": [20, 200, 1000, 3000, 20000], "passband": {"woofer": 200},
        "sensitivity_db": {"woofer": 88.8381633, "tweeter": 90.2744531}, "rated_z": 8}"#,
    run,
};

fn run(input: &Input) -> Result<Answer, Fault> {
    let air = air(input)?;
    let elements = elements(input, &air)?;
    let freqs = input.numbers("freqs")?;
    let size = elements.len();
    if freqs.len().saturating_mul(size.pow(3)) > WORK_MAX {
        return Err(Fault::out_of_domain(
            "freqs",
            format!("{} frequencies of {size} elements are too many for one call", freqs.len()),
        ));
    }
    let names: Vec<String> = elements.iter().map(|it| it.name.clone()).collect();
    let named = |why| located(why, &names);
    let network = Network::new(elements).map_err(named)?;
    let options = Options {
        passband_hz: by_name(input, "passband")?,
        sensitivity_db: by_name(input, "sensitivity_db")?,
        rated_z_ohm: input.number_if_given("rated_z"),
        tweeter_fs_hz: input.number_if_given("tweeter_fs"),
    };
    let figures = crossover(&network, &options, &air).map_err(named)?;
    let solved = network.solve_many(&freqs, &air).map_err(named)?;
    let drivers: Vec<&str> = network.drivers().collect();
    let answer = Answer::new()
        .with("h_db", transfer(&drivers, &solved, |h| 20.0 * h.norm().log10()))
        .with("h_phase", transfer(&drivers, &solved, |h| h.arg().to_degrees()))
        .with("z_mag", solved.iter().map(|it| it.z.norm()).collect::<Vec<_>>())
        .with("z_phase", solved.iter().map(|it| it.z.arg().to_degrees()).collect::<Vec<_>>());
    Ok(summary(answer, &figures, &drivers))
}

fn elements(input: &Input, air: &physics::Air) -> Result<Vec<Element>, Fault> {
    let mut elements = Vec::new();
    for it in input.objects("elements")? {
        let part = match it.text("kind")? {
            "R" => Part::Resistor { ohm: it.number("value")? },
            "L" => {
                Part::Inductor { henry: it.number("value")?, dcr_ohm: it.number_if_given("dcr") }
            }
            "C" => {
                Part::Capacitor { farad: it.number("value")?, esr_ohm: it.number_if_given("esr") }
            }
            _ => Part::Driver(match it.number_if_given("load") {
                Some(ohm) => Load::Resistor(ohm),
                None => {
                    let one = driver(&it.object("driver", &DRIVER)?, air)?;
                    Load::Driver(MountedDriver {
                        params: one.params,
                        coil: one.coil,
                        enclosure: Enclosure::Free,
                    })
                }
            }),
        };
        let nodes = it.words("nodes")?;
        let node = |at: usize| nodes.get(at).map(|it| (*it).to_owned()).unwrap_or_default();
        elements.push(Element {
            name: it.text("name")?.to_owned(),
            part,
            nodes: [node(0), node(1)],
        });
    }
    Ok(elements)
}

fn by_name(input: &Input, key: &str) -> Result<BTreeMap<String, f64>, Fault> {
    let all = input.numbers_by_name(key)?;
    Ok(all.into_iter().map(|(name, number)| (name.to_owned(), number)).collect())
}

/// A fault of `physics` with the element's place in the list for its name. Of two parts with one name
/// it is the later; a node that no part touches, or a resonance, is a fault of the whole list.
fn located(why: PhysicsError, names: &[String]) -> Fault {
    match why {
        PhysicsError::OutOfDomain { field, why } => {
            Fault::out_of_domain(place(&field, names), format!("{field}: {why}"))
        }
        PhysicsError::Inconsistent { field, relation, .. } => {
            Fault::inconsistent(place(&field, names), format!("{field}: {relation}"))
        }
        other => Fault::from(other),
    }
}

/// The path into the input of what `physics` names by element or option.
fn place(named: &str, names: &[String]) -> String {
    for (option, key) in [("passband_hz", "passband"), ("sensitivity_db", "sensitivity_db")] {
        if let Some(rest) = named.strip_prefix(option).and_then(|it| it.strip_prefix('.')) {
            return joined(key, rest);
        }
    }
    // A name may hold a point itself, so the longest that fits is meant.
    let rest_after = |name: &str| {
        named.strip_prefix(name).filter(|rest| rest.is_empty() || rest.starts_with('.'))
    };
    let fitting = names.iter().enumerate().filter_map(|(at, name)| Some((at, rest_after(name)?)));
    let longest = fitting.min_by_key(|&(at, rest)| (rest.len(), Reverse(at)));
    longest.map_or_else(|| "elements".to_owned(), |(at, rest)| format!("elements[{at}]{rest}"))
}

/// One list a driver; null where the driver has no voltage at all.
fn transfer(
    drivers: &[&str],
    solved: &[Solution],
    figure: fn(num_complex::Complex64) -> f64,
) -> Value {
    let list = |place: usize| {
        let each =
            solved.iter().map(|it| it.h.get(place).filter(|h| h.norm() > 0.0).map(|h| figure(*h)));
        each.collect::<Vec<Option<f64>>>().into()
    };
    let all = drivers.iter().enumerate().map(|(place, name)| ((*name).to_owned(), list(place)));
    Value::Object(all.collect())
}

fn summary(answer: Answer, it: &Crossover, drivers: &[&str]) -> Answer {
    let whole = |order: u8| Value::Integer(order.into());
    let by_driver = |of: &dyn Fn(&str) -> Value| {
        Value::Object(drivers.iter().map(|name| ((*name).to_owned(), of(name))).collect())
    };
    let order = |name: &str| match it.orders.get(name) {
        Some(Order::One(order)) => whole(*order),
        Some(Order::Band { high, low }) => Value::List(vec![whole(*high), whole(*low)]),
        Some(Order::Unclear) | None => Value::Null,
    };
    let crossings = |name: &str| match it.crossings.get(name) {
        Some(points) => Value::Object(vec![
            ("3dB".to_owned(), points.db3.clone().into()),
            ("6dB".to_owned(), points.db6.clone().into()),
        ]),
        None => Value::Null,
    };
    let mut answer = answer
        .with("z_min", it.z_min_ohm)
        .with("f_z_min", it.f_z_min_hz)
        .with("rated_pass", it.rated_pass)
        .with("highest_rating_passed", it.highest_rating_ohm)
        .with("orders", by_driver(&order))
        .with("crossings", by_driver(&crossings))
        .with("crossover_hz", by_pair(it, drivers, |point| point.f_hz))
        .with("crossover_db", by_pair(it, drivers, |point| point.level_db))
        .with("tweeter_margin_octaves", it.tweeter_margin_octaves)
        .with("tweeter_attenuation_at_fs_db", it.tweeter_attenuation_at_fs_db)
        .with("r_pd_min", it.r_pd_min_ohm)
        .with("f_r_pd_min", it.f_r_pd_min_hz);
    for flag in &it.flags {
        answer = answer.flag(flag.clone());
    }
    answer
}

/// A list of the pairs of neighbours with a midrange, the one figure otherwise; null where a pair never
/// meets or there is none.
fn by_pair(
    it: &Crossover,
    drivers: &[&str],
    figure: fn(&physics::crossover::CrossoverPoint) -> f64,
) -> Value {
    let ways: Vec<&str> = WAYS.into_iter().filter(|way| drivers.contains(way)).collect();
    let mut all: Vec<Option<f64>> = ways
        .windows(2)
        .map(|pair| it.points.iter().find(|point| point.between.iter().eq(pair.iter())).map(figure))
        .collect();
    if ways.contains(&"mid") && !all.is_empty() { all.into() } else { all.pop().flatten().into() }
}
