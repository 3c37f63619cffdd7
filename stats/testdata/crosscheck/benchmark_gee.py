"""Times a generalised estimating equation in statsmodels, for the benchmark: data
are made by the formulas that the benchmark uses. Argument: clusters. Prints
seconds and the first coefficient."""
import sys
import time

import numpy as np
import statsmodels.api as sm

clusters = int(sys.argv[1])
size = 1 + np.arange(1, clusters + 1) % 4
group = np.repeat(np.arange(1, clusters + 1), size)
i = np.arange(1, len(group) + 1)


def frac(x):
    return x - np.floor(x)


x = np.column_stack([np.ones(len(i))] + [frac(i * np.sqrt(4 * j + 2)) - 0.5 for j in range(1, 6)])
own = frac(group * np.sqrt(7)) - 0.5
p = 1 / (1 + np.exp(1 - x[:, 1:].sum(axis=1) * 0.5 - 2 * own))
y = (frac(i * 0.7548776662466927) < p).astype(float)
model = sm.GEE(y, x, groups=group, family=sm.families.Binomial(), cov_struct=sm.cov_struct.Exchangeable())
start = time.perf_counter()
f = model.fit()
print(time.perf_counter() - start, f.params[1])
