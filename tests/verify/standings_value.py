"""Prices, index, value and frontier, by cpi, pymcdm, scipy, scikit-learn and plain loops."""

import datetime
import math
import warnings

import numpy as np
from pymcdm.methods import WPM, WSM
from scipy import optimize, stats
from sklearn.isotonic import IsotonicRegression

import agreed

# It tells that its table ends before today, which is what some cases are about.
warnings.filterwarnings("ignore", message="CPI data is out of date")
import cpi

FIRST_YEAR = 2010
OWN_TOLERANCE = 1e-10


def month(text):
    """`YYYY-MM` as a date, or None for `YYYY`."""
    return datetime.date(int(text[:4]), int(text[5:]), 1) if len(text) > 4 else None


def real_price_inputs(catalogue):
    rng = catalogue.rng
    for _ in range(2):
        given = {
            "amount": rng.choice(catalogue.prices),
            "basis": rng.choice(("each", "pair", "set")),
        }
        if given["basis"] == "set":
            given["count"] = rng.randint(1, 9)
        for key in ("from", "to"):
            given[key] = str(rng.randint(FIRST_YEAR - 1, 2026))
            if rng.random() < 0.7:
                given[key] += f"-{rng.randint(1, 12):02}"
            if rng.random() < 0.1:
                given[key] = rng.choice(("2025-10", "2026-11", "2009-12", "2026"))
        yield given


def price_level(text):
    """The index of a month or year and the flags it deserves; None outside the table."""
    date = month(text)
    if date is None:
        year = int(text)
        inside = FIRST_YEAR <= year <= cpi.LATEST_YEAR
        return (cpi.get(year), ["year_only"]) if inside else None
    if date.year < FIRST_YEAR:
        return None
    if date > cpi.LATEST_MONTH:
        return cpi.get(cpi.LATEST_MONTH), ["after_table"]
    try:
        return cpi.get(date), []
    except cpi.errors.CPIObjectDoesNotExist:
        # Never collected.
        both = [cpi.get(date.replace(month=date.month + step)) for step in (-1, 1)]
        return sum(both) / 2, ["interpolated"]


def real_price(given):
    levels = {key: price_level(given[key]) for key in ("from", "to")}
    if None in levels.values():
        return {"refused": "out_of_domain"}
    factor = {"each": 2, "pair": 1}.get(given["basis"]) or 2 / given["count"]
    pair = given["amount"] * factor
    flags = [
        f"{key}_{flag}"
        for flag in ("year_only", "interpolated", "after_table")
        for key in ("from", "to")
        if flag in levels[key][1]
    ]
    return {"pair": pair, "real": pair * levels["to"][0] / levels["from"][0], "flags": flags}


def index_inputs(catalogue):
    products = range(len(catalogue.points))
    for product in catalogue.rng.sample(products, min(4, len(products))):
        yield {"scores": catalogue.row(product), "weights": catalogue.weights}


def identity(column, cost):
    """The points are on one scale already, and more of them is better."""
    if cost:
        raise ValueError("points are no cost")
    return column


def index(given):
    scores, weights = given["scores"], np.array(given["weights"])
    known = [it is not None for it in scores]
    low = [0.0 if it is None else it for it in scores]
    high = [100.0 if it is None else it for it in scores]
    # Criteria of which more is better, all of them.
    gains = np.ones(len(weights))
    # Its validation only warns, and of level rows, which are meant here.
    bounds = np.array([low, high])
    lowest, highest = WSM(identity)(bounds, weights, gains, validation=False)
    floored = np.maximum(bounds, 1)
    geometric = float(WPM(identity)(floored, weights, gains, validation=False)[0])
    own = math.exp(float(np.dot(weights, np.log(floored[0]))))
    if not abs(own - geometric) <= OWN_TOLERANCE * own:
        raise ValueError(f"pymcdm and numpy differ: {given}")
    whole = all(known)
    return {
        "value": float(lowest) if whole else None,
        "low": float(lowest),
        "high": float(highest),
        "coverage": float(np.dot(weights, known)),
        "geometric": geometric if whole else None,
        "unevenness": float(lowest) - geometric if whole else None,
        "contributions": [None if x is None else w * x for w, x in zip(given["weights"], scores)],
    }


