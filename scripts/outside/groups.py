"""Several groups, and several tries."""

import warnings

import numpy as np
from common import close, file, rng, tools
from exact import freeman_halton, stratified, trend
from scipy import stats
from statsmodels.stats.contingency_tables import StratifiedTable
from statsmodels.stats.meta_analysis import combine_effects


def several():
    random = rng("several")
    cases = []
    while len(cases) < 30:
        k = int(random.integers(3, 7))
        sizes = [int(n) for n in random.integers(2, 11, k)]
        events = [int(random.integers(0, n + 1)) for n in sizes]
        if sum(events) in (0, sum(sizes)):
            continue
        scores = sorted(int(s) for s in random.choice(np.arange(0, 20), k, replace=False))
        table = np.array([events, [n - x for x, n in zip(events, sizes)]])
        pearson = stats.chi2_contingency(table, correction=False)
        share = sum(events) / sum(sizes)
        centre = sum(s * n for s, n in zip(scores, sizes)) / sum(sizes)
        spread = sum(n * (s - centre) ** 2 for s, n in zip(scores, sizes))
        z = sum((s - centre) * x for s, x in zip(scores, events)) / np.sqrt(share * (1 - share) * spread)
        of_trend = {name: float(p) for name, p in trend(events, sizes, scores).items()}
        drawn = stats.fisher_exact(
            table, method=stats.MonteCarloMethod(n_resamples=20_000, rng=np.random.default_rng(7))
        ).pvalue
        of_all = float(freeman_halton(events, sizes))
        close(drawn, of_all, 0.02, f"Freeman-Halton {events} of {sizes}")
        expected = {
            "fisher_freeman_halton_p": of_all,
            "pearson_chi2": pearson.statistic,
            "pearson_df": pearson.dof,
            "trend": {"z": z, "p_two_sided_asymptotic": 2 * stats.norm.sf(abs(z)), **of_trend},
        }
        given = {"events": events, "n": sizes, "scores": scores}
        cases.append((f"random_{len(cases)}", given, expected, {"for_information": {"scipy_monte_carlo_20000": drawn}}))
    return file(
        "k_groups_exact",
        f"{tools('scipy')}: chi2_contingency, fisher_exact by Monte Carlo as a check within 0.02; "
        "Freeman-Halton and trend: own enumeration in whole numbers",
        {"abs": 1e-8, "rel": 1e-6},
        cases,
        kind="library and own-enumeration",
    )


