"""Random catalogues: the statistics of `boxworth compute` against libraries from outside.

Each catalogue is asked everything: prices, index, value for money, frontier, stability of the
ranking, shares, quantiles, shifts, associations. Where two libraries have an answer, they must
agree before it is taken.
"""

import importlib.metadata

import agreed
import catalogues
import standings_robust
import standings_samples
import standings_value

SEED = 20261125
CATALOGUES = 215


def make(seed):
    """Named catalogues."""
    return [(it.name, it) for it in catalogues.make(seed, CATALOGUES)]


def tools():
    """The libraries and their versions."""
    names = ("numpy", "scipy", "statsmodels", "scikit-learn", "pymcdm", "cpi")
    return {name: importlib.metadata.version(name) for name in names}


if __name__ == "__main__":
    agreed.main(
        agreed.Family(
            "standings",
            "random catalogues of 2 to 60 products: prices, index, value, robustness, samples",
            tools,
            SEED,
            make,
            {
                **standings_value.QUESTIONS,
                **standings_robust.QUESTIONS,
                **standings_samples.QUESTIONS,
            },
        )
    )
