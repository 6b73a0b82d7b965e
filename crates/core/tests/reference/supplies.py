"""Reference values for the supplies before a birth: closed forms, conjugate updates, ranks.

    .venv/bin/pip install -r scripts/requirements.txt
    .venv/bin/python crates/core/tests/reference/supplies.py supplies.json

Everything is written down once more from the description of the model, with scipy's own
distributions and quadrature; nothing is taken from our own code.
"""

import json
import sys

import numpy as np
from scipy import integrate, stats

PUPS = np.arange(1, 26)


def sizes(mean, sd):
    cut = stats.norm(mean, sd)
    chances = cut.cdf(PUPS + 0.5) - cut.cdf(PUPS - 0.5)
    return chances / chances.sum()


def moments(chances):
    mean = float((chances * PUPS).sum())
    return mean, float(np.sqrt((chances * PUPS**2).sum() - mean**2))


def thinned(chances, kept_mean, kept_square):
    """Mean and SD of a binomial of n pups, each kept with a chance that is one for the litter."""
    n, n2 = float((chances * PUPS).sum()), float((chances * PUPS**2).sum())
    variance = n * (kept_mean - kept_square) + n2 * kept_square - (n * kept_mean) ** 2
    return n * kept_mean, float(np.sqrt(variance))


def litters(mean, sd, stillborn, dies, concentration):
    chances = sizes(mean, sd)
    lost = stillborn + (1 - stillborn) * dies
    risk = stats.beta(lost * concentration, (1 - lost) * concentration)
    risk_mean, risk_square = risk.moment(1), risk.moment(2)

    def without(part):
        return thinned(chances, 1 - part * risk_mean, 1 - 2 * part * risk_mean + part**2 * risk_square)

    none_lost = float((chances * stats.betabinom.pmf(0, PUPS, *risk.args)).sum())
    return {
        "mean": mean, "sd": sd, "stillborn": stillborn, "dies": dies, "concentration": concentration,
        "born": moments(chances), "live": without(stillborn / lost), "raised": without(1.0),
        "litters_that_lose": 1 - none_lost,
    }


def topped_up(mean, sd, rate, concentration):
    share = stats.beta(rate * concentration, (1 - rate) * concentration)
    pups = thinned(sizes(mean, sd), share.moment(1), share.moment(2))
    nobody = float((sizes(mean, sd) * stats.betabinom.pmf(0, PUPS, *share.args)).sum())
    return {"mean": mean, "sd": sd, "rate": rate, "concentration": concentration, "by_hand": pups, "nobody": nobody}


def energy(day):
    """kcal per g: 15, 20, then 22 per 100 g, from days 0, 3 and 6 on."""
    return (0.15 if day < 3 else 0.20 if day < 6 else 0.22)


def gain(rank, day):
    low, usual, high = (5, 8, 10) if day < 7 else (3.5, 5, 6)
    return stats.triang((usual - low) / (high - low), low, high - low).ppf(rank) / 100


def mean_multiples(days=35):
    """Mean weight on each day over the birth weight, over all ranks of growth."""
    rank = np.polynomial.legendre.leggauss(40)
    nodes, weights = (rank[0] + 1) / 2, rank[1] / 2
    weight = np.ones_like(nodes)
    result = []
    for day in range(days):
        result.append(float((weights * weight).sum()))
        weight = weight * (1 + gain(nodes, day))
    return result


MULTIPLES = mean_multiples()


def thrown(low, high):
    return 1.0 if high == 0 else float((np.log(1 - low) - np.log(1 - high)) / (high - low))


def orphans(mean, sd, birth_g, kcal_per_ml, until, waste):
    """Wald: pups times what one pup takes."""
    kcal = sum(energy(day) * MULTIPLES[day] for day in range(until)) * birth_g
    per_pup = kcal / kcal_per_ml * thrown(*waste)
    return {
        "mean": mean, "sd": sd, "birth_g": birth_g, "kcal_per_ml": kcal_per_ml, "until": until, "waste": waste,
        "ml": moments(sizes(mean, sd))[0] * per_pup,
    }


