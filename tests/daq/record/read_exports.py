#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads an HDF5 export and a CSV export of the same trial with h5py and csv, and compares them sample by sample."""
import csv
import glob
import math
import sys

import h5py

folder = sys.argv[1]
with h5py.File(folder + "/out.h5") as file:
    assert file.attrs["layout"].decode() == "coldstroke traces 1", file.attrs["layout"]
    assert "specific force" in file["README"][()].decode()
    trial = file["trial_0001"]
    assert trial.attrs["verdict"].decode() in ("pass", "fail", "void")
    by_role = {trace.attrs["role"].decode(): trace for trace in trial["traces"].values()}
    compared = 0
    for name in glob.glob(folder + "/out/trial_0001/*.csv"):
        with open(name, newline="") as table:
            rows = list(csv.reader(table))
        for column, header in enumerate(rows[0]):
            role = header.split("_")[0]
            if role not in by_role:
                continue
            trace = by_role[role]
            assert trace.attrs["unit"].decode() == {"m/s2": "m/s^2"}.get(header.split("_")[1], header.split("_")[1])
            samples = trace[()]
            assert len(samples) == len(rows) - 1
            for k, row in enumerate(rows[1:]):
                assert (row[column] == "") == math.isnan(samples[k])
                assert row[column] == "" or float(row[column]) == samples[k]
                time = trace.attrs["start_seconds"] + k * trace.attrs["period_seconds"]
                assert abs(float(row[0]) - time) < 1e-9
            compared += 1
    assert compared >= 3, compared
    with open(folder + "/out/trials.csv", newline="") as table:
        row = next(csv.DictReader(table))
    values = 0
    for name, metric in trial["metrics"].items():
        assert row[name] == "" if "absent" in metric.attrs else float(row[name]) == metric.attrs["value"], name
        values += "value" in metric.attrs
print("compared", compared, "traces and", values, "metrics")
