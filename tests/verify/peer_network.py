"""The network of `peer_network.json` at 500 frequencies: the times of ngspice and scikit-rf.

Prints one JSON object: microseconds of each (medians), and the impedance that each finds, so that
the caller can see that all did the same work. ngspice is timed as a whole process, its deck being
written beforehand; scikit-rf and numpy inside this process, from arrays of impedances to the
answer. The impedances of drivers and parts at all frequencies are made within the time measured.
"""

import json
import math
import os
import statistics
import subprocess
import tempfile
import time

import numpy as np
from skrf import Frequency
from skrf.circuit import Circuit
from skrf.media import DefinedGammaZ0

import networks
import spice

HERE = os.path.dirname(os.path.abspath(__file__))
# Any will do: the answer does not depend on it.
Z0 = 50.0


def median_us(work, count):
    """Median of `count` runs after one that is not counted."""
    work()
    times = []
    for _ in range(count):
        start = time.perf_counter()
        work()
        times.append(1e6 * (time.perf_counter() - start))
    return statistics.median(times)


def by_spice(elements, freqs, folder):
    """The whole process on a finished deck; gives the work and a reader of its answer."""
    lines, across = networks.deck(elements)
    nodes = sorted({node for pair in across.values() for node in pair} - {"0"})
    wanted = " ".join([f"v({node})" for node in nodes] + ["i(vin)"])
    deck = ["* peer", *lines, spice.OPTIONS, ".control", "set filetype=binary"]
    deck += [f"ac lin {len(freqs)} {freqs[0]!r} {freqs[-1]!r}", f"write out.raw {wanted}"]
    deck += ["quit", ".endc", ".end", ""]
    with open(os.path.join(folder, "deck.cir"), "w", encoding="ascii") as file:
        file.write("\n".join(deck))

    def work():
        command = [spice.PROGRAM, "-b", "deck.cir"]
        subprocess.run(command, cwd=folder, capture_output=True, check=True)

    def answer():
        with open(os.path.join(folder, "out.raw"), "rb") as file:
            rows = spice.read_raw(file.read())
        return np.array([-1 / row[-1] for row in rows])

    return work, answer


def by_scikit_rf(elements, freqs):
    """Each part a two-port between the nodes it joins, the source a port of the circuit."""
    frequency = Frequency.from_f(freqs, unit="hz")
    media = DefinedGammaZ0(frequency, z0=Z0)
    w = 2 * math.pi * np.array(freqs)
    source = Circuit.Port(frequency, "source", z0=Z0)
    ground = Circuit.Ground(frequency, "ground", z0=Z0)
    joined = {"in": [(source, 0)], "0": [(ground, 0)]}
    for it in elements:
        made = media.resistor(1 / networks.admittance(it, w), name=it["name"])
        for port, node in enumerate(it["nodes"]):
            joined.setdefault(node, []).append((made, port))
    circuit = Circuit(list(joined.values()))
    return circuit.network.z[:, 0, 0]


def main():
    with open(os.path.join(HERE, "peer_network.json"), encoding="ascii") as file:
        case = json.load(file)
    grid, elements = case["grid"], case["elements"]
    freqs = [float(f) for f in np.linspace(grid["low"], grid["high"], grid["count"])]
    given = {"elements": elements, "freqs": freqs}
    answer = {"f": freqs}

    def report(name, microseconds, z):
        told = {"z_re": [float(v.real) for v in z], "z_im": [float(v.imag) for v in z]}
        answer[name] = {"microseconds": microseconds, **told}

    with tempfile.TemporaryDirectory() as folder:
        work, read = by_spice(elements, freqs, folder)
        report("ngspice", median_us(work, 21), read())
    report(
        "scikit_rf",
        median_us(lambda: by_scikit_rf(elements, freqs), 9),
        by_scikit_rf(elements, freqs),
    )
    report("numpy", median_us(lambda: networks.by_numpy(given), 51), networks.by_numpy(given)[1])
    print(json.dumps(answer))


if __name__ == "__main__":
    main()
