#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every metric's 95 % interval against the virtual rig's own truth.

usage: coverage.py PROGRAM [TRIALS] [FIRST_SEED] [--without-force] [--scenario NAME] [--by-scenario]

TRIALS seeded trials in turn over all ready scenarios and three noise levels (half, once and three times the sensors' noise as the
scenario has it). With --without-force the setup has no force cell, so that the accelerometer dates everything. The rig draws sensors'
errors, masses, stroke and friction; what it does not draw (drag, air density and landing height) is misstated in the setup by as much
as the setup declares, and igniter delay and thrust build-up, which nothing plays, are drawn here.
Prints n, bias, spread (standard deviation of the error), mean stated standard uncertainty, the share of the intervals that hold the
truth and the 95 % interval of that share (Clopper and Pearson 1934, Biometrika 26, 404); "at least" values, which have no upper end,
apart. Exit code 1 if a share lies outside 92 to 98 %.
"""
import argparse
import concurrent.futures
import json
import math
import pathlib
import random
import statistics
import subprocess
import sys
import tempfile
import tomllib

import numpy
import scipy.stats

G = 9.80665
NOISE_FACTORS = (0.5, 1.0, 3.0)
SCENARIOS = pathlib.Path(__file__).resolve().parents[2] / "daq/virtual_rig/scenarios"
SENSORS = ("force", "supply_pressure", "chamber_pressure", "dummy_current", "acceleration")


def merged(base, over):
    out = dict(base)
    for key, value in over.items():
        out[key] = merged(out[key], value) if isinstance(value, dict) and key in out else value
    return out


def scenario_of(name, factor, chance):
    """A ready scenario with its sensors' noise times a factor."""
    steady, own = (tomllib.loads((SCENARIOS / f"{n}.toml").read_text()) for n in ("steady", name))
    whole = merged(steady, own)
    for sensor in SENSORS:
        for key in [k for k in whole[sensor] if k.startswith("noise_rms")]:
            whole[sensor][key] *= factor
    # What the analysis takes for granted of a sensor's answer is drawn as widely as it takes it: the cell's frequency to 5 %, its
    # damping from nearly none to well damped, the pressure transducers' lag from 0 to 0.2 ms; the accelerometer's lag as the
    # setup states it.
    whole["force"]["bandwidth_hz"] *= 1.0 + 0.05 * chance.gauss(0.0, 1.0)
    whole["force"]["damping_ratio"] = math.exp(chance.uniform(math.log(0.06), math.log(0.6)))
    for sensor in ("supply_pressure", "chamber_pressure"):
        whole[sensor]["bandwidth_hz"] = 1.0 / (2.0 * math.pi * chance.uniform(0.002e-3, 0.2e-3))
    lag = whole["acceleration"]["damping_ratio"] / (math.pi * whole["acceleration"]["bandwidth_hz"])
    whole["acceleration"]["bandwidth_hz"] *= lag / (lag + 0.02e-3 * chance.gauss(0.0, 1.0))
    # An own length for each pulse, or its samples would always be the same number.
    if whole["firing"]["dummy_load"]:
        whole["firing"]["pulse_seconds"] += chance.uniform(0.0, 1.0e-3)
    return whole


def toml_text(table):
    def text(value):
        return json.dumps(value)  # strings, booleans and numbers alike in both

    lines = [f"{k} = {text(v)}" for k, v in table.items() if not isinstance(v, (dict, list))]
    for key, part in table.items():
        for header, entry in ([(f"[{key}]", part)] if isinstance(part, dict) else [(f"[[{key}]]", e) for e in part]
                              if isinstance(part, list) else []):
            lines += [header] + [f"{k} = {text(v)}" for k, v in entry.items()]
    return "\n".join(lines) + "\n"


class Climb:
    """Vertical climb with quadratic drag: Fowles and Cassiday, section 2.4."""

    def __init__(self, speed, drag_area, density, mass):
        self.terminal = math.sqrt(2.0 * mass * G / (density * drag_area))
        self.phase = math.atan(speed / self.terminal)
        self.apex_seconds = self.terminal / G * self.phase
        self.apex_metres = self.terminal**2 / (2.0 * G) * math.log1p((speed / self.terminal)**2)

    def at(self, seconds):
        a = self.phase - G * seconds / self.terminal
        return self.terminal**2 / G * math.log(math.cos(a) / math.cos(self.phase)), self.terminal * math.tan(a)

    def window(self, least_height, least_speed):
        low, high = 0.0, self.apex_seconds
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if self.at(middle)[0] >= least_height else (middle, high)
        return high, self.apex_seconds - self.terminal / G * math.atan(least_speed / self.terminal)