def course(mean, sd, birth_g, rate, share, latest, lasts):
    """Start uniform, length gamma of shape 2, cut at day 35; every day by the chance of being in it."""
    length = stats.gamma(2, scale=lasts / 2)

    def fed(day):
        inside = lambda start: length.sf(day - start)
        return integrate.quad(inside, 0, min(day, latest))[0] / latest

    ml = sum(energy(d) * MULTIPLES[d] * integrate.quad(fed, d, d + 1, limit=200)[0] for d in range(35)) * birth_g * share
    return {
        "mean": mean, "sd": sd, "birth_g": birth_g, "rate": rate, "share": share, "latest": latest, "lasts": lasts,
        "ml": moments(sizes(mean, sd))[0] * rate * ml,
    }


def own_sizes(mean, sd, weight, seen):
    """The posterior of a household's mean size on a fine grid, and the SD of its next litter."""
    within = sd * np.sqrt(weight / (weight + 1))
    between = within / np.sqrt(weight)
    grid = np.linspace(mean - 10 * between - 5, mean + 10 * between + 5, 200001)
    log = stats.norm.logpdf(grid, mean, between) + sum(stats.norm.logpdf(n, grid, within) for n in seen)
    density = np.exp(log - log.max())
    density /= density.sum()
    after = float((density * grid).sum())
    variance = float((density * (grid - after) ** 2).sum())
    return {
        "mean": mean, "sd": sd, "weight": weight, "seen": seen,
        "after": after, "next_sd": float(np.sqrt(variance + within**2)),
    }


def own_rate(mean, weight, cases, of):
    """The chance that the next one is a case: betabinom of one trial after the update by quadrature."""
    prior = stats.beta(mean * weight, (1 - mean) * weight)
    joint = lambda p: prior.pdf(p) * stats.binom.pmf(cases, of, p)
    knots = [0, mean / 4, mean, min(4 * mean, 0.9), 1]
    whole = lambda f: sum(integrate.quad(f, a, b, epsabs=1e-14, limit=400)[0] for a, b in zip(knots[:-1], knots[1:]))
    return {"mean": mean, "weight": weight, "cases": cases, "of": of, "after": whole(lambda p: p * joint(p)) / whole(joint)}


def rank(p, n):
    low, high = int(stats.binom.ppf(0.025, n, p)), int(stats.binom.ppf(0.975, n, p)) + 1
    # The true quantile lies between the draws of these ranks.
    covered = stats.binom.cdf(high - 1, n, p) - stats.binom.cdf(low - 1, n, p)
    draws = np.arange(1, n + 1)
    value = int(np.quantile(draws, p, method="inverted_cdf"))
    return {"p": p, "n": n, "ranks": [value, low, high], "covered": float(covered)}


def main():
    result = {
        "litters": [litters(7.8, 2.7, 0.043, 0.062, 3.316), litters(3.5, 1.19, 0.043, 0.157, 3.316), litters(5.4, 2.8, 0.043, 0.038662, 3.316)],
        "topped_up": [topped_up(5.0, 1.5, 1 / 3, 6.0), topped_up(4.0, 1.2, 0.1, 20.0)],
        "orphans": [orphans(5.0, 1.5, 400.0, 1.0, 35, (0.0, 0.0)), orphans(7.8, 2.7, 409.9, 1.2, 28, (0.05, 0.20))],
        "course": [course(5.0, 1.5, 400.0, 0.4, 0.5, 3.0, 12.0), course(4.0, 1.2, 160.0, 0.25, 0.7, 6.0, 20.0)],
        "own_sizes": [own_sizes(7.8, 2.7, 4.0, [5, 6, 9]), own_sizes(3.5, 1.19, 4.0, [2]), own_sizes(5.4, 2.8, 4.0, [4, 4, 5, 3, 6, 4])],
        "own_rates": [own_rate(0.043, 50.0, 3, 22), own_rate(1 / 3, 30.0, 0, 18), own_rate(0.015, 60.0, 1, 4), own_rate(0.1, 10.0, 7, 9)],
        "ranks": [rank(p, n) for p in (0.5, 0.8, 0.95) for n in (1000, 20000)] + [rank(0.95, 101), rank(0.5, 7)],
    }
    with open(sys.argv[1], "w") as out:
        json.dump(result, out, indent=1)
        out.write("\n")


main()
