#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Metrics against the virtual rig's own truth, over many seeds: bias, spread, and the share of 95 % intervals that hold the truth.

usage: truth_comparison.py PROGRAM [SEEDS] [SCENARIO] [FIRST_SEED]
Prints one line a metric. Exit code 1 if a share lies outside 91 to 99 %, or any trial is void.
"""
import json
import math
import pathlib
import subprocess
import sys
import tempfile

program = pathlib.Path(sys.argv[1]).resolve()
seeds = int(sys.argv[2]) if len(sys.argv) > 2 else 200
scenario = sys.argv[3] if len(sys.argv) > 3 else "steady"
first = int(sys.argv[4]) if len(sys.argv) > 4 else 1

# metric name -> truth of one ejection, by the same definition (docs/methods.md)
TRUTH = {
    "first_motion_seconds": lambda t: t["first_motion_rig_clock_seconds"] - t["release_rig_clock_seconds"],
    "stroke_time_seconds": lambda t: t["stroke_time_seconds"],
    "impulse_newton_seconds": lambda t: t["impulse_newton_seconds"],
    "peak_force_newtons": lambda t: t["peak_force_newtons"],
    "peak_acceleration_g": lambda t: t["peak_acceleration_g"],
    "mean_acceleration_g": lambda t: t["mean_acceleration_g"],
    "exit_speed_from_force_mps": lambda t: t["exit_speed_mps"],
    "exit_speed_from_acceleration_mps": lambda t: t["exit_speed_mps"],
    "exit_speed_from_stroke_mps": lambda t: t["exit_speed_mps"],
    "droop_pascals": lambda t: t["droop_pascals"],
    "detector_latency_seconds": lambda t: t["detector_latency_seconds"],
    "mean_force_newtons": lambda t: t["impulse_newton_seconds"] / t["stroke_time_seconds"] + 9.80665 * t["vehicle_mass_kg"],
    "exit_speed_from_free_fall_mps": lambda t: t["exit_speed_mps"],
    "energy_joules": lambda t: t["vehicle_mass_kg"] * (0.5 * t["exit_speed_mps"] ** 2 + 9.80665 * t["stroke_metres"]),
}
# The virtual rig lands its vehicle at the stated height in still air of the stated density: nothing of that budget is drawn.
NOT_DRAWN = {"exit_speed_from_free_fall_mps"}
errors = {name: [] for name in TRUTH}
inside = {name: 0 for name in TRUTH}
uncertainties = {name: [] for name in TRUTH}
verdicts = {}
with tempfile.TemporaryDirectory() as folder:
    for seed in range(first, first + seeds):
        truth_file = pathlib.Path(folder, f"{seed}.jsonl")
        run = subprocess.run(
            [program, "eject", "--virtual", "--scenario", scenario, "--seed", str(seed), "--campaign", f"{folder}/{seed}.coldstroke",
             "--truth", truth_file, "--json"], capture_output=True, text=True)
        if run.returncode not in (0, 1, 2):
            sys.exit(f"seed {seed}: exit {run.returncode}\n{run.stderr}")
        trial = json.loads(run.stdout)["trials"][0]
        truth = json.loads(truth_file.read_text().splitlines()[0])
        verdicts[trial["verdict"]] = verdicts.get(trial["verdict"], 0) + 1
        for name, of in TRUTH.items():
            metric = trial["metrics"][name]
            if "absent" in metric:
                print(f"seed {seed}: {name} absent: {metric['absent']}")
                continue
            value = of(truth)
            errors[name].append(metric["value"] - value)
            uncertainties[name].append(metric["standard_uncertainty"])
            low, high = metric["interval_95"]
            inside[name] += low <= value <= high
        pathlib.Path(folder, f"{seed}.coldstroke").unlink()

print(f"{seeds} seeds from {first}, scenario {scenario}: verdicts {verdicts}")
print(f"{'metric':36} {'n':>4} {'bias':>12} {'spread':>12} {'mean u':>12} {'held by 95 % interval':>22}")
bad = verdicts.get("void", 0) > 0
for name in TRUTH:
    e = errors[name]
    if not e:
        continue
    bias = sum(e) / len(e)
    spread = math.sqrt(sum((x - bias) ** 2 for x in e) / max(1, len(e) - 1))
    share = 100.0 * inside[name] / len(e)
    mean_u = sum(uncertainties[name]) / len(e)
    bad |= not 91.0 <= share <= (100.0 if name in NOT_DRAWN else 99.0)
    print(f"{name:36} {len(e):4d} {bias:12.4g} {spread:12.4g} {mean_u:12.4g} {share:20.1f} %")
sys.exit(1 if bad else 0)
