"""The sweep of `peer_sweep.json` fitted by scipy `least_squares`: how long it takes.

Prints one JSON object with the microseconds (median) and parameters of each algorithm. The residual
is the relative magnitude, no Jacobian is given, tolerances are scipy's own, and there is a single
start; the program that is compared starts several times and works out the uncertainties too.
"""

import json
import os

from scipy.optimize import least_squares

import peer_network
import sweeps

HERE = os.path.dirname(os.path.abspath(__file__))


def main():
    with open(os.path.join(HERE, "peer_sweep.json"), encoding="ascii") as file:
        fit = sweeps.Fit(json.load(file))
    start = fit.start(0.7)
    answer = {}
    for method in ("lm", "trf"):

        def work(method=method):
            return least_squares(fit.residual, start, method=method, x_scale="jac")

        found = fit.parameters(work().x)
        answer[method] = {
            "microseconds": peer_network.median_us(work, 21),
            **dict(zip(sweeps.PARAMETERS, (float(v) for v in found))),
        }
    print(json.dumps(answer))


if __name__ == "__main__":
    main()
