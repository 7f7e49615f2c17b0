"""Random passive networks with drivers as loads: `boxworth compute network` against ngspice.

Voltages and impedances come from ngspice, the lowest impedance from numpy and scipy.

ngspice gets each driver as its electrical equivalent (resistance, coil, and a parallel circuit of
the mechanics), which is not how the program computes it. Before anything is kept, a nodal analysis
in numpy must agree with ngspice as well.
"""

import math
import random

import numpy as np
import scipy
from scipy.optimize import minimize_scalar

import agreed
import drivers
import spice

SEED = 20261125
# Relative, of complex voltages and impedances.
TOLERANCE = 1e-6
# ngspice and numpy solve the same equations; what is left is rounding.
OWN_TOLERANCE = 1e-8
# A voltage below this many volts for 1 V is the difference of nearly equal ones.
FLOOR = 1e-9
FREQUENCIES = 10
# Where the lowest impedance is searched, Hz; a dip narrower than two steps of this grid would be
# missed here, and the losses of parts and drivers make none.
BAND = np.geomspace(20, 20e3, 4001)
# The minimum is flat, so its place is known worse than its value.
PLACE_TOLERANCE = 1e-4


def part(rng, kind):
    """Kind, value and losses of a part as they are found in crossovers."""
    if kind == "R":
        return {"kind": "R", "value": drivers.between(rng, 0.3, 60)}
    if kind == "L":
        made = {"kind": "L", "value": drivers.between(rng, 5e-5, 8e-3)}
        if rng.random() < 0.75:
            made["dcr"] = drivers.between(rng, 0.03, 1.2, 3)
        return made
    made = {"kind": "C", "value": drivers.between(rng, 5e-7, 2e-4)}
    if rng.random() < 0.6:
        made["esr"] = drivers.between(rng, 0.005, 1.0, 3)
    return made


class Builder:
    """Collects elements and numbers parts and nodes."""

    def __init__(self, rng):
        self.rng, self.elements, self.counts, self.inner = rng, [], {}, 0

    def node(self):
        self.inner += 1
        return f"n{self.inner}"

    def add(self, kind, a, b):
        made = part(self.rng, kind)
        self.counts[kind] = self.counts.get(kind, 0) + 1
        nodes = [a, b] if self.rng.random() < 0.5 else [b, a]
        named = {"name": f"{kind}{self.counts[kind]}", "kind": kind, "nodes": nodes}
        self.elements.append(named | made)

    def load(self, role, a, b="0"):
        """The driver, at times reversed, at times a plain resistor."""
        nodes = [a, b] if self.rng.random() < 0.7 else [b, a]
        element = {"name": role, "kind": "driver", "nodes": nodes}
        if self.rng.random() < 0.12:
            element["load"] = drivers.between(self.rng, 3, 12)
        else:
            element["driver"] = drivers.random_driver(self.rng, role)
        self.elements.append(element)


def way(builder, role, steps):
    """A filter of that many parts between source and driver, as it suits the role."""
    rng, at = builder.rng, "in"
    series, shunt = {"woofer": "LC", "tweeter": "CL", "mid": "CL"}[role]
    for step in range(steps):
        if role == "mid" and step == 2:
            series, shunt = shunt, series
        if step % 2 == 0:
            there = builder.node()
            builder.add(series, at, there)
            at = there
        else:
            builder.add(shunt, at, "0")
    if role != "woofer" and rng.random() < 0.6:
        there = builder.node()
        builder.add("R", at, there)
        builder.add("R", there, "0")
        at = there
    if rng.random() < 0.35:
        middle = builder.node()
        builder.add("R", at, middle)
        builder.add("C", middle, "0")
    builder.load(role, at)


def crossover(rng):
    """Two or three ways, at times behind one common resistance."""
    builder = Builder(rng)
    roles = rng.choice([["woofer", "tweeter"], ["woofer", "mid", "tweeter"], ["woofer"]])
    for role in roles:
        way(builder, role, rng.randint(1, 4))
    return builder


def ladder(rng):
    """Series and shunt branches of any kind, the loads along the way."""
    builder, at = Builder(rng), "in"
    roles = rng.sample(["woofer", "mid", "tweeter"], rng.randint(1, 3))
    rungs = max(rng.randint(1, 11), len(roles))
    places = sorted(rng.sample(range(rungs), len(roles) - 1)) + [rungs - 1]
    for rung in range(rungs):
        there = builder.node()
        builder.add(rng.choice("RLC"), at, there)
        if rung in places:
            builder.load(roles[places.index(rung)], there)
        if rung not in places or rng.random() < 0.4:
            builder.add(rng.choice("RLC"), there, "0")
        at = there
    return builder


