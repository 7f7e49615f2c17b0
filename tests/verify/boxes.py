"""Random closed and vented boxes: `boxworth compute box-circuit` against ngspice.

The deck is the electro-mechano-acoustical circuit with one loop a domain: volts and amperes,
newtons and metres a second, pascals and cubic metres a second, joined by controlled sources.
Before anything is kept, the same written as formulas in numpy must agree.
"""

import math
import random

import numpy as np

import agreed
import drivers
import spice

SEED = 20261126
TOLERANCE = 1e-6
OWN_TOLERANCE = 1e-8
FREQUENCIES = 12
# Reference of the level, Pa.
P0 = 20e-6


def make(seed):
    """Named inputs of `compute box-circuit`."""
    rng = random.Random(seed)
    return [one(rng, "vented" if at % 2 == 0 else "closed", at) for at in range(64)]


def one(rng, shape, at):
    driver = drivers.random_driver(rng, "woofer")
    given = {"driver": driver, "vb": drivers.between(rng, 0.003, 0.08)}
    if shape == "vented":
        given["fb"] = drivers.between(rng, 28, 90)
        given["port_area"] = drivers.between(rng, 5e-4, 6e-3)
        # Left out, the program takes 7.
        if rng.random() < 0.7:
            given["ql"] = drivers.between(rng, 3, 25)
    elif rng.random() < 0.5:
        given["ql"] = drivers.between(rng, 3, 40)
    if rng.random() < 0.6:
        given["rg"] = drivers.between(rng, 0.02, 1.5)
    if rng.random() < 0.5:
        given["volts"] = drivers.between(rng, 0.1, 30)
    if rng.random() < 0.5:
        given["distance"] = drivers.between(rng, 0.3, 5)
    if rng.random() < 0.3:
        given["air"] = {
            "rho": drivers.rounded(rng.uniform(1.0, 1.3)),
            "c": drivers.rounded(rng.uniform(330, 355)),
        }
    given["freqs"] = sorted(drivers.between(rng, 8, 500, 6) for _ in range(FREQUENCIES))
    coil = "lossy" if "k" in driver else "ideal" if "le" in driver else "no"
    return f"{shape} {at + 1}, {coil} coil", given


class Values:
    """A case with what it leaves out, and the acoustic elements that follow."""

    def __init__(self, given):
        air = given.get("air", {"rho": drivers.RHO, "c": drivers.C})
        self.rho, self.c = air["rho"], air["c"]
        self.driver = given["driver"]
        self.mms, self.cms, self.rms, self.bl = drivers.mechanics(self.driver, self.rho, self.c)
        self.sd, self.re = self.driver["sd"], self.driver["re"]
        self.rg, self.volts = given.get("rg", 0.0), given.get("volts", 2.83)
        self.distance = given.get("distance", 1.0)
        self.port_area = given.get("port_area")
        self.cab = given["vb"] / (self.rho * self.c**2)
        self.map = None
        tuning = math.sqrt(1 / self.cms + self.sd**2 / self.cab) / math.sqrt(self.mms)
        ql = given.get("ql")
        if self.port_area is not None:
            tuning = 2 * math.pi * given["fb"]
            self.map = 1 / (tuning**2 * self.cab)
            ql = 7.0 if ql is None else ql
        self.ral = None if ql is None else ql / (tuning * self.cab)


def deck(it):
    """Lines for ngspice; currents of 0 V sources are the flows that are asked for."""
    lines = [
        f"Vin in 0 DC 0 AC {it.volts!r}",
        f"R1 in e1 {it.rg + it.re!r}",
        *spice.coil("c", "e1", "e2", it.driver),
        # The motor: a voltage from the velocity, a force from the current.
        f"Hemf e2 0 Vu {it.bl!r}",
        f"Hforce m0 0 Vin {-it.bl!r}",
        "Vu m0 m1 0",
        f"L1 m1 m2 {it.mms!r}",
        f"R2 m2 m3 {it.rms!r}",
        f"C1 m3 m4 {it.cms!r}",
        # The cone: a force from the box pressure, a flow from the velocity.
        f"Econe m4 0 box 0 {it.sd!r}",
        f"Fcone 0 box Vu {it.sd!r}",
        f"C2 box far {it.cab!r}",
        "Vout far 0 0",
    ]
    if it.ral is not None:
        lines.append(f"R3 box 0 {it.ral!r}")
    if it.map is not None:
        lines += ["Vport box port 0", f"L2 port 0 {it.map!r}"]
    return lines


