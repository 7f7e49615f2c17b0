"""Shares, quantiles, shifts and associations, by scipy, numpy and statsmodels."""

import itertools
import math

import numpy as np
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

import agreed

OWN_TOLERANCE = 1e-9
# Regroupings and orders that are gone through one by one.
REGROUPINGS, ORDERS = 200_000, 8
SHUFFLES = 10_000
SIGMAS = 6


def prevalence_inputs(catalogue):
    rng = catalogue.rng
    for _ in range(2):
        opened = rng.choice((len(catalogue.points), rng.randint(1, 60)))
        yes = rng.choice((0, opened, rng.randint(0, opened)))
        unknown = rng.choice((0, 0, rng.randint(0, opened - yes)))
        level = rng.choice((0.9, 0.95, 0.8, 0.99))
        yield {"yes": yes, "unknown": unknown, "opened": opened, "level": level}


def exact(count, opened, level):
    """Clopper-Pearson by scipy, confirmed by statsmodels."""
    limits = stats.binomtest(count, opened).proportion_ci(level, "exact")
    other = proportion_confint(count, opened, 1 - level, method="beta")
    if not max(abs(a - b) for a, b in zip(limits, other)) <= OWN_TOLERANCE:
        raise ValueError(f"scipy and statsmodels differ: {count} of {opened} at {level}")
    return float(limits.low), float(limits.high)


def prevalence(given):
    yes, opened, level = given["yes"], given["opened"], given["level"]
    most = yes + given["unknown"]

    def both(method):
        low = proportion_confint(yes, opened, 1 - level, method=method)[0]
        high = proportion_confint(most, opened, 1 - level, method=method)[1]
        return [max(float(low), 0.0), min(float(high), 1.0)]

    jeffreys = both("jeffreys")
    jeffreys = [0.0 if yes == 0 else jeffreys[0], 1.0 if most == opened else jeffreys[1]]
    low, high = exact(yes, opened, 0.9)[0], exact(most, opened, 0.9)[1]

    def verdict(least, supported, contradicted):
        if opened < least:
            return "too_few"
        return "supported" if supported else "contradicted" if contradicted else "not_supported"

    return {
        "wilson": both("wilson"),
        "jeffreys": jeffreys,
        "exact": [exact(yes, opened, level)[0], exact(most, opened, level)[1]],
        "most": verdict(5, low > 0.5, high < 0.5),
        "few": verdict(11, high < 0.25, low >= 0.25),
        "nearly_all": verdict(11, low > 0.75, high < 0.75),
        "zero_bound": exact(0, opened, 0.9)[1] if most == 0 else None,
    }


def quantiles_inputs(catalogue):
    rng = catalogue.rng
    at = [rng.choice((0, 0.05, 0.25, 0.5, 0.9, 1, rng.random())) for _ in range(rng.randint(0, 5))]
    yield {"values": rng.choice((catalogue.index(), catalogue.prices)), "at": at}


def quantiles(given):
    values = given["values"]

    def median_interval(level):
        found = stats.quantile_test(values, q=0, p=0.5).confidence_interval(level)
        return None if math.isnan(found.low) else [float(found.low), float(found.high)]

    return {
        "quantiles": [float(np.quantile(values, p, method="median_unbiased")) for p in given["at"]],
        "median_interval_90": median_interval(0.9),
        "median_interval_95": median_interval(0.95),
    }


def shift_inputs(catalogue):
    rng, values = catalogue.rng, catalogue.criterion()
    n = rng.randint(1, len(values) - 1)
    # Ties among few are gone through one by one, which takes time here.
    few = values if len(set(values)) == len(values) else values[:18]
    n = min(n, len(few) - 1)
    yield {"a": few[:n], "b": few[n:]}
    if len(values) > 40:
        half = len(values) // 2
        yield {"a": values[:half], "b": values[half:]}


def u_at_most(n, m):
    """For c = 0, 1, ...: the share of all groupings in which U is at most c."""
    # Ways to have U = c with i of one group and j of the other, i growing.
    ways = {(0, j): [1] for j in range(m + 1)}
    for i in range(1, n + 1):
        ways[i, 0] = [1]
        for j in range(1, m + 1):
            # The largest of all is of the one group, above all j of the other, or of the other.
            above, below = [0] * j + ways[i - 1, j], ways[i, j - 1]
            both = itertools.zip_longest(above, below, fillvalue=0)
            ways[i, j] = [a + b for a, b in both]
    total = math.comb(n + m, n)
    return [it / total for it in itertools.accumulate(ways[n, m])]