def lattice(rng):
    """Nodes joined at random, each by at least two parts, the loads between any two nodes."""
    builder = Builder(rng)
    nodes = ["0", "in"]
    for _ in range(rng.randint(1, 13)):
        there = builder.node()
        # Each new node has a way to the nodes before it, so none floats.
        for other in rng.sample(nodes, 2):
            builder.add(rng.choice("RLC"), there, other)
        nodes.append(there)
    for _ in range(rng.randint(0, 4)):
        builder.add(rng.choice("RLC"), *rng.sample(nodes, 2))
    for role in rng.sample(["woofer", "mid", "tweeter"], rng.randint(1, 3)):
        builder.load(role, *rng.sample(nodes, 2))
    return builder


SHAPES = {"crossover": (crossover, 90), "ladder": (ladder, 80), "lattice": (lattice, 80)}


def make(seed):
    """Named inputs of `compute network`."""
    rng = random.Random(seed)
    cases = []
    for shape, (build, count) in SHAPES.items():
        kept = 0
        while kept < count:
            builder = build(rng)
            if not 3 <= builder.inner + 2 <= 15:
                continue
            freqs = sorted(drivers.between(rng, 10, 40e3, 6) for _ in range(FREQUENCIES))
            kept += 1
            name = f"{shape} {kept}, {builder.inner + 2} nodes"
            cases.append((name, {"elements": builder.elements, "freqs": freqs}))
    return cases


def deck(elements):
    """Lines for ngspice, and the pairs of nodes of the drivers by name."""
    lines, across = ["Vin in 0 DC 0 AC 1"], {}
    for at, it in enumerate(elements):
        a, b = it["nodes"]
        if it["kind"] == "driver":
            across[it["name"]] = (a, b)
        if it["kind"] == "R" or "load" in it:
            lines.append(f"R{at} {a} {b} {it.get('load', it.get('value'))!r}")
        elif it["kind"] == "driver":
            driver = it["driver"]
            res, cmes, lces = drivers.parallel_circuit(driver)
            lines.append(f"R{at}re {a} d{at}a {driver['re']!r}")
            lines += spice.coil(f"{at}", f"d{at}a", f"d{at}b", driver)
            lines.append(f"R{at}m d{at}b {b} {res!r}")
            lines.append(f"C{at}m d{at}b {b} {cmes!r}")
            lines.append(f"L{at}m d{at}b {b} {lces!r}")
        else:
            loss = it.get("dcr", it.get("esr"))
            near = a if loss is None else f"p{at}"
            if loss is not None:
                lines.append(f"R{at} {a} {near} {loss!r}")
            lines.append(f"{it['kind']}{at} {near} {b} {it['value']!r}")
    return lines, across


def by_ngspice(given):
    """Voltages across the drivers by name, and the impedance, at the frequencies of the case."""
    lines, across = deck(given["elements"])
    nodes = sorted({node for pair in across.values() for node in pair} - {"0"})
    rows = spice.solve(lines, [f"v({node})" for node in nodes] + ["i(vin)"], given["freqs"])
    voltage = {node: np.array([row[at] for row in rows]) for at, node in enumerate(nodes)}
    voltage["0"] = np.zeros(len(rows), dtype=complex)
    h = {name: voltage[a] - voltage[b] for name, (a, b) in across.items()}
    return h, np.array([-1 / row[-1] for row in rows])


def admittance(element, w):
    """Of one element, S."""
    kind = element["kind"]
    if kind == "driver":
        return 1 / drivers.impedance(element["driver"], w) if "driver" in element else (
            np.full(w.shape, 1 / element["load"], dtype=complex)
        )
    if kind == "R":
        return np.full(w.shape, 1 / element["value"], dtype=complex)
    if kind == "L":
        return 1 / (element.get("dcr", 0.0) + 1j * w * element["value"])
    return 1 / (element.get("esr", 0.0) + 1 / (1j * w * element["value"]))