def by_ngspice(it, freqs):
    """Source current, cone velocity, port flow and total flow."""
    wanted = ["i(vin)", "i(vu)", "i(vout)"] + (["i(vport)"] if it.map is not None else [])
    rows = np.array(spice.solve(deck(it), wanted, freqs))
    port = rows[:, 3] if it.map is not None else None
    return -rows[:, 0], rows[:, 1], port, rows[:, 2]


def by_numpy(it, freqs):
    w = 2 * math.pi * np.array(freqs)
    flow = 1j * w * it.cab
    if it.ral is not None:
        flow = flow + 1 / it.ral
    if it.map is not None:
        flow = flow + 1 / (1j * w * it.map)
    ze = it.rg + it.re + drivers.coil_impedance(it.driver, w)
    zm = 1j * w * it.mms + it.rms + 1 / (1j * w * it.cms) + it.sd**2 / flow
    velocity = it.bl * it.volts / ze / (zm + it.bl**2 / ze)
    pressure = it.sd * velocity / flow
    current = it.volts / (ze + it.bl**2 / zm)
    port = pressure / (1j * w * it.map) if it.map is not None else None
    return current, velocity, port, 1j * w * it.cab * pressure


def solve(given):
    """What the program should say, from ngspice, once numpy has agreed with it."""
    it, freqs = Values(given), given["freqs"]
    found, own = by_ngspice(it, freqs), by_numpy(it, freqs)
    for name, one, other in zip(("current", "velocity", "port flow", "flow"), found, own):
        worst = 0.0 if one is None else np.max(np.abs(one - other) / np.abs(one))
        if not worst <= OWN_TOLERANCE:
            raise ValueError(f"ngspice and numpy differ by {worst:.2e} in {name}: {given}")
    current, velocity, port, total = found
    w = 2 * math.pi * np.array(freqs)
    z = it.volts / current
    pressure = w * it.rho * np.abs(total) / (2 * math.pi * it.distance)
    port_peak = None
    if port is not None:
        port_peak = [float(v) for v in math.sqrt(2) * np.abs(port) / it.port_area]
    return {
        "z_mag": [float(abs(v)) for v in z],
        "z_phase": [agreed.in_degrees(v) for v in z],
        "x_peak": [float(v) for v in math.sqrt(2) * np.abs(velocity) / w],
        "port_velocity_peak": port_peak,
        "spl": [float(v) for v in 20 * np.log10(pressure / P0)],
    }


def compare(expected, found):
    """Deviations; a level is compared as the pressure it stands for."""
    for at, (size, angle) in enumerate(zip(expected["z_mag"], expected["z_phase"])):
        other = agreed.polar(found["z_mag"][at], found["z_phase"][at])
        yield f"z[{at}]", agreed.turned(agreed.polar(size, angle), other, TOLERANCE)
        yield f"x_peak[{at}]", agreed.relative(
            expected["x_peak"][at], found["x_peak"][at], TOLERANCE
        )
        yield f"spl[{at}]", agreed.relative(
            10 ** (expected["spl"][at] / 20), 10 ** (found["spl"][at] / 20), TOLERANCE
        )
    wanted, other = expected["port_velocity_peak"], found["port_velocity_peak"]
    # A closed box has no port.
    if wanted is None or other is None:
        yield "port_velocity_peak", 0.0 if wanted is None and other is None else math.inf
        return
    for at, velocity in enumerate(wanted):
        yield f"port_velocity_peak[{at}]", agreed.relative(velocity, other[at], TOLERANCE)


if __name__ == "__main__":
    agreed.main(
        agreed.Kind(
            "boxes",
            "box-circuit",
            "random closed and vented boxes as circuits with controlled sources, AC analysis",
            lambda: {"ngspice": spice.version(), "numpy": np.__version__},
            SEED,
            make,
            solve,
            compare,
        )
    )
