"""Complete enumeration in whole numbers: what libraries do not offer, or get wrong where tables tie."""

from fractions import Fraction
from itertools import product
from math import comb

import numpy as np
from scipy.optimize import minimize_scalar


def binomials(n):
    """C(n, x) for x from 0 to n."""
    return [comb(n, x) for x in range(n + 1)]


def hypergeometric(n_a, n_b, total):
    """How many tables there are with x of n_a and total - x of n_b, by x."""
    return {x: comb(n_a, x) * comb(n_b, total - x) for x in range(max(0, total - n_b), min(n_a, total) + 1)}


def fisher_two_sided(n_a, n_b, x, y):
    """The share of tables not more frequent than the one seen, as a fraction; and with the equal ones halved."""
    ways = hypergeometric(n_a, n_b, x + y)
    seen, all_ = ways[x], sum(ways.values())
    rarer = sum(w for w in ways.values() if w <= seen)
    equal = sum(w for w in ways.values() if w == seen)
    return Fraction(rarer, all_), Fraction(2 * rarer - equal, 2 * all_)


def fisher_one_sided(n_a, n_b, x, y):
    """The share of tables with at least as many in a."""
    ways = hypergeometric(n_a, n_b, x + y)
    return Fraction(sum(w for at, w in ways.items() if at >= x), sum(ways.values()))


def sup_over_common_share(n_a, n_b, region):
    """The largest probability of a region under one common share: a dense grid, then the best stretches refined."""
    weights = np.zeros(n_a + n_b + 1)
    for x, y in region:
        weights[x + y] += float(comb(n_a, x) * comb(n_b, y))
    totals = np.arange(n_a + n_b + 1)

    def probability(p):
        p = np.asarray(p, dtype=float)[..., None]
        return (weights * p**totals * (1 - p) ** (n_a + n_b - totals)).sum(-1)

    grid = (1 - np.cos(np.linspace(0, np.pi, 8001))) / 2
    values = probability(grid)
    best = float(values.max())
    for at in np.argsort(values)[-12:]:
        low, high = grid[max(0, at - 1)], grid[min(len(grid) - 1, at + 1)]
        found = minimize_scalar(lambda p: -float(probability(p)), bounds=(low, high), method="bounded", options={"xatol": 1e-13})
        best = max(best, -float(found.fun))
    return min(1.0, best)


def tables(n_a, n_b):
    """Every pair of counts."""
    return product(range(n_a + 1), range(n_b + 1))


def boschloo(n_a, n_b, x, y):
    """Both conventions of the two-sided test, and both one-sided ones."""
    least = fisher_two_sided(n_a, n_b, x, y)[0]
    two = [t for t in tables(n_a, n_b) if fisher_two_sided(n_a, n_b, *t)[0] <= least]
    greater_seen = fisher_one_sided(n_a, n_b, x, y)
    greater = [t for t in tables(n_a, n_b) if fisher_one_sided(n_a, n_b, *t) <= greater_seen]
    less_seen = fisher_one_sided(n_b, n_a, y, x)
    less = [t for t in tables(n_a, n_b) if fisher_one_sided(n_b, n_a, t[1], t[0]) <= less_seen]
    greater, less = (sup_over_common_share(n_a, n_b, region) for region in (greater, less))
    return {
        "boschloo_p_two_sided_doubled": min(1.0, 2 * min(greater, less)),
        "boschloo_p_two_sided_fisher_ordering": sup_over_common_share(n_a, n_b, two),
        "boschloo_p_a_greater": greater,
        "boschloo_p_a_less": less,
    }


def barnard(n_a, n_b, x, y):
    """Pooled Z as the order, compared in whole numbers."""

    def z(x, y):
        d, m = x * n_b - y * n_a, (x + y) * (n_a + n_b - x - y)
        # The sign of d with d squared over m, as a fraction; a table where all or none reached says nothing.
        return Fraction(0) if m == 0 else Fraction(d * abs(d), m)

    seen = z(x, y)
    region = {
        "barnard_p_two_sided": [t for t in tables(n_a, n_b) if abs(z(*t)) >= abs(seen)],
        "barnard_p_a_greater": [t for t in tables(n_a, n_b) if z(*t) >= seen],
        "barnard_p_a_less": [t for t in tables(n_a, n_b) if z(*t) <= seen],
    }
    return {name: sup_over_common_share(n_a, n_b, members) for name, members in region.items()}


def k_by_2(events, sizes):
    """Every way in which the events could lie in the groups, with how many ways there are for it."""
    total = sum(events)

    def rest(sizes, left):
        if not sizes:
            if left == 0:
                yield (), 1
            return
        for x in range(max(0, left - sum(sizes[1:])), min(sizes[0], left) + 1):
            ways = comb(sizes[0], x)
            for more, others in rest(sizes[1:], left - x):
                yield (x, *more), ways * others

    return list(rest(tuple(sizes), total))


def freeman_halton(events, sizes):
    """The share of tables not more frequent than the one seen."""
    all_ = k_by_2(events, sizes)
    seen = dict(all_)[tuple(events)]
    return Fraction(sum(ways for _, ways in all_ if ways <= seen), sum(ways for _, ways in all_))


def trend(events, sizes, scores):
    """The exact conditional tests of a sum of whole scores."""
    all_ = k_by_2(events, sizes)
    whole = sum(ways for _, ways in all_)
    score = lambda table: sum(s * x for s, x in zip(scores, table))
    seen, mean = score(events), Fraction(sum(events) * sum(s * n for s, n in zip(scores, sizes)), sum(sizes))
    part = lambda keep: Fraction(sum(ways for table, ways in all_ if keep(score(table))), whole)
    up, down, same = part(lambda t: t >= seen), part(lambda t: t <= seen), part(lambda t: t == seen)
    return {
        "exact_p_increasing": up,
        "exact_p_decreasing": down,
        "exact_p_two_sided_doubled": min(Fraction(1), 2 * min(up, down)),
        "exact_p_two_sided_distance": part(lambda t: abs(t - mean) >= abs(seen - mean)),
        "exact_midp_two_sided_doubled": min(Fraction(1), 2 * min(up - same / 2, down - same / 2)),
    }


def stratified(strata):
    """The distribution of the events in a given every margin, in whole numbers, with how many there were."""
    ways, seen = {0: 1}, 0
    for x, n_a, y, n_b in strata:
        own = hypergeometric(n_a, n_b, x + y)
        seen += x
        joined = {}
        for s, w in ways.items():
            for t, v in own.items():
                joined[s + t] = joined.get(s + t, 0) + w * v
        ways = joined
    return ways, seen
