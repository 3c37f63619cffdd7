"""Proportional odds regression by the likelihood of statsmodels' OrderedModel,
whose derivatives are taken here by differences, and the score test of
proportional odds by plain enumeration of the outcomes, on the cases given as
JSON on standard input; JSON on standard output.

    python3 ordinal.py < ordinal_input.json > ordinal_output.json

makes the stored output that is compared without Python.
"""
import json
import os
import sys
import warnings

os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"  # matrices are small

import numpy as np
import statsmodels
from scipy.special import expit
from statsmodels.miscmodels.ordinal_model import OrderedModel

warnings.simplefilter("ignore")


def slopes(f, at, h):
    """Derivatives of f by each number, of fourth order."""
    rows = []
    for e in np.eye(len(at)):
        step = h * e
        rows.append((8 * (f(at + step) - f(at - step)) - (f(at + 2 * step) - f(at - 2 * step))) / (12 * h))
    return np.array(rows)


def logistic(t):
    return 1 / (1 + np.exp(-t))


def score_test(x, y, cuts, b):
    """Of slopes for each cut against b for all: every row may have any level."""
    q, n, p = len(cuts), len(y), len(b)
    same = np.array([[c, *b] for c in cuts]).ravel()

    def each(level):
        def f(par):
            par = par.reshape(q, p + 1)
            below = logistic(par[:, 0] - x @ par[:, 1:].T)
            below = np.column_stack([np.zeros(n), below, np.ones(n)])
            at = np.arange(n)
            return np.log(below[at, level + 1] - below[at, level])
        return f

    h = 1e-3 / np.tile([1, *x.std(axis=0)], q)
    def gradients(level):
        return np.array([slopes(lambda v, j=j: each(level)(same + v[0] * e), np.zeros(1), h[j])[0] for j, e in enumerate(np.eye(len(same)))])

    total = gradients(y).sum(axis=1)
    information = np.zeros((len(same), len(same)))
    for k in range(q + 1):
        level = np.full(n, k)
        g = gradients(level)
        information += (g * np.exp(each(level)(same))) @ g.T
    return float(total @ np.linalg.solve(information, total))


def fit(case):
    x, y, levels = np.array(case["x"]), np.array(case["y"]), case["levels"]
    model = OrderedModel(y, x, distr="logit")
    model.cdf = expit  # the same without checks of its arguments, which take most of the time
    scale = np.concatenate([np.ones(levels - 1), 1 / x.std(axis=0)])

    def inner(par):  # cut points and slopes, in units of the columns' deviations
        cuts, b = (par * scale)[: levels - 1], (par * scale)[levels - 1 :]
        return np.concatenate([b, cuts[:1], np.log(np.diff(cuts))])

    def rows(par):
        return model.loglikeobs(inner(par))

    def value(par):
        return rows(par).sum()

    try:
        start = model.fit(method="bfgs", disp=0, maxiter=500, gtol=1e-6)
    except Exception:
        return None
    cuts = model.transform_threshold_params(start.params)[1:-1]
    par = np.concatenate([cuts, start.params[: x.shape[1]]]) / scale

    def gradient(v):
        return slopes(rows, v, 1e-3).sum(axis=1)

    hessian = slopes(gradient, par, 1e-3)
    for _ in range(3):
        par = par - np.linalg.solve(hessian, gradient(par))
    if not np.all(np.isfinite(par)):
        return None
    hessian = slopes(gradient, par, 1e-3)
    bread = np.linalg.inv(-(hessian + hessian.T) / 2)
    g = slopes(rows, par, 1e-3)
    cluster = np.array(case["cluster"])
    sums = np.array([g[:, cluster == c].sum(axis=1) for c in np.unique(cluster)])
    out = par * scale
    units = np.outer(scale, scale)
    return {
        "coefficients": out.tolist(), "covariance": (bread * units).tolist(),
        "robust": (bread @ sums.T @ sums @ bread * units).tolist(), "loglik": float(value(par)),
        "score": score_test(x, y, out[: levels - 1], out[levels - 1 :]),
    }


cases = json.load(sys.stdin)
json.dump({"version": "statsmodels " + statsmodels.__version__, "cases": [fit(c) for c in cases]}, sys.stdout)
