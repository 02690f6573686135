#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Filters, integrals and calibration fits against SciPy over 600 random cases; prints the largest difference of each kind.

usage: scipy_signals_crossrun.py PROGRAM [SEED]
"""
import json
import math
import subprocess
import sys

import numpy
import scipy
from scipy import integrate, optimize, signal, stats

program = sys.argv[1]
random = numpy.random.default_rng(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
EACH = 200


def cfc_case():
    cfc = int(random.choice([60, 180, 600, 1000]))
    rate = float(random.uniform(10.0 * cfc, 60.0 * cfc))
    pad = math.ceil(max(10.0e-3, 20.0 * math.sqrt(2.0) / (2.0 * math.pi * 2.0775 * cfc)) * rate - 1e-9)
    x = numpy.cumsum(random.normal(size=pad + int(random.integers(50, 800)))) + random.normal() * 100.0
    return {"kind": "cfc", "cfc": cfc, "period": 1.0 / rate, "x": x.tolist()}


def by_scipy_filter(case):
    rate, x = 1.0 / case["period"], numpy.array(case["x"])
    b, a = signal.butter(2, 2.0775 * case["cfc"], fs=rate)
    pad = min(len(x) - 1, math.ceil(max(10.0e-3, 20.0 * math.sqrt(2.0) / (2.0 * math.pi * 2.0775 * case["cfc"])) * rate))
    return signal.filtfilt(b, a, x, padtype="odd", padlen=pad)


def fit_case():
    degree = int(random.integers(1, 3))
    top = 10.0 ** random.uniform(0.0, 5.0)
    applied = random.uniform(0.0, top, size=int(random.integers(6, 40)))
    slope = random.choice([-1.0, 1.0]) * 10.0 ** random.uniform(-3.0, 2.0)
    bend = random.uniform(-0.2, 0.2) * slope / top if degree == 2 else 0.0
    offset, scatter = random.normal() * slope * top * 0.1, abs(slope) * top * 10.0 ** random.uniform(-6.0, -3.0)
    reading = offset + slope * applied + bend * applied**2 + random.normal(size=len(applied)) * scatter
    middle = 0.5 * top
    return {"kind": "fit", "degree": degree, "applied": applied.tolist(), "reading": reading.tolist(),
            "back": offset + slope * middle + bend * middle**2}


def relative(a, b, size=None):
    return float(abs(a - b) / (abs(b) if size is None else size))


def fit_difference(case, answer):
    x, y = numpy.array(case["applied"]), numpy.array(case["reading"])
    top, n = float(x.max()), len(x)
    degree = case["degree"]
    scaled, covariance = numpy.polyfit(x / top, y, degree, cov=True)
    coefficients = [scaled[degree - k] / top**k for k in range(degree + 1)]
    errors = [math.sqrt(covariance[degree - k, degree - k]) / top**k for k in range(degree + 1)]
    if degree == 1:  # its standard errors are formed from 1 - r^2, which cancels for a good calibration
        line = stats.linregress(x, y)
        coefficients = [line.intercept, line.slope]
    curve = numpy.polynomial.Polynomial(coefficients)
    sd = math.sqrt(float(numpy.sum((y - curve(x)) ** 2)) / (n - len(coefficients)))
    back = optimize.brentq(lambda v: curve(v) - case["back"], -0.5 * top, 1.6 * top, xtol=1e-13 * top, rtol=1e-14)
    span = float(numpy.ptp(y))
    differences = [relative(answer["coefficients"][k] * top**k, coefficients[k] * top**k, span) for k in range(len(coefficients))]
    differences += [relative(answer["standard_errors"][k], errors[k]) for k in range(len(errors))]
    return max(differences + [relative(answer["residual_sd"], sd), relative(answer["back"], back, top)])


cases = [cfc_case() for _ in range(EACH)]
cases += [{"kind": "trapezoid", "period": float(10.0 ** random.uniform(-5.0, -2.0)),
           "x": random.normal(size=int(random.integers(2, 3000))).tolist()} for _ in range(EACH)]
cases += [fit_case() for _ in range(EACH)]
run = subprocess.run([program], input="".join(json.dumps(c) + "\n" for c in cases), capture_output=True, text=True, check=True)
answers = [json.loads(line) for line in run.stdout.splitlines()]
if len(answers) != len(cases):
    sys.exit(f"{len(answers)} answers to {len(cases)} cases")
worst = {"cfc": 0.0, "trapezoid": 0.0, "fit": 0.0}
for case, answer in zip(cases, answers):
    if answer is None:
        sys.exit(f"refused: {case['kind']}")
    if case["kind"] == "cfc":
        theirs = by_scipy_filter(case)
        difference = float(numpy.max(numpy.abs(numpy.array(answer) - theirs)) / numpy.ptp(case["x"]))
    elif case["kind"] == "trapezoid":
        size = float(numpy.sum(numpy.abs(case["x"]))) * case["period"]
        difference = relative(answer, integrate.trapezoid(case["x"], dx=case["period"]), size)
    else:
        difference = fit_difference(case, answer)
    worst[case["kind"]] = max(worst[case["kind"]], difference)
ALLOWED = {"cfc": 1e-8, "trapezoid": 1e-13, "fit": 1e-8}
print(f"SciPy {scipy.__version__}, NumPy {numpy.__version__}, {len(cases)} random cases")
for kind, difference in worst.items():
    print(f"{kind:10} largest relative difference {difference:.2g}, allowed {ALLOWED[kind]:.0e}")
sys.exit(any(worst[kind] > ALLOWED[kind] for kind in worst))
