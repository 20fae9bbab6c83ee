"""Writes reference.json, which the tests hold this package to: slopes with
their limits and Kendall's P by SciPy for made-up series of all lengths, with
ties and gaps; and R's series of the Nile at Aswan (datasets::Nile, 1871 to
1970; Cobb 1978, Biometrika 65:243-251, finds its change at 1898).

    python3 reference.py > reference.json    (Debian: python3-scipy, r-base-core)
"""

import json
import random
import subprocess

import scipy
from scipy import stats

random.seed(20261127)
cases = []
for n in (3, 4, 5, 6, 8, 9, 10, 11, 14, 20, 35, 60):
    for ties in (False, True):
        x, t = [], 0.0
        for _ in range(n):
            t += random.choice((0.25, 0.5, 1, 3.5))
            x.append(t)
        slope = random.uniform(-0.05, 0.05)
        y = [round(1 + slope * t + random.gauss(0, 0.05), 1 if ties else 6) for t in x]
        mid, _, low, high = stats.theilslopes(y, x)
        case = {"x": x, "y": y, "mid": mid, "low": low, "high": high}
        if len(set(y)) == n:
            # Mann and Kendall's test is Kendall's tau against time.
            method = "exact" if n <= 10 else "asymptotic"
            case["p"] = stats.kendalltau(x, y, method=method).pvalue
            case["exact"] = n <= 10
        cases.append(case)
nile = subprocess.run(["Rscript", "-e", "cat(datasets::Nile)"], capture_output=True, text=True, check=True).stdout
r = subprocess.run(["Rscript", "-e", "cat(R.version.string)"], capture_output=True, text=True, check=True).stdout
print(json.dumps({"scipy": scipy.__version__, "r": r, "cases": cases, "nile": [float(v) for v in nile.split()]}, indent=1))
