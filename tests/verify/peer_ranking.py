"""The peer of the bench `ranking`: the same counts with numpy, as fast as two Python threads can.

Reads tables of f32 from the folder named by its argument, then does the job of each line of its input and answers with the
milliseconds it took; an empty line ends it. The first run of a job leaves its counts in the folder.
"""

import os
import pathlib
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from threadpoolctl import threadpool_limits

DRAWS = 10_000
BAND = 300
DEPTH = 20
SUBSYSTEMS = 4
CRITERIA = 40
ERROR = np.float32(5)
THREADS = os.cpu_count() or 1

folder = pathlib.Path(sys.argv[1])


def table(name, columns):
    return np.fromfile(folder / name, dtype="<f4").reshape(-1, columns)


points, weights = table("points", CRITERIA), table("weights", CRITERIA)
subsystems, shares = table("subsystems", SUBSYSTEMS), table("shares", SUBSYSTEMS)
scores = table("scores", BAND)
pool = ThreadPoolExecutor(THREADS)


def in_pieces(work, size, total=DRAWS):
    """Runs `work` on pieces of the draws; numpy lets go of the interpreter in its long loops."""
    return list(pool.map(work, [slice(at, min(at + size, total)) for at in range(0, total, size)]))


def central(firsts, n):
    """Sums of the shares over the draws that each product wins."""
    return [np.bincount(firsts, weights=shares[:, k], minlength=n) for k in range(SUBSYSTEMS)]


def first_few(block):
    """The products of the DEPTH greatest scores of each row, the greatest first.

    Every 250th score belongs to one group. The DEPTH-th greatest of the groups' maxima is reached by at least DEPTH scores, so
    only groups whose maximum reaches it are looked into.
    """
    rows, n = block.shape
    groups = 250
    deep = block.reshape(rows, n // groups, groups)
    maxima = deep.max(axis=1)
    least = np.partition(maxima, groups - DEPTH, axis=1)[:, groups - DEPTH]
    row, group = np.nonzero(maxima >= least[:, None])
    inside = deep[row, :, group]
    which, level = np.nonzero(inside >= least[row, None])
    value, row, product = inside[which, level], row[which], level * groups + group[which]
    order = np.lexsort((product, -value, row))
    row, product = row[order], product[order]
    start = np.searchsorted(row, np.arange(rows))
    return product[start[:, None] + np.arange(DEPTH)]


def top(table, draws, size):
    columns = np.ascontiguousarray(table.T)
    n = columns.shape[1]
    found = np.empty((DRAWS, DEPTH), np.int64)

    def piece(at):
        found[at] = first_few(draws[at] @ columns)

    in_pieces(piece, size)
    counts = np.bincount((found * DEPTH + np.arange(DEPTH)).ravel(), minlength=n * DEPTH)
    central(found[:, 0], n)
    return counts


def ranked(score, size):
    """Counts of all ranks; `score` gives the negative scores of a piece of the draws."""
    def piece(at):
        order = np.argsort(score(at), axis=1)
        return np.bincount((order * BAND + np.arange(BAND)).ravel(), minlength=BAND * BAND), order[:, 0]

    parts = in_pieces(piece, size)
    central(np.concatenate([first for _, first in parts]), BAND)
    return sum(counts for counts, _ in parts)


def band():
    columns = np.ascontiguousarray(-points[:BAND].T)
    return ranked(lambda at: weights[at] @ columns, 500)


def pairs():
    columns = np.ascontiguousarray(scores.T)
    wins = np.zeros((BAND, BAND), np.int64)

    def count(truths):
        # Eight bytes of 0 or 1 are added at once, at most 250 times, so that none runs over.
        words = truths.view(np.uint64).reshape(len(truths), -1, 250).sum(axis=2)
        return words.view(np.uint8).reshape(len(truths), -1).sum(axis=1)

    def row(i):
        rest = columns[i + 1:]
        if len(rest):
            wins[i, i + 1:] = count(columns[i] > rest)
            wins[i + 1:, i] = count(columns[i] < rest)

    list(pool.map(row, range(BAND)))
    return wins


def uncertain():
    size = 100
    seeds = np.random.SeedSequence(1).spawn(DRAWS // size)

    def score(at):
        random = np.random.Generator(np.random.SFC64(seeds[at.start // size]))
        drawn = random.standard_normal((at.stop - at.start, BAND, CRITERIA), dtype=np.float32)
        drawn *= ERROR
        drawn += points[:BAND]
        np.clip(drawn, 0, 100, out=drawn)
        return -np.matmul(drawn, weights[at, :, None])[:, :, 0]

    return ranked(score, size)


JOBS = {
    "A": lambda: top(points, weights, 64),
    "A4": lambda: top(subsystems, shares, 128),
    "B": band,
    "Bp": pairs,
    "Bu": uncertain,
}

seen = set()
with threadpool_limits(1):
    for line in sys.stdin:
        key = line.strip()
        if not key:
            break
        start = time.perf_counter()
        result = JOBS[key]()
        taken = time.perf_counter() - start
        if key not in seen:
            seen.add(key)
            np.ascontiguousarray(result).astype("<u4").tofile(folder / f"{key}.counts")
        print(taken * 1e3, flush=True)
