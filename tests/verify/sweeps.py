"""Random noisy sweeps: `boxworth compute impedance-fit` against scipy `least_squares`.

The residual is the one that the program states (relative magnitude, or real and imaginary part
over the measured magnitude where a phase is there); model, start and derivatives are this
program's own, and scipy gets no Jacobian.
"""

import math
import random

import numpy as np
import scipy
from scipy.optimize import least_squares

import agreed
import drivers

SEED = 20261127
# Of a parameter: the larger of this share of it and this share of its standard uncertainty.
RELATIVE, OF_U = 1e-5, 1e-3
# Two algorithms on the same residual, relative.
OWN_TOLERANCE = 1e-7
U_RELATIVE, RSS_RELATIVE, CORRELATION = 1e-3, 1e-6, 1e-3
PARAMETERS = ("re", "res", "fs", "qms", "k", "n")
N = PARAMETERS.index("n")


def model(parameters, f):
    """Impedance of a driver with a lossy coil, ohm; the order is that of PARAMETERS."""
    re, res, fs, qms, k, n = parameters
    w = 2 * math.pi * f
    return re + res / (1 + 1j * qms * (f / fs - fs / f)) + k * (1j * w) ** n


def make(seed):
    """Named inputs of `compute impedance-fit`."""
    rng = random.Random(seed)
    cases = []
    for at in range(64):
        phase = at % 2 == 1
        # Every fourth pair has something given beforehand.
        given = [None, None, "n", "re"][(at // 2) % 4]
        name = f"sweep {at + 1}, {'with phase' if phase else 'magnitude'}"
        cases.append((name + (f", {given} given" if given else ""), one(rng, phase, given)))
    return cases


def one(rng, phase, given):
    """A sweep: a driver, a range, a spacing, and noise of 0.02 to 0.8 per cent."""
    re, fs = drivers.between(rng, 2.8, 7.5), drivers.between(rng, 25, 140)
    qms, qes = drivers.between(rng, 1.8, 9), drivers.between(rng, 0.25, 1.4)
    n = drivers.rounded(rng.uniform(0.56, 0.92), 3)
    # Reactance at 1 kHz as of 0.15 to 1.5 mH.
    k = drivers.between(rng, 1.5e-4, 1.5e-3) * (2000 * math.pi) ** (1 - n)
    truth = (re, re * qms / qes, fs, qms, k, n)
    noise = drivers.between(rng, 2e-4, 8e-3, 2)
    rows, low, high = rng.randint(60, 130), drivers.between(rng, 5, 9), rng.uniform(12e3, 22e3)
    sweep = []
    for row in range(rows):
        f = drivers.rounded(low * (high / low) ** (row / (rows - 1)), 6)
        z = complex(model(truth, f))
        measured = [f, drivers.rounded(abs(z) * (1 + noise * rng.gauss(0, 1)), 6)]
        if phase:
            turned = agreed.in_degrees(z) + math.degrees(noise) * rng.gauss(0, 1)
            measured.append(drivers.rounded(turned, 6))
        sweep.append(measured)
    case = {"sweep": sweep}
    if given:
        case["fix"] = {given: {"n": n, "re": re}[given]}
    return case


class Fit:
    """One sweep's residual in the parameters that are free: logarithms, and n as it is."""

    def __init__(self, given):
        rows = np.array(given["sweep"])
        self.f, self.size = rows[:, 0], rows[:, 1]
        self.measured = None
        if rows.shape[1] == 3:
            self.measured = self.size * np.exp(1j * np.radians(rows[:, 2]))
        self.fixed = given.get("fix", {})
        self.free = [at for at, name in enumerate(PARAMETERS) if name not in self.fixed]

    def parameters(self, free):
        """All six from the free ones."""
        full = np.array([self.fixed.get(name, math.nan) for name in PARAMETERS])
        for at, value in zip(self.free, free):
            full[at] = value if at == N else math.exp(value)
        return full

    def residual(self, free):
        z = model(self.parameters(free), self.f)
        if self.measured is None:
            return np.abs(z) / self.size - 1
        off = (z - self.measured) / self.size
        return np.concatenate([off.real, off.imag])

    def start(self, n):
        """From the look of the sweep: its peak, the level below it, the end of it."""
        low = self.f < 400
        peak = int(np.argmax(np.where(low, self.size, 0)))
        re = self.fixed.get("re", float(np.min(self.size[:peak])))
        res, fs = max(self.size[peak] - re, 0.1 * re), self.f[peak]
        half = np.flatnonzero(low & (self.size > math.sqrt(self.size[peak] * re)))
        width = max(self.f[half[-1]] - self.f[half[0]], 0.05 * fs)
        qms = fs * math.sqrt(self.size[peak] / re) / width
        k = self.size[-1] / (2 * math.pi * self.f[-1]) ** n
        full = [math.log(re), math.log(res), math.log(fs), math.log(qms), math.log(k), n]
        return np.array([full[at] for at in self.free])

    def best(self):
        """The lowest minimum from several starts."""
        exponents = [self.fixed["n"]] if "n" in self.fixed else [0.55, 0.7, 0.9]
        found = [
            least_squares(
                self.residual,
                self.start(n),
                jac="3-point",
                x_scale="jac",
                xtol=1e-15,
                ftol=1e-15,
                gtol=1e-15,
                max_nfev=500,
            )
            for n in exponents
        ]
        best = min(found, key=lambda it: it.cost)
        self.confirm(best)
        return best

    def confirm(self, best):
        """The other algorithm of scipy, from a little beside the minimum, must come back to it."""
        away = best.x * (1 + 0.02 * np.cos(np.arange(len(best.x))))
        other = least_squares(
            self.residual, away, method="lm", x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15
        )
        apart = np.max(np.abs(self.parameters(other.x) / self.parameters(best.x) - 1))
        if not apart <= OWN_TOLERANCE:
            raise ValueError(f"`trf` and `lm` end {apart:.2e} apart")


def solve(given):
    """What the program should say."""
    fit = Fit(given)
    found = fit.best()
    full = fit.parameters(found.x)
    values = dict(zip(PARAMETERS, (float(v) for v in full)))
    if "n" not in fit.fixed and not 0.505 < values["n"] < 0.995:
        raise ValueError(f"the exponent {values['n']} is at its bound")
    rss = float(2 * found.cost)
    inner = np.linalg.inv(found.jac.T @ found.jac) * rss / (len(found.fun) - len(found.x))
    # From the logarithms to the parameters; what was given has no uncertainty.
    covariance = np.zeros((6, 6))
    scale = np.array([1.0 if at == N else full[at] for at in fit.free])
    covariance[np.ix_(fit.free, fit.free)] = inner * np.outer(scale, scale)
    re, res, _, qms, k, n = full
    values["qes"], values["qts"] = qms * re / res, qms * re / (re + res)
    of_qes = np.array([qms / res, -qms * re / res**2, 0, re / res, 0, 0])
    whole = re + res
    of_qts = np.array([qms * res / whole**2, -qms * re / whole**2, 0, re / whole, 0, 0])
    u = {name: math.sqrt(covariance[at, at]) for at, name in enumerate(PARAMETERS)}
    u["qes"] = math.sqrt(of_qes @ covariance @ of_qes)
    u["qts"] = math.sqrt(of_qts @ covariance @ of_qts)
    for name, f in (("le_1k", 1e3), ("le_10k", 1e4)):
        values[name] = k * (2 * math.pi * f) ** (n - 1) * math.sin(n * math.pi / 2)

    def correlation(one, other):
        both = u[one] * u[other]
        at = PARAMETERS.index(one), PARAMETERS.index(other)
        return float(covariance[at] / both) if both > 0 else None

    corr = {"k,n": correlation("k", "n"), "res,qms": correlation("res", "qms")}
    return {**{k: float(v) for k, v in values.items()}, "rss": rss, "u": u, "corr": corr}


def compare(expected, found):
    """Deviations of parameters, uncertainties, correlations and the residual sum."""
    for key in (*PARAMETERS, "qes", "qts", "le_1k", "le_10k"):
        allowed = max(RELATIVE, OF_U * expected["u"].get(key, 0.0) / abs(expected[key]))
        yield key, agreed.relative(expected[key], found[key], allowed)
    yield "rss", agreed.relative(expected["rss"], found["rss"], RSS_RELATIVE)
    for key, u in expected["u"].items():
        if u == 0:
            yield f"u.{key}", 0.0 if found["u"][key] == 0 else math.inf
        else:
            yield f"u.{key}", agreed.relative(u, found["u"][key], U_RELATIVE)
    for key, r in expected["corr"].items():
        other = found["corr"][key]
        if r is None or other is None:
            yield f"corr.{key}", 0.0 if r is None and other is None else math.inf
        else:
            yield f"corr.{key}", abs(other - r) / CORRELATION


if __name__ == "__main__":
    agreed.main(
        agreed.Kind(
            "sweeps",
            "impedance-fit",
            "random noisy impedance sweeps, with and without phase, fitted without a Jacobian",
            lambda: {"scipy": scipy.__version__, "numpy": np.__version__},
            SEED,
            make,
            solve,
            compare,
        )
    )
