"""Generalised estimating equations by statsmodels on the cases given as JSON on
standard input; JSON on standard output.

    python3 gee.py < gee_input.json > gee_output.json

makes the stored output that is compared without Python.
"""
import json
import sys
import warnings

import numpy as np
import statsmodels
import statsmodels.api as sm

warnings.simplefilter("ignore")
families = {"binomial": sm.families.Binomial, "poisson": sm.families.Poisson, "gaussian": sm.families.Gaussian}
structures = {"independence": sm.cov_struct.Independence, "exchangeable": sm.cov_struct.Exchangeable}


def fit(case, working):
    x = sm.add_constant(np.array(case["x"], dtype=float), has_constant="add")
    y = np.array(case["y"], dtype=float)
    offset = np.log(np.array(case["time"])) if case["family"] == "poisson" else None
    structure = structures[working]()
    model = sm.GEE(y, x, groups=np.array(case["cluster"]), family=families[case["family"]](), cov_struct=structure, offset=offset)
    try:
        f = model.fit(maxiter=500, ctol=1e-12, params_niter=1, scale="X2")
    except Exception:
        return None
    if not f.converged or not np.all(np.isfinite(f.params)):
        return None
    out = {
        "coefficients": f.params.tolist(), "robust": f.cov_robust.tolist(), "model": f.cov_naive.tolist(),
        "scale": float(f.scale), "alpha": float(structure.dep_params) if working == "exchangeable" else 0.0,
    }
    try:
        reduced = model.fit(maxiter=500, ctol=1e-12, params_niter=1, scale="X2", cov_type="bias_reduced")
        out["reduced"] = reduced.cov_robust_bc.tolist()
    except Exception:
        out["reduced"] = None
    return out


cases = json.load(sys.stdin)
answers = [{w: fit(c, w) for w in structures} for c in cases]
json.dump({"version": "statsmodels " + statsmodels.__version__, "cases": answers}, sys.stdout)
