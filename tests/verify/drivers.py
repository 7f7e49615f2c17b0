"""Random drivers, and what they are electrically, written without looking at the Rust code."""

import math

import numpy as np

RHO, C = 1.204, 343.2


def rounded(value, digits=4):
    """To that many significant digits, so that a case reads the same on every machine."""
    return float(f"{value:.{digits}g}")


def between(rng, low, high, digits=4):
    """Uniform in the logarithm."""
    return rounded(math.exp(rng.uniform(math.log(low), math.log(high))), digits)


# Per role: resonance in Hz, effective area in m2, moving mass in kg, inductance in H.
ROLES = {
    "woofer": ((28, 90), (0.005, 0.035), (0.005, 0.06), (2e-4, 2e-3)),
    "mid": ((90, 500), (0.002, 0.008), (0.001, 0.008), (5e-5, 6e-4)),
    "tweeter": ((500, 2200), (4e-4, 1e-3), (1.5e-4, 6e-4), (1e-5, 1.2e-4)),
}


def random_driver(rng, role, coils=("le", "lossy", "none")):
    """A DRIVER object, in one of its two forms and with one of the given coils."""
    (fs_range, sd_range, mms_range, le_range) = ROLES[role]
    re, fs = between(rng, 2.8, 7.5), between(rng, *fs_range)
    sd, mms = between(rng, *sd_range), between(rng, *mms_range)
    qms, qes = between(rng, 1.2, 9.0), between(rng, 0.25, 1.6)
    ws = 2 * math.pi * fs
    cms = 1 / (ws * ws * mms)
    if rng.random() < 0.3:
        vas = rounded(RHO * C * C * sd * sd * cms)
        driver = {"re": re, "fs": fs, "qms": qms, "qes": qes, "vas": vas, "sd": sd}
    else:
        driver = {
            "re": re,
            "mms": mms,
            "cms": rounded(cms),
            "rms": rounded(ws * mms / qms),
            "bl": rounded(math.sqrt(ws * mms * re / qes)),
            "sd": sd,
        }
    coil = rng.choice(coils)
    if coil == "le":
        driver["le"] = between(rng, *le_range)
    elif coil == "lossy":
        n = rounded(rng.uniform(0.5, 1.0), 3)
        # The same reactance at 1 kHz as the inductance would have.
        driver["k"] = rounded(between(rng, *le_range) * (2000 * math.pi) ** (1 - n))
        driver["n"] = n
    return driver


def mechanics(driver, rho=RHO, c=C):
    """Mass, compliance, loss and force factor, SI."""
    if "mms" in driver:
        return driver["mms"], driver["cms"], driver["rms"], driver["bl"]
    ws = 2 * math.pi * driver["fs"]
    cms = driver["vas"] / (rho * c * c * driver["sd"] ** 2)
    mms = 1 / (ws * ws * cms)
    return mms, cms, ws * mms / driver["qms"], math.sqrt(ws * mms * driver["re"] / driver["qes"])


def parallel_circuit(driver):
    """The mechanics seen from the terminals: resistance, capacitance, inductance in parallel."""
    if "mms" in driver:
        bl2 = driver["bl"] ** 2
        return bl2 / driver["rms"], driver["mms"] / bl2, driver["cms"] * bl2
    ws, re = 2 * math.pi * driver["fs"], driver["re"]
    qms, qes = driver["qms"], driver["qes"]
    return re * qms / qes, qes / (ws * re), re / (ws * qes)


def coil_impedance(driver, w):
    """Of the coil beyond its resistance, at the angular frequencies `w`."""
    if "le" in driver:
        return 1j * w * driver["le"]
    if "k" in driver:
        return driver["k"] * w ** driver["n"] * np.exp(0.5j * math.pi * driver["n"])
    return np.zeros_like(w, dtype=complex)


def impedance(driver, w):
    """Of the whole driver in free air, ohm."""
    res, cmes, lces = parallel_circuit(driver)
    motion = 1 / (1 / res + 1j * w * cmes + 1 / (1j * w * lces))
    return driver["re"] + coil_impedance(driver, w) + motion
