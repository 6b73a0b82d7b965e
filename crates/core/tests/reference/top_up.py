"""Reference values for the top-up of a pup whose dam's share is estimated, by quadrature.

    .venv/bin/pip install -r scripts/requirements.txt
    .venv/bin/python crates/core/tests/reference/top_up.py top_up.json

What is open beside the dam: the energy of upkeep and of the published usual gain, less the quantile of the
energy in her milk that is reached with a chance of 60 %. The model is written down here once more from the
published values (feeding handbook and growth handbook); nothing is taken from our own code. The pup is
weighed daily, so its gain and the SD of it are given.
"""

import json
import pathlib
import sys

import numpy as np
from scipy import integrate, optimize

KCAL_PER_G = (7.53 * 4 + 9.47 * 9 + 3.81 * 4) / 100  # mature bitch's milk, Oftedal 1984
Z, RULE = np.polynomial.hermite_e.hermegauss(40)
RULE = RULE / RULE.sum()


def normal(x, mean, sd):
    return np.exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * np.sqrt(2 * np.pi))


def between(days, young, grown):
    return young + min(days / 21.0, 1.0) * (grown - young)


def open_energy(days, kg, gain, by_hand, nursed):
    grams = kg * 1000
    upkeep, cost = between(days, 90.0, 118.0), between(days, 1.8, 2.7)
    usual_gain = grams * (0.08 if days < 7 else 0.05)
    wanted = upkeep * kg**0.75 + cost * usual_gain
    most = 0.6 * grams
    c = cost * np.exp(0.25 * Z)[:, None]
    e = KCAL_PER_G * np.exp(0.085 * Z)
    f = (12.0 if days < 7 else 8.0 if days < 14 else 6.0) * np.exp(0.25 * Z)
    evaporated, soil = 2.0 * kg * 25 / 60, 0.01 * grams
    scale = np.sqrt(2 * (0.8**2 + 1.0 / 12))

    def density(n, strength):
        """Of the milk n at one strength, without the constant."""
        mean = (strength * n + by_hand - upkeep * kg**0.75) / c[:, 0]
        sd = np.hypot(gain[1], 18.0 * kg**0.75 / c[:, 0])
        grown = float(RULE @ normal(gain[0], mean, sd))
        weighed = 1.0
        if nursed:
            usual = n / f
            sd = np.hypot(scale, 0.4 * usual)
            each = [0.9 * normal(s, usual - evaporated, sd) + 0.1 * normal(s, usual - evaporated - soil, np.hypot(sd, soil))
                    for s in nursed]
            weighed = float(RULE @ np.prod(each, axis=0))
        return normal(n, 0.15 * grams, 0.08 * grams) * grown * weighed * 1e3

    def below(kcal, strength):
        """Weight of the milk that holds at most so many kcal."""
        end = min(kcal / strength, most)
        knots = np.linspace(0, end, 5)
        return sum(integrate.quad(density, a, b, args=(strength,), epsabs=1e-12, epsrel=1e-6)[0] for a, b in zip(knots[:-1], knots[1:]))

    total = sum(w * below(most * s, s) for s, w in zip(e, RULE))
    share = lambda kcal: sum(w * below(kcal, s) for s, w in zip(e, RULE) if w > 1e-12) / total
    from_dam = optimize.brentq(lambda k: share(k) - 0.4, 0.1, most * KCAL_PER_G, xtol=1e-3)
    return dict(days=days, kg=kg, gain=gain, by_hand=by_hand, nursed=nursed, wanted=wanted, from_dam=from_dam,
                open=max(0.0, wanted - from_dam))


def main():
    cases = [
        open_energy(5.0, 0.280, (6.0, 4.0), 0.0, []),
        open_energy(5.0, 0.280, (6.0, 4.0), 20.0, []),
        open_energy(9.0, 0.420, (8.0, 5.0), 30.0, [3.0, 5.0, 4.0, 2.0]),
        open_energy(16.0, 0.700, (25.0, 6.0), 40.0, [9.0, 12.0, 7.0, 10.0, 11.0]),
    ]
    pathlib.Path(sys.argv[1]).write_text(json.dumps(cases, indent=1) + "\n")


if __name__ == "__main__":
    main()