def shift(given):
    a, b = np.array(given["a"]), np.array(given["b"])
    n, m = len(a), len(b)
    differences = np.sort((a[:, None] - b[None, :]).ravel())
    interval = None
    if min(n, m) >= 4:
        tail = u_at_most(n, m)
        c = max(c for c in range(1, n * m) if tail[c - 1] <= 0.05 + 1e-12)
        interval = [float(differences[c - 1]), float(differences[n * m - c])]
    tied = len(set(given["a"] + given["b"])) < n + m
    if not tied:
        p = agreed.tail(float(stats.mannwhitneyu(a, b, method="exact").pvalue))
    elif math.comb(n + m, n) <= REGROUPINGS:
        p = agreed.tail(regrouped(a, b))
    else:
        found = stats.mannwhitneyu(a, b, method="asymptotic", use_continuity=True)
        p = agreed.tail(float(found.pvalue))
    return {"hodges_lehmann": float(np.median(differences)), "interval_90": interval, "p_value": p}


def regrouped(a, b):
    """The share of all groupings at least as lopsided."""
    # Twice the mid-ranks, so that all is whole.
    ranks = np.rint(2 * stats.rankdata(np.concatenate([a, b]))).astype(int)
    groups = np.array(list(itertools.combinations(range(len(ranks)), len(a))))
    off = np.abs(ranks[groups].sum(axis=1) - len(a) * (len(ranks) + 1))
    return float(np.mean(off >= abs(ranks[: len(a)].sum() - len(a) * (len(ranks) + 1))))


def association_inputs(catalogue):
    yield {
        "x": catalogue.prices,
        "y": catalogue.rng.choice((catalogue.index, catalogue.criterion))(),
    }


def association(given):
    x, y = np.array(given["x"]), np.array(given["y"])
    n = len(x)
    if n < 2 or np.ptp(x) == 0 or np.ptp(y) == 0:
        return {"refused": "not_applicable"}
    tied = len(set(x)) < n or len(set(y)) < n
    tau = float(stats.kendalltau(x, y).statistic)
    spearman = float(stats.spearmanr(x, y).statistic)
    p = None
    if n >= 5 and not tied:
        p = agreed.tail(float(stats.kendalltau(x, y, method="exact").pvalue))
    elif n >= 5:
        p = permuted(x, y)
    interval = None
    if n >= 8 and abs(tau) < 1 - 1e-12:
        half = stats.norm.ppf(0.95) * math.sqrt(0.437 / (n - 4))
        interval = [math.tanh(math.atanh(tau) + side * half) for side in (-1, 1)]
    return {"tau_b": tau, "p_value": p, "interval_90": interval, "spearman": spearman}


def permuted(x, y):
    """The share of all orders, or of many, whose surplus of concordant pairs is as far from 0."""
    i, j = np.triu_indices(len(x), 1)
    signs = np.sign(x[j] - x[i])

    def surplus(values, axis):
        values = np.moveaxis(values, axis, -1)
        return np.abs((np.sign(values[..., j] - values[..., i]) * signs).sum(axis=-1))

    all_orders = len(x) <= ORDERS
    found = stats.permutation_test(
        (y,),
        surplus,
        permutation_type="pairings",
        vectorized=True,
        n_resamples=np.inf if all_orders else SHUFFLES,
        alternative="greater",
        batch=2_000,
        rng=1,
    ).pvalue
    if all_orders:
        return agreed.tail(float(found))
    spread = math.sqrt(2 * found * (1 - found) / SHUFFLES)
    return agreed.near(float(found), SIGMAS * spread + 3 / SHUFFLES)


QUESTIONS = {
    "prevalence": agreed.Question(prevalence_inputs, prevalence),
    "quantiles": agreed.Question(quantiles_inputs, quantiles),
    "shift": agreed.Question(shift_inputs, shift),
    "association": agreed.Question(association_inputs, association),
}
