"""Reference values for the growth filter, from general-purpose libraries only.

    .venv/bin/pip install -r scripts/requirements.txt
    .venv/bin/python crates/core/tests/reference/growth.py FOLDER

writes kalman, two_mode, steps, crps and tails.json into the folder. Nothing here is taken from our own code: the
model is written down once more, as differential equations, and solved by `expm`.
Random inputs come from the seeds below.
"""

import json
import pathlib
import sys

import numpy as np
from filterpy.kalman import IMMEstimator, KalmanFilter as FilterpyFilter
from scipy import integrate, stats
from scipy.linalg import expm
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

FOLDER = pathlib.Path(sys.argv[1])
DIP_TAU = 0.5
GAIN, GAIN_SLOPE = 0.085, -0.0018
# tau, wander, pull
NORMAL = (1.15, 0.018, None)
FALTERING = (0.3, 0.021, -0.03)
STARTS, ENDS = 0.012, 0.25


def step(mode, start, gap):
    """Exact step of [L, b, u, d] by the matrix exponential (Van Loan 1978)."""
    tau, wander, pull = mode
    # [L, b, u, w, 1, t] with w = d exp(-t / DIP_TAU): constant coefficients.
    a = np.zeros((6, 6))
    a[0, 1], a[0, 2], a[0, 3], a[0, 4], a[0, 5] = 1, 1, -1, GAIN, GAIN_SLOPE
    a[2, 2] = -1 / tau
    a[3, 3] = -1 / DIP_TAU
    a[5, 4] = 1
    if pull is not None:
        # du = -(u - (pull - G(t) - b)) / tau dt
        a[2, 1], a[2, 4], a[2, 5] = -1 / tau, (pull - GAIN) / tau, -GAIN_SLOPE / tau
    noise = np.zeros((6, 6))
    noise[2, 2] = wander**2 * 2 / tau
    block = np.block([[-a, noise], [np.zeros((6, 6)), a.T]]) * gap
    big = expm(block)
    phi = big[6:, 6:].T
    q = phi @ big[:6, 6:]
    f = phi[:4, :4].copy()
    f[:, 3] *= np.exp(-start / DIP_TAU)
    f[3, :] = [0, 0, 0, 1]  # d itself does not change
    shift = phi[:4, 4] + phi[:4, 5] * start
    shift[3] = 0
    return f, shift, q[:4, :4]


def write(name, value):
    (FOLDER / name).write_text(json.dumps(value, indent=1) + "\n")


def steps():
    cases = []
    for mode in (NORMAL, FALTERING, (0.8, 0.03, 0.01)):
        for start in (0.0, 0.3, 2.0, 15.0):
            for gap in (0.01, 0.33, 0.5, 1.0, 3.7):
                f, shift, q = step(mode, start, gap)
                cases.append(dict(
                    tau=mode[0], wander=mode[1], pull=mode[2], start=start, gap=gap,
                    f=f.ravel().tolist(), shift=shift.tolist(), q=q.ravel().tolist()))
    write("steps.json", cases)


X0 = np.array([np.log(400.0), 0.0, 0.0, 0.17])
P0 = np.diag([0.25**2, 0.020**2, 0.018**2, 0.08**2])


