#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""One trial's analysis in NumPy and SciPy: the same steps over the same traces as the program's, timed.

usage: scipy_trial_analysis.py TRACES.json SECONDS_OF_THE_PROGRAM   (trial_analysis_benchmark runs it)
Prints both processor times and their ratio. Exit code 1 if the two do not come to the same numbers, for then they are not the same pipeline.
"""
import json
import math
import sys
import time

import numpy
from scipy import integrate, signal, stats

G = 9.80665


def answer(degree, tau, frequency, damping):
    """Of a second-order sensor to tau^degree from 0 on; frequency 0: the input itself."""
    t = numpy.maximum(tau, 0.0)
    if frequency <= 0.0:
        return numpy.where(tau > 0.0, t**degree, 0.0)
    w = 2.0 * math.pi * frequency
    wd = w * math.sqrt(1.0 - damping**2)
    p = complex(-damping * w, wd)
    grown = (numpy.exp(p * t) - 1.0) / p
    if degree == 0:
        out = w * w / wd * grown.imag
    elif degree == 1:
        out = w * w / wd * ((grown - t) / p).imag
    else:
        out = 2.0 * w * w / wd * (((grown - t) / p - 0.5 * t * t) / p).imag
    return numpy.where(tau > 0.0, out, 0.0)


def change_point(y, earliest, latest, course, change, frequency, noise, damping=0.0):
    """Place, value of the course there, damping and lag: least squares over place and sensor, probability of each place."""
    n = len(y)
    index = numpy.arange(n)
    columns = [(2.0 * index / n - 1.0)**k for k in range(course + 1)]
    known_f, known_z = (0.01, 0.1) if damping > 0.0 else (0.05, 1.0)
    stated = damping if damping > 0.0 else 0.15

    def look(place, f, z, variance):
        basis = numpy.column_stack(columns + [answer(k, index - place, f, z) / n**k for k in range(change + 1)])
        solution, _, _, _ = numpy.linalg.lstsq(basis, y, rcond=None)
        squares = float(numpy.sum((y - basis @ solution)**2))
        doubt = 0.0 if f <= 0.0 else ((f / frequency - 1.0) / known_f)**2 + (math.log(z / stated) / known_z)**2
        there = sum(solution[k] * (2.0 * place / n - 1.0)**k for k in range(course + 1))
        return squares / variance + doubt, place, f, z, squares, there

    variance = noise**2
    starts = [(frequency, stated)] if frequency <= 0.0 or damping > 0.0 else [(frequency, z) for z in (0.15, 0.04, 0.6)]
    steps = max(8, math.ceil((latest - earliest) * 4))
    places = numpy.linspace(earliest, latest, steps + 1)
    best = min(look(p, f, z, variance) for f, z in starts for p in places)
    part, step = 1.0, (latest - earliest) / steps
    while part > 0.01:
        sensors = [(best[2], best[3])] if frequency <= 0.0 else [
            (best[2] * (1.0 + a * 0.03 * part), min(0.9, max(0.005, best[3] * math.exp(b * 0.4 * part))))
            for a in (-1, 0, 1) for b in (-1, 0, 1)]
        better = min(look(min(latest, max(earliest, best[1] + c * part * step)), f, z, variance) for c in (-1, 0, 1) for f, z in sensors)
        best, part = (better, part) if better[0] < best[0] else (best, 0.5 * part)
    variance = max(variance, best[4] / (n - len(columns) - change - 2))
    near, wide = (0.01, 0.1) if damping > 0.0 else (0.02, 0.2)
    sensors = [(best[2], best[3])] if frequency <= 0.0 else [(best[2] * (1.0 + a * near), min(0.9, best[3] * math.exp(b * wide)))
                                                            for a in (-1, 0, 1) for b in (-1, 0, 1)]
    coarse = [look(p, f, z, variance) for f, z in sensors for p in places]
    least = min(coarse)[0]
    worth = [c[1] for c in coarse if c[0] - least <= 24.0]
    fine = [look(p, f, z, variance) for f, z in sensors
            for p in numpy.linspace(max(earliest, min(worth) - step), min(latest, max(worth) + step), 61)]
    least = min(fine)[0]
    weights = numpy.array([math.exp(-0.5 * (c[0] - least)) for c in fine])
    place = float(numpy.average([c[1] for c in fine], weights=weights))
    there = float(numpy.average([c[5] for c in fine], weights=weights))
    return place, there, best[2], best[3], 0.0 if best[2] <= 0.0 else best[3] / (math.pi * best[2])


def stroke(trace, frequency_hz, least):
    """Rest, noise, first motion, separation and the pulse between them."""
    y, period = numpy.array(trace["samples"]), trace["period"]
    rest, noise = float(numpy.mean(y[:50])), float(numpy.std(y[:50], ddof=1))
    count = max(1, round(1.0e-3 / period))
    smooth = signal.convolve(y - rest, numpy.full(count, 1.0 / count), mode="valid")
    on = max(8.0 * noise / math.sqrt(count), 0.02 * smooth.max(), 0.5 * least)
    first = int(numpy.argmax(smooth >= on))
    end = first + int(numpy.argmax(smooth[first:] < 0.5 * on)) + count
    peak_at = first + int(numpy.argmax(y[first:end]))
    clear = max(5.0 * noise, 0.005 * (y[peak_at] - rest))
    while y[first] - rest < on:
        first += 1
    while first > 0 and y[first - 1] - rest >= clear:
        first -= 1
    quiet = y[max(0, first - round(0.5 / period)):first - max(2, round(1.0e-3 / period))]
    rest, noise = float(numpy.mean(quiet)), float(numpy.std(quiet, ddof=1))
    net = y - rest
    peak = float(net[peak_at])
    fall = max(1, round((min(1.0e-3, max(0.3e-3, 0.6 / frequency_hz)) if frequency_hz > 0.0 else 0.3e-3) / period))
    falls = 2.0 * net[fall:-fall] - net[:-2 * fall] - net[2 * fall:]
    low_after = numpy.array([net[i + 2 * fall:i + 2 * fall + count].mean() <= 0.15 * peak for i in range(len(falls) - count)])
    zone = numpy.where(low_after, falls[:len(low_after)], 0.0)[first:end]
    start = first + fall + int(numpy.argmax(zone >= 0.3 * zone.max()))
    before = min(start - first, max(8, round(3.0e-3 / period)) + fall)
    part = net[start - before:start + 2 * fall + 3]
    frequency = frequency_hz * period
    place, end_value, shown_f, shown_z, lag = change_point(part, max(1.0, before - 2.0 * fall), min(before + fall + 1.0, len(part) - 2.0),
                                                           2 if before > 12 else 1, 2 if fall > 2 else 0, frequency, noise)
    separation = start - before + place
    last = math.ceil(separation)
    if fall <= 2:  # a sharp fall of the same area
        middle = start - before + int(place)
        settled = middle + max(3, round(2.0e-3 / period))
        low = net[settled:settled + max(4, round(4.0e-3 / period))].mean()
        separation = middle + 0.5 + float(numpy.clip((net[middle + 1:settled] - low) / (end_value - low), -0.5, 1.0).sum())
        last = middle + 1
    risen = int(numpy.argmax(net[first:] >= 0.4 * peak))
    after, before = min(max(risen, 8), max(8, round(2.0e-3 / period))), min(first, max(10, round(2.0e-3 / period)))
    part = net[first - before:first + after]
    place, _, _, _, _ = change_point(part, max(1.0, before - min(10, max(3, after // 2))), before, 0, 2 if after > 8 else 1, shown_f,
                                     noise, shown_z if frequency > 0.0 else 0.0)
    motion = first - before + place
    begin = math.ceil(motion + lag)
    t = numpy.concatenate(([motion], numpy.arange(begin, last) - lag, [separation])) * period
    v = numpy.concatenate(([0.0], net[begin:last], [end_value]))
    speed = integrate.cumulative_trapezoid(v, t, initial=0.0)
    window = max(1, round((min(1.0e-3, 0.8 / frequency_hz) if frequency_hz > 0.0 else 0.3e-3) / period))
    top = float(signal.savgol_filter(net[begin:last], 2 * window + 1, 2).max())
    return {"motion": trace["start"] + motion * period, "separation": trace["start"] + separation * period, "first": speed[-1],
            "second": float(integrate.trapezoid(speed, t)), "peak": max(top, end_value)}


def analysis(traces, setup):
    mass, moved, up = setup["vehicle_mass_kg"], setup["moved_mass_kg"], math.cos(setup["tilt_radians"])
    force = stroke(traces["force"], setup["natural_frequency_hz"], 0.5 * G * moved)
    felt = stroke(traces["acceleration"], 0.0, 0.5 * G)
    supply = numpy.array(traces["supply"]["samples"])
    when = traces["supply"]["start"] + traces["supply"]["period"] * numpy.arange(len(supply))
    at_rest = supply[(when >= setup["release_seconds"] - 0.05) & (when < setup["release_seconds"])].mean()
    last = (when >= force["separation"] - 1.5e-3) & (when < force["separation"])
    line = stats.linregress(when[last] - force["separation"], supply[last])
    return {"first_motion_seconds": force["motion"], "stroke_time_seconds": force["separation"] - force["motion"],
            "exit_speed_from_force_mps": force["first"] / moved,
            "exit_speed_from_stroke_mps": setup["stroke_metres"] * force["first"] / force["second"],
            "peak_force_newtons": mass * (force["peak"] / moved + G * up), "exit_speed_from_acceleration_mps": felt["first"],
            "peak_acceleration_g": felt["peak"] / G + up, "droop_pascals": at_rest - line.intercept - 1.0e-4 * line.slope}


given, own_seconds = json.load(open(sys.argv[1])), float(sys.argv[2])
analysis(given["traces"], given["setup"])  # once for the caches
times = []
for _ in range(3):
    begin = time.process_time()
    mine = analysis(given["traces"], given["setup"])
    times.append(time.process_time() - begin)
bad = False
print(f"{'result':36} {'program':>14} {'SciPy':>14}")
for name, value in given["results"].items():
    near = 0.1e-3 if name.endswith("seconds") else 0.01 * abs(value)
    bad |= abs(mine[name] - value) > near
    print(f"{name:36} {value:14.6g} {mine[name]:14.6g}{'' if abs(mine[name] - value) <= near else '   NOT THE SAME'}")
print(f"one trial: program {own_seconds * 1e3:.2f} ms, SciPy {min(times) * 1e3:.1f} ms: ratio {own_seconds / min(times):.4f} "
      f"(the program takes 1/{min(times) / own_seconds:.1f} of SciPy's time)")
sys.exit(1 if bad else 0)
