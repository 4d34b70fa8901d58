"""Times to a stage."""

import warnings

import numpy as np
from common import close, file, rng, tools
from lifelines import KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test
from scipy import stats


def followed(random, n):
    """Whole days with ties, some bulbs lost on the way."""
    days = np.ceil(stats.weibull_min.rvs(2.2, scale=25, size=n, random_state=random)).astype(int)
    lost = random.integers(8, 50, n)
    return [int(d) for d in np.minimum(days, lost)], [int(s) for s in days <= lost]


def kaplan_meier():
    random = rng("kaplan_meier")
    cases = []
    while len(cases) < 12:
        time, status = followed(random, int(random.integers(5, 41)))
        if sum(status) < 2:
            continue
        fit = KaplanMeierFitter().fit(time, status)
        table = fit.event_table
        rows = table[table["observed"] > 0]
        days = [int(d) for d in rows.index]
        survival = [float(fit.survival_function_.loc[d].iloc[0]) for d in days]
        # lifelines prints log-log limits; they are not defined where none is left.
        limits = fit.confidence_interval_
        ends = [limits.loc[d] if s > 1e-12 else (None, None) for d, s in zip(days, survival)]
        ends = [[None if v is None else float(v) for v in end] for end in ends]
        greenwood, total = [], 0.0
        for s, (_, row) in zip(survival, rows.iterrows()):
            risk, event = row["at_risk"], row["observed"]
            total = total + event / (risk * (risk - event)) if risk > event else None
            greenwood.append(None if total is None else s * np.sqrt(total))
            if total is None:
                break
        median = fit.median_survival_time_
        expected = {
            "time": days,
            "n_risk": [int(v) for v in rows["at_risk"]],
            "n_event": [int(v) for v in rows["observed"]],
            "survival": survival,
            "log_log": {"lower": [e[0] for e in ends], "upper": [e[1] for e in ends]},
            "quantiles_log_log": {"median": {"estimate": None if np.isinf(median) else median}},
        }
        if all(v is not None for v in greenwood):
            expected["std_err_greenwood"] = greenwood
        cases.append((f"random_{len(cases)}", {"time": time, "status": status}, expected))
    return file(
        "kaplan_meier",
        f"{tools('lifelines')}: KaplanMeierFitter (log-log limits); Greenwood's sum written out",
        {"abs": 1e-9, "rel": 1e-8},
        cases,
    )


def nelson_aalen_scores(time, status):
    """Status less the pooled cumulative hazard at one's own time."""
    time, status = np.array(time), np.array(status)
    hazard = np.zeros(len(time))
    for day in np.unique(time[status == 1]):
        hazard[time >= day] += ((time == day) & (status == 1)).sum() / (time >= day).sum()
    return status - hazard


def logrank():
    random = rng("logrank")
    cases = []
    while len(cases) < 12:
        n_a, n_b = int(random.integers(3, 9)), int(random.integers(3, 9))
        time, status = followed(random, n_a + n_b)
        group = [0] * n_a + [1] * n_b
        if sum(status) < 3:
            continue
        library = multivariate_logrank_test(time, group, status)
        scores = nelson_aalen_scores(time, status)
        # Every allocation, by SciPy; the statistic is the sum of the scores in the first group.
        drawn = stats.permutation_test(
            (scores[:n_a], scores[n_a:]), lambda a, b, axis: a.sum(axis), vectorized=True, n_resamples=np.inf
        ).null_distribution
        u, slack = scores[:n_a].sum(), 1e-9
        expected = {
            "chi2": library.test_statistic,
            "df": 1,
            "p": library.p_value,
            "permutation": {
                "scores": scores,
                "n_allocations": len(drawn),
                "u": u,
                "var_u": drawn.var(),
                "p_two_sided": (abs(drawn - drawn.mean()) >= abs(u - drawn.mean()) - slack).mean(),
                "p_upper": (drawn >= u - slack).mean(),
                "p_lower": (drawn <= u + slack).mean(),
            },
        }
        cases.append((f"random_{len(cases)}", {"time": time, "status": status, "group": group}, expected))
    return file(
        "logrank",
        f"{tools('lifelines', 'scipy')}: multivariate_logrank_test, permutation_test over all allocations",
        {"abs": 1e-8, "rel": 1e-7},
        cases,
        "Scores: status less the pooled Nelson-Aalen estimate at the own time.",
        "library and own-enumeration",
    )


