"""Outside check of the trend: Theil-Sen slopes and their 90 % intervals by SciPy.

Usage: theil_sen.py OUTPUT.csv

SciPy's implementation is independent of ours (its authors cite Sen 1968 as we do). The output
is deterministic: the seeds are fixed, and numbers are printed so that they read back exactly.
"""

import csv
import math
import sys

import numpy as np
from scipy.stats import theilslopes

CONFIDENCE = 0.90


def growing(seed, count, noise, step):
    """Log weights of a pup of 300 g that gains 6 % a day, at uneven times, in steps of a scale."""
    rng = np.random.default_rng(seed)
    days = np.sort(rng.uniform(-3.0, 0.0, count)).round(4)
    grams = 300.0 * np.exp(0.06 * (days + 3.0) + rng.normal(0.0, noise, count))
    grams = np.maximum(step, np.round(grams / step) * step)
    return days.tolist(), [math.log(g) for g in grams.tolist()]


def series():
    """Name, x and y of every series."""
    for seed, count in ((1, 4), (2, 5), (3, 7), (4, 12), (5, 30)):
        yield (f"growing_{count}", *growing(seed, count, 0.016, 1.0))
    # A coarse scale gives many equal weights.
    yield ("ties_in_y", *growing(6, 14, 0.016, 25.0))
    # Weighed twice at the same time.
    days, logs = growing(7, 10, 0.016, 1.0)
    days = [round(d * 2.0) / 2.0 for d in days]
    yield ("ties_in_x", days, logs)
    days, logs = growing(8, 12, 0.02, 25.0)
    yield ("ties_in_both", [round(d * 2.0) / 2.0 for d in days], logs)
    yield ("no_growth", [-3.0, -2.0, -1.0, 0.0], [5.0, 5.0, 5.0, 5.0])
    # One slip of the finger among good readings.
    days, logs = growing(9, 9, 0.01, 1.0)
    logs[4] += math.log(10.0)
    yield ("one_outlier", days, logs)
    days, logs = growing(10, 8, 0.016, 1.0)
    yield ("falling", days, logs[::-1])


def main(path):
    with open(path, "w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["series", "x", "y", "slope", "low", "high"])
        for name, x, y in series():
            slope, _, low, high = (float(v) for v in theilslopes(y, x, alpha=CONFIDENCE))
            for a, b in zip(x, y):
                out.writerow([name, repr(float(a)), repr(float(b)), repr(slope), repr(low), repr(high)])


if __name__ == "__main__":
    main(sys.argv[1])
