#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Computes the random cases of statistics_crossrun.cpp again with SciPy and prints the largest difference per function.

Usage: scipy_statistics_crossrun.py PROGRAM [SEED]. Ends with 1 if a difference is above its limit.
"""
import itertools
import json
import math
import subprocess
import sys
import warnings

import numpy as np
from scipy import integrate, optimize, special, stats

# Relative, on a floor of 1e-12. SciPy 1.10 computes Shapiro-Wilk in single precision, and finds quantiles of t to eight or
# nine digits only (its own t.cdf(t.ppf(q)) misses q by 8e-10) and the ends of an exact interval by a root search.
SINGLE_PRECISION = {"shapiro_wilk": 2e-5, "shapiro_wilk_p": 2e-3}
BY_QUANTILE = dict.fromkeys(["mean_interval", "grubbs_critical", "welch", "paired_t", "share_interval"], 1e-7)
LIMITS = {**SINGLE_PRECISION, **BY_QUANTILE, "two_sided_factor": 1e-8}
DEFAULT_LIMIT = 1e-10
worst = {}


def note(name, ours, theirs):
    ours, theirs = np.atleast_1d(np.asarray(ours, float)), np.atleast_1d(np.asarray(theirs, float))
    if ours.shape != theirs.shape or not np.all(np.isfinite(ours)):
        sys.exit(f"{name}: {ours} against {theirs}")
    difference = float(np.max(np.abs(ours - theirs) / np.maximum(np.abs(theirs), 1e-12)))
    count, largest = worst.get(name, (0, 0.0))
    worst[name] = (count + 1, max(largest, difference))


def trials_needed(r, c, k):
    n = k + 1
    while stats.binom.cdf(k, n, 1 - r) > (1 - c) * (1 + 1e-12):
        n += 1
    return n


def demonstration(got):
    a = got["in"]
    c, k, n, r = a["c"], a["k"], a["n"], a["r"]
    note("trials_needed", got["trials_needed"], trials_needed(r, c, k))
    note("reliability_shown", got["reliability_shown"], 1 - stats.beta.ppf(c, k + 1, n - k) if k < n else 0.0)
    note("pass_probability", got["pass_probability"], stats.binom.cdf(k, n, 1 - r))
    exact = stats.binomtest(a["hits"], n).proportion_ci(c, "exact")
    note("share_interval", got["share_interval"], [exact.low, exact.high])
    table = [[a["hits"], n - a["hits"]], [a["other_hits"], a["other"] - a["other_hits"]]]
    sides = ("two-sided", "greater", "less")
    note("fisher_exact", got["fisher"], [stats.fisher_exact(table, alternative=side)[1] for side in sides])
    w1 = stats.binomtest(a["hits"], n).proportion_ci(c, "wilson")
    w2 = stats.binomtest(a["other_hits"], a["other"]).proportion_ci(c, "wilson")
    p1, p2 = a["hits"] / n, a["other_hits"] / a["other"]
    low = p1 - p2 - math.hypot(p1 - w1.low, w2.high - p2)
    high = p1 - p2 + math.hypot(w1.high - p1, p2 - w2.low)
    # A sum of two shares near zero: compare on the scale of the shares.
    note("share_difference", np.add(got["share_difference"], 2), [low + 2, high + 2])
    pairs = k + a["other_hits"]
    note("mcnemar", got["mcnemar"], stats.binomtest(k, pairs).pvalue if pairs else 1.0)


def half_width(z, p):
    return optimize.brentq(lambda r: special.ndtr(z + r) - special.ndtr(z - r) - p, 0, abs(z) + 20, xtol=1e-14)


def two_sided_factor(n, p, c):
    def covered(k):
        def density(u):
            r = half_width(u / math.sqrt(n), p)
            return math.sqrt(2 / math.pi) * math.exp(-u * u / 2) * special.chdtrc(n - 1, (n - 1) * r * r / (k * k))

        return integrate.quad(density, 0, 9, epsabs=1e-11, epsrel=1e-10, limit=200)[0] - c

    guess = stats.norm.ppf((1 + p) / 2) * math.sqrt((n - 1) * (1 + 1 / n) / stats.chi2.ppf(1 - c, n - 1))
    return optimize.brentq(covered, guess / 1.5, guess * 1.5, xtol=1e-10)


def largest_rank(n, p, c):
    ranks = [r for r in range(1, n + 1) if stats.binom.cdf(n - r, n, p) >= c * (1 - 1e-12)]
    return ranks[-1] if ranks else 0


def limits(got, number):
    n, p, c = got["in"]["n"], got["in"]["share"], got["in"]["confidence"]
    k1 = stats.nct.ppf(c, n - 1, stats.norm.ppf(p) * math.sqrt(n)) / math.sqrt(n)
    # At p near one half SciPy's factor passes through zero: compare on a scale of one.
    note("one_sided_factor", got["one_sided_factor"] + 1, k1 + 1)
    howe = stats.norm.ppf((1 + p) / 2) * math.sqrt((n - 1) * (1 + 1 / n) / stats.chi2.ppf(1 - c, n - 1))
    note("howe_factor", got["howe_factor"], howe)
    if number % 3 == 0:  # the slow one
        note("two_sided_factor", got["two_sided_factor"], two_sided_factor(n, p, c))
    rank = largest_rank(n, p, c)
    note("one_sided_order", got["one_sided_order"], rank)
    note("two_sided_order", got["two_sided_order"], rank // 2)
    if n > 2:
        t = stats.t.isf(0.05 / (2 * n), n - 2)
        note("grubbs_critical", got["grubbs_critical"], (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t)))


def one_sample(got, x, c):
    n, s = len(x), np.std(x, ddof=1)
    note("mean_interval", got["mean_interval"], stats.t.interval(c, n - 1, np.mean(x), stats.sem(x)))
    chi = stats.chi2.ppf([(1 + c) / 2, (1 - c) / 2], n - 1)
    note("deviation_interval", got["deviation_interval"], s * np.sqrt((n - 1) / chi))
    d = x - np.mean(x)
    note("lag_one", got["lag_one"] + 2, d[1:] @ d[:-1] / (d @ d) + 2)
    reach = 3 * np.mean(np.abs(np.diff(x))) / 1.128
    note("control_limits", np.add(got["control_limits"], 100), [np.mean(x) - reach + 100, np.mean(x) + reach + 100])
    note("anderson_darling", got["anderson_darling"], stats.anderson(x).statistic)
    w, p = stats.shapiro(x)
    note("shapiro_wilk", got["shapiro_wilk"][0], w)
    if p > 1e-6:
        note("shapiro_wilk_p", got["shapiro_wilk"][1], p)


def u_counts(m, n):
    """Ways to get each U, in whole numbers: the Gaussian binomial, not the recursion that we use."""
    poly = [1]
    for i in range(1, m + 1):
        longer = poly + [0] * (n + i)
        for k, value in enumerate(poly):
            longer[k + n + i] -= value
        for k in range(i, len(longer)):
            longer[k] += longer[k - i]
        poly = longer[: i * n + 1]
    return poly


def v_counts(n):
    poly = [1]
    for r in range(1, n + 1):
        poly = [a + b for a, b in zip(poly + [0] * r, [0] * r + poly)]
    return poly


def shift(differences, counts, c):
    below = np.cumsum([float(v) for v in counts]) / float(sum(counts))
    rank = max(1, int(np.searchsorted(below, (1 - c) / 2)))
    ordered = np.sort(differences)
    return [np.median(ordered), ordered[rank - 1], ordered[-rank], 1 - 2 * below[rank - 1]]


def two_samples(got, x, z, c):
    t, p = stats.ttest_ind(x, z, equal_var=False)
    a, b = np.var(x, ddof=1) / len(x), np.var(z, ddof=1) / len(z)
    df = (a + b) ** 2 / (a * a / (len(x) - 1) + b * b / (len(z) - 1))
    middle, reach = np.mean(x) - np.mean(z), stats.t.ppf((1 + c) / 2, df) * math.sqrt(a + b)
    w = got["welch"]
    note("welch", [w[0] + 50, w[1], w[2], w[3] + 50, w[4] + 50], [t + 50, df, p, middle - reach + 50, middle + reach + 50])
    t, p = stats.ttest_ind(x, z)
    note("pooled_t", [got["pooled"][0] + 50, got["pooled"][1]], [t + 50, p])
    low = stats.ttest_ind(x + 0.7, z, equal_var=False, alternative="greater").pvalue
    high = stats.ttest_ind(x - 0.9, z, equal_var=False, alternative="less").pvalue
    note("equivalence", got["equivalence"], [low, high])
    method = "exact" if got["mann_whitney_exact"] else "asymptotic"
    tests = [stats.mannwhitneyu(x, z, alternative=side, method=method) for side in ("two-sided", "greater", "less")]
    note("mann_whitney_" + method, got["mann_whitney"], [tests[0].statistic] + [test.pvalue for test in tests])
    if max(len(x), len(z)) <= 50:
        theirs = shift(np.subtract.outer(x, z).ravel(), u_counts(len(x), len(z)), c)
        note("mann_whitney_shift", np.add(got["mann_whitney_shift"], 50), np.add(theirs, 50))


def every_order(x, y):
    rx, ry = stats.rankdata(x), stats.rankdata(y)
    rx, ry = rx - rx.mean(), ry - ry.mean()
    orders = np.array(list(itertools.permutations(ry)))
    return np.mean(np.abs(orders @ rx) >= abs(ry @ rx) - 1e-9)


def pairs(got, x, y, c):
    line = stats.linregress(x, y)
    note("trend", np.add(got["trend"], [9, 99, 0, 0, 0, 1]),
         [line.slope + 9, line.intercept + 99, line.stderr, line.intercept_stderr, line.pvalue, line.rvalue**2 + 1])
    r = stats.pearsonr(x, y)
    of_r = r.confidence_interval(c)
    note("pearson", np.add(got["pearson"], [2, 0, 2, 2]), [r.statistic + 2, r.pvalue, of_r.low + 2, of_r.high + 2])
    rho = stats.spearmanr(x, y)
    note("spearman", got["spearman"][0] + 2, rho.statistic + 2)
    if not got["spearman_exact"]:
        note("spearman_p_by_t", got["spearman"][1], rho.pvalue)
    elif len(x) < 8:  # beyond, going through every order here takes too long
        note("spearman_p_exact", got["spearman"][1], every_order(x, y))
    t, p = stats.ttest_rel(x, y)
    d = x - y
    reach = stats.t.ppf((1 + c) / 2, len(x) - 1) * stats.sem(d)
    note("paired_t", np.add(got["paired_t"], [50, 0, 50, 50]), [t + 50, p, d.mean() - reach + 50, d.mean() + reach + 50])
    signs = int(np.sum(d > 0)), int(np.sum(d != 0))
    note("sign_test", got["sign_test"], stats.binomtest(*signs).pvalue)
    d = d[d != 0]
    if got["signed_rank_exact"]:
        tests = [stats.wilcoxon(d, mode="exact", alternative=side) for side in ("two-sided", "greater", "less")]
    else:
        tests = [stats.wilcoxon(d, mode="approx", correction=True, alternative=side)
                 for side in ("two-sided", "greater", "less")]
    kind = "exact" if got["signed_rank_exact"] else "asymptotic"
    v = float(np.sum(stats.rankdata(np.abs(d))[d > 0]))
    note("signed_rank_" + kind, got["signed_rank"], [v] + [test.pvalue for test in tests])
    if len(d) <= 50:
        i, j = np.triu_indices(len(d))
        theirs = shift((d[i] + d[j]) / 2, v_counts(len(d)), c)
        note("signed_rank_shift", np.add(got["signed_rank_shift"], 50), np.add(theirs, 50))


def days(got):
    note("anova", got["anova"], stats.f_oneway(*got["in"]))
    note("levene", got["levene"], stats.levene(*got["in"], center="median"))


def main():
    warnings.simplefilter("ignore")
    run = subprocess.run(sys.argv[1:3], check=True, capture_output=True, text=True)
    data = json.loads(run.stdout)
    for number, case in enumerate(data["cases"]):
        x, y, z = (np.array(case[name]) for name in "xyz")
        demonstration(case["demonstration"])
        limits(case["limits"], number)
        one_sample(case["one_sample"], x, case["c"])
        two_samples(case["two_samples"], x, z, case["c"])
        pairs(case["pairs"], x, y, case["c"])
        days(case["days"])
    print(f"{len(data['cases'])} random cases, seed {data['seed']}: largest relative difference")
    failed = len(data["cases"]) < 300
    for name, (count, largest) in sorted(worst.items()):
        limit = LIMITS.get(name, DEFAULT_LIMIT)
        bad = not largest <= limit
        failed = failed or bad
        print(f"  {name:24s} {count:4d} compared  {largest:8.1e}  limit {limit:.0e}{'  ABOVE' if bad else ''}")
    return 1 if failed else 0


sys.exit(main())