class Delays:
    """Sum of the two gamma delays, on a grid of 0.05 ms."""

    def __init__(self, window, igniter_mean):
        self.step = 5.0e-5
        grid = (numpy.arange(20000) + 0.5) * self.step
        parts = [(igniter_mean, window["igniter_delay_standard_deviation_milliseconds"] * 1e-3),
                 (window["build_up_milliseconds"] * 1e-3, window["build_up_standard_deviation_milliseconds"] * 1e-3)]
        densities = []
        for mean, deviation in parts:
            shape, scale = (mean / deviation)**2, deviation**2 / mean
            logs = (shape - 1.0) * numpy.log(grid) - grid / scale - math.lgamma(shape) - shape * math.log(scale)
            densities.append(numpy.exp(logs) * self.step)
        self.parts = parts
        self.sum = numpy.concatenate(([0.0], numpy.cumsum(numpy.convolve(*densities))))
        self.edges = numpy.arange(len(self.sum)) * self.step + 0.5 * self.step  # cell middles add up half a cell late

    def below(self, seconds):
        return float(numpy.interp(seconds, self.edges, self.sum))

    def quantile(self, share):
        return float(numpy.interp(share, self.sum, self.edges))

    def draw(self, chance):
        return sum(chance.gammavariate((m / s)**2, s * s / m) for m, s in self.parts)


AIR_RELATIVE = 0.03  # docs/flight.md


def misstated(text, chance):
    """The setup with drag, air density and landing height off by what it declares."""
    setup = tomllib.loads(text)
    drag = setup["coast"]["drag_coefficient"] * (1.0 + setup["coast"]["drag_relative_standard_uncertainty"] * chance.gauss(0.0, 1.0))
    height = setup["rig"]["landing_height_standard_uncertainty_metres"] * chance.gauss(0.0, 1.0)
    for old, new in ((f"drag_coefficient = {setup['coast']['drag_coefficient']}", f"drag_coefficient = {drag}"),
                     (f"landing_height_metres = {setup['rig']['landing_height_metres']}", f"landing_height_metres = {height}"),
                     (f"site_height_metres = {setup['coast']['site_height_metres']}",
                      f"air_density_kg_per_m3 = {1.225 * (1.0 + AIR_RELATIVE * chance.gauss(0.0, 1.0))}")):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def truths(truth, scenario, setup, delays, chance):
    """The true value of every metric that this ejection has, by the same definition (docs/methods.md, docs/flight.md)."""
    out = {name: truth[name] for name in (
        "stroke_time_seconds", "impulse_newton_seconds", "peak_force_newtons", "peak_acceleration_g", "mean_acceleration_g",
        "droop_pascals", "detector_latency_seconds", "rise_time_seconds", "lateral_peak_g", "recovery_pascals",
        "supply_fall_seconds", "chamber_rise_seconds", "valve_delay_seconds")}
    speed, mass = truth["exit_speed_mps"], truth["vehicle_mass_kg"]
    out["first_motion_seconds"] = truth["first_motion_rig_clock_seconds"] - truth["release_rig_clock_seconds"]
    for way in ("force", "acceleration", "stroke", "free_fall"):
        out[f"exit_speed_from_{way}_mps"] = speed
    out["mean_force_newtons"] = truth["impulse_newton_seconds"] / truth["stroke_time_seconds"] + G * mass
    out["energy_joules"] = mass * (0.5 * speed**2 + G * truth["stroke_metres"])
    charge = truth["charge_at_release_pascals"] * scenario["gas"]["reservoir_volume_litres"] * 1e-3 / 0.4
    out["efficiency_ratio"] = out["energy_joules"] / charge
    out["release_pressure_pascals"] = truth["charge_at_release_pascals"]
    coast, window = setup["coast"], setup["ignition_window"]
    area = coast["drag_coefficient"] * math.pi / 4.0 * coast["diameter_metres"]**2
    climb = Climb(speed, area, 1.225, mass)
    out["coast_apex_metres"], out["coast_apex_time_seconds"] = truth["apex_metres"], climb.apex_seconds
    opens, closes = climb.window(window["least_height_metres"], window["least_speed_mps"])
    logic = window["logic_milliseconds"] * 1e-3
    out["latest_safe_decision_seconds"] = (closes - logic - delays.quantile(window["wanted_probability"])
                                           + truth["stroke_time_seconds"])
    delay = delays.draw(chance)
    if truth["detector_latency_seconds"] is not None:
        decided = truth["detector_latency_seconds"] - truth["stroke_time_seconds"]
        onset = decided + logic + delay
        out["thrust_onset_seconds"] = onset
        out["onset_before_apex_seconds"] = climb.apex_seconds - onset
        out["onset_in_window_probability"] = (delays.below(closes - decided - logic) - delays.below(opens - decided - logic))
        if 0.0 <= onset < climb.apex_seconds + 1.0:
            out["onset_height_metres"], out["onset_speed_mps"] = climb.at(onset)
    firing = scenario["firing"]
    if firing["dummy_load"] and truth["detector_latency_seconds"] is not None:
        amperes = firing["battery_volts"] / sum(firing[k] for k in ("load_ohms", "series_ohms", "wire_ohms", "battery_ohms"))
        out["firing_current_amperes"] = amperes
        out["firing_hold_seconds"] = firing["pulse_seconds"]
        out["firing_start_seconds"] = truth["detector_latency_seconds"] + firing["logic_seconds"]
        out["firing_action_ampere2_seconds"] = amperes**2 * firing["pulse_seconds"]
    return {name: value for name, value in out.items() if value is not None}


