"""Blend programmes with their optima by scipy's HiGHS, for tests/blend_reference.rs.

    python3 -m venv VENV && VENV/bin/pip install scipy==1.17.1
    VENV/bin/python crates/core/tests/reference/blend_lp.py OUTPUT.json

The same seed gives the same problems. scipy knows nothing of our code: it gets the same
matrices and answers with its own optimum, which the Rust test must reach to 1e-6. For small
infeasible problems every minimal set of conflicting limits is enumerated; for small problems
with at most N foods every choice of foods is solved; whole steps, and whole steps of at most N
foods, are solved by scipy's milp (HiGHS) to a gap of zero. The dual of each limit is HiGHS's own;
its price is the least dual of all optimal ones (another linear programme): what a little more
of the limit gains.
"""

import csv
import itertools
import json
import pathlib
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.stats import norm

SEED = 20261125
HERE = pathlib.Path(__file__).parent
FOODS = [r for r in csv.DictReader(open(HERE / "../../data/foods.csv")) if r["kind"] not in ("raw_egg",)]
NUTRIENTS = ["protein_g", "fat_g", "lactose_g", "calcium_mg", "phosphorus_mg"]
TARGET = [7.53, 9.47, 3.81, 169.0, 106.0]
WHOLE = 100.0


def tidy(values):
    """Numbers that read back the same from the text."""
    return [float(f"{v:.9g}") for v in values]


def matrices(problem, limits=None):
    """The programme: amounts, a miss below and above for each goal, the worst miss."""
    n, goals, spread = problem["foods"], problem["goals"], problem["spread"]
    limits = problem["limits"] if limits is None else limits
    k = len(goals)
    columns = n + 2 * k + 1
    cost = np.zeros(columns)
    a_eq, b_eq, a_ub, b_ub = [], [], [], []
    row = np.zeros(columns)
    row[:n] = 1
    a_eq.append(row)
    b_eq.append(WHOLE)
    for i, goal in enumerate(goals):
        row = np.zeros(columns)
        row[:n] = goal["gives"]
        row[n + 2 * i], row[n + 2 * i + 1] = 1, -1
        a_eq.append(row)
        b_eq.append(1.0)
        cost[n + 2 * i], cost[n + 2 * i + 1] = (1 - spread) * goal["under"], (1 - spread) * goal["over"]
        row = np.zeros(columns)
        row[n + 2 * i], row[n + 2 * i + 1], row[-1] = goal["under"], goal["over"], -1
        a_ub.append(row)
        b_ub.append(0.0)
    cost[-1] = spread
    for limit in limits:
        row = np.zeros(columns)
        row[:n] = limit["takes"]
        a_ub.append(row)
        b_ub.append(limit["most"])
    return cost, np.array(a_ub), np.array(b_ub), np.array(a_eq), np.array(b_eq)


EXACT = {"primal_feasibility_tolerance": 1e-9, "dual_feasibility_tolerance": 1e-9}


def solve(problem, limits=None, foods=None, feasibility_only=False):
    """The optimum of a problem, or None where there is none."""
    n = problem["foods"]
    cost, a_ub, b_ub, a_eq, b_eq = matrices(problem, limits)
    bounds = [(0, None if foods is None or j in foods else 0) for j in range(n)] + [(0, None)] * (len(cost) - n)
    if feasibility_only:
        cost[:] = 0
    answer = linprog(cost, a_ub, b_ub, a_eq, b_eq, bounds, method="highs", options=EXACT)
    if answer.status == 2:
        return None
    assert answer.status == 0, answer.message
    return answer


def least_duals(problem, optimum):
    """Of each limit, the least dual among all optimal ones."""
    cost, a_ub, b_ub, a_eq, b_eq = matrices(problem)
    k = len(problem["goals"])
    # Duals: free of the equations, at least 0 of the others; their value is the optimum.
    a = np.vstack([np.hstack([a_eq.T, -a_ub.T]), np.hstack([-b_eq, b_ub])])
    b = np.append(cost, -optimum + 1e-10)
    bounds = [(None, None)] * len(b_eq) + [(0, None)] * len(b_ub)
    least = []
    for i in range(len(problem["limits"])):
        aim = np.zeros(a.shape[1])
        aim[len(b_eq) + k + i] = 1
        answer = linprog(aim, a, b, None, None, bounds, method="highs", options=EXACT)
        assert answer.status == 0, answer.message
        least.append(float(answer.fun))
    return least