def series(seed, n):
    """Days, log readings (some missing) and their variances; no attempt at realism."""
    rng = np.random.default_rng(seed)
    days = np.cumsum(rng.uniform(0.1, 1.2, n))
    y = np.log(400) + 0.06 * days + rng.normal(0, 0.02, n)
    y[n // 2:] -= 0.09 * (days[n // 2:] - days[n // 2])
    return days, y, rng.uniform(1e-4, 6e-4, n), rng.random(n) < 0.15


def kalman():
    n = 40
    days, y, var, missing = series(11, n)
    missing[0] = False
    f, shift, q = zip(*(step(NORMAL, a, b - a) for a, b in zip(days[:-1], days[1:])))
    kf = KalmanFilter(k_endog=1, k_states=4, nobs=n)
    kf.bind(np.where(missing, np.nan, y)[None, :].copy())
    stack = lambda ms, pad: np.dstack(list(ms) + [pad])  # the last step is not used
    kf["design"] = np.array([[1.0, 0, 0, 0]])
    kf["obs_cov"] = var[None, None, :]
    kf["transition"] = stack(f, np.eye(4))
    kf["state_intercept"] = np.column_stack(list(shift) + [np.zeros(4)])
    kf["selection"] = np.eye(4)
    kf["state_cov"] = stack(q, np.zeros((4, 4)))
    kf.initialize_known(X0, P0)
    out = kf.filter()
    write("kalman.json", dict(
        days=days.tolist(), var=var.tolist(),
        y=[None if m else v for m, v in zip(missing, y.tolist())],
        x0=X0.tolist(), p0=P0.ravel().tolist(),
        log_likelihood=out.llf_obs.tolist(),
        mean=out.filtered_state.T.tolist(),
        cov=[out.filtered_state_cov[:, :, i].ravel().tolist() for i in range(n)]))


def two_mode():
    n = 40
    days, y, var, _ = series(12, n)

    def filt():
        kf = FilterpyFilter(dim_x=4, dim_z=1, dim_u=1)
        kf.x, kf.P = X0[:, None].copy(), P0.copy()
        kf.H = np.array([[1.0, 0, 0, 0]])
        return kf

    filters = [filt(), filt()]
    imm = IMMEstimator(filters, [0.9, 0.1], np.eye(2))
    rows = []
    for i in range(n):
        if i > 0:
            gap = days[i] - days[i - 1]
            for kf, mode in zip(filters, (NORMAL, FALTERING)):
                f, shift, q = step(mode, days[i - 1], gap)
                kf.F, kf.B, kf.Q = f, shift[:, None], q
            start, end = 1 - np.exp(-STARTS * gap), 1 - np.exp(-ENDS * gap)
            imm.M = np.array([[1 - start, start], [end, 1 - end]])
            imm._compute_mixing_probabilities()
            imm.predict(np.array([[1.0]]))
        for kf in filters:
            kf.R = np.array([[var[i]]])
        imm.update(np.array([[y[i]]]))
        rows.append(dict(
            p=imm.mu.tolist(), likelihood=imm.likelihood.tolist(),
            mean=[kf.x[:, 0].tolist() for kf in filters],
            cov=[kf.P.ravel().tolist() for kf in filters]))
    write("two_mode.json", dict(
        days=days.tolist(), y=y.tolist(), var=var.tolist(),
        x0=X0.tolist(), p0=P0.ravel().tolist(), p=[0.9, 0.1], rows=rows))


def crps():
    cases = []
    for parts in ([(1.0, 0.0, 1.0)], [(1.0, 6.0, 0.03)], [(0.7, 6.0, 0.03), (0.3, 5.9, 0.05)]):
        for off in (-0.2, 0.0, 0.04, 1.5):
            x = parts[0][1] + off
            cdf = lambda v: sum(w * stats.norm.cdf(v, m, s) for w, m, s in parts)
            low = min(m - 12 * s for _, m, s in parts)
            high = max(m + 12 * s for _, m, s in parts)
            low, high = min(low, x), max(high, x)
            options = dict(epsabs=1e-13, epsrel=1e-12, limit=400)
            marks = [m for _, m, _ in parts]
            area = lambda g, a, b: integrate.quad(
                g, a, b, points=[m for m in marks if a < m < b] or None, **options)[0]
            value = area(lambda v: cdf(v) ** 2, low, x) + area(lambda v: (1 - cdf(v)) ** 2, x, high)
            cases.append(dict(parts=parts, x=x, crps=value))
    write("crps.json", cases)


def tails():
    z = np.linspace(-8, 8, 33)
    scale = np.sqrt(4 / 6)  # t with 6 degrees of freedom, scaled to unit variance
    write("tails.json", dict(
        z=z.tolist(), gaussian=stats.norm.logpdf(z).tolist(),
        t6=stats.t.logpdf(z, 6, scale=scale).tolist()))


if __name__ == "__main__":
    steps()
    kalman()
    two_mode()
    crps()
    tails()
