"""Whether a logistic or Poisson likelihood has a finite maximum, by linear
programming with SciPy: the maximum is finite unless some coefficients move no
row's linear predictor the wrong way and at least one the right way.

The cases come as JSON on standard input; JSON goes to standard output.

    python3 separation.py < separation_input.json > separation_output.json

makes the stored output that is compared without Python.
"""
import json
import sys

import numpy as np
import scipy
from scipy.optimize import linprog


def recedes(gain, fixed):
    """Is there b with gain b >= 0, not all 0, and fixed b = 0?"""
    if len(gain) == 0:
        return False
    result = linprog(-gain.sum(axis=0), A_ub=-gain, b_ub=np.zeros(len(gain)),
                     A_eq=fixed if len(fixed) else None,
                     b_eq=np.zeros(len(fixed)) if len(fixed) else None,
                     bounds=(-1, 1), method="highs")
    assert result.status == 0, result.message
    return bool(-result.fun > 1e-7)


def one(case):
    x = np.column_stack([np.ones(len(case["yes"])), np.array(case["x"], float)])
    yes = np.array(case["yes"], bool)
    events = np.array(case["events"], float)
    nothing = np.zeros((0, x.shape[1]))
    return {
        "rank": int(np.linalg.matrix_rank(x)),
        "logistic": recedes(np.where(yes[:, None], x, -x), nothing),
        "poisson": recedes(-x[events == 0], x[events > 0]),
    }


json.dump({"version": "SciPy " + scipy.__version__, "cases": [one(c) for c in json.load(sys.stdin)]}, sys.stdout)
