"""Kappa and adjusted p-values by statsmodels, quantiles of distributions by SciPy.

The cases come as JSON on standard input; JSON goes to standard output.

    python3 agreement.py < agreement_input.json > agreement_output.json

makes the stored output that is compared without Python.
"""
import gc
import json
import sys
import warnings

import numpy as np
import scipy
import statsmodels
from scipy import stats
from statsmodels.stats.inter_rater import cohens_kappa, fleiss_kappa
from statsmodels.stats.multitest import multipletests

warnings.simplefilter("ignore")
gc.collect = lambda *_: 0  # multipletests collects at each call


def kappa(table, wt=None, weights=None):
    r = cohens_kappa(np.array(table), wt=wt, weights=weights)
    return [r.kappa, r.std_kappa, r.std_kappa0, r.z_value, r.pvalue_two_sided]


def trapezoid(a, b, c, d, u):
    return stats.trapezoid.ppf(u, (b - a) / (d - a), (c - a) / (d - a), loc=a, scale=d - a)


def one(case):
    own = 1 - np.array(case["own"])  # of disagreement there
    belief = sorted(case["belief"])
    a, b, c, d = belief
    u = np.array(case["shares"])
    return {
        "plain": kappa(case["table"]),
        "linear": kappa(case["table"], wt="linear"),
        "quadratic": kappa(case["table"], wt="quadratic"),
        "own": kappa(case["table"], weights=own),
        "fleiss": fleiss_kappa(np.array(case["many"])),
        "adjusted": [
            list(multipletests(case["p"], method=m)[1])
            for m in ("holm", "bonferroni", "simes-hochberg", "fdr_bh", "fdr_by")
        ],
        "trapezoidal": list(trapezoid(a, b, c, d, u)),
        "triangular": list(stats.triang.ppf(u, (b - a) / (d - a), loc=a, scale=d - a)),
        "uniform": list(stats.uniform.ppf(u, a, d - a)),
        "beta": list(stats.beta.ppf(u, 1 + 50 * a, 1 + 50 * d)),
    }


cases = json.load(sys.stdin)
json.dump(
    {
        "version": [f"SciPy {scipy.__version__}", f"statsmodels {statsmodels.__version__}"],
        "cases": [one(c) for c in cases],
    },
    sys.stdout,
)