def without_force(text):
    """The setup as if the rig had no force cell."""
    return text.replace('role = "force"', 'role = "other"', 1)


def one(job):
    program, folder, seed, name, factor, no_force = job
    chance = random.Random(seed)
    scenario = scenario_of(name, factor, chance)
    file, truth_file, setup_file, campaign = (folder / f"{seed}.{e}" for e in ("toml", "jsonl", "setup.toml", "coldstroke"))
    file.write_text(toml_text(scenario))
    subprocess.run([program, "virtual", "--scenario", file, "--write-setup", setup_file], check=True, capture_output=True)
    text = setup_file.read_text()
    setup = tomllib.loads(text)
    text = misstated(text, chance)
    setup_file.write_text(without_force(text) if no_force else text)
    run = subprocess.run([program, "eject", "--virtual", "--scenario", file, "--seed", str(seed), "--campaign", campaign,
                          "--setup", setup_file, "--truth", truth_file, "--json"], capture_output=True, text=True)
    if run.returncode not in (0, 1, 2):
        sys.exit(f"seed {seed}, {name}: exit {run.returncode}\n{run.stderr}")
    trial = json.loads(run.stdout)["trials"][0]
    campaign.unlink()
    told = truth_file.read_text().splitlines()
    if not told or "metrics" not in trial:
        print(f"seed {seed}, {name}, noise times {factor}: not judged: {trial['status']}, {trial.get('why_not_judged')}")
        return name, factor, seed, []
    truth = json.loads(told[0])
    delays = Delays(setup["ignition_window"], setup["flight"]["igniter_delay_milliseconds"] * 1e-3)
    true = truths(truth, scenario, setup, delays, chance)
    rows = []
    for metric, value in trial["metrics"].items():
        if "absent" in value or metric not in true:
            continue
        low, high = value["interval_95"]
        bound, rounding = value.get("at_least", False), 1.0e-9 * abs(true[metric])
        held = low - rounding <= true[metric] and (bound or true[metric] <= high + rounding)
        rows.append((metric, value["value"] - true[metric], value["standard_uncertainty"], held, bound))
    return name, factor, seed, rows


def share_interval(held, count):
    """95 % interval of a share in per cent, exact (Clopper and Pearson)."""
    low = 100.0 * scipy.stats.beta.ppf(0.025, held, count - held + 1) if held > 0 else 0.0
    high = 100.0 * scipy.stats.beta.ppf(0.975, held + 1, count - held) if held < count else 100.0
    return low, high


def table(title, rows):
    outside = False
    print(f"\n{title}\n{'metric':36} {'n':>4} {'bias':>11} {'spread':>11} {'mean u':>11} {'held %':>7} {'95 % interval':>14}")
    for metric in dict.fromkeys(row[0] for row in rows):
        mine = [row for row in rows if row[0] == metric and not row[4]]
        bounds = [row for row in rows if row[0] == metric and row[4]]
        if mine:
            errors = [row[1] for row in mine]
            held = sum(row[3] for row in mine)
            share, (low, high) = 100.0 * held / len(mine), share_interval(held, len(mine))
            outside |= not 92.0 <= share <= 98.0
            spread = statistics.stdev(errors) if len(errors) > 1 else 0.0
            print(f"{metric:36} {len(mine):4d} {statistics.mean(errors):11.4g} {spread:11.4g} "
                  f"{statistics.mean(row[2] for row in mine):11.4g} {share:7.1f} {low:6.1f} to {high:5.1f}"
                  f"{'' if 92.0 <= share <= 98.0 else '  <'}")
        if bounds:
            print(f"{metric:36} {len(bounds):4d} 'at least': true of {sum(row[3] for row in bounds)}")
    return outside


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("trials", nargs="?", type=int, default=500)
    parser.add_argument("first_seed", nargs="?", type=int, default=1)
    parser.add_argument("--without-force", action="store_true")
    parser.add_argument("--scenario", help="only this one")
    parser.add_argument("--by-scenario", action="store_true", help="a table for each scenario too")
    options = parser.parse_args()
    names = [options.scenario] if options.scenario else sorted(file.stem for file in SCENARIOS.glob("*.toml"))
    with tempfile.TemporaryDirectory() as folder, concurrent.futures.ProcessPoolExecutor(2) as pool:
        jobs = [(pathlib.Path(options.program).resolve(), pathlib.Path(folder), options.first_seed + i, names[i % len(names)],
                 NOISE_FACTORS[i // len(names) % len(NOISE_FACTORS)], options.without_force) for i in range(options.trials)]
        done = list(pool.map(one, jobs))
    outside = table(f"{options.trials} trials from seed {options.first_seed}, {len(names)} scenarios, noise times {NOISE_FACTORS}"
                    f"{', without a force cell' if options.without_force else ''}", [row for one_ in done for row in one_[3]])
    if options.by_scenario:
        for name in names:
            table(name, [row for one_ in done if one_[0] == name for row in one_[3]])
        for factor in NOISE_FACTORS:
            table(f"noise times {factor}", [row for one_ in done if one_[1] == factor for row in one_[3]])
    sys.exit(1 if outside else 0)


main()
