"""statsmodels' probit fit on the placings of a file, once for every line read."""

import sys
import time

import numpy as np
from statsmodels.discrete.discrete_model import Probit

rows = np.fromfile(sys.argv[1], dtype="<f8").reshape(-1, 2)
x, y = rows[:, 0].copy(), rows[:, 1].copy()
design = np.column_stack([np.ones_like(x), x])
for _ in sys.stdin:
    begun = time.perf_counter()
    r = Probit(y, design).fit(disp=0, method="newton")
    covariance = r.cov_params()
    took = time.perf_counter() - begun
    print(took, r.params[0], r.params[1], covariance[1, 1], r.llf, flush=True)
