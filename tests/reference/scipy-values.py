"""Values that tests hold our statistics against, by another implementation.

python3 tests/reference/scipy-values.py > tests/reference/scipy-values.json   (scipy 1.17.1)
"""

import json

import scipy
from scipy import special, stats

print(
    json.dumps(
        {
            "source": f"scipy {scipy.__version__}, by scipy-values.py",
            "studentTwoSided": [
                {"level": level, "df": df, "t": float(stats.t.ppf((1 + level) / 2, df))}
                for level in (0.8, 0.9, 0.95, 0.99)
                for df in (1, 2, 5, 12, 34, 120)
            ],
            "incompleteBeta": [
                {"x": x, "a": a, "b": b, "value": float(special.betainc(a, b, x))}
                for x in (0.01, 0.2, 0.5, 0.9)
                for a, b in ((0.5, 0.5), (2, 27), (17, 0.5), (140, 12))
            ],
            "normalCdf": [
                {"z": z, "value": float(stats.norm.cdf(z))} for z in (-4, -2.5, -1.2, -0.1, 0, 0.7, 1.645, 3)
            ],
            "theilSen": [
                {"y": y, "slope": float(stats.theilslopes(y).slope)}
                for y in ([3.1, 2.7, 4.4, 4.0, 5.2, 9.9, 6.1], [12, 11, 13, 12, 12, 10, 11, 9, 8, 8])
            ],
            "wilson": [
                {"x": x, "n": n, "level": level, "low": float(ci.low), "high": float(ci.high)}
                for x, n in ((0, 28), (3, 40), (39, 40), (117, 240))
                for level in (0.9, 0.95)
                for ci in [stats.binomtest(x, n).proportion_ci(level, "wilson")]
            ],
        },
        indent=2,
    )
)
