"""Contingency tables by SciPy and statsmodels.

The cases come as JSON on standard input; JSON goes to standard output.

    python3 contingency.py < contingency_input.json > contingency_py_output.json

makes the stored output that is compared without Python. What statsmodels lacks
(the exact common odds ratio, limits of paired proportions, pooled differences)
is solved here from its definition with SciPy's distributions and brentq.
"""
import json
import sys
import warnings

import numpy as np
import scipy
import statsmodels
from scipy.optimize import brentq
from scipy.stats import hypergeom, norm
from statsmodels.stats.contingency_tables import SquareTable, StratifiedTable, mcnemar
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

warnings.simplefilter("ignore")


def plain(x):
    """JSON has no infinity and no NaN."""
    x = float(x)
    return x if np.isfinite(x) else str(x).replace("inf", "Inf")


def root(f, low, high):
    return brentq(f, low, high, xtol=1e-13, rtol=1e-14, maxiter=500)


def exact(strata, level, midp):
    weight, low, at = np.ones(1), 0, 0
    for a, b, c, d in strata:
        x = np.arange(max(0, a - d), min(a + b, a + c) + 1)
        weight = np.convolve(weight, hypergeom.pmf(x, a + b + c + d, a + b, a + c))
        low, at = low + x[0], at + a
    x = np.arange(low, low + len(weight))

    def p(theta):
        w = np.log(weight) + theta * (x - at)
        w = np.exp(w - w.max())
        return w / w.sum()

    half = 0.5 if midp else 1.0
    up = lambda t: p(t)[x > at].sum() + half * p(t)[x == at].sum()
    down = lambda t: p(t)[x < at].sum() + half * p(t)[x == at].sum()
    tail = (1 - level) / 2
    value, lower, upper = np.nan, 0.0, np.inf
    if at > x[0]:
        lower = np.exp(root(lambda t: up(t) - tail, -40, 40))
    if at < x[-1]:
        upper = np.exp(root(lambda t: down(t) - tail, -40, 40))
    if x[0] < at < x[-1]:
        value = np.exp(root(lambda t: (p(t) * x).sum() - at, -40, 40))
    elif at == x[0]:
        value = 0.0
    else:
        value = np.inf
    return [plain(v) for v in (value, lower, upper, min(1, 2 * min(up(0), down(0))))]


def difference(strata):
    """Value, Sato's and Greenland and Robins's errors."""
    s = [t for t in strata if t[0] + t[1] > 0 and t[2] + t[3] > 0]
    if not s:
        return None
    a, b, c, d = np.array(s, float).T
    n1, n0 = a + b, c + d
    n = n1 + n0
    w = n1 * n0 / n
    delta = (w * (a / n1 - c / n0)).sum() / w.sum()
    p = (n1 ** 2 * c - n0 ** 2 * a + n1 * n0 * (n0 - n1) / 2) / n ** 2
    q = (a * (n0 - c) + c * (n1 - a)) / (2 * n)
    binomial = w ** 2 * (a * b / n1 ** 3 + c * d / n0 ** 3)
    return [plain(v) for v in (delta, np.sqrt(max(0, delta * p.sum() + q.sum())) / w.sum(), np.sqrt(binomial.sum()) / w.sum())]


def stratified(case):
    kept = [s for s in case["strata"] if s[0] + s[1] and s[2] + s[3] and s[0] + s[2] and s[1] + s[3]]
    out = {"difference": difference(case["strata"])}
    if not kept:
        return out
    table = StratifiedTable([np.array(s, float).reshape(2, 2) for s in kept])
    out["exact"] = exact(kept, case["level"], False)
    out["midp"] = exact(kept, case["level"], True)
    out["pooled"] = [plain(table.oddsratio_pooled), plain(table.logodds_pooled_se), plain(table.riskratio_pooled)]
    out["null"] = [plain(table.test_null_odds(correction=k).statistic) for k in (False, True)]
    if len(kept) > 1 and np.isfinite(table.oddsratio_pooled) and table.oddsratio_pooled > 0:
        out["homogeneity"] = [plain(v) for k in (True, False) for v in (
            table.test_equal_odds(adjust=k).statistic, table.test_equal_odds(adjust=k).pvalue)]
    a, b, c, d = np.array(kept, float).T
    n1, n0, n = a + b, c + d, a + b + c + d
    over, under = (a * n0 / n).sum(), (c * n1 / n).sum()
    if over > 0 and under > 0:
        out["risk_se"] = plain(np.sqrt((((a + c) * n1 * n0 - a * c * n) / n ** 2).sum() / (over * under)))
    if (a > 0).all() and (c > 0).all():
        w = 1 / (1 / a - 1 / n1 + 1 / c - 1 / n0)
        y = np.log(a / n1 / (c / n0))
        out["ratio_q"] = plain((w * (y - np.average(y, weights=w)) ** 2).sum())
    w = 1 / (a * b / n1 ** 3 + c * d / n0 ** 3)
    if np.isfinite(w).all():
        y = a / n1 - c / n0
        out["difference_q"] = plain((w * (y - np.average(y, weights=w)) ** 2).sum())
    return out


