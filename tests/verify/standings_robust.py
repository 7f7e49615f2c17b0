"""How far a ranking depends on its weights, by numpy, exact fractions and scipy.

Sampled answers are compared with as many other draws; what two samples may differ by is six of
their standard deviations.
"""

import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
from scipy import optimize, stats

import agreed
import catalogues

# Draws of numpy beside those of the program.
DRAWS = 40_000
SIGMAS = 6
# Halvings of an interval of weights.
HALVINGS = 44
# Of the optimum of a linear program: it lies in a corner, which is found exactly.
PROGRAM = 1e-10


def acceptability_inputs(catalogue):
    rng, k = catalogue.rng, len(catalogue.weights)
    lattice = rng.choice((4, 10, 20))
    draws = [[it / lattice for it in catalogues.parts(rng, lattice, k)] for _ in range(40)]
    yield {"scores": catalogue.points, "weight_draws": draws}
    if rng.random() < 0.12:
        scores = catalogue.points[: rng.choice((1, 3, 8))]
        given = {"scores": scores, "draws": 4000, "seed": rng.randrange(2**53)}
        given["weights"] = rng.choice((None, catalogue.weights))
        if given["weights"] is not None and rng.random() < 0.5:
            given["kappa"] = rng.choice((5, 90.5))
        yield given


def acceptability(given):
    draws = given.get("weight_draws")
    return counted(given, np.array(draws)) if draws is not None else sampled(given)


class Ranking:
    """Ranks of every product in every draw of weights."""

    def __init__(self, scores, draws):
        self.n, self.draws = len(scores), draws
        self.points = np.floor(draws @ np.array(scores).T * 1e6 + 0.5).astype(np.int64)
        above = self.points[:, None, :] > self.points[:, :, None]
        self.rank = above.sum(axis=2)
        level = self.points[:, None, :] == self.points[:, :, None]
        self.level = level.sum(axis=2)

    def shared(self):
        ranks = range(self.n)
        return [[int((self.rank[:, i] == r).sum()) for r in ranks] for i in ranks]

    def split(self):
        table = np.zeros((self.n, self.n))
        for rank, level in zip(self.rank, self.level):
            for i in range(self.n):
                table[i, rank[i] : rank[i] + level[i]] += 1 / level[i]
        return table

    def pairwise(self):
        products = range(self.n)
        s = self.points
        return [[int((s[:, i] > s[:, j]).sum()) for j in products] for i in products]

    def holistic(self):
        if self.n == 1:
            return [1.0]
        alpha = np.arange(self.n - 1, -1, -1) / (self.n - 1)
        return [float(it) for it in self.split() @ alpha / len(self.draws)]


def counted(given, draws):
    """Of given draws: every number is exact."""
    ranking = Ranking(given["scores"], draws)
    first = [draws[ranking.rank[:, i] == 0] for i in range(ranking.n)]
    return {
        "shared": ranking.shared(),
        "split": [[float(it) for it in row] for row in ranking.split()],
        "central_weights": [
            [float(it) for it in rows.mean(axis=0)] if len(rows) else None for rows in first
        ],
        "pairwise": ranking.pairwise(),
        "holistic": ranking.holistic(),
    }


def sampled(given):
    """Of draws of our own; which of them the program takes is its affair."""
    k, asked = len(given["scores"][0]), given["draws"]
    weights = given["weights"]
    alpha = np.ones(k)
    if weights is not None:
        alpha = given.get("kappa", 40) * np.array(weights)
    used = alpha > 0
    draws = np.zeros((DRAWS, k))
    # scipy takes no parameter of 0: a criterion without weight has none in any draw.
    if used.sum() == 1:
        draws[:, used] = 1.0
    else:
        draws[:, used] = stats.dirichlet(alpha[used]).rvs(DRAWS, random_state=1)
    ranking = Ranking(given["scores"], draws)

    def count(found):
        share = found / DRAWS
        spread = math.sqrt(share * (1 - share) * (asked + asked**2 / DRAWS) + 1)
        return agreed.near(share * asked, SIGMAS * spread)

    def mean(values):
        spread = float(np.std(values)) * math.sqrt(1 / asked + 1 / DRAWS)
        return agreed.near(float(np.mean(values)), SIGMAS * spread + 1e-9)

    n = ranking.n
    answer = {
        "shared": [[count(it) for it in row] for row in ranking.shared()],
        "pairwise": [[count(it) for it in row] for row in ranking.pairwise()],
    }
    if n == 1:
        # First in every draw: its central weights are the mean of the distribution, known exactly.
        variance = np.zeros(k)
        if used.sum() > 1:
            variance[used] = stats.dirichlet(alpha[used]).var()
        expected = alpha / alpha.sum()
        answer["central_weights"] = [
            [
                agreed.near(float(m), SIGMAS * math.sqrt(v / asked) + 1e-9)
                for m, v in zip(expected, variance)
            ]
        ]
        answer["holistic"] = [1.0]
    else:
        standing = 1 - (ranking.rank + (ranking.level - 1) / 2) / (n - 1)
        answer["holistic"] = [mean(standing[:, i]) for i in range(n)]
    return answer


