"""Two by two tables and clustered regressions by SciPy and statsmodels.

The cases come as JSON on standard input; JSON goes to standard output.

    python3 tables.py < tables_input.json > tables_output.json

makes the stored output that is compared without Python.
"""
import json
import sys
import warnings

import numpy as np
import scipy
import statsmodels
import statsmodels.api as sm
from scipy.stats import contingency, norm
from statsmodels.stats.contingency_tables import Table2x2
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

warnings.simplefilter("ignore")


def plain(x):
    """JSON has no infinity and no NaN."""
    x = float(x)
    return x if np.isfinite(x) else str(x).replace("inf", "Inf")


def ratio(value, se, level):
    z = norm.ppf((1 + level) / 2)
    return [value * np.exp(-z * se), value * np.exp(z * se)]


def one(case):
    a, b, c, d = case["four"]
    level = case["level"]
    table = Table2x2(np.array([[a, b], [c, d]], float), shift_zeros=False)
    exact = contingency.odds_ratio([[a, b], [c, d]])
    limits = exact.confidence_interval(level)
    out = {
        "wilson": [plain(v) for v in proportion_confint(a, a + b, 1 - level, "wilson")],
        "newcombe": [plain(v) for v in confint_proportions_2indep(
            a, a + b, c, c + d, method="newcomb", compare="diff", alpha=1 - level)],
        "exact": [plain(exact.statistic), plain(limits.low), plain(limits.high)],
    }
    if min(a, b, c, d) > 0:
        out["odds"] = [plain(v) for v in (table.oddsratio, *table.oddsratio_confint(1 - level), table.oddsratio_pvalue())]
        out["risk"] = [plain(v) for v in (table.riskratio, *table.riskratio_confint(1 - level), table.riskratio_pvalue())]

    x = sm.add_constant(np.array(case["x"], float))
    groups = np.array(case["cluster"])
    robust = {"cov_type": "cluster", "cov_kwds": {"groups": groups, "use_correction": False}}
    logistic = sm.GLM(np.array(case["yes"], float), x, sm.families.Binomial())
    poisson = sm.GLM(np.array(case["events"], float), x, sm.families.Poisson(), offset=np.log(case["time"]))
    for name, model in ("logistic", logistic), ("poisson", poisson):
        try:
            fit = model.fit(tol=1e-14, maxiter=100, **robust)
        except np.linalg.LinAlgError:  # no finite maximum, or none that it finds
            continue
        if not np.isfinite(np.concatenate([fit.params, fit.bse])).all():
            continue
        out[name] = {"coefficients": fit.params.tolist(), "se": fit.bse.tolist()}
    return out


version = "SciPy %s, statsmodels %s" % (scipy.__version__, statsmodels.__version__)
json.dump({"version": version, "cases": [one(c) for c in json.load(sys.stdin)]}, sys.stdout)
