"""Times general-purpose libraries on the tables that come in as JSON; prints milliseconds for all of them by name."""

import json
import sys
import time
import warnings

import numpy as np
from lifelines import KaplanMeierFitter
from scipy import special, stats
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

warnings.filterwarnings("ignore")
np.seterr(all="ignore")
given = json.load(sys.stdin)
tables = given["tables"]
two_by_two = [[[x, y], [n - x, m - y]] for x, n, y, m in tables]
fours = [[(tables + tables[:3])[at + k] for k in range(4)] for at in range(len(tables))]


def least_ms(work, readings):
    """The least of some readings, as imports and caches are in the first."""
    times = []
    for _ in range(readings):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times) * 1e3


def each(of):
    def work():
        for one in tables:
            try:
                of(*one)
            except Exception:
                # Some of these fail on some small tables; their time counts all the same.
                pass

    return work


def exact_conditional():
    for four in fours:
        ways, seen = np.ones(1), 0
        for x, n, y, m in four:
            total = x + y
            low = max(0, total - m)
            ways = np.convolve(ways, stats.hypergeom.pmf(np.arange(low, min(n, total) + 1), n + m, n, total))
            seen += x - low
        ways[ways <= ways[seen] * (1 + 1e-7)].sum()


def trend():
    # SciPy and statsmodels have asymptotic tests only; the exact one as one would write it with NumPy: rows are the
    # numbers placed so far, columns the sums of scores.
    for four in fours:
        groups = [(x, n) for x, n, _, _ in four]
        total = sum(x for x, _ in groups)
        ways = np.zeros((total + 1, 4 * total + 1))
        ways[0, 0] = 1.0
        for score, (_, n) in enumerate(groups, 1):
            weights = special.comb(n, np.arange(min(n, total) + 1))
            placed = np.zeros_like(ways)
            for x, weight in enumerate(weights):
                placed[x:, score * x :] += weight * ways[: total + 1 - x, : ways.shape[1] - score * x]
            ways = placed
        row = ways[total] / ways[total].sum()
        sums = np.arange(len(row))
        mean = total * sum(s * n for s, (_, n) in enumerate(groups, 1)) / sum(n for _, n in groups)
        seen = sum(s * x for s, (x, _) in enumerate(groups, 1))
        row[abs(sums - mean) >= abs(seen - mean) - 1e-9].sum()


def freeman_halton():
    # SciPy has no exact test for more than two groups; this many random tables is its default.
    for four in fours[:20]:
        table = np.array([[x for x, n, _, _ in four], [n - x for x, n, _, _ in four]])
        try:
            stats.fisher_exact(table, method=stats.MonteCarloMethod())
        except Exception:
            pass


def power():
    for x, n, y, m in tables[::10]:
        a, b = stats.binom.pmf(np.arange(n + 1), n, 0.75), stats.binom.pmf(np.arange(m + 1), m, 0.5)
        for i in range(n + 1):
            for j in range(m + 1):
                if stats.fisher_exact([[i, j], [n - i, m - j]])[1] <= 0.05:
                    a[i] * b[j]


def turnbull():
    left, right = zip(*given["intervals"])
    KaplanMeierFitter().fit_interval_censoring(np.array(left), np.array([np.inf if r is None else r for r in right]))


WORK = {
    "fisher": (each(lambda x, n, y, m: stats.fisher_exact([[x, y], [n - x, m - y]])), 3),
    "boschloo": (each(lambda x, n, y, m: stats.boschloo_exact([[x, y], [n - x, m - y]])), 2),
    "barnard": (each(lambda x, n, y, m: stats.barnard_exact([[x, y], [n - x, m - y]])), 2),
    "exact_conditional": (exact_conditional, 2),
    "freeman_halton": (freeman_halton, 1),
    "trend": (trend, 3),
    "wilson": (each(lambda x, n, y, m: proportion_confint(x, n, 0.05, "wilson")), 3),
    "clopper_pearson": (each(lambda x, n, y, m: proportion_confint(x, n, 0.05, "beta")), 3),
    "newcombe": (each(lambda x, n, y, m: confint_proportions_2indep(x, n, y, m, method="newcomb", compare="diff")), 3),
    "miettinen_nurminen": (each(lambda x, n, y, m: confint_proportions_2indep(x, n, y, m, method="score", compare="diff")), 2),
    "power": (power, 1),
    "turnbull": (turnbull, 1),
}

said = {name: least_ms(work, readings) for name, (work, readings) in WORK.items()}
# Twenty of the two hundred were timed.
said["freeman_halton"] *= len(fours) / 20
print(json.dumps(said))