def whole_steps(problem):
    """The optimum in whole steps, and of at most N foods where that is asked for."""
    n, steps = problem["foods"], problem["steps"]
    step = WHOLE / steps
    cost, a_ub, b_ub, a_eq, b_eq = matrices(problem)
    for matrix in (a_ub, a_eq):
        matrix[:, :n] *= step
    most = problem.get("at_most")
    chosen = 0 if most is None else n
    wide = lambda m: np.hstack([m, np.zeros((len(m), chosen))])
    constraints = [LinearConstraint(wide(a_ub), -np.inf, b_ub), LinearConstraint(wide(a_eq), b_eq, b_eq)]
    if chosen:
        uses = np.zeros((n + 1, len(cost) + n))
        uses[:n, :n], uses[:n, len(cost):] = np.eye(n), -steps * np.eye(n)
        uses[n, len(cost):] = 1
        constraints.append(LinearConstraint(uses, -np.inf, np.append(np.zeros(n), most)))
    upper = np.concatenate([np.full(n, steps), np.full(len(cost) - n, np.inf), np.ones(chosen)])
    kind = np.concatenate([np.ones(n), np.zeros(len(cost) - n), np.ones(chosen)])
    answer = milp(np.append(cost, np.zeros(chosen)), integrality=kind, bounds=Bounds(0, upper), constraints=constraints,
                  options={"mip_rel_gap": 0, "time_limit": 60})
    if answer.status == 2:
        return None
    assert answer.status == 0, answer.message
    return float(answer.fun)


def of_foods(rows, rng):
    matrix = np.array([[float(r[c] or 0) for c in NUTRIENTS] for r in rows])
    dry = np.array([100 - float(r["water_g"]) for r in rows])
    target = np.array(TARGET) * rng.uniform(0.85, 1.15, 5)
    weights = rng.choice([0.25, 0.5, 1.0, 1.5], (5, 2))
    goals = [{"gives": tidy(matrix[:, i] / WHOLE / target[i]), "under": float(weights[i, 0]), "over": float(weights[i, 1])} for i in range(5)]
    limits = []
    add = lambda takes, most: limits.append({"takes": tidy(takes), "most": float(f"{most:.9g}")})
    add(matrix[:, 2] / WHOLE, target[2] * rng.uniform(1.0, 1.3))
    add(dry / WHOLE, rng.uniform(20, 28))
    add(1.2 * matrix[:, 4] / WHOLE - matrix[:, 3] / WHOLE, 0.0)
    add(matrix[:, 3] / WHOLE - 2.0 * matrix[:, 4] / WHOLE, 0.0)
    for j in range(len(rows)):
        if rng.random() < 0.3:
            takes = np.zeros(len(rows))
            takes[j] = 1
            add(takes, float(rng.choice([2, 5, 12, 15, 40])))
    return {"foods": len(rows), "goals": goals, "limits": limits, "spread": float(rng.choice([0, 0.25, 0.5, 0.75, 1]))}


def abstract(rng):
    n, k, m = int(rng.integers(2, 12)), int(rng.integers(1, 7)), int(rng.integers(0, 6))
    goals = [{"gives": tidy(rng.uniform(0, 0.05, n) * (rng.random(n) < 0.7)), "under": float(rng.choice([0, 0.5, 1, 2])), "over": float(rng.choice([0, 0.5, 1, 2]))} for _ in range(k)]
    limits = [{"takes": tidy(rng.uniform(-0.5, 1, n)), "most": float(f"{rng.uniform(-10, 60):.9g}")} for _ in range(m)]
    return {"foods": n, "goals": goals, "limits": limits, "spread": float(rng.choice([0, 0.3, 0.5, 1]))}


def degenerate(rng):
    """Twins among foods, limits said twice, limits that only touch, targets met exactly."""
    rows = [FOODS[i] for i in rng.choice(len(FOODS), 6, replace=False)]
    problem = of_foods(rows + rows[:3], rng)
    problem["limits"] += [dict(l) for l in problem["limits"][:3]]
    met = rng.dirichlet(np.ones(9)) * WHOLE
    for goal in problem["goals"]:
        scale = float(np.dot(goal["gives"], met))
        if scale > 1e-9:
            goal["gives"] = tidy(np.array(goal["gives"]) / scale)
    takes = rng.uniform(0, 1, 9)
    problem["limits"].append({"takes": tidy(takes), "most": float(f"{np.dot(takes, met):.9g}")})
    return problem


