"""Random catalogues: products with points, prices and weights, plain ones and awkward ones.

Points have two decimals and weights four, or both have every digit: then an index never lies half
way between two millionths of a point, where the last bit of a sum would decide its rounding.
"""

import random

import drivers

POINTS = ("plain", "tens", "ends", "exact", "twins", "level", "plain", "close")
PRICES = ("spread", "spread", "usual", "equal", "spread")
WEIGHTS = ("parts", "exact", "equal", "parts", "zero", "single", "parts")


class Catalogue:
    """Points (a row a product), prices, weights, and which points are missing."""

    def __init__(self, name, points, prices, weights, gaps=()):
        self.name, self.points, self.prices, self.weights = name, points, prices, weights
        self.gaps = set(gaps)
        # Kept with the catalogue: what is asked of one does not depend on the others.
        self.rng = random.Random(f"questions about {name}")

    def row(self, product):
        """Points with None where one is missing."""
        row = self.points[product]
        return [None if (product, k) in self.gaps else value for k, value in enumerate(row)]

    def index(self):
        """The weighted mean of each product, to a millionth of a point."""
        return [
            round(sum(w * x for w, x in zip(self.weights, row)), 6) + 0.0 for row in self.points
        ]

    def criterion(self):
        """All points of one criterion."""
        k = self.rng.randrange(len(self.weights))
        return [row[k] for row in self.points]


def twelve():
    """Invented: the catalogue that other tests of the statistics use too."""
    rows = """129 52 61 40 55 | 149 48 66 35 60 | 159 70 58 62 45 | 179 63 71 48 66
        | 199 41 55 30 50 | 199 75 69 70 58 | 229 68 77 55 71 | 249 80 64 66 62
        | 279 58 82 74 69 | 299 85 73 52 80 | 299 66 60 81 47 | 349 78 88 69 73"""
    numbers = [[float(it) for it in row.split()] for row in rows.split("|")]
    points, prices = [row[1:] for row in numbers], [row[0] for row in numbers]
    return Catalogue("twelve", points, prices, [0.3, 0.35, 0.25, 0.1])


def make(seed, count):
    """The catalogue of twelve and so many random ones."""
    return [twelve()] + [one(random.Random(f"{seed} {at}"), at) for at in range(count)]


def one(rng, at):
    # Every third is small, where rules for few products begin and end.
    n = rng.randint(2, 14) if at % 3 == 0 else rng.randint(2, 60)
    k = rng.randint(2, 8)
    kinds = [table[at % len(table)] for table in (POINTS, PRICES, WEIGHTS)]
    points = make_points(rng, kinds[0], n, k)
    prices = make_prices(rng, kinds[1], n)
    weights = make_weights(rng, kinds[2], k)
    gaps = []
    if at % 4 == 1:
        gaps = [(i, j) for i in range(n) for j in range(k) if rng.random() < 0.2]
    name = f"{at + 1}: {kinds[0]} points, {kinds[1]} prices, {kinds[2]} weights"
    return Catalogue(name, points, prices, weights, gaps)


def make_points(rng, kind, n, k):
    def of(draw):
        return [[draw() for _ in range(k)] for _ in range(n)]

    if kind == "tens":
        return of(lambda: 10.0 * rng.randint(0, 10))
    if kind == "ends":
        return of(lambda: float(rng.choice((0, 100, 50))))
    if kind == "exact":
        return of(lambda: 100 * rng.random())
    if kind == "close":
        return of(lambda: round(60 + 2 * rng.random(), 2))
    points = of(lambda: round(min(max(rng.gauss(60, 18), 0), 100), 2))
    if kind == "twins":
        for at in range(n // 2):
            points[rng.randrange(n)] = list(points[at])
    if kind == "level":
        points = [list(points[0]) for _ in points]
    return points


def make_prices(rng, kind, n):
    if kind == "usual":
        return [float(rng.choice((99, 149, 199, 249, 299))) for _ in range(n)]
    if kind == "equal":
        return [float(rng.randint(90, 400))] * n
    return [drivers.between(rng, 80, 800, 5) for _ in range(n)]


def make_weights(rng, kind, k):
    if kind == "equal":
        return [1 / k] * k
    if kind == "single":
        place = rng.randrange(k)
        return [1.0 if at == place else 0.0 for at in range(k)]
    if kind == "exact":
        drawn = [rng.random() for _ in range(k)]
        return [it / sum(drawn) for it in drawn]
    without = 1 if kind == "zero" else 0
    weights = [it / 10_000 for it in parts(rng, 10_000, k - without)] + [0.0] * without
    rng.shuffle(weights)
    return weights


def parts(rng, total, k):
    """Whole numbers from 0 that add up to `total`; each way of doing so is as likely."""
    bars = sorted(rng.sample(range(total + k - 1), k - 1))
    edges = [-1, *bars, total + k - 1]
    return [high - low - 1 for low, high in zip(edges, edges[1:])]
