"""Times PHReg of statsmodels with Efron's ties, for the benchmarks. Arguments and
output are those of benchmark.R."""

import sys
import time

import numpy as np
from statsmodels.duration.hazard_regression import PHReg

_, _, path, n, columns = sys.argv[:5]
data, offset = {}, 0
for column in columns.split():
    name, kind = column.split(":")
    dtype = np.dtype("<f8" if kind == "double" else "<i4")
    data[name] = np.fromfile(path, dtype, int(n), offset=offset)
    offset += int(n) * dtype.itemsize
x = np.column_stack([v for name, v in data.items() if name.startswith("x")])
runs, start, worked = 0, time.perf_counter(), time.process_time()
while runs == 0 or time.perf_counter() - start < 1:
    fit = PHReg(data["exit"], x, data["status"], entry=data.get("entry"), ties="efron").fit()
    runs += 1
print((time.perf_counter() - start) / runs, (time.process_time() - worked) / runs, fit.bse[0])
