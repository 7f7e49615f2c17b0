"""Runs ngspice in batch mode and reads the numbers it writes.

One process a circuit. Each frequency is an AC analysis of its own, so that the frequencies are
exactly those of the case; results come from the binary raw file, at full precision.
"""

import concurrent.futures
import math
import os
import re
import shutil
import struct
import subprocess
import tempfile

PROGRAM = "ngspice"

# No operating point: a node between two capacitors has none, and nothing here depends on it.
# The shunt keeps such a node from being singular where an operating point is needed after all.
OPTIONS = ".option noopac rshunt=1e15"


class SpiceError(Exception):
    """ngspice did not give what was asked for."""


def version():
    """The version as the program states it, such as `39`."""
    if shutil.which(PROGRAM) is None:
        raise SpiceError(f"{PROGRAM} is not on the search path; `cargo xtask verify` installs it")
    told = subprocess.run([PROGRAM, "--version"], capture_output=True, text=True, check=False)
    found = re.search(r"ngspice-(\S+)", told.stdout)
    if found is None:
        raise SpiceError(f"{PROGRAM} --version does not say a version")
    return found.group(1)


def coil(name, near, far, driver):
    """Lines for the coil beyond its resistance, between the nodes `near` and `far`.

    An ideal inductance is a part. ngspice has no part K(jw)^n, but a behavioural source may depend
    on the frequency of an AC analysis (`hertz`): the voltage is the real part times the current
    plus the imaginary part times the current turned by 90 degrees, which is the voltage across
    1 H carrying that current, divided by w.
    """
    if "le" in driver:
        return [f"L{name}e {near} {far} {driver['le']!r}"]
    if "k" in driver:
        k, n = driver["k"], driver["n"]
        real = k * math.cos(n * math.pi / 2)
        imaginary = k * math.sin(n * math.pi / 2)
        w = f"({2 * math.pi!r}*hertz)"
        # The tiny term is for 0 Hz alone.
        return [
            f"V{name}i {near} {name}i 0",
            f"F{name}d 0 {name}d V{name}i 1",
            f"L{name}d {name}d 0 1",
            f"B{name}k {name}i {far} V = {real!r}*pow({w},{n!r})*i(V{name}i)"
            f" + {imaginary!r}*pow({w},{n!r})/({w}+1e-30)*v({name}d)",
        ]
    return [f"V{name}e {near} {far} 0"]


def solve(lines, wanted, freqs):
    """For each frequency the list of complex values of `wanted`, vectors such as `v(a)`."""
    with tempfile.TemporaryDirectory() as folder:
        deck = ["* circuit", *lines, OPTIONS, ".control", "set filetype=binary", "set appendwrite"]
        for f in freqs:
            deck += [f"ac lin 1 {f!r} {f!r}", f"write out.raw {' '.join(wanted)}"]
        deck += ["quit", ".endc", ".end", ""]
        with open(os.path.join(folder, "deck.cir"), "w", encoding="ascii") as file:
            file.write("\n".join(deck))
        ran = subprocess.run(
            [PROGRAM, "-b", "deck.cir"], cwd=folder, capture_output=True, text=True, check=False
        )
        try:
            with open(os.path.join(folder, "out.raw"), "rb") as file:
                rows = read_raw(file.read())
        except OSError:
            rows = []
    if len(rows) != len(freqs) or any(len(row) != len(wanted) + 1 for row in rows):
        raise SpiceError(f"{len(rows)} of {len(freqs)} analyses:\n{ran.stdout}\n{ran.stderr}")
    for f, row in zip(freqs, rows):
        if abs(row[0] - f) > 1e-9 * f:
            raise SpiceError(f"analysed {row[0]} Hz instead of {f} Hz")
    return [row[1:] for row in rows]


def read_raw(data):
    """The rows of all plots of a binary raw file of complex values, frequency first."""
    rows = []
    at = 0
    marker = b"Binary:\n"
    while (end := data.find(marker, at)) >= 0:
        head = data[at:end].decode("ascii")
        count = int(re.search(r"No\. Variables: (\d+)", head).group(1))
        points = int(re.search(r"No\. Points: (\d+)", head).group(1))
        at = end + len(marker)
        for _ in range(points):
            flat = struct.unpack_from(f"<{2 * count}d", data, at)
            rows.append([complex(flat[2 * i], flat[2 * i + 1]) for i in range(count)])
            at += 16 * count
    return rows


def in_parallel(work, cases):
    """`work` of each case, in order; the time is spent in the processes it starts."""
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        return list(pool.map(work, cases))
