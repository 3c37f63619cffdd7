"""Negative binomial regression by statsmodels, on the cases given as JSON on
standard input; JSON on standard output. Errors are from the expected
information at the estimates, worked out here.

    python3 negativebinomial.py < negativebinomial_input.json > negativebinomial_output.json

makes the stored output that is compared without Python.
"""
import json
import sys
import warnings

import numpy as np
import statsmodels
import statsmodels.api as sm
from statsmodels.discrete.discrete_model import NegativeBinomial

warnings.simplefilter("ignore")


def fit(y, x, offset):
    model = NegativeBinomial(y, x, offset=offset)
    start = sm.GLM(y, x, sm.families.Poisson(), offset=offset).fit(tol=1e-12)
    best = None
    for alpha in (0.05, 0.5, 3.0):
        at = model.fit(np.append(start.params, alpha), method="bfgs", disp=0, maxiter=2000, gtol=1e-6)
        at = model.fit(at.params, method="newton", disp=0, maxiter=200, tol=1e-13)
        if np.isfinite(at.llf) and at.params[-1] > 0 and (best is None or at.llf > best.llf + 1e-9):
            best = at
    return best


def one(case):
    y = np.array(case["events"], float)
    x = sm.add_constant(np.array(case["x"], float))
    offset = np.log(case["time"])
    best = fit(y, x, offset)
    null = fit(y, x[:, :1], offset)
    plain = sm.GLM(y, x, sm.families.Poisson(), offset=offset).fit(tol=1e-14)
    if best is None or null is None:
        return {"alpha": 0, "plain": plain.llf}
    b, alpha = best.params[:-1], best.params[-1]
    mu = np.exp(x @ b + offset)
    information = x.T @ (x * (mu / (1 + alpha * mu))[:, None])
    return {
        "coefficients": b.tolist(), "alpha": alpha, "loglik": best.llf, "null": null.llf, "plain": plain.llf,
        "se": np.sqrt(np.diag(np.linalg.inv(information))).tolist(),
        "slope": float(np.abs(best.model.score(best.params)).max()),
    }


json.dump({"version": ["statsmodels " + statsmodels.__version__],
           "cases": [one(c) for c in json.load(sys.stdin)]}, sys.stdout)
