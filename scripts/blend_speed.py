"""Time of the blend and of its LP against scipy's HiGHS on the same stored problems.

    .venv/bin/python scripts/blend_speed.py

Builds and runs `cargo bench -p whelpward --bench blend`, then solves the same problems
with scipy.optimize.linprog (matrices built beforehand), both medians of 11 rounds, one after
the other in one run on one core.
"""

import json
import pathlib
import statistics
import subprocess
import time

import numpy as np
from scipy.optimize import linprog

ROOT = pathlib.Path(__file__).resolve().parent.parent


def matrices(p):
    n, k, s = p["foods"], len(p["goals"]), p["spread"]
    columns = n + 2 * k + 1
    cost, a_eq, b_eq, a_ub, b_ub = np.zeros(columns), [], [], [], []
    row = np.zeros(columns)
    row[:n] = 1
    a_eq.append(row)
    b_eq.append(100.0)
    for i, g in enumerate(p["goals"]):
        row = np.zeros(columns)
        row[:n], row[n + 2 * i], row[n + 2 * i + 1] = g["gives"], 1, -1
        a_eq.append(row)
        b_eq.append(1.0)
        row = np.zeros(columns)
        row[n + 2 * i], row[n + 2 * i + 1], row[-1] = g["under"], g["over"], -1
        a_ub.append(row)
        b_ub.append(0.0)
        cost[n + 2 * i], cost[n + 2 * i + 1] = (1 - s) * g["under"], (1 - s) * g["over"]
    cost[-1] = s
    for l in p["limits"]:
        row = np.zeros(columns)
        row[:n] = l["takes"]
        a_ub.append(row)
        b_ub.append(l["most"])
    return cost, np.array(a_ub), np.array(b_ub), np.array(a_eq), np.array(b_eq)


def main():
    out = subprocess.run(["cargo", "bench", "--quiet", "-p", "whelpward", "--bench", "blend"], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    ours = json.loads(out.strip().splitlines()[-1])
    stored = json.load(open(ROOT / "crates/core/tests/reference/blend_lp.json"))
    problems = [matrices(p) for p in stored["problems"] if p["kind"] == "foods"]
    assert len(problems) == ours["problems"]
    rounds = []
    for _ in range(11):
        start = time.perf_counter()
        for cost, a_ub, b_ub, a_eq, b_eq in problems:
            linprog(cost, a_ub, b_ub, a_eq, b_eq, method="highs")
        rounds.append((time.perf_counter() - start) * 1e6)
    theirs = statistics.median(rounds)
    for name, value in ours.items():
        print(f"{name}: {value:.1f}" if isinstance(value, float) else f"{name}: {value}")
    print(f"scipy_highs_all_problems_us: {theirs:.1f}")
    print(f"scipy over ours, the same {len(problems)} problems: {theirs / ours['all_problems_us']:.1f}")


main()
