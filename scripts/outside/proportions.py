"""One share and two shares."""

import numpy as np
from common import close, file, rng, tools
from exact import barnard, boschloo, fisher_two_sided
from scipy import stats
from scipy.optimize import brentq
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint


def pair(both):
    lower, upper = both
    return {"lower": lower, "upper": upper}


def one():
    random = rng("one")
    cases = []
    for at in range(40):
        n = int(random.integers(1, 60))
        x = int(random.integers(0, n + 1))
        level = float(random.choice([0.8, 0.9, 0.95, 0.99]))
        exact = stats.binomtest(x, n).proportion_ci(level, "exact")
        wilson = stats.binomtest(x, n).proportion_ci(level, "wilson")
        raw = proportion_confint(x, n, 1 - level, "jeffreys")
        close(exact.low, proportion_confint(x, n, 1 - level, "beta")[0], 1e-9, "Clopper-Pearson")
        close(wilson.high, min(1.0, proportion_confint(x, n, 1 - level, "wilson")[1]), 1e-9, "Wilson")
        expected = {
            "estimate": x / n,
            "wilson": pair((0.0 if x == 0 else wilson.low, 1.0 if x == n else wilson.high)),
            "clopper_pearson": pair((exact.low, exact.high)),
            "jeffreys_equal_tailed_raw": pair(raw),
        }
        cases.append((f"random_{at}_{x}_of_{n}", {"events": x, "n": n, "conf_level": level}, expected))
    return file(
        "one_proportion_intervals",
        f"{tools('scipy', 'statsmodels')}: binomtest(...).proportion_ci, proportion_confint",
        {"abs": 1e-9, "rel": 1e-8},
        cases,
        "Both libraries agree on Clopper-Pearson and Wilson before they are frozen.",
    )


def restricted(x, n, y, m, gap):
    """The shares that fit best when a is ahead of b by the gap: the monotone score of the one unknown, bisected."""
    low, high = max(0.0, -gap), min(1.0, 1.0 - gap)

    def slope(q):
        p = q + gap
        part = lambda x, n, p: (x / p if x else 0.0) - ((n - x) / (1 - p) if n > x else 0.0)
        return part(x, n, p) + part(y, m, q)

    tiny = 1e-14
    if slope(low + tiny) <= 0:
        return low + gap, low
    if slope(high - tiny) >= 0:
        return high + gap, high
    q = brentq(slope, low + tiny, high - tiny, xtol=1e-15, rtol=1e-14)
    return q + gap, q


def score_interval(x, n, y, m, level, factor):
    z = stats.norm.ppf((1 + level) / 2)
    seen = x / n - y / m

    def surplus(gap):
        p, q = restricted(x, n, y, m, gap)
        variance = (p * (1 - p) / n + q * (1 - q) / m) * factor
        return (seen - gap) ** 2 - z * z * variance

    # Where nobody or everybody reached, the surplus is 0 at the gap seen, which is no limit.
    far, near = 1 - 1e-9, 1e-9
    lower = -1.0 if surplus(-far) <= 0 else brentq(surplus, -far, seen - near, xtol=1e-14)
    upper = 1.0 if surplus(far) <= 0 else brentq(surplus, seen + near, far, xtol=1e-14)
    return {"lower": lower, "upper": upper}