def innermost(left, right):
    """Starts with the next end and no other start between; (4, 5] and (5, 8] do not meet."""
    # A half-open start lies just after its day, an exact one on it; an end lies on its day.
    starts = sorted({(l, 0 if l == r else 1) for l, r in zip(left, right)})
    ends = sorted({(r, 0) for r in right})
    found = []
    for start in starts:
        after = [end for end in ends if end >= start]
        if after and not any(start < other <= after[0] for other in starts):
            found.append((start, after[0]))
    return found


def npmle(left, right, weight=None):
    """Masses of the innermost intervals by EM, pruned and repeated until the Kuhn-Tucker condition holds."""
    weight = np.ones(len(left)) if weight is None else np.array(weight, dtype=float)
    cells = innermost(left, right)
    start = [(l, 0 if l == r else 1) for l, r in zip(left, right)]
    inside = np.array([[s <= a and b <= (r, 0) for a, b in cells] for s, r in zip(start, right)], dtype=float)
    mass = np.ones(len(cells)) / len(cells)
    alive = np.ones(len(cells), dtype=bool)
    for _ in range(60):
        for _ in range(4000):
            slope = inside.T @ (weight / (inside @ mass)) / weight.sum()
            mass = mass * slope
        slope = inside.T @ (weight / (inside @ mass)) / weight.sum()
        if slope.max() <= 1 + 1e-10 and abs(slope[mass > 1e-9] - 1).max() < 1e-9:
            break
        # What creeps toward zero is taken out, and put back where the condition then asks for it.
        dead = alive & (mass < 1e-4) & (slope < 1 - 1e-7)
        back = ~alive & (slope > 1 + 1e-8)
        alive = (alive & ~dead) | back
        mass = np.where(alive, np.maximum(mass, 1e-6 * back), 0.0)
        mass /= mass.sum()
    assert slope.max() <= 1 + 1e-8, slope.max()
    loglik = float((weight * np.log(inside @ mass)).sum())
    kept = [(a[0], b[0], float(m)) for (a, b), m in zip(cells, mass) if m > 1e-9]
    return kept, loglik


def turnbull_expected(left, right, weight=None):
    """What is frozen of a curve, after lifelines agreed with its likelihood."""
    kept, loglik = npmle(left, right, weight)
    rest, after = 1.0, []
    for _, _, mass in kept:
        rest = max(0.0, rest - mass)
        after.append(rest)
    return {
        "intervals": [{"left": l, "right": r, "mass": m} for l, r, m in kept],
        "loglik": loglik,
        "survival_after_right": [0.0 if abs(v) < 1e-12 else v for v in after],
    }


def by_lifelines(left, right, days):
    """lifelines' survival after some days. It takes intervals as closed, so that (2, 3] and (3, 4] would meet in 3: the
    open ends are moved off their days."""
    left = np.array(left, float) + 1e-3
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = KaplanMeierFitter().fit_interval_censoring(left, np.array(right, float), tol=1e-9)
    found = fit.survival_function_["NPMLE_estimate_lower"]
    return [float(found[found.index <= day].iloc[-1]) for day in days]


def turnbull():
    random = rng("turnbull")
    cases = []
    for at in range(12):
        n = int(random.integers(4, 41))
        step = int(random.choice([2, 3, 7]))
        when = stats.weibull_min.rvs(3, scale=30, size=n, random_state=random)
        off = random.integers(0, step, n)
        left = [int(max(0, (w - o) // step * step + o)) for w, o in zip(when, off)]
        right = [l + step if l + step <= 42 else float("inf") for l in left]
        cases.append((f"random_{at}_every_{step}_days", {"left": left, "right": right}, turnbull_expected(left, right)))
    return file(
        "turnbull_npmle",
        f"{tools('numpy')}: own EM, pruned until the Kuhn-Tucker condition max_j (1/n) sum_i a_ij/d_i <= 1 + 1e-8 held (Gentleman & Geyer 1994)",
        {"mass_abs": 1e-6, "loglik_abs": 1e-7},
        cases,
        kind="own-enumeration",
    )


FILES = {"05_kaplan_meier": kaplan_meier, "05_logrank": logrank, "05_turnbull_npmle": turnbull}
