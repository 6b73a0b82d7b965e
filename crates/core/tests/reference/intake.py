"""Reference values for the milk a pup gets from its dam, by quadrature.

    .venv/bin/pip install -r scripts/requirements.txt
    .venv/bin/python crates/core/tests/reference/intake.py intake.json

The model is written down once more as densities. The milk is integrated adaptively by
`scipy.integrate.quad`, each log-normal factor by numpy's Gauss-Hermite rule of 80 nodes; the first
case, which has two dimensions, is checked here against `scipy.integrate.dblquad`. Nothing is taken
from our own code.
"""

import json
import pathlib
import sys

import numpy as np
from scipy import integrate, optimize, stats

UPKEEP = (90.0, 18.0)
WEIGHT = 0.3


def normal(x, mean, sd):
    return np.exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * np.sqrt(2 * np.pi))


def growth(n, c, e, gain, by_hand):
    """Density of the gain; the upkeep is integrated out, because all is normal in it."""
    metabolic = WEIGHT**0.75
    mean = (e * n + by_hand - UPKEEP[0] * metabolic) / c
    return normal(gain[0], mean, np.hypot(gain[1], UPKEEP[1] * metabolic / c))


def weighing(n, f, seen, spread, evaporated, soiled, scale):
    usual = n / f
    sd = np.hypot(scale, spread * usual)
    clean = normal(seen, usual - evaporated, sd)
    dirty = normal(seen, usual - evaporated - soiled[1], np.hypot(sd, soiled[1]))
    return np.prod((1 - soiled[0]) * clean + soiled[0] * dirty, axis=0)


def summary(density, most):
    """Mean, SD and quantiles of an unnormalised density on [0, most]."""
    area = lambda g, a, b: integrate.quad(g, a, b, epsabs=1e-12, epsrel=1e-7, limit=200)[0]
    knots = np.linspace(0, most, 9)
    whole = lambda g: sum(area(g, a, b) for a, b in zip(knots[:-1], knots[1:]))
    total = whole(density)
    mean = whole(lambda n: n * density(n)) / total
    var = whole(lambda n: (n - mean) ** 2 * density(n)) / total
    cdf = lambda x: area(density, 0, x) / total
    quantiles = [optimize.brentq(lambda x, p=p: cdf(x) - p, 1e-6, most - 1e-6, xtol=1e-5) for p in (0.05, 0.5, 0.95)]
    return dict(mean=mean, sd=float(np.sqrt(var)), quantiles=quantiles)


Z, RULE = np.polynomial.hermite_e.hermegauss(80)
RULE = RULE / RULE.sum()


def factor(median_and_log_sd):
    """Values and weights of a log-normal factor; one value when it is certain."""
    median, log_sd = median_and_log_sd
    return (median * np.exp(log_sd * Z), RULE) if log_sd > 0 else (np.array([median]), np.array([1.0]))


def case(name, milk, most, cost, strength, nursings, gain, by_hand, nursed, scale=1.2):
    spread, evaporated, soiled = 0.4, 0.25, (0.1, 3.0)
    prior = lambda n: normal(n, *milk)

    (c, wc), (e, we), (f, wf) = factor(cost), factor(strength), factor(nursings)

    def of_growth(n):
        if gain is None:
            return 1.0
        return float(wc @ growth(n, c[:, None], e[None, :], gain, by_hand) @ we)

    def of_weighing(n):
        if not nursed:
            return 1.0
        return float(wf @ weighing(n, f[None, :], np.array(nursed)[:, None], spread, evaporated, soiled, scale))

    density = lambda n: prior(n) * of_growth(n) * of_weighing(n) * 1e3
    return dict(name=name, milk=milk, most=most, cost=cost, strength=strength, nursings=nursings, gain=gain,
                by_hand=by_hand, nursed=nursed, upkeep=UPKEEP, weight_kg=WEIGHT, spread=spread,
                evaporated=evaporated, soiled=soiled, scale=scale, **summary(density, most))


def check_first(case):
    """The first case once more, as one double integral over the milk and the cost."""
    median, log_sd = case["cost"]
    def joint(c, n):
        return (normal(n, *case["milk"]) * stats.lognorm.pdf(c, log_sd, scale=median)
                * growth(n, c, case["strength"][0], case["gain"], case["by_hand"]))
    low, high = median * np.exp(-6 * log_sd), median * np.exp(6 * log_sd)
    area = lambda g: integrate.dblquad(g, 0, case["most"], low, high, epsabs=1e-12, epsrel=1e-8)[0]
    mean = area(lambda c, n: n * joint(c, n)) / area(joint)
    assert abs(mean - case["mean"]) < 1e-4, (mean, case["mean"])


def main():
    milk, most = (45.0, 24.0), 180.0
    cost, strength, nursings = (1.8, 0.25), (1.3059, 0.0), (10.0, 0.25)
    gain, few, many = (18.0, 4.0), [4.0, 6.0, 3.0, 5.0], [4.0, 6.0, 3.0, 5.0, 7.0, 1.0, 5.0, 4.0]
    cases = [
        case("milk and cost", milk, most, cost, strength, nursings, gain, 15.0, []),
        case("milk and nursings", milk, most, cost, strength, nursings, None, 0.0, few),
        case("both, four weighed", milk, most, cost, strength, nursings, gain, 15.0, few),
        case("both, eight weighed, one soiled", milk, most, cost, strength, nursings, gain, 15.0, many),
        case("a loss, little milk", milk, most, cost, strength, nursings, (-12.0, 5.0), 10.0, [0.0, 1.0]),
        case("milk, cost and strength", milk, most, cost, (1.3059, 0.0855), nursings, gain, 15.0, []),
    ]
    check_first(cases[0])
    pathlib.Path(sys.argv[1]).write_text(json.dumps(cases, indent=1) + "\n")


if __name__ == "__main__":
    main()
