"""The timetable problem of crates/core/src/schedule as a mixed-integer programme, solved by HiGHS.

Written from the formulas of the module documentation, not from its code: a binary for each
slot and staffing, windows for the gaps, a slack for time above the usual gap, and steps for
the wake-ups of each carer.

    timetable_milp.py OUTPUT          writes the instances with the objective of each
    timetable_milp.py --bench FILE    writes the instances of the benchmark
    timetable_milp.py --time FILE     solves the instances of a file and prints the seconds
"""

import itertools
import json
import random
import sys
import time

import highspy

SEED = 20261125
SLOT_S = 900


def instances():
    """Fifty litters: 24 h cyclic and 24 to 48 h on a line, one class or two, with tubes and without."""
    dice = random.Random(SEED)
    made = []
    for number in range(50):
        cyclic = number % 3 == 0
        two = number % 2 == 0
        tubes = number % 5 == 0
        day = dice.choice([24, 32, 48])
        slots = day if cyclic else day * dice.choice([1, 2])
        hour = day // 24 if day != 32 else 1
        slot_s = 86400 // day
        shortest = 2 * hour
        longest = shortest + dice.randint(1, 2) * hour + 1

        def group(shortest, longest):
            oldest = dice.randint(1, longest)
            return {
                "bottle": dice.randint(1, 6),
                "tube": dice.randint(1, 4) if tubes else 0,
                "tube_only": 1 if tubes and dice.random() < 0.3 else 0,
                "shortest": shortest,
                "longest": longest,
                "usual": dice.randint(shortest, longest),
                "excess_price": dice.randint(0, 400),
                "since_oldest": oldest,
                "earliest": dice.randint(0, 2),
            }

        classes = [group(shortest, longest)]
        if two:
            classes.append(group(shortest, longest + dice.randint(1, 3)))
        helpers = []
        for k in range(dice.randint(1, 3)):
            away_from = dice.randint(0, day - 1)
            away_for = dice.randint(0, day // 3) if k else dice.randint(0, day // 8)
            away = {(away_from + i) % day for i in range(away_for)}
            night = set(range(0, day // 4))
            helpers.append(
                {
                    "there": "".join("01"[s % day not in away] for s in range(slots)),
                    "asleep": "".join("01"[s % day in night] for s in range(slots)),
                    "wake_price": dice.randint(600, 4000),
                    "woken_before": dice.randint(0, 2),
                    "may_tube": k == 0 or dice.random() < 0.5,
                    "at_once": dice.choice([1, 1, 2]),
                    "bottle_s": dice.randint(300, 600),
                    "tube_s": dice.randint(30, 60),
                    "round_price": 0,
                }
            )
        made.append(
            {
                "slots": slots,
                "is_cyclic": cyclic,
                "slots_per_day": day,
                "slot_s": slot_s,
                "classes": classes,
                "helpers": helpers,
                "set_up_s": 300,
                "clean_up_s": 300,
                "fairness": dice.choice([0, 900, 1800]),
                "suck_rounds": dice.randint(0, 2),
                "most_rounds": (day // (longest - 1) if cyclic else day // longest + 2) if number % 5 in (1, 2) else None,
                "closed": "".join("01"[dice.random() < 0.02] for _ in range(slots)),
            }
        )
    return made


def bench_instances():
    """Twelve pups, three carers with jobs and sleep, two days of quarters; one class, and two."""
    day, slots = 96, 192

    def hours(*stretches):
        inside = lambda s: any(a <= s % day / 4 < b for a, b in stretches)
        return "".join("01"[inside(s)] for s in range(slots))

    def helper(there, may_tube=False):
        return {
            "there": there,
            "asleep": hours((0, 6), (23, 24)),
            "wake_price": 3600,
            "woken_before": 0,
            "may_tube": may_tube,
            "at_once": 1,
            "bottle_s": 420,
            "tube_s": 30,
            "round_price": 0,
        }

    helpers = [
        helper(hours((0, 8), (17, 24)), True),
        helper(hours((0, 7), (13, 24))),
        helper(hours((6, 14), (18, 23))),
    ]

    def group(pups, longest, usual):
        return {
            "bottle": pups,
            "tube": 0,
            "tube_only": 0,
            "shortest": 8,
            "longest": longest,
            "usual": usual,
            "excess_price": 225 * pups,
            "since_oldest": 4,
            "earliest": 4,
        }

    def problem(classes):
        return {
            "slots": slots,
            "is_cyclic": False,
            "slots_per_day": day,
            "slot_s": 900,
            "classes": classes,
            "helpers": helpers,
            "set_up_s": 300,
            "clean_up_s": 300,
            "fairness": 1800,
            "suck_rounds": 1,
            "most_rounds": None,
            "closed": "0" * slots,
        }

    return [problem([group(12, 16, 12)]), problem([group(4, 12, 12), group(8, 16, 16)])]


def split(bottles, tubes, carers):
    """Soonest over, then least work, over every way to share the pups out by number."""
    best = None

    def go(k, b, t, longest, work):
        nonlocal best
        if k == len(carers):
            if b == 0 and t == 0 and (best is None or (longest, work) < best):
                best = (longest, work)
            return
        c = carers[k]
        for x in range(b + 1):
            for y in range(t + 1):
                if y and not c["may_tube"]:
                    continue
                s = -(-x // c["at_once"]) * c["bottle_s"] + y * c["tube_s"]
                go(k + 1, b - x, t - y, max(longest, s), work + s)

    go(0, bottles, tubes, 0, 0)
    return best


def staffings(p):
    n = p["slots"]
    has_tube = any(c["tube"] for c in p["classes"])
    for full in [True, False]:
        if not full and len(p["classes"]) == 1:
            continue
        fed = p["classes"] if full else p["classes"][:1]
        for bottle in [True, False] if has_tube else [True]:
            b = sum(c["bottle"] + (c["tube"] if bottle else 0) for c in fed)
            t = sum(c["tube_only"] + (0 if bottle else c["tube"]) for c in fed)
            reaches = full or p["classes"][1]["tube"] == 0
            for size in range(1, len(p["helpers"]) + 1):
                for who in itertools.combinations(range(len(p["helpers"])), size):
                    shares = split(b, t, [p["helpers"][k] for k in who])
                    if shares is None:
                        continue
                    fixed = p["set_up_s"] + p["clean_up_s"]
                    length = max(1, -(-(fixed + shares[0]) // p["slot_s"]))
                    price = fixed + shares[1] + sum(p["helpers"][k]["round_price"] for k in who)
                    for s in range(n):
                        touched = [i % n if p["is_cyclic"] else i for i in range(s, s + length)]
                        touched = [i for i in touched if i < n]
                        if p["closed"][s] == "1" or not all(p["helpers"][k]["there"][i] == "1" for k in who for i in touched):
                            continue
                        woken = [k for k in who if any(p["helpers"][k]["asleep"][i] == "1" for i in touched)]
                        yield {"s": s, "full": full, "keeps": bottle and reaches, "length": length, "price": price, "woken": woken}


def solve(p):
    n, cyclic = p["slots"], p["is_cyclic"]
    rounds = list(staffings(p))
    h = highspy.Highs()
    h.setOptionValue("output_flag", False)
    h.setOptionValue("threads", 1)
    h.setOptionValue("random_seed", 1)
    h.setOptionValue("mip_rel_gap", 0.0)
    h.setOptionValue("mip_abs_gap", 1e-6)
    x = [h.addBinary(obj=r["price"]) for r in rounds]
    at = [[] for _ in range(n)]
    full_at = [[] for _ in range(n)]
    for var, r in zip(x, rounds):
        at[r["s"]].append(var)
        if r["full"]:
            full_at[r["s"]].append(var)

    def at_least(variables, bound):
        # A sum of nothing is no expression for HiGHS.
        if not variables:
            return bound <= 0
        h.addConstr(h.qsum(variables) >= bound)
        return True

    def at_most(variables, bound):
        if variables:
            h.addConstr(h.qsum(variables) <= bound)

    constant = 0
    possible = True
    for index, c in enumerate(p["classes"]):
        fed = at if index == 0 else full_at
        slot = lambda t: fed[t % n] if cyclic else (fed[t] if 0 <= t < n else [])
        window = lambda a, b: [v for t in range(a, b) for v in slot(t)]
        for w in range(n if cyclic else n - c["shortest"] + 1):
            at_most(window(w, w + c["shortest"]), 1)
        for w in range(n if cyclic else n - c["longest"] + 1):
            possible &= at_least(window(w, w + c["longest"]), 1)
        if not cyclic:
            deadline = max(0, c["longest"] - c["since_oldest"])
            possible &= at_least(window(0, deadline + 1), 1)
            for t in range(c["earliest"]):
                at_most(slot(t), 0)
            constant += max(0, c["since_oldest"] - c["usual"]) * c["excess_price"]
        for t in range(1, n + 1):
            seen = window(t - c["usual"], t)
            if not cyclic and t - c["usual"] <= -c["since_oldest"]:
                continue
            slack = h.addVariable(lb=0, obj=c["excess_price"])
            h.addConstr(h.qsum(seen + [slack]) >= 1)
    for var, r in zip(x, rounds):
        later = [v for t in range(r["s"] + 1, r["s"] + r["length"]) for v in (at[t % n] if cyclic else (at[t] if t < n else []))]
        if later:
            h.addConstr(len(later) * var + h.qsum(later) <= len(later))
    if any(c["tube"] for c in p["classes"]):
        for day in range(n // p["slots_per_day"]):
            of_day = [v for v, r in zip(x, rounds) if r["keeps"] and r["s"] // p["slots_per_day"] == day]
            possible &= at_least(of_day, p["suck_rounds"])
    if p.get("most_rounds") is not None:
        for begin in range(0, n, p["slots_per_day"]):
            at_most([v for v, r in zip(x, rounds) if begin <= r["s"] < begin + p["slots_per_day"]], p["most_rounds"])
    for k, helper in enumerate(p["helpers"]):
        wakes = [v for v, r in zip(x, rounds) if k in r["woken"]]
        if not wakes:
            continue
        steps = []
        for j in range(len({r["s"] for r in rounds if k in r["woken"]})):
            price = helper["wake_price"] + p["fairness"] * (helper["woken_before"] + j)
            steps.append(h.addVariable(lb=0, ub=1, obj=price))
        h.addConstr(h.qsum(wakes) <= h.qsum(steps))
    if not possible:
        return None
    h.minimize()
    status = h.getModelStatus()
    if status == highspy.HighsModelStatus.kOptimal:
        return round(h.getInfo().objective_function_value + constant)
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    raise SystemExit(f"HiGHS ended with {status}")


def main():
    if sys.argv[1] == "--time":
        for p in json.load(open(sys.argv[2], encoding="utf-8"))["instances"]:
            began = time.perf_counter()
            objective = solve(p)
            print(f"{time.perf_counter() - began:.3f} s, objective {objective}")
        return
    if sys.argv[1] == "--bench":
        with open(sys.argv[2], "w", encoding="utf-8") as out:
            json.dump({"instances": bench_instances()}, out, separators=(",", ":"))
            out.write("\n")
        return
    made = instances()
    for p in made:
        p["objective"] = solve(p)
    found = sum(p["objective"] is not None for p in made)
    assert found >= 30, f"only {found} instances have a plan"
    with open(sys.argv[1], "w", encoding="utf-8") as out:
        json.dump({"made_by": "timetable_milp.py", "solver": "HiGHS", "seed": SEED, "instances": made}, out, separators=(",", ":"))
        out.write("\n")


main()
