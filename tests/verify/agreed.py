"""Writes and checks the files of agreed results, and asks `boxworth compute` for its own.

A file holds cases: the input exactly as `boxworth compute` takes it, and what the outside tool
makes of it. `--write` makes the file anew. `--check` makes the same cases again, solves them again,
and compares both the file and the answers of the program with that.
"""

import argparse
import collections
import concurrent.futures
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


# `inputs(subject)` yields inputs of a computation, `solve(input)` gives the outside answer.
Question = collections.namedtuple("Question", "inputs solve")
Case = collections.namedtuple("Case", "name computation given")


class Kind:
    """One file: what is computed, its cases, and how two answers are compared.

    `make(seed)` gives named inputs, `solve(input)` the outside answer, `compare(expected, found)`
    yields `(key, deviation)` where 1 is the largest deviation allowed.
    """

    def __init__(self, name, computation, about, tools, seed, make, solve, compare):
        self.name, self.computation, self.about = name, computation, about
        self.tools, self.seed = tools, seed
        self.make, self.solve, self.compare = make, solve, compare

    def cases(self):
        """All of them."""
        return [Case(name, self.computation, given) for name, given in self.make(self.seed)]

    def answers(self, cases):
        """Of the outside tool, which is a process of its own."""
        return spice.in_parallel(lambda case: self.solve(case.given), cases)

    def kept(self, solved):
        """Those that the file holds."""
        return solved

    def line(self, case, answer):
        """Of the file."""
        return {"name": case.name, "input": case.given, "expected": answer}

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


class Family(Kind):
    """A file with several computations, each with questions about the same subjects.

    `make(seed)` gives named subjects, `questions` holds a `Question` for each computation. Of the
    cases, which are many, the file keeps small ones.
    """

    def __init__(self, name, about, tools, seed, make, questions):
        super().__init__(name, None, about, tools, seed, make, None, leaves)
        self.questions = questions

    def cases(self):
        return [
            Case(f"{computation}, {subject}, {at + 1}", computation, given)
            for subject, it in self.make(self.seed)
            for computation, question in self.questions.items()
            for at, given in enumerate(question.inputs(it))
        ]

    def answers(self, cases):
        # The outside libraries work within this process, one computation at a time.
        with concurrent.futures.ProcessPoolExecutor(os.cpu_count()) as pool:
            return list(pool.map(self.answer, cases, chunksize=16))

    def answer(self, case):
        """Of the outside library."""
        return self.questions[case.computation].solve(case.given)

    def line(self, case, answer):
        return {"computation": case.computation, **super().line(case, answer)}

    def kept(self, solved):
        """Of each computation the first, then short ones of answers that look unlike each other."""
        chosen = []
        for computation in self.questions:
            own = [it for it in solved if it[0].computation == computation]
            looks, mine = set(), own[:1]
            for case, answer in own[1:]:
                short = len(json.dumps(self.line(case, answer))) <= LINE_MAX
                look = looks_of(case.given, answer)
                if short and look not in looks and len(mine) < KEPT:
                    looks.add(look)
                    mine.append((case, answer))
            chosen += mine
        return chosen


# A kept line of a family is no longer than this, and there are so many of each computation.
LINE_MAX = 4000
KEPT = 4


def looks_of(given, answer):
    """What distinguishes kinds of answers: words, and where there is null."""
    words = [it for it in answer.values() if isinstance(it, str)]
    empty = [
        key for key, it in answer.items() if it is None or it == [] or "null" in json.dumps(it)
    ]
    return (*sorted(given), "", *words, "", *empty)


def solved(kind):
    """Cases and outside answers."""
    cases = kind.cases()
    return list(zip(cases, kind.answers(cases)))


def write(kind):
    cases = kind.kept(solved(kind))
    head = {
        "about": kind.about,
        **({"computation": kind.computation} if kind.computation else {}),
        "tools": {"python": platform.python_version(), **kind.tools()},
        "seed": kind.seed,
    }
    lines = [json.dumps(kind.line(case, answer), **COMPACT) for case, answer in cases]
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
    answers = spice.in_parallel(lambda it: ask(program, it[0].computation, it[0].given), cases)
    in_file = {case.name for case, _ in kind.kept(cases)}
    account = Account()
    for ((name, _, given), outside), answer in zip(cases, answers):
        if name in in_file:
            case = kept.pop(name, None)
            if case is None or case["input"] != given:
                account.miss(f"{name}: the file holds another input")
            else:
                account.compare("file", name, kind.compare(outside, case["expected"]))
        if isinstance(answer, str) and "refused" not in outside:
            account.miss(f"{name}: boxworth refuses it: {answer}")
        elif isinstance(answer, str):
            account.compare("boxworth", name, kind.compare(outside, {"refused": code_of(answer)}))
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


def code_of(complaint):
    """The code of a refusal; None where the complaint is of another kind."""
    try:
        return json.loads(complaint)["code"]
    except (ValueError, KeyError, TypeError):
        return None


# Of a number of a `Family`: relative above 1, absolute below.
LEAF = 1e-10


def near(value, within):
    """In an outside answer: a number that may deviate so far."""
    return {"near": value, "within": within}


def tail(value):
    """In an outside answer: a probability that is compared by its size, however small."""
    return near(value, LEAF * value)


def one_of(values):
    """In an outside answer: any of these."""
    return {"one_of": values}


def leaves(expected, found, path=""):
    """Deviations of two answers: whole numbers, words and nulls are the same or infinitely far.

    The other answer is the program's, or an outside answer out of a file.
    """
    if isinstance(expected, dict) and "near" in expected:
        other = found["near"] if isinstance(found, dict) else found
        yield path, distance(expected["near"], other, expected["within"])
    elif isinstance(expected, dict) and "one_of" in expected:
        yield path, 0.0 if found == expected or found in expected["one_of"] else math.inf
    elif isinstance(expected, dict):
        for key, it in expected.items():
            other = found.get(key, MISSING) if isinstance(found, dict) else MISSING
            yield from leaves(it, other, f"{path}.{key}" if path else key)
    elif isinstance(expected, list):
        alike = isinstance(found, list) and len(found) == len(expected)
        yield f"length of {path}", 0.0 if alike else math.inf
        for at, it in enumerate(expected if alike else []):
            yield from leaves(it, found[at], f"{path}[{at}]")
    elif isinstance(expected, float):
        yield path, distance(expected, found, LEAF * max(abs(expected), 1))
    else:
        yield path, 0.0 if found == expected and not isinstance(found, bool) else math.inf


# Is no value of JSON.
MISSING = object()


def distance(expected, found, within):
    """Deviation of two numbers in tolerances; what is no number is infinitely far."""
    if not isinstance(found, (int, float)) or isinstance(found, bool):
        return math.inf
    off = abs(found - expected)
    return 0.0 if off == 0 else off / within if within > 0 else math.inf


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
