"""The grader's statistics."""

import numpy as np
from scipy.stats import bernoulli, binned_statistic
from statsmodels.stats.contingency_tables import mcnemar
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint

from table import MEMORY, NUMPY, SCIPY, STATSMODELS, Table


def wilson():
    cases = [(0, 1), (1, 1), (0, 10), (7, 10), (10, 10), (1, 29), (81, 263), (500, 1000), (19_998, 20_000)]
    rows = [[k, n, *map(float, proportion_confint(k, n, 0.05, "wilson"))] for k, n in cases]
    return Table(
        "wilson",
        [
            f"95 % interval of a proportion; {STATSMODELS}, proportion_confint(method='wilson')",
            f"Wilson, J. Am. Stat. Assoc. 22, 1927, 209-212, {MEMORY}",
        ],
        ["right", "calls", "low", "high"],
        rows,
        1e-11,
    )


def brier():
    rows = []
    for case in range(4):
        draw = np.random.RandomState(case)
        stated = np.round(draw.uniform(size=8), 2)
        came = (draw.uniform(size=8) < stated).astype(int)
        score = float(np.mean((stated - came) ** 2))
        rows.append([" ".join(map(str, stated)), " ".join(map(str, came)), score])
    return Table(
        "brier",
        [
            f"Brier score of stated confidences; {NUMPY}, mean of the squared misses",
            f"the usual binary form; Brier's own (Monthly Weather Review 78, 1950, 1-3, {MEMORY}) is twice it, over both outcomes",
        ],
        ["stated", "came_true", "score"],
        rows,
        1e-11,
    )


def exact_mcnemar():
    rows = []
    for only_first, only_second in [
        (0, 0),
        (1, 0),
        (5, 5),
        (2, 9),
        (9, 2),
        (0, 20),
        (37, 59),
        (486, 540),
        (900, 1300),
    ]:
        p = mcnemar([[40, only_first], [only_second, 30]], exact=True).pvalue
        rows.append([only_first, only_second, float(min(p, 1.0))])
    return Table(
        "mcnemar",
        [
            f"Exact two-sided McNemar test; {STATSMODELS}, mcnemar(exact=True)",
            f"binomial test of the discordant pairs: McNemar, Psychometrika 12, 1947, 153-157, {MEMORY}",
        ],
        ["only_first", "only_second", "p_value"],
        rows,
        1e-12,
    )


def paired_difference():
    rows = []
    for both, only_first, only_second, neither in [
        (36, 12, 2, 0),
        (20, 12, 2, 16),
        (1, 97, 1, 1),
        (0, 30, 0, 0),
        (27, 0, 0, 27),
        (0, 0, 0, 9),
        (812, 17, 41, 130),
        (3, 40, 55, 2),
        (880_000, 2_100, 1_900, 116_000),
    ]:
        n = both + only_first + only_second + neither
        first, second = both + only_first, both + only_second
        (l1, u1), (l2, u2) = (proportion_confint(k, n, 0.05, "wilson") for k in (first, second))
        p1, p2 = first / n, second / n
        product = float(first) * (n - first) * second * (n - second)
        excess = both * neither - only_first * only_second
        if excess > 0:
            excess = max(excess - n / 2, 0)
        phi = excess / np.sqrt(product) if product > 0 else 0.0
        below = np.sqrt((p2 - l2) ** 2 - 2 * phi * (p2 - l2) * (u1 - p1) + (u1 - p1) ** 2)
        above = np.sqrt((u2 - p2) ** 2 - 2 * phi * (u2 - p2) * (p1 - l1) + (p1 - l1) ** 2)
        low, high = max(p2 - p1 - below, -1.0), min(p2 - p1 + above, 1.0)
        rows.append([both, only_first, only_second, neither, float(low), float(high)])
    return Table(
        "paired_difference",
        [
            f"95 % interval of the second share less the first, paired; Wilson's intervals by {STATSMODELS}, put together as in",
            f"Newcombe, Statistics in Medicine 17, 1998, 2635-2650, method 10, {MEMORY}",
        ],
        ["both", "only_first", "only_second", "neither", "low", "high"],
        rows,
        1e-11,
    )


def log_score():
    rows = []
    for case in range(4):
        draw = np.random.RandomState(40 + case)
        stated = np.round(draw.uniform(size=8), 2)
        came = (draw.uniform(size=8) < stated).astype(int)
        stated[0] = case % 2
        score = float(-np.mean(bernoulli(np.clip(stated, 0.001, 0.999)).logpmf(came)))
        rows.append([" ".join(map(str, stated)), " ".join(map(str, came)), score])
    return Table(
        "log_score",
        [
            f"Logarithmic score of stated confidences, brought within 0.001 and 0.999; {SCIPY}, bernoulli.logpmf",
            f"Good, J. Roy. Stat. Soc. B 14, 1952, 107-114, {MEMORY}",
        ],
        ["stated", "came_true", "score"],
        rows,
        1e-11,
    )


def calibration_error():
    rows = []
    for case in range(4):
        draw = np.random.RandomState(80 + case)
        # In steps of a 64th, so that none stands on the edge of a bin but 0, 0.5 and 1.
        stated = draw.randint(0, 65, size=40) / 64
        came = (draw.uniform(size=40) < stated**2).astype(int)
        edges = np.linspace(0, 1, 11)
        said, _, which = binned_statistic(stated, stated, "sum", edges)
        right, _, _ = binned_statistic(stated, came, "sum", edges)
        error = float(np.sum(np.abs(said - right)) / len(which))
        rows.append([" ".join(map(str, stated)), " ".join(map(str, came)), error])
    return Table(
        "calibration_error",
        [
            f"Expected calibration error over ten bins of equal width; {SCIPY}, binned_statistic",
            f"Naeini, Cooper, Hauskrecht, AAAI 2015, {MEMORY}",
        ],
        ["stated", "came_true", "error"],
        rows,
        1e-11,
    )


def holm():
    rows = []
    for case in range(4):
        p_values = np.round(np.random.RandomState(120 + case).uniform(size=9) ** 3, 4)
        adjusted = multipletests(p_values, method="holm")[1]
        rows.append([" ".join(map(str, p_values)), " ".join(f"{p:.12g}" for p in adjusted)])
    return Table(
        "holm",
        [
            f"p-values adjusted for many tests; {STATSMODELS}, multipletests(method='holm')",
            f"Holm, Scandinavian Journal of Statistics 6, 1979, 65-70, {MEMORY}",
        ],
        ["p_values", "adjusted"],
        rows,
        1e-11,
    )