def stability_inputs(catalogue):
    yield {"scores": catalogue.points, "weights": catalogue.weights}


def stability(given):
    """Limits by halving with exact fractions, shifts by linear programs."""
    scores = [[Fraction(Decimal(repr(it))) for it in row] for row in given["scores"]]
    weights = [Fraction(Decimal(repr(it))) for it in given["weights"]]
    weights = [it / sum(weights) for it in weights]
    totals = [sum(w * x for w, x in zip(weights, row)) for row in scores]
    level = [math.floor(it * 10**6 + Fraction(1, 2)) for it in totals]
    winner = level.index(max(level))
    leads = {
        j: [a - b for a, b in zip(scores[winner], row)]
        for j, row in enumerate(scores)
        if j != winner
    }
    return {
        "winner": winner,
        "intervals": [interval(leads, weights, k) for k in range(len(weights))],
        "smallest_shift": [
            smallest_shift(given, winner, j) if j != winner else None for j in range(len(scores))
        ],
    }


def interval(leads, weights, k):
    own = weights[k]
    if own == 1:
        return {"low": None, "high": None, "rival_low": None, "rival_high": None}
    # The lead over each rival at its ends: all weight on the criterion, and none.
    ends = {}
    for j, lead in leads.items():
        whole = sum(w * d for w, d in zip(weights, lead))
        ends[j] = (lead[k], (whole - own * lead[k]) / (1 - own))

    def ahead(value):
        """Rivals that are first at this weight."""
        return [j for j, (one, none) in ends.items() if value * one + (1 - value) * none < 0]

    def limit(outer):
        inner = own
        if not ahead(outer):
            # Level at the very end: nobody is first beyond it.
            level = [j for j, (one, none) in ends.items() if (one if outer else none) == 0]
            level = [j for j in level if ends[j][0] != ends[j][1]]
            return float(outer), agreed.one_of([None, *level]) if level else None
        far = Fraction(outer)
        for _ in range(HALVINGS):
            middle = (inner + far) / 2
            if ahead(middle):
                far = middle
            else:
                inner = middle
        return float(inner), ahead(far)[0]

    (low, rival_low), (high, rival_high) = limit(0), limit(1)
    return {"low": low, "high": high, "rival_low": rival_low, "rival_high": rival_high}


def smallest_shift(given, winner, rival):
    """Least weight to move until the winner does not lead; None if nothing does it."""
    weights = np.array(given["weights"])
    lead = np.array(given["scores"][winner]) - np.array(given["scores"][rival])
    k = len(weights)
    # New weights, then what each gained.
    eye = np.eye(k)
    found = optimize.linprog(
        np.concatenate([np.zeros(k), np.ones(k)]),
        A_ub=np.block([[eye, -eye], [lead[None, :], np.zeros((1, k))]]),
        b_ub=np.concatenate([weights, [0.0]]),
        A_eq=np.concatenate([np.ones(k), np.zeros(k)])[None, :],
        b_eq=[float(weights.sum())],
        method="highs",
    )
    if found.status == 2:
        return None
    if found.status != 0:
        raise ValueError(f"linprog: {found.message}: {given}")
    return agreed.near(float(found.fun), PROGRAM)


def conformity_inputs(catalogue):
    rng = catalogue.rng
    value = rng.choice(catalogue.criterion())
    u = rng.choice((0, 0.01, 1, 2.5, round(rng.uniform(0.1, 20), 3)))
    offset = rng.choice((0, u, -u, 12.5 * u, -8 * u, round(rng.gauss(0, 5), 2)))
    yield {"value": value, "u": u, "threshold": value + offset}


def conformity(given):
    value, u, threshold = given["value"], given["u"], given["threshold"]
    if u == 0:
        return {"probability": 1.0 if value >= threshold else 0.0}
    return {"probability": agreed.tail(float(stats.norm.sf((threshold - value) / u)))}


def normal_sum_inputs(catalogue):
    rng = catalogue.rng
    terms = [
        {"weight": w * rng.choice((1, -1)), "u": rng.choice((0, 1, round(rng.uniform(0, 30), 2)))}
        for w in catalogue.weights
    ]
    if rng.random() < 0.1:
        terms = [{**it, "u": 0} for it in terms]
    yield {"terms": terms}


def normal_sum(given):
    parts = np.array([it["weight"] * it["u"] for it in given["terms"]])
    u = float(np.linalg.norm(parts))
    shares = [float(it) for it in parts**2 / u**2] if u > 0 else [None] * len(parts)
    return {"u": u, "shares": shares}


QUESTIONS = {
    "acceptability": agreed.Question(acceptability_inputs, acceptability),
    "stability": agreed.Question(stability_inputs, stability),
    "conformity": agreed.Question(conformity_inputs, conformity),
    "normal-sum": agreed.Question(normal_sum_inputs, normal_sum),
}
