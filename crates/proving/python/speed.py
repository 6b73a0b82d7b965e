"""Weighings per second on one core: ours against statsmodels and filterpy, same series, one run.

    cargo build --release -p whelpward-proving
    venv/bin/python speed.py path/to/whelpward-proving

The series are made here from the seed below. What each side does per weighing:
  statsmodels  one Kalman filter of four states, one noise level (compiled code inside)
  filterpy     the two-mode filter, one noise level
  ours         the two-mode filter at twelve noise levels, slip screen, score, forecasts for
               four horizons, standing
so the ratios understate ours. Building the matrices is not counted for the Python side.
"""

import json
import subprocess
import sys
import tempfile
import time

import numpy as np
from filterpy.kalman import IMMEstimator, KalmanFilter as FilterpyFilter
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

PUPS, LITTERS = 8, 12
# Any matrices of the right shape cost the same; these are a 12 h step.
F = np.array([[1, 0.5, 0.4, -0.02], [0, 1, 0, 0], [0, 0, 0.65, 0], [0, 0, 0, 1.0]])
Q = np.diag([1e-5, 1e-12, 2e-4, 1e-12])
H = np.array([[1.0, 0, 0, 0]])
R = np.array([[3e-4]])


def make(seed):
    rng = np.random.default_rng(seed)
    rows = []
    for litter in range(LITTERS):
        rate = rng.normal(0.065, 0.01, PUPS)
        birth = rng.normal(np.log(400), 0.15, PUPS)
        for session in range(42):
            t = 0.1 + 0.5 * session
            for pup in range(PUPS):
                g = np.exp(birth[pup] + rate[pup] * t + rng.normal(0, 0.015))
                rows.append((litter, pup, session, t * 24 + pup / 60, round(g)))
    return rows


def best(work, repeats=3):
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def main():
    rows = make(5)
    series = {}
    for litter, pup, _, _, g in rows:
        series.setdefault((litter, pup), []).append(np.log(g))

    def statsmodels():
        for y in series.values():
            kf = KalmanFilter(k_endog=1, k_states=4)
            kf.bind(np.array(y)[None, :])
            kf["design"], kf["obs_cov"], kf["transition"] = H, R, F
            kf["selection"], kf["state_cov"] = np.eye(4), Q
            kf.initialize_known(np.array([6.0, 0, 0, 0.17]), np.eye(4) * 0.05)
            kf.filter()

    def filterpy():
        for y in series.values():
            filters = []
            for _ in range(2):
                kf = FilterpyFilter(dim_x=4, dim_z=1)
                kf.x, kf.P = np.array([[6.0], [0], [0], [0.17]]), np.eye(4) * 0.05
                kf.F, kf.H, kf.Q, kf.R = F, H, Q, R
                filters.append(kf)
            imm = IMMEstimator(filters, [0.9, 0.1], np.array([[0.99, 0.01], [0.12, 0.88]]))
            for v in y:
                imm.predict()
                imm.update(np.array([[v]]))

    with tempfile.NamedTemporaryFile("w", suffix=".csv") as file:
        file.write("litter,pup,session,hours,grams\n")
        file.writelines(",".join(map(str, row)) + "\n" for row in rows)
        file.flush()
        out = subprocess.run([sys.argv[1], "time", file.name], check=True, capture_output=True, text=True)
    ours = json.loads(out.stdout)
    assert ours["weighings"] == len(rows)
    print(f"{len(rows)} weighings in {LITTERS} litters of {PUPS}, one core")
    for name, seconds in (("ours", ours["seconds"]), ("statsmodels", best(statsmodels)), ("filterpy", best(filterpy))):
        print(f"  {name:12} {len(rows) / seconds:12.0f} weighings/s   {seconds / ours['seconds']:8.1f} x our time")
    print(f"  one litter of 8 for 3 weeks, replayed: {1000 * ours['seconds'] / LITTERS:.2f} ms")


if __name__ == "__main__":
    main()
