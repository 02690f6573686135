#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Numbers after the tube and the charge plan against the virtual rig's own truth.

usage: flight_truth.py PROGRAM [SEEDS] [CHARGES]
1. SEEDS trials: bias, spread and share of 95 % intervals that hold the truth. What the rig does not play (drag that is not known
   exactly, igniter delay, build-up) is drawn here from what the setup declares.
2. CHARGES trials at other charges: each foretold by a charge plan that has not seen it.
3. The firing chain into the dummy load: as it should be, with a burnt series resistor, and with nothing on it.
Exit code 1 if a share lies below 91 %, a foretold exit speed is off by more than 2 %, or an outcome is not the expected one.
"""
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile

program = pathlib.Path(sys.argv[1]).resolve()
seeds = int(sys.argv[2]) if len(sys.argv) > 2 else 100
charges = int(sys.argv[3]) if len(sys.argv) > 3 else 16
G = 9.80665
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


def climb(v0, drag_area, density, mass):
    vt = math.sqrt(2.0 * mass * G / (density * drag_area))
    phi = math.atan(v0 / vt)
    apex_time = vt / G * phi

    def at(t):
        a = phi - G * t / vt
        return vt * vt / G * math.log(math.cos(a) / math.cos(phi)), vt * math.tan(a)

    return vt * vt / (2.0 * G) * math.log1p((v0 / vt)**2), apex_time, at


def gamma(mean, deviation):
    return random.gammavariate((mean / deviation)**2, deviation * deviation / mean)


def truths(truth):
    mass, speed = truth["vehicle_mass_kg"], truth["exit_speed_mps"]
    area = 0.6 * math.pi / 4 * 0.075**2 * (1.0 + 0.1 * random.gauss(0.0, 1.0))
    apex, apex_time, at = climb(speed, area, 1.225, mass)
    onset = (truth["detector_latency_seconds"] - truth["stroke_time_seconds"] + 0.010 + gamma(0.060, 0.015) + gamma(0.120, 0.025))
    height, rising = at(onset)
    return {"release_pressure_pascals": truth["charge_at_release_pascals"], "coast_apex_metres": apex,
            "coast_apex_metres, rig's own": truth["apex_metres"], "coast_apex_time_seconds": apex_time, "thrust_onset_seconds": onset,
            "onset_height_metres": height, "onset_speed_mps": rising, "onset_before_apex_seconds": apex_time - onset}


def coverage(folder):
    global bad
    errors, inside, doubt = {}, {}, {}
    for seed in range(1, seeds + 1):
        random.seed(seed)
        trial, truth = eject(folder, f"s{seed}", seed)
        for name, value in truths(truth).items():
            metric = trial["metrics"][name.split(",")[0]]
            if "absent" in metric:
                print(f"seed {seed}: {name} absent: {metric['absent']}")
                continue
            errors.setdefault(name, []).append(metric["value"] - value)
            doubt.setdefault(name, []).append(metric["standard_uncertainty"])
            inside[name] = inside.get(name, 0) + (metric["interval_95"][0] <= value <= metric["interval_95"][1])
    print(f"{seeds} seeds, scenario steady\n{'metric':32} {'n':>4} {'bias':>12} {'spread':>12} {'mean u':>12} {'held':>8}")
    for name, e in errors.items():
        bias = sum(e) / len(e)
        spread = math.sqrt(sum((x - bias)**2 for x in e) / max(1, len(e) - 1))
        share = 100.0 * inside[name] / len(e)
        bad |= share < 91.0
        print(f"{name:32} {len(e):4d} {bias:12.4g} {spread:12.4g} {sum(doubt[name]) / len(e):12.4g} {share:6.1f} %")


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
    print(f"{'trial':>5} {'bar':>7} {'true m/s':>9} {'foretold':>9} {'+-95 %':>7} {'error %':>8} {'peak err %':>10} {'droop err %':>11} held")
    worst, held = 0.0, 0
    for number, (bar, speed, peak, droop) in speeds.items():
        out = json.loads(run("charge", str(campaign), "--bar", f"{bar:.6f}", "--leave-out", str(number), "--json"))["prediction"]
        value, (low, high) = out["exit_speed_mps"]["value"], out["exit_speed_mps"]["interval_95"]
        error = 100.0 * (value / speed - 1.0)
        worst, held = max(worst, abs(error)), held + (low <= speed <= high)
        print(f"{number:5d} {bar:7.3f} {speed:9.3f} {value:9.3f} {0.5 * (high - low):7.3f} {error:8.2f} "
              f"{100.0 * (out['peak_acceleration_g']['value'] / peak - 1.0):10.2f} "
              f"{100.0 * (out['droop_pascals']['value'] / droop - 1.0):11.2f} {low <= speed <= high}")
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
    coverage(pathlib.Path(where))
    foretold(pathlib.Path(where))
    firing(pathlib.Path(where))
sys.exit(1 if bad else 0)