def pooled(y, v):
    """The fixed pooling and DerSimonian-Laird's by statsmodels, which does not cut a negative tau2 off at 0."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = combine_effects(np.array(y), np.array(v), method_re="dl", use_t=False)
    q = float(found.q)
    shared = {"q": q, "q_p": float(stats.chi2.sf(q, len(y) - 1))}
    fixed = {"estimate": found.mean_effect_fe, "se": found.sd_eff_w_fe, "tau2": 0.0, **shared}
    if found.tau2 < 0:
        return {"fixed": fixed, "dersimonian_laird": fixed}
    random = {"estimate": found.mean_effect_re, "se": found.sd_eff_w_re, "tau2": found.tau2, **shared}
    return {"fixed": fixed, "dersimonian_laird": random}


def exact_conditional(strata):
    """Tests from whole numbers, and the odds ratio whose expectation is what was seen."""
    ways, seen = stratified(strata)
    all_ = sum(ways.values())
    part = lambda keep: sum(w for s, w in ways.items() if keep(s, w)) / all_
    same = part(lambda s, w: w == ways[seen])
    two_sided = part(lambda s, w: w <= ways[seen])
    return {
        "p_two_sided": two_sided,
        "p_a_greater": part(lambda s, w: s >= seen),
        "p_a_less": part(lambda s, w: s <= seen),
        "midp_two_sided": two_sided - same / 2,
    }


def tries():
    random = rng("tries")
    cases = []
    while len(cases) < 25:
        strata = []
        for _ in range(int(random.integers(2, 7))):
            n, m = (int(random.integers(3, 15)) for _ in "ab")
            # Away from empty cells: what to add to them differs between libraries, and the cases by hand have it.
            strata.append((int(random.integers(1, n)), n, int(random.integers(1, m)), m))
        tables = [np.array([[x, n - x], [y, m - y]], dtype=float) for x, n, y, m in strata]
        table = StratifiedTable(tables)
        plain, corrected = table.test_null_odds(False), table.test_null_odds(True)
        day, tarone = table.test_equal_odds(False), table.test_equal_odds(True)
        df = len(strata) - 1
        limits = table.oddsratio_pooled_confint(0.05)
        gap = abs(sum(x - n * (x + y) / (n + m) for x, n, y, m in strata))
        log_or = [float(np.log(t[0, 0] * t[1, 1] / (t[0, 1] * t[1, 0]))) for t in tables]
        log_v = [float((1 / t).sum()) for t in tables]
        gaps = [x / n - y / m for x, n, y, m in strata]
        gap_v = [x * (n - x) / n**3 + y * (m - y) / m**3 for x, n, y, m in strata]
        expected = {
            "strata_used": len(strata),
            "cmh_chi2": plain.statistic,
            "cmh_p": plain.pvalue,
            "exact_conditional": exact_conditional(strata),
            "mh_odds_ratio": {
                "estimate": table.oddsratio_pooled,
                "log_se": table.logodds_pooled_se,
                "lower": limits[0],
                "upper": limits[1],
            },
            "mh_risk_ratio": {"estimate": table.riskratio_pooled},
            "breslow_day": {"chi2": day.statistic, "df": df, "p": stats.chi2.sf(day.statistic, df)},
            "breslow_day_tarone": {"chi2": tarone.statistic, "df": df, "p": stats.chi2.sf(tarone.statistic, df)},
            "random_effects_log_or": {"yi": log_or, "vi": log_v, **pooled(log_or, log_v)},
            "random_effects_rd": {"yi": gaps, "vi": gap_v, **pooled(gaps, gap_v)},
        }
        if gap >= 0.5:
            # Below that the correction is cut off at the difference itself, which statsmodels does not do.
            expected["cmh_chi2_continuity"] = corrected.statistic
            expected["cmh_p_continuity"] = corrected.pvalue
        given = {
            "strata": [{"events_a": x, "n_a": n, "events_b": y, "n_b": m} for x, n, y, m in strata],
            "conf_level": 0.95,
        }
        cases.append((f"random_{len(cases)}", given, expected))
    return file(
        "stratified_over_runs",
        f"{tools('statsmodels')}: StratifiedTable, meta_analysis.combine_effects (dl); exact conditional: own convolution in whole numbers",
        {"abs": 1e-7, "rel": 1e-6},
        cases,
        "statsmodels 0.15.0 leaves DerSimonian and Laird's tau2 negative; where it is, the fixed pooling stands for it.",
        kind="library and own-enumeration",
    )


def one_try():
    random = rng("one_try")
    cases = []
    while len(cases) < 20:
        n, m = (int(random.integers(3, 20)) for _ in "ab")
        x, y = int(random.integers(1, n)), int(random.integers(1, m))
        found = stats.contingency.odds_ratio([[x, y], [n - x, m - y]], kind="conditional")
        limits = found.confidence_interval(0.95)
        # How many in a reached, against how many in b did: SciPy's rows are the outcomes here.
        expected = {
            "exact_conditional": {
                "odds_ratio_cmle": found.statistic,
                "odds_ratio_lower": limits.low,
                "odds_ratio_upper": limits.high,
            }
        }
        given = {"strata": [{"events_a": x, "n_a": n, "events_b": y, "n_b": m}], "conf_level": 0.95}
        cases.append((f"random_{len(cases)}_{x}_of_{n}_and_{y}_of_{m}", given, expected))
    return file(
        "stratified_over_runs",
        f"{tools('scipy')}: contingency.odds_ratio(kind='conditional')",
        {"abs": 1e-6, "rel": 1e-5},
        cases,
        "A single try: the exact conditional odds ratio and its limits. SciPy's root finder leaves about six digits.",
    )


FILES = {"03_k_groups": several, "04_stratified": tries, "04_one_try": one_try}
