"""Before the start: power, numbers to start; and models, and evidence at any look."""

import warnings

import numpy as np
from common import close, file, rng, tools
from firthmodels import FirthLogisticRegression
from scipy import stats
from scipy.optimize import brentq
from scipy.special import betaln


def power():
    random = rng("power")
    cases = []
    for _ in range(10):
        n, m = (int(random.integers(4, 19)) for _ in "ab")
        p, q = (float(f"{v:.2f}") for v in random.uniform(0.05, 0.95, 2))
        alpha = float(random.choice([0.01, 0.05, 0.1]))
        said = np.array(
            [[stats.fisher_exact([[x, y], [n - x, m - y]]).pvalue for y in range(m + 1)] for x in range(n + 1)]
        )
        # A p that is alpha but for rounding counts as alpha.
        refused = said <= alpha * (1 + 1e-9)
        of = lambda p, q: float(stats.binom.pmf(np.arange(n + 1), n, p) @ refused @ stats.binom.pmf(np.arange(m + 1), m, q))
        given = {"n_a": n, "n_b": m, "p_a": p, "p_b": q, "alpha": alpha}
        expected = {"power": {"fisher_two_sided": of(p, q)}}
        cases.append((f"n{n}_{m}_p{p}_{q}_alpha{alpha}", given, expected))
    return file(
        "exact_power_two_proportions",
        f"{tools('scipy')}: every table, fisher_exact, binom.pmf",
        {"abs": 1e-9},
        cases,
        kind="library",
    )


def poisson_binomial():
    random = rng("poisson_binomial")
    cases = []
    for n in [1, 2, 5, 9, 17, 30, 60, 120]:
        p = [float(f"{v:.3f}") for v in random.beta(0.8, 0.8, n)]
        count = stats.poisson_binom(p)
        k = np.arange(n + 1)
        asked = sorted({0, n // 2, n, max(0, n - 2)})
        expected = {
            "mean": count.mean(),
            "variance": count.var(),
            "pmf": np.maximum(count.pmf(k), 0),
            "p_at_least": [{"k": int(a), "p": float(count.sf(a - 1)) if a else 1.0} for a in asked],
        }
        cases.append((f"random_{n}", {"probabilities": p}, expected))
    return file("poisson_binomial", f"{tools('scipy')}: poisson_binom", {"abs": 1e-12, "rel": 1e-7}, cases)


def number_to_start():
    random = rng("number_to_start")
    cases = []
    for at in range(16):
        wanted, sure = int(random.integers(1, 30)), float(random.choice([0.8, 0.9, 0.95]))
        if at % 2:
            a, b = (float(f"{v:.1f}") for v in random.uniform(3, 20, 2))
            assured, given = (lambda n: stats.betabinom.sf(wanted - 1, n, a, b)), {"model": "beta_binomial", "a": a, "b": b}
        else:
            p = float(f"{random.uniform(0.3, 0.95):.2f}")
            assured, given = (lambda n: stats.binom.sf(wanted - 1, n, p)), {"model": "binomial", "p": p}
        n = next(n for n in range(wanted, 100_000) if assured(n) >= sure)
        before = float(assured(n - 1)) if n > wanted else 0.0
        expected = {"n": n, "p_at_n": float(assured(n)), "p_at_n_minus_1": before}
        cases.append((f"random_{at}", {"at_least": wanted, "probability": sure, **given, "n_max": 100_000}, expected))
    return file("number_to_start", f"{tools('scipy')}: binom.sf, betabinom.sf", {"n": 0, "abs": 1e-9}, cases)


def firth():
    random = rng("firth")
    cases = []
    while len(cases) < 10:
        n = int(random.integers(12, 41))
        x = np.column_stack([np.ones(n), np.arange(n) % 2, random.integers(0, 3, n)])
        y = (random.random(n) < 1 / (1 + np.exp(1.5 - 2.5 * x[:, 1]))).astype(int)
        if not 0 < y.sum() < n or np.linalg.matrix_rank(x) < 3:
            continue
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                fit = FirthLogisticRegression(fit_intercept=False, gtol=1e-7, xtol=1e-7, max_iter=200).fit(x, y)
                limits = fit.conf_int(0.05, "pl", tol=1e-7, max_iter=200)
            except Warning:
                # A fit that did not settle is no answer.
                continue
        expected = {
            "coefficients": fit.coef_,
            "penalized_loglik": fit.loglik_,
            "profile_lower": limits[:, 0],
            "profile_upper": limits[:, 1],
        }
        given = {"x": x.astype(int).tolist(), "y": y.tolist(), "conf_level": 0.95}
        cases.append((f"random_{len(cases)}", given, expected))
    return file(
        "firth_logistic",
        f"{tools('firthmodels')}: FirthLogisticRegression, profile limits",
        {"abs": 1e-5, "rel": 1e-5, "profile_abs": 2e-4},
        cases,
        "Its standard errors are hat-augmented and are not frozen.",
    )


def confidence_sequence():
    random = rng("confidence_sequence")
    cases = []
    for at in range(8):
        n = int(random.integers(3, 41))
        outcomes = [int(v) for v in random.random(n) < random.uniform(0.1, 0.9)]
        a, b = (float(random.choice([0.5, 1.0])) for _ in "ab")
        looks, low, high = [], 0.0, 1.0
        for m in range(1, n + 1):
            x = sum(outcomes[:m])
            ln_e = lambda p: betaln(a + x, b + m - x) - betaln(a, b) - (x * np.log(p) if x else 0) - ((m - x) * np.log1p(-p) if x < m else 0)
            over = lambda p: float(ln_e(p)) - np.log(20.0)
            mode = min(max(x / m, 1e-12), 1 - 1e-12)
            lower = 0.0 if x == 0 else brentq(over, 1e-15, mode, xtol=1e-15)
            upper = 1.0 if x == m else brentq(over, mode, 1 - 1e-15, xtol=1e-15)
            low, high = max(low, lower), min(high, upper)
            if m % 3 == 0 or m == n:
                looks.append({"n": m, "events": x, "lower": lower, "upper": upper})
                if low <= high:
                    looks[-1] |= {"running_lower": low, "running_upper": high}
        given = {"outcomes": outcomes, "alpha": 0.05, "prior_a": a, "prior_b": b, "p0": 0.5, "looks": [l["n"] for l in looks]}
        cases.append((f"random_{at}", given, {"looks": looks}))
    return file(
        "beta_binomial_confidence_sequence",
        f"{tools('scipy')}: betaln, brentq on the mixture's logarithm",
        {"abs": 1e-8},
        cases,
        kind="own-enumeration",
    )


FILES = {
    "07_firth_logistic": firth,
    "08_power": power,
    "09_number_to_start": number_to_start,
    "09_poisson_binomial": poisson_binomial,
    "10_beta_binomial_confidence_sequence": confidence_sequence,
}
