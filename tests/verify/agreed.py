"""Writes and checks the files of agreed results, and asks `boxworth compute` for its own.

A file holds cases: the input exactly as `boxworth compute` takes it, and what the outside tool
makes of it. `--write` makes the file anew. `--check` makes the same cases again, solves them again,
and compares both the file and the answers of the program with that.
"""

import argparse
import json
import math
import os
import platform
import subprocess
import sys

import spice

HERE = os.path.dirname(os.path.abspath(__file__))
FOLDER = os.path.join(HERE, "../../src-tauri/crates/compute/tests/fixtures/agreed")
# So many misses are told one by one.
TOLD = 12


class Kind:
    """One file: what is computed, its cases, and how two answers are compared.

    `make(seed)` gives named inputs, `solve(input)` the outside answer, `compare(expected, found)`
    yields `(key, deviation)` where 1 is the largest deviation allowed.
    """

    def __init__(self, name, computation, about, tools, seed, make, solve, compare):
        self.name, self.computation, self.about = name, computation, about
        self.tools, self.seed = tools, seed
        self.make, self.solve, self.compare = make, solve, compare

    def path(self):
        """Where the agreed results are kept."""
        return os.path.join(FOLDER, f"{self.name}.json")


def main(kind):
    """The command line of each program; exit status 1 on a miss, 2 when it could not compare."""
    parser = argparse.ArgumentParser(description=kind.about)
    mode = parser.add_mutually_exclusive_group(required=True)
    mode.add_argument("--write", action="store_true", help="make the file of agreed results")
    mode.add_argument("--check", action="store_true", help="compare the file and the program")
    parser.add_argument("--boxworth", help="the program to compare, for --check")
    chosen = parser.parse_args()
    if chosen.check and not chosen.boxworth:
        parser.error("--check needs --boxworth PROGRAM")
    try:
        status = write(kind) if chosen.write else check(kind, chosen.boxworth)
    except (spice.SpiceError, OSError, ValueError) as error:
        print(f"{kind.name}: {error}")
        status = 2
    sys.exit(status)


def solved(kind):
    """Names, inputs and outside answers."""
    cases = kind.make(kind.seed)
    answers = spice.in_parallel(lambda case: kind.solve(case[1]), cases)
    return [(name, given, answer) for (name, given), answer in zip(cases, answers)]


def write(kind):
    cases = solved(kind)
    head = {
        "about": kind.about,
        "computation": kind.computation,
        "tools": {"python": platform.python_version(), **kind.tools()},
        "seed": kind.seed,
    }
    lines = [json.dumps({"name": n, "input": i, "expected": e}, **COMPACT) for n, i, e in cases]
    # One case a line: a change of one case is a change of one line.
    text = json.dumps(head, **COMPACT)[:-1] + ',"cases":[\n' + ",\n".join(lines) + "\n]}\n"
    os.makedirs(FOLDER, exist_ok=True)
    with open(kind.path(), "w", encoding="ascii", newline="\n") as file:
        file.write(text)
    print(f"{kind.name}: {len(cases)} cases written, {len(text) / 1e3:.0f} kB")
    return 0


COMPACT = {"separators": (",", ":"), "allow_nan": False}


def check(kind, program):
    with open(kind.path(), encoding="ascii") as file:
        kept = {case["name"]: case for case in json.load(file)["cases"]}
    cases = solved(kind)
    answers = spice.in_parallel(lambda case: ask(program, kind.computation, case[1]), cases)
    account = Account()
    for (name, given, outside), answer in zip(cases, answers):
        case = kept.pop(name, None)
        if case is None or case["input"] != given:
            account.miss(f"{name}: the file holds another input")
        else:
            account.compare("file", name, kind.compare(outside, case["expected"]))
        if isinstance(answer, str):
            account.miss(f"{name}: boxworth refuses it: {answer}")
        else:
            account.compare("boxworth", name, kind.compare(outside, answer))
    for name in kept:
        account.miss(f"{name}: the file holds it, the generator does not make it")
    tools = ", ".join(f"{name} {version}" for name, version in kind.tools().items())
    worst = ", ".join(f"{who} {worst:.1e}" for who, worst in account.worst.items())
    print(
        f"{kind.name}: {len(cases)} cases, {account.count} numbers against {tools}; "
        f"worst deviation in tolerances: {worst}; {len(account.misses)} misses"
    )
    for miss in account.misses[:TOLD]:
        print(f"  {miss}")
    if len(account.misses) > TOLD:
        print(f"  and {len(account.misses) - TOLD} more")
    return 1 if account.misses else 0


class Account:
    """What was compared so far."""

    def __init__(self):
        self.count, self.misses, self.worst = 0, [], {"file": 0.0, "boxworth": 0.0}

    def miss(self, text):
        self.misses.append(text)

    def compare(self, who, name, deviations):
        compared = 0
        for key, deviation in deviations:
            compared += 1
            self.worst[who] = max(self.worst[who], deviation)
            # Written so that NaN is a miss.
            if not deviation <= 1:
                self.miss(f"{name}: {who}: {key} is {deviation:.3g} tolerances off")
        if compared == 0:
            self.miss(f"{name}: {who}: nothing to compare")
        self.count += compared


def ask(program, computation, given):
    """The program's answer as an object, or its complaint as a text."""
    ran = subprocess.run(
        [program, "compute", computation],
        input=json.dumps(given),
        capture_output=True,
        text=True,
        check=False,
    )
    if ran.returncode != 0:
        return ran.stderr.strip() or f"exit status {ran.returncode}"
    return json.loads(ran.stdout)


def relative(expected, found, tolerance):
    """Deviation of two numbers in tolerances; a missing number is infinitely far."""
    if found is None or isinstance(found, bool) or not math.isfinite(found):
        return math.inf
    return abs(found - expected) / (tolerance * abs(expected))


def polar(magnitude, degrees):
    """The complex number, or None where one is missing."""
    if magnitude is None or degrees is None:
        return None
    angle = math.radians(degrees)
    return complex(magnitude * math.cos(angle), magnitude * math.sin(angle))


def in_degrees(value):
    """The angle, in degrees."""
    return math.degrees(math.atan2(value.imag, value.real))


def turned(expected, found, tolerance):
    """Deviation of two complex numbers in tolerances, relative to the expected one."""
    if found is None:
        return math.inf
    return abs(found - expected) / (tolerance * abs(expected))