def two():
    random = rng("two")
    cases = []
    while len(cases) < 40:
        n, m = (int(random.integers(2, 25)) for _ in "ab")
        x, y = int(random.integers(0, n + 1)), int(random.integers(0, m + 1))
        if x + y in (0, n + m):
            # Nobody or everybody reached: conventions differ, and the cases by hand have them.
            continue
        level = float(random.choice([0.9, 0.95, 0.99]))
        table = [[x, y], [n - x, m - y]]
        fisher, mid = fisher_two_sided(n, m, x, y)
        close(stats.fisher_exact(table).pvalue, float(fisher), 1e-9, f"Fisher {table}")
        of_boschloo, of_barnard = boschloo(n, m, x, y), barnard(n, m, x, y)
        printed = {
            "scipy_boschloo_p_two_sided": min(1.0, stats.boschloo_exact(table, n=128).pvalue),
            "scipy_barnard_p_two_sided": stats.barnard_exact(table, n=128).pvalue,
        }
        expected = {
            "difference": x / n - y / m,
            "fisher_p_two_sided": float(fisher),
            "fisher_p_a_greater": stats.fisher_exact(table, "greater").pvalue,
            "fisher_p_a_less": stats.fisher_exact(table, "less").pvalue,
            "fisher_midp_irwin": float(mid),
            "newcombe": pair(confint_proportions_2indep(x, n, y, m, method="newcomb", compare="diff", alpha=1 - level)),
            "agresti_caffo_unclipped": pair(
                confint_proportions_2indep(x, n, y, m, method="agresti-caffo", compare="diff", alpha=1 - level)
            ),
            **of_boschloo,
            **of_barnard,
        }
        if 0 < x < n and 0 < y < m:
            total = n + m
            expected["miettinen_nurminen"] = score_interval(x, n, y, m, level, total / (total - 1))
            expected["mee_score"] = score_interval(x, n, y, m, level, 1.0)
            expected["risk_ratio_katz"] = pair(
                confint_proportions_2indep(x, n, y, m, method="log", compare="ratio", alpha=1 - level)
            )
        given = {"events_a": x, "n_a": n, "events_b": y, "n_b": m, "conf_level": level}
        cases.append((f"random_{len(cases)}_{x}_of_{n}_and_{y}_of_{m}", given, expected, {"for_information": printed}))
    return file(
        "two_proportions",
        f"{tools('scipy', 'statsmodels')}: fisher_exact, confint_proportions_2indep (newcomb, agresti-caffo, log); "
        "Boschloo, Barnard and mid-p: own enumeration in whole numbers; Miettinen-Nurminen and Mee: own bisection of the restricted likelihood",
        {"abs": 1e-7, "rel": 1e-6, "barnard_boschloo_abs": 1e-7},
        cases,
        "What SciPy prints for Barnard and Boschloo stands under for_information: it samples the common share at 128 points, and for "
        "Barnard compares the statistics without a tie tolerance, so that it can lose the mirror table. statsmodels' score interval "
        "is not Miettinen-Nurminen and is not used.",
        "library and own-enumeration",
    )


def holm():
    random = rng("holm")
    cases = []
    for at in range(10):
        p = [float(f"{v:.4f}") for v in random.beta(0.4, 2.0, int(random.integers(2, 9)))]
        cases.append((f"random_{at}", {"p_values": p}, {"p_holm": multipletests(p, method="holm")[1]}))
    return file("holm_adjustment", f"{tools('statsmodels')}: multipletests", {"abs": 1e-11, "rel": 1e-11}, cases)


def coverage():
    """How often intervals for a difference hold the truth, over all pairs of shares 0.02, 0.04 ... 0.98."""
    grid = np.arange(1, 50) / 50
    gaps = grid[:, None] - grid[None, :]
    by_library = lambda name: lambda x, y, n: confint_proportions_2indep(x, n, y, n, method=name, compare="diff")

    def score(x, y, n):
        both = score_interval(x, n, y, n, 0.95, 2 * n / (2 * n - 1))
        return both["lower"], both["upper"]

    methods = {"newcombe": by_library("newcomb"), "agresti_caffo": by_library("agresti-caffo"), "miettinen_nurminen": score}
    cases = []
    for n in (5, 8, 20):
        terms = stats.binom.pmf(np.arange(n + 1)[None, :], n, grid[:, None])
        for name, interval in methods.items():
            held, width = np.zeros(gaps.shape), 0.0
            for x in range(n + 1):
                for y in range(n + 1):
                    lower, upper = interval(x, y, n)
                    lower, upper = max(lower, -1.0), min(upper, 1.0)
                    likely = terms[:, x][:, None] * terms[:, y][None, :]
                    held += likely * ((lower <= gaps + 1e-12) & (gaps - 1e-12 <= upper))
                    width += float(np.mean(likely)) * (upper - lower)
            expected = {"mean": float(held.mean()), "least": float(held.min()), "mean_width": width}
            cases.append((f"{name}_{n}_a_group", {"interval": name, "n": n}, expected))
    return file(
        "coverage_two_proportions",
        f"{tools('scipy', 'statsmodels')}: binom.pmf; confint_proportions_2indep (newcomb, agresti-caffo); Miettinen-Nurminen: own "
        "bisection of the restricted likelihood",
        {"abs": 1e-6},
        cases,
        "Mean and least coverage of 95 % intervals and their mean width by complete enumeration of both counts, over all pairs of "
        "shares 0.02, 0.04 ... 0.98; intervals are cut to -1 to 1.",
        "library and own-enumeration",
    )


FILES = {"01_one_proportion": one, "02_coverage": coverage, "02_two_proportions": two, "03_holm": holm}