def points_of(catalogue):
    return [[price, index] for price, index in zip(catalogue.prices, catalogue.index())]


def points_inputs(catalogue):
    yield {"points": points_of(catalogue)}


def line(log_prices, scores):
    """Slope from 0 up, and the intercept that belongs to it."""
    slope = 0.0
    if np.ptp(log_prices) > 0:
        # What is not valid is its interval, which is not asked for here.
        with np.errstate(invalid="ignore"):
            found = stats.theilslopes(scores, log_prices, method="joint")
        slope = max(float(found.slope), 0.0)
    return slope, float(np.median(scores - slope * log_prices))


def value_points(given):
    prices, scores = np.array(given["points"]).T
    n, logs = len(prices), np.log(prices)
    if n < 5:
        none = [None] * n
        return {
            "value": none,
            "expected": none,
            "fit": "none",
            "slope": None,
            "intercept": None,
            "slope_interval_90": None,
        }
    others = [np.arange(n) != at for at in range(n)]
    if n < 10:
        expected = [float(np.median(scores[it])) for it in others]
        slope, intercept, interval = 0.0, float(np.median(scores)), None
    else:
        lines = [line(logs[it], scores[it]) for it in others]
        expected = [a + b * float(x) for (b, a), x in zip(lines, logs)]
        slope, intercept = line(logs, scores)
        interval = None
        if np.ptp(logs) > 0:
            with np.errstate(invalid="ignore"):
                whole = stats.theilslopes(scores, logs, alpha=0.9, method="joint")
            interval = [float(whole.low_slope), float(whole.high_slope)]
    answer = {
        "value": [float(s) - e for s, e in zip(scores, expected)],
        "expected": expected,
        "fit": "flat" if n < 10 else "line",
        "slope": slope,
        "intercept": intercept,
    }
    # With most prices and most scores level, scipy finds a variance below 0 and has no interval.
    if interval is None or not math.isnan(interval[0]):
        answer["slope_interval_90"] = interval
    return answer


def isotonic_inputs(catalogue):
    given = {"x": catalogue.prices, "y": catalogue.index()}
    if catalogue.rng.random() < 0.5:
        given["weights"] = [catalogue.rng.choice((0.5, 1, 2, 3.25)) for _ in given["x"]]
    yield given


def isotonic(given):
    x, y = np.array(given["x"]), np.array(given["y"])
    weights = np.array(given.get("weights", np.ones(len(x))), dtype=float)
    fit = IsotonicRegression().fit_transform(x, y, sample_weight=weights)
    places, at = np.unique(x, return_inverse=True)
    summed = np.bincount(at, weights)
    means = np.bincount(at, weights * y) / summed
    own = optimize.isotonic_regression(means, weights=summed).x[at]
    if len(places) > 1 and not np.max(np.abs(own - fit)) <= OWN_TOLERANCE * 100:
        raise ValueError(f"scipy and scikit-learn differ: {given}")
    return {"fit": [float(it) for it in own]}


def frontier(given):
    points = [(price, round(score * 1e6)) for price, score in given["points"]]

    def beats(one, other):
        return one[0] <= other[0] and one[1] >= other[1] and one != other

    beaten_by = [[j for j, it in enumerate(points) if beats(it, mine)] for mine in points]
    as_good = [min(p for p, s in points if s >= score) for _, score in points]
    return {
        "members": [at for at, by in enumerate(beaten_by) if not by],
        "beaten_by": beaten_by,
        "efficiency": [cheapest / price for cheapest, (price, _) in zip(as_good, points)],
    }


QUESTIONS = {
    "real-price": agreed.Question(real_price_inputs, real_price),
    "index": agreed.Question(index_inputs, index),
    "value-points": agreed.Question(points_inputs, value_points),
    "isotonic": agreed.Question(isotonic_inputs, isotonic),
    "frontier": agreed.Question(points_inputs, frontier),
}
