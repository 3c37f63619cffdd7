"""Cluster-robust errors of a mean and of a difference of means by statsmodels
(least squares on a constant, and on an indicator) on the cases given as JSON on
standard input; JSON on standard output.

    python3 clustermean.py < clustermean_input.json > clustermean_output.json

makes the stored output that is compared without Python.
"""
import json
import sys

import numpy as np
import statsmodels
import statsmodels.api as sm


def fit(case):
    y = np.array(case["y"], dtype=float)
    exposed = np.array(case["exposed"], dtype=float)
    groups = np.array(case["cluster"])
    n = len(y)
    one = sm.OLS(y, np.ones((n, 1))).fit(cov_type="cluster", cov_kwds={"groups": groups}, use_t=True)
    lower, upper = one.conf_int(alpha=1 - case["level"])[0]
    two = sm.OLS(y, sm.add_constant(exposed)).fit(cov_type="cluster", cov_kwds={"groups": groups})
    # statsmodels multiplies by (N-1)/(N-k), which is 1 for the mean alone.
    variance = two.cov_params()[1][1] / ((n - 1) / (n - 2))
    return {
        "mean": float(one.params[0]), "se": float(one.bse[0]), "lower": float(lower), "upper": float(upper),
        "difference": float(two.params[1]), "difference_se": float(np.sqrt(variance)),
    }


cases = json.load(sys.stdin)
json.dump({"version": "statsmodels " + statsmodels.__version__, "cases": [fit(c) for c in cases]}, sys.stdout)
