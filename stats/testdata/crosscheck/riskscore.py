"""Score limits of risk differences and ratios by SciPy and statsmodels.

The cases come as JSON on standard input; JSON goes to standard output.

    python3 riskscore.py < riskscore_input.json > riskscore_output.json

makes the stored output that is compared without Python. statsmodels solves
for Koopman's limits of the ratio ("score" without the factor N/(N-1)), not
with zero cells: there, and everywhere beside it, the likelihood is maximised
numerically and the root is found by SciPy. For the difference it is the only
one: the risks that statsmodels 0.13 holds under a difference are not those of
greatest likelihood (for 2 of 4 against 1 of 2 and a difference of 0.6, which
by symmetry has 0.8 and 0.2, it has 0.728 and 0.128).
"""
import json
import sys
import warnings

import numpy as np
import scipy
import statsmodels
from scipy.optimize import brentq, minimize_scalar
from scipy.special import xlog1py, xlogy
from scipy.stats import chi2, norm
from statsmodels.stats.proportion import confint_proportions_2indep

warnings.simplefilter("ignore")


def plain(x):
    """JSON has no infinity and no NaN."""
    x = float(x)
    return x if np.isfinite(x) else str(x).replace("inf", "Inf")


def best(loglik, low, high):
    """The p of greatest likelihood between low and high, ends included."""
    found = minimize_scalar(lambda p: -loglik(p), bounds=(low, high), method="bounded", options={"xatol": 1e-13})
    return max((found.x, low, high), key=loglik)


def loglik(k, n, p):
    return xlogy(k, p) + xlog1py(n - k, -p)


def difference(a, n1, c, n0, delta):
    low, high = max(0, -delta), min(1, 1 - delta)
    p0 = best(lambda p: loglik(c, n0, p) + loglik(a, n1, min(1, max(0, p + delta))), low, high)
    p1 = min(1, max(0, p0 + delta))
    v = (p1 * (1 - p1) / n1 + p0 * (1 - p0) / n0) * (n1 + n0) / (n1 + n0 - 1)
    d = a / n1 - c / n0 - delta
    return 0 if abs(d) < 1e-15 else d / np.sqrt(v) if v > 0 else np.sign(d) * np.inf


def ratio(a, n1, c, n0, log):
    phi = np.exp(log)
    p0 = best(lambda p: loglik(c, n0, p) + loglik(a, n1, min(1, phi * p)), 0, min(1, 1 / phi))
    p1 = min(1, phi * p0)
    v = p1 * (1 - p1) / n1 + phi ** 2 * p0 * (1 - p0) / n0
    d = a / n1 - phi * c / n0
    return 0 if abs(d) < 1e-15 else d / np.sqrt(v) if v > 0 else np.sign(d) * np.inf


def root(f, low, high, target):
    g = lambda x: np.clip(f(x), -1e6, 1e6) - target
    return brentq(g, low, high, xtol=1e-13, rtol=1e-12)


def one(case):
    a, b, c, d = case["four"]
    n1, n0 = a + b, c + d
    z = norm.ppf((1 + case["level"]) / 2)
    value = a / n1 - c / n0
    f = lambda x: difference(a, n1, c, n0, x)
    out = {"difference": [
        plain(-1 if value == -1 else root(f, -1, value, z)),
        plain(1 if value == 1 else root(f, value, 1, -z)),
    ]}
    pooled = (a + c) / (n1 + n0)
    chi = 0 if pooled in (0, 1) else value ** 2 / (pooled * (1 - pooled) * (1 / n1 + 1 / n0))
    out["difference_p"] = plain(chi2.sf(chi * (n1 + n0 - 1) / (n1 + n0), 1))
    if a + c > 0:
        f = lambda x: ratio(a, n1, c, n0, x)
        middle = np.log(a / n1 / (c / n0)) if a * c > 0 else 0
        out["ratio"] = [
            plain(0 if a == 0 else np.exp(root(f, middle - 30, middle if c > 0 else 30, z))),
            plain(np.inf if c == 0 else np.exp(root(f, middle if a > 0 else -30, middle + 30, -z))),
        ]
        out["ratio_p"] = plain(chi2.sf(chi, 1))
    if min(a, b, c, d) > 0:
        out["statsmodels"] = [plain(v) for v in confint_proportions_2indep(
            a, n1, c, n0, method="score", compare="ratio", correction=False, alpha=1 - case["level"])]
    return out


version = "SciPy %s, statsmodels %s" % (scipy.__version__, statsmodels.__version__)
json.dump({"version": version, "cases": [one(c) for c in json.load(sys.stdin)]}, sys.stdout)
