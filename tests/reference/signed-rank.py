"""Makes signed-rank.json: exact values of the paired signed-rank test and the interval that goes with it.

Chances: every one of the 2^n ways to sign the ranks is counted; without ties scipy.stats.wilcoxon(method="exact") must
agree. Intervals: every shift between the means of pairs is tried, and kept where scipy's exact test, made at that shift,
doesn't refuse it. Run: python3 signed-rank.py (scipy 1.10 or later).
"""

import itertools
import json
import os

from scipy import stats


def by_enumeration(differences):
    some = [d for d in differences if d != 0]
    ranks = stats.rankdata([abs(d) for d in some])
    rising = sum(r for r, d in zip(ranks, some) if d > 0)
    sums = [sum(r for r, up in zip(ranks, signs) if up) for signs in itertools.product([0, 1], repeat=len(some))]
    low = sum(s <= rising for s in sums) / len(sums)
    high = sum(s >= rising for s in sums) / len(sums)
    return rising, min(1, 2 * min(low, high))


def interval(differences, level):
    n = len(differences)
    means = sorted((differences[i] + differences[j]) / 2 for i in range(n) for j in range(i, n))
    between = [(a + b) / 2 for a, b in zip(means, means[1:]) if b - a > 1e-9]
    kept = [
        at for at in between if stats.wilcoxon([d - at for d in differences], method="exact").pvalue > 1 - level
    ]
    low = max(m for m in means if m < min(kept))
    high = min(m for m in means if m > max(kept))
    middle = len(means) // 2
    best = means[middle] if len(means) % 2 else (means[middle - 1] + means[middle]) / 2
    return {"low": low, "best": best, "high": high, "level": level}


before = [1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30]
after = [0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29]
depression = [round(b - a, 6) for a, b in zip(before, after)]
plain = [0.31, -0.12, 0.44, 0.52, 0.09, -0.05, 0.61, 0.27, 0.18, -0.22, 0.71, 0.36]
tied = [1, 1, -1, 2, 2, 0, 3, -2, 3, 4, 0, 5]

cases = []
for name, differences in (("depression", depression), ("plain", plain), ("tied, with pairs that do not differ", tied)):
    rising, chance = by_enumeration(differences)
    case = {"name": name, "differences": differences, "rising": float(rising), "chance": chance}
    if "tied" not in name:
        assert abs(stats.wilcoxon(differences, method="exact").pvalue - chance) < 1e-12
        case["intervals"] = [interval(differences, level) for level in (0.9, 0.95)]
    cases.append(case)

source = (
    "Hollander and Wolfe 1999, Nonparametric Statistical Methods, table 3.1 (depression scores before and after), as in "
    "the help page of R's wilcox.test; V = 40 there, and 45 - 40 = 5 the other way round. Values by signed-rank.py beside it."
)
path = os.path.join(os.path.dirname(os.path.abspath(__file__)), "signed-rank.json")
with open(path, "w") as out:
    json.dump({"source": source, "cases": cases}, out, indent=2)
    out.write("\n")
