"""The grader's statistics."""

import numpy as np
from statsmodels.stats.contingency_tables import mcnemar
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import proportion_confint

from table import MEMORY, NUMPY, STATSMODELS, Table


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


def kappa():
    tables = [
        [[20, 5], [10, 15]],
        [[45, 15], [25, 15]],
        [[10, 0], [0, 30]],
        [[0, 7], [7, 0]],
        [[11, 2, 1], [3, 14, 4], [0, 5, 9]],
        [[25, 0, 3, 1], [2, 18, 0, 4], [0, 1, 30, 2], [6, 0, 0, 8]],
    ]
    rows = [
        [len(t), " ".join(str(x) for line in t for x in line), float(cohens_kappa(t).kappa)] for t in tables
    ]
    return Table(
        "kappa",
        [
            f"Cohen's kappa of agreement; {STATSMODELS}, cohens_kappa",
            f"(p_o - p_e)/(1 - p_e): Cohen, Educational and Psychological Measurement 20, 1960, 37-46, {MEMORY}",
        ],
        ["labels", "counts_row_by_row", "kappa"],
        rows,
        1e-11,
    )