def by_numpy(given):
    """The same by nodal analysis; `in` is known, so its row is not solved for."""
    w = 2 * math.pi * np.array(given["freqs"])
    names = {node for it in given["elements"] for node in it["nodes"]} - {"0"}
    order = ["in", *sorted(names - {"in"})]
    index = {node: at for at, node in enumerate(order)}
    matrix = np.zeros((len(w), len(order), len(order)), dtype=complex)
    for it in given["elements"]:
        y = admittance(it, w)
        ends = [index[node] for node in it["nodes"] if node != "0"]
        for row in ends:
            for column in ends:
                matrix[:, row, column] += y if row == column else -y
    inner = np.linalg.solve(matrix[:, 1:, 1:], -matrix[:, 1:, :1])[:, :, 0]
    voltages = np.hstack([np.ones((len(w), 1)), inner])
    current = np.einsum("fi,fi->f", matrix[:, 0, :], voltages)
    of = {node: voltages[:, at] for node, at in index.items()} | {"0": np.zeros(len(w))}
    h = {
        it["name"]: of[it["nodes"][0]] - of[it["nodes"][1]]
        for it in given["elements"]
        if it["kind"] == "driver"
    }
    return h, 1 / current


def lowest_impedance(elements):
    """Value and place of the lowest |Z| from 20 Hz to 20 kHz."""

    def size(log_f):
        return abs(by_numpy({"elements": elements, "freqs": [math.exp(log_f)]})[1][0])

    at = int(np.argmin(np.abs(by_numpy({"elements": elements, "freqs": BAND})[1])))
    around = math.log(BAND[max(at - 1, 0)]), math.log(BAND[min(at + 1, len(BAND) - 1)])
    found = minimize_scalar(size, bounds=around, method="bounded", options={"xatol": 1e-9})
    # At the end of the band, the search only comes close to it.
    ends = [(float(found.fun), float(found.x))] + [(size(it), it) for it in around]
    value, log_f = min(ends)
    return float(value), math.exp(log_f)


def solve(given):
    """What the program should say, from ngspice, once numpy has agreed with it."""
    h, z = by_ngspice(given)
    own_h, own_z = by_numpy(given)
    pairs = [("z", z, own_z)] + [(name, h[name], own_h[name]) for name in h]
    for name, one, other in pairs:
        heard = np.abs(one) >= FLOOR
        worst = np.max(np.abs(one - other)[heard] / np.abs(one)[heard], initial=0.0)
        if not worst <= OWN_TOLERANCE:
            raise ValueError(f"ngspice and numpy differ by {worst:.2e} in {name}: {given}")
    z_min, f_z_min = lowest_impedance(given["elements"])
    return {
        "z_min": z_min,
        "f_z_min": f_z_min,
        "h_db": {n: [20 * math.log10(abs(v)) for v in values] for n, values in h.items()},
        "h_phase": {n: [agreed.in_degrees(v) for v in values] for n, values in h.items()},
        "z_mag": [abs(v) for v in z],
        "z_phase": [agreed.in_degrees(v) for v in z],
    }


def level(db, degrees):
    """The complex voltage of a level and a phase."""
    return None if db is None else agreed.polar(10 ** (db / 20), degrees)


def compare(expected, found):
    """Deviations of the impedance and of each driver's voltage, magnitude and phase together."""
    for at, (size, angle) in enumerate(zip(expected["z_mag"], expected["z_phase"])):
        other = agreed.polar(found["z_mag"][at], found["z_phase"][at])
        yield f"z[{at}]", agreed.turned(agreed.polar(size, angle), other, TOLERANCE)
    yield "z_min", agreed.relative(expected["z_min"], found["z_min"], TOLERANCE)
    yield "f_z_min", agreed.relative(expected["f_z_min"], found["f_z_min"], PLACE_TOLERANCE)
    for name, levels in expected["h_db"].items():
        for at, (db, angle) in enumerate(zip(levels, expected["h_phase"][name])):
            wanted = level(db, angle)
            if abs(wanted) >= FLOOR:
                other = level(found["h_db"][name][at], found["h_phase"][name][at])
                yield f"{name}[{at}]", agreed.turned(wanted, other, TOLERANCE)


if __name__ == "__main__":
    agreed.main(
        agreed.Kind(
            "networks",
            "network",
            "random passive networks of 3 to 15 nodes with 1 to 3 drivers as loads, AC analysis",
            lambda: {
                "ngspice": spice.version(),
                "numpy": np.__version__,
                "scipy": scipy.__version__,
            },
            SEED,
            make,
            solve,
            compare,
        )
    )