def odds(a, b, c, d, level, factor, correction):
    """Score limits of the odds ratio: counts of a given ratio, then the ratio at which the statistic is z."""
    low, high = max(0, a - d), min(a + b, a + c)
    z = norm.ppf((1 + level) / 2)

    def score(log):
        f = lambda x: np.log(x) + np.log(d - a + x) - np.log(a + b - x) - np.log(a + c - x) - log
        e = 1e-14 * (high - low)
        x = root(f, low + e, high - e)
        v = 1 / x + 1 / (a + b - x) + 1 / (a + c - x) + 1 / (d - a + x)
        return np.sign(a - x) * max(0, abs(a - x) - correction) * np.sqrt(v * factor)

    lower, upper = 0.0, np.inf
    if a > low:
        lower = np.exp(root(lambda t: score(t) - z, -25, 25))
    if a < high:
        upper = np.exp(root(lambda t: score(t) + z, -25, 25))
    return [plain(lower), plain(upper)]


def score_limits(f, estimate, low, high, z):
    """Where f, which falls, is z and -z."""
    lower, upper = low, high
    if estimate > low:
        lower = root(lambda x: f(x) - z, low + 1e-13, estimate)
    if estimate < high:
        upper = root(lambda x: f(x) + z, estimate, high - 1e-13)
    return [plain(lower), plain(upper)]


def newcombe(a, b, c, d, level):
    """Method 10 for pairs."""
    n = a + b + c + d
    p1, p2 = (a + b) / n, (a + c) / n
    (l1, u1), (l2, u2) = (proportion_confint(k, n, 1 - level, "wilson") for k in (a + b, a + c))
    margins = (a + b) * (c + d) * (a + c) * (b + d)
    phi = a * d - b * c
    phi = (max(phi - n / 2, 0) if phi > 0 else phi) / np.sqrt(margins) if margins else 0
    corner = lambda x, y: np.sqrt(max(0, x ** 2 - 2 * phi * x * y + y ** 2))
    low, high = p1 - p2 - corner(p1 - l1, u2 - p2), p1 - p2 + corner(u1 - p1, p2 - l2)
    return [plain(max(-1, low)), plain(min(1, high))]


def paired(case):
    a, b, c, d = case["pairs"]
    n = a + b + c + d
    z = norm.ppf((1 + case["level"]) / 2)

    def tango(delta):
        """The smaller discordant probability by the root of the slope of the likelihood."""
        low, high = max(0.0, -delta), (1 - delta) / 2
        slope = lambda q: (b / (q + delta) if b else 0) + (c / q if c else 0) - 2 * (a + d) / (1 - delta - 2 * q)
        e = 1e-15
        if high - low < 4 * e:
            q = low
        elif slope(low + e) <= 0:
            q = low
        elif a + d == 0 or slope(high - e) >= 0:
            q = high
        else:
            q = root(slope, low + e, high - e)
        s = b - c - n * delta
        return 0.0 if s == 0 else s / np.sqrt(n * (2 * q + delta * (1 - delta)))

    out = {"tango": score_limits(tango, (b - c) / n, -1.0, 1.0, z)}
    out["newcombe"] = newcombe(a, b, c, d, case["level"])
    m = a + b + c
    if m:
        def ratio(log):
            t = np.exp(log)
            low, high = max(0.0, 1 - t), 1 / (1 + t)
            slope = lambda y: -a * (1 + t) / (1 - y * (1 + t)) + (b / (t - 1 + y) if b else 0) + (c / y if c else 0)
            e = 1e-15 * (high - low)
            if slope(low + 1e-14 * (high - low)) <= 0:
                y = low
            elif a == 0 or slope(high - 1e-14 * (high - low)) >= 0:
                y = high
            else:
                y = root(slope, low + 1e-14 * (high - low), high - 1e-14 * (high - low))
            s = a + b - t * (a + c)
            return 0.0 if s == 0 else s / np.sqrt(m * (t - 1 + (1 + t) * y))
        lower, upper = 0.0, np.inf
        if a + b:
            lower = np.exp(root(lambda x: ratio(x) - z, -12, 12))
        if a + c:
            upper = np.exp(root(lambda x: ratio(x) + z, -12, 12))
        out["ratio"] = [plain(lower), plain(upper)]
    if b + c:
        table = np.array([[a, b], [c, d]])
        out["mcnemar"] = [plain(v) for v in (
            mcnemar(table, exact=True).pvalue, mcnemar(table, exact=False, correction=False).statistic,
            mcnemar(table, exact=False, correction=True).statistic, SquareTable(table, shift_zeros=False).symmetry().statistic)]
    return out


def one(case):
    out = {"strata": stratified(case), "pairs": paired(case)}
    a, b, c, d = case["four"]
    if min(a, b, c, d) > 0:
        out["score"] = [plain(v) for k in (True, False) for v in confint_proportions_2indep(
            a, a + b, c, c + d, method="score", compare="odds-ratio", alpha=1 - case["level"], correction=k)]
    if a + c and b + d:
        n = a + b + c + d
        out["odds"] = [v for m in (((n - 1) / n, 0), (1, 0), (1, 0.5)) for v in odds(a, b, c, d, case["level"], *m)]
    out["midp"] = exact([case["four"]], case["level"], True) if a + c and b + d else None
    return out


version = "SciPy %s, statsmodels %s" % (scipy.__version__, statsmodels.__version__)
json.dump({"version": version, "cases": [one(c) for c in json.load(sys.stdin)]}, sys.stdout)
