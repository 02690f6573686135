#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The charge plan and the firing chain against the virtual rig's own truth.

usage: flight_truth.py PROGRAM [CHARGES]
1. CHARGES trials at other charges: each foretold by a charge plan that has not seen it.
2. The firing chain into the dummy load: as it should be, with a burnt series resistor, and with nothing on it.
Exit code 1 if a foretold exit speed is off by more than 2 %, or an outcome is not the expected one. Coverage of the metrics'
intervals, those after the tube among them, is coverage.py's.
"""
import json
import pathlib
import statistics
import subprocess
import sys
import tempfile

program = pathlib.Path(sys.argv[1]).resolve()
charges = int(sys.argv[2]) if len(sys.argv) > 2 else 16
bad = False


def run(*arguments, codes=(0, 1, 2)):
    done = subprocess.run([program, *arguments], capture_output=True, text=True)
    if done.returncode not in codes:
        sys.exit(f"{arguments}: exit {done.returncode}\n{done.stderr}")
    return done.stdout


def eject(folder, name, seed, *more, campaign=None):
    truth = folder / f"{name}.jsonl"
    out = run("eject", "--virtual", "--seed", str(seed), "--campaign", str(campaign or folder / f"{name}.coldstroke"), "--truth",
              str(truth), "--json", *more)
    return json.loads(out)["trials"][0], json.loads(truth.read_text().splitlines()[-1])


def foretold(folder):
    global bad
    setup = folder / "setup.toml"
    run("virtual", "--write-setup", str(setup))
    text = setup.read_text()
    campaign = folder / "charges.coldstroke"
    speeds = {}
    for k in range(charges):
        bar = 5.4 + 2.6 * k / max(1, charges - 1)
        here = text.replace("target_bar = 8.0", f"target_bar = {bar:.3f}").replace("low_bar = 7.8", f"low_bar = {bar - 0.2:.3f}")
        here = here.replace("high_bar = 8.2", f"high_bar = {bar + 0.2:.3f}")
        (folder / f"c{k}.toml").write_text(here)
        trial, truth = eject(folder, f"c{k}", 500 + k, "--setup", str(folder / f"c{k}.toml"), campaign=campaign)
        if trial["verdict"] != "void":
            speeds[k + 1] = (truth["charge_at_release_pascals"] * 1e-5, truth["exit_speed_mps"], truth["peak_acceleration_g"],
                             truth["droop_pascals"])
    print(f"\ncharge plan: {len(speeds)} trials, each foretold by a plan fitted to the others")
    print(f"{'trial':>5} {'bar':>7} {'true m/s':>9} {'foretold':>9} {'±95 %':>7} {'error %':>8} {'peak err %':>10} {'droop err %':>11} held")
    worst, held, errors = 0.0, 0, {"exit speed": [], "peak": [], "droop": []}
    for number, (bar, speed, peak, droop) in speeds.items():
        out = json.loads(run("charge", str(campaign), "--bar", f"{bar:.6f}", "--leave-out", str(number), "--json"))["prediction"]
        value, (low, high) = out["exit_speed_mps"]["value"], out["exit_speed_mps"]["interval_95"]
        error = 100.0 * (value / speed - 1.0)
        worst, held = max(worst, abs(error)), held + (low <= speed <= high)
        errors["exit speed"].append(error)
        errors["peak"].append(100.0 * (out["peak_acceleration_g"]["value"] / peak - 1.0))
        errors["droop"].append(100.0 * (out["droop_pascals"]["value"] / droop - 1.0))
        print(f"{number:5d} {bar:7.3f} {speed:9.3f} {value:9.3f} {0.5 * (high - low):7.3f} {error:8.2f} "
              f"{errors['peak'][-1]:10.2f} {errors['droop'][-1]:11.2f} {low <= speed <= high}")
    for name, of in errors.items():
        print(f"held-out error of the {name}: mean {statistics.mean(of):.2f} %, standard deviation {statistics.stdev(of):.2f} %")
    print(f"largest error of a foretold exit speed {worst:.2f} %, 95 % intervals that hold: {held} of {len(speeds)}")
    bad |= worst > 2.0
    print("\n" + run("charge", str(campaign)))
    print("--speed 13:\n" + run("charge", str(campaign), "--speed", "13"))
    print("--speed 13 --peak 40:\n" + run("charge", str(campaign), "--speed", "13", "--peak", "40"))
    refused = subprocess.run([program, "charge", str(campaign), "--bar", "15"], capture_output=True, text=True)
    print("--bar 15, exit code", refused.returncode, "\n" + refused.stderr)
    bad |= refused.returncode != 3


def firing(folder):
    global bad
    print("firing chain, scenario load_box")
    for name, more, want in (("sound", [], "would_fire"), ("burnt", ["--fault", "burnt_series_resistor"], "too_low"),
                             ("burnt_a_little", ["--fault", "burnt_series_resistor,ohms=4.7"], "too_low")):
        trial, _ = eject(folder, name, 3, "--scenario", "load_box", *more)
        got = trial.get("firing", {"outcome": "none", "reason": ""})
        print(f"  {name:16} {got['outcome']:12} wanted {want:12} verdict {trial['verdict']:5} {got['reason']}")
        bad |= got["outcome"] != want


with tempfile.TemporaryDirectory() as where:
    foretold(pathlib.Path(where))
    firing(pathlib.Path(where))
sys.exit(1 if bad else 0)
