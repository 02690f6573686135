#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Replays in plain NumPy what the program says about launch detectors, from the physical description and the samples on.

  numpy_detector_crossrun.py PROGRAM         200 random libraries: every decision and every map cell must be the same
  numpy_detector_crossrun.py PROGRAM --map   200 recordings x 60 windows x 60 thresholds: the same cells, and the times of both

Nothing is shared with the program but the written definitions (docs/detectors.md). Exit code 1 on any difference.
"""
import json
import math
import subprocess
import sys
import time

import numpy as np

GRAVITY = 9.80665


def away(x):
    """Nearest integer, halves away from zero."""
    return np.sign(x) * np.floor(np.abs(x) + 0.5)


def counts_of(recording, detector):
    rate, board = recording["sample_rate_hz"], detector["sample_rate_hz"]
    z = np.asarray(recording["z"])
    if abs(rate / board - 1.0) > 1e-3:
        instants = np.arange(int((len(z) - 1) / rate * board + 1e-9) + 1) / board
        z = np.interp(instants * rate, np.arange(len(z)), z)
    end = 2.0 ** (detector["bits"] - 1)
    count = detector["range_g"] / end
    return np.clip(away(z / (count * GRAVITY)), -end, end - 1).astype(np.int64)


def integers_of(detector, window, threshold):
    count = detector["range_g"] / 2.0 ** (detector["bits"] - 1)
    rate = detector["sample_rate_hz"]
    deadline = detector["deadline_seconds"]
    return {
        "kind": detector["kind"],
        "window": int(window),
        "rest": int(away(detector["rest_g"] / count)),
        "level": int(away(threshold / count)),
        "sum": int(away(threshold * rate / (count * GRAVITY))),
        "building": int(away(detector["building_g"] / count)),
        "deadline": int(away(deadline * rate)) if deadline is not None else 0,
        "required": detector["required_samples"],
        "shift": detector["filter_shift"],
    }


def net_of(counts, s):
    net = counts - s["rest"]
    if s["shift"] == 0:
        return net
    out, level = [], 0
    for x in net.tolist():
        level += x - level // 2 ** s["shift"]
        out.append(level // 2 ** s["shift"])
    return np.asarray(out, dtype=np.int64)


def statistic_of(net, s):
    """The quantity a detector compares with its threshold, at every sample; zeros before the first."""
    n = s["window"]
    if s["kind"] in ("moving_mean", "velocity_gain"):
        total = np.concatenate(([0], np.cumsum(net)))
        return total[1:] - total[np.maximum(0, np.arange(len(net)) + 1 - n)]
    span = n + 1 if s["kind"] == "sustained" else n
    required = span if s["kind"] == "sustained" else s["required"]
    padded = np.concatenate((np.zeros(span - 1, dtype=np.int64), net))
    newest = np.lib.stride_tricks.sliding_window_view(padded, span)
    return np.sort(newest, axis=1)[:, span - required]


def threshold_of(s):
    return {"moving_mean": s["level"] * s["window"], "velocity_gain": s["sum"]}.get(s["kind"], s["level"])


def last_chance(net, s):
    if s["deadline"] == 0 or not np.any(net >= s["building"]):
        return math.inf
    return int(np.argmax(net >= s["building"])) + s["deadline"]


def decision(statistic, threshold, chance):
    at = statistic >= threshold
    first = int(np.argmax(at))
    return first if at[first] and first <= chance else None


def cell_of(recordings, decisions, rate):
    tally = dict.fromkeys(("in_time", "late", "missed", "early", "false"), 0)
    latencies = []
    for r, d in zip(recordings, decisions):
        if not r["must_fire"]:
            tally["false"] += d is not None
            continue
        if d is None:
            tally["missed"] += 1
            continue
        latency = d / rate - r["first_motion_seconds"]
        slack = 1e-6 / rate
        if latency < -slack:
            tally["early"] += 1
            continue
        tally["late" if latency > r["deadline_seconds"] + slack else "in_time"] += 1
        latencies.append(latency)
    if tally["false"] + tally["early"]:
        outcome = "false"
    elif tally["late"]:
        outcome = "late"
    elif not tally["missed"]:
        outcome = "always_in_time"
    else:
        outcome = "sometimes" if tally["in_time"] else "misses"
    return [outcome, *tally.values(), max(latencies) if latencies else None]


def same_cell(a, b):
    return a[:6] == b[:6] and (a[6] is None) == (b[6] is None) and (a[6] is None or abs(a[6] - b[6]) < 1e-12)


def check_libraries(program):
    run = subprocess.run([program, "libraries"], stdout=subprocess.PIPE, check=True)
    libraries = decisions = wrong = 0
    for line in run.stdout.splitlines():
        case = json.loads(line)
        detector, recordings = case["detector"], case["recordings"]
        counts = [counts_of(r, detector) for r in recordings]
        claimed, cells = iter(case["decisions"]), iter(case["cells"])
        for window in case["windows"]:
            for threshold in case["thresholds"]:
                s = integers_of(detector, window, threshold)
                ours = []
                for c in counts:
                    net = net_of(c, s)
                    ours.append(decision(statistic_of(net, s), threshold_of(s), last_chance(net, s)))
                theirs = [next(claimed) for _ in ours]
                cell, claim = cell_of(recordings, ours, detector["sample_rate_hz"]), next(cells)
                decisions += len(ours)
                if ours != theirs or not same_cell(cell, claim):
                    wrong += 1
                    print(f"seed {case['seed']} window {window} threshold {threshold} {detector['kind']}: "
                          f"NumPy {ours} {cell}, program {theirs} {claim}")
        libraries += 1
    print(f"{libraries} libraries, {decisions} decisions, {wrong} cells differ")
    return libraries == 200 and decisions == 200 * 5 * 20 and wrong == 0


def plain_map(nets, settings, recordings, rate):
    """Cell by cell, every one from the samples on, as one writes it down first."""
    out = []
    for row in settings:
        for s in row:
            decisions = [decision(statistic_of(net, s), threshold_of(s), last_chance(net, s)) for net in nets]
            out.append(cell_of(recordings, decisions, rate))
    return out


def shared_map(nets, settings, recordings, rate):
    """The running quantity and its running maximum once a window, thresholds looked up: NumPy at its best."""
    out = []
    for row in settings:
        thresholds = [threshold_of(s) for s in row]
        first = []
        for net in nets:
            chance = last_chance(net, row[0])
            at = np.searchsorted(np.maximum.accumulate(statistic_of(net, row[0])), thresholds)
            first.append([int(k) if k < len(net) and k <= chance else None for k in at])
        out += [cell_of(recordings, list(decisions), rate) for decisions in zip(*first)]
    return out


def check_map(program):
    case = json.loads(subprocess.run([program, "map"], stdout=subprocess.PIPE, check=True).stdout)
    detector, recordings = case["detector"], case["recordings"]
    rate = detector["sample_rate_hz"]
    settings = [[integers_of(detector, w, t) for t in case["thresholds"]] for w in case["windows"]]
    nets = [net_of(counts_of(r, detector), settings[0][0]) for r in recordings]
    cells = len(case["cells"])
    print(f"{len(recordings)} recordings, {sum(map(len, nets))} samples, {cells} cells")
    print(f"program         {case['map_seconds']:8.3f} s  {cells / case['map_seconds']:10.0f} cells/s  "
          f"(and {case['plan_seconds']:.3f} s to check and quantise, once)")
    good = True
    for name, way in (("NumPy, shared  ", shared_map), ("NumPy, plain   ", plain_map)):
        begin = time.perf_counter()
        made = way(nets, settings, recordings, rate)
        seconds = time.perf_counter() - begin
        wrong = sum(not same_cell(a, b) for a, b in zip(made, case["cells"]))
        good = good and wrong == 0 and len(made) == cells
        print(f"{name} {seconds:8.3f} s  {cells / seconds:10.0f} cells/s  {seconds / case['map_seconds']:7.1f} times the "
              f"program's time; {wrong} cells differ", flush=True)
    return good


def main():
    if len(sys.argv) not in (2, 3) or (len(sys.argv) == 3 and sys.argv[2] != "--map"):
        print(__doc__)
        return 2
    good = check_map(sys.argv[1]) if len(sys.argv) == 3 else check_libraries(sys.argv[1])
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