def infeasible(rng):
    """At most 7 limits, so that all their subsets can be tried."""
    while True:
        n = int(rng.integers(3, 8))
        problem = abstract(rng)
        problem["foods"] = n
        for goal in problem["goals"]:
            goal["gives"] = tidy(rng.uniform(0, 0.05, n))
        problem["limits"] = [{"takes": tidy(rng.uniform(-0.3, 1, n)), "most": float(f"{rng.uniform(-5, 45):.9g}")} for _ in range(int(rng.integers(2, 7)))]
        if solve(problem, feasibility_only=True) is None:
            break
    indices = range(len(problem["limits"]))
    minimal = []
    for size in range(1, len(problem["limits"]) + 1):
        for chosen in itertools.combinations(indices, size):
            if any(set(m) <= set(chosen) for m in minimal):
                continue
            if solve(problem, [problem["limits"][i] for i in chosen], feasibility_only=True) is None:
                minimal.append(chosen)
    problem["conflicts"] = [list(m) for m in minimal]
    return problem


def finish(kind, problem):
    problem["kind"] = kind
    answer = solve(problem)
    problem["optimum"] = None if answer is None else float(answer.fun)
    if answer is None:
        return problem
    k = len(problem["goals"])
    problem["duals"] = [float(-m) for m in answer.ineqlin.marginals[k:]]
    problem["prices"] = least_duals(problem, float(answer.fun))
    return problem


def in_whole_steps(rng, most):
    """4 to 8 foods with their limits, some at odds, in 20 to 400 steps."""
    rows = [FOODS[i] for i in rng.choice(len(FOODS), int(rng.integers(4, 9)), replace=False)]
    problem = of_foods(rows, rng)
    if rng.random() < 0.3:
        takes = np.zeros(len(rows))
        takes[int(rng.integers(len(rows)))] = -1
        problem["limits"].append({"takes": tidy(takes), "most": float(-rng.choice([5, 15, 40]))})
    problem["steps"] = int(rng.choice([20, 41, 83, 104, 207, 400]))
    if most:
        problem["at_most"] = int(rng.integers(2, 5))
    problem.update(kind="whole steps", optimum=whole_steps(problem))
    return problem


def at_most(rng):
    rows = [FOODS[i] for i in rng.choice(len(FOODS), 8, replace=False)]
    problem = of_foods(rows, rng)
    most = int(rng.integers(2, 5))
    best = None
    for chosen in itertools.combinations(range(8), most):
        answer = solve(problem, foods=set(chosen))
        if answer is not None and (best is None or answer.fun < best):
            best = float(answer.fun)
    problem.update(kind="at most", at_most=most, optimum=best)
    return problem


def chances():
    """P(limit holds) when each figure of each food is normal about its mean: a normal law again."""
    rng = np.random.default_rng(SEED + 1)
    cases = []
    for _ in range(20):
        n = int(rng.integers(3, 8))
        x = rng.dirichlet(np.ones(n)) * WHOLE
        takes = rng.uniform(0.2, 3, n)
        mean = float(np.dot(takes, x))
        deviation = float(np.sqrt(np.sum((0.1 * takes * x) ** 2)))
        most = mean + deviation * rng.uniform(-1.5, 2.5)
        cases.append({"grams": tidy(x), "takes": tidy(takes), "most": float(f"{most:.9g}"), "spread": 0.1,
                      "chance": float(norm.cdf((most - mean) / deviation))})
    return cases


def main():
    rng = np.random.default_rng(SEED)
    problems = []
    for _ in range(250):
        rows = [FOODS[i] for i in rng.choice(len(FOODS), int(rng.integers(3, 26)), replace=False)]
        problems.append(finish("foods", of_foods(rows, rng)))
    for _ in range(250):
        problems.append(finish("abstract", abstract(rng)))
    for _ in range(60):
        problems.append(finish("degenerate", degenerate(rng)))
    for _ in range(60):
        problems.append(finish("infeasible", infeasible(rng)))
    for _ in range(25):
        problems.append(at_most(rng))
    for i in range(120):
        problems.append(in_whole_steps(rng, i % 2))
    with open(sys.argv[1], "w") as out:
        json.dump({"seed": SEED, "problems": problems, "chances": chances()}, out, separators=(",", ":"))
        out.write("\n")
    counts = {}
    for p in problems:
        key = (p["kind"], "infeasible" if p["optimum"] is None else "optimum")
        counts[key] = counts.get(key, 0) + 1
    print(counts)


main()
