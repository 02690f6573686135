#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Times a SciPy stack over an HDF5 export: onset, impulse, exit speeds, peaks, droop and latency of each trial.

usage: scipy_judging.py EXPORT.h5
Prints seconds of processor time for reading and for computing, and the mean exit speed, to be held against the program's own."""
import sys
import time

import h5py
import numpy as np
from scipy import integrate, signal

reading = computing = 0.0
speeds = []
with h5py.File(sys.argv[1]) as file:
    names = [name for name in file if name.startswith("trial_")]
    for name in names:
        began = time.process_time()
        traces = {trace.attrs["role"].decode(): (trace[()], trace.attrs["start_seconds"], trace.attrs["period_seconds"])
                  for trace in file[name]["traces"].values()}
        decisions = file[name]["decisions_seconds"][()]
        read = time.process_time()
        reading += read - began
        force, start, period = traces["force"]
        force = np.nan_to_num(force)
        low = signal.filtfilt(*signal.butter(4, 1000.0 * 2.0 * period), force)
        rest = slice(0, int(max(1, (-0.2 - start) / period)))
        noise = low[rest].std()
        after = int(max(0, -start / period))
        onset = after + int(np.argmax(low[after:] > low[rest].mean() + 8.0 * noise))
        end = onset + int(np.argmax(low[onset:] < 0.0))
        impulse = integrate.cumulative_trapezoid(force[onset:end], dx=period)
        peak = signal.find_peaks(low[onset:end])[0]
        supply = np.nan_to_num(traces["supply"][0])
        droop = np.median(supply[onset - 100:onset]) - supply[onset:end].min()
        if "acceleration" in traces:
            felt, felt_start, felt_period = traces["acceleration"]
            first = int((start + onset * period - felt_start) / felt_period)
            last = int((start + end * period - felt_start) / felt_period)
            filtered = signal.filtfilt(*signal.butter(4, 400.0 * 2.0 * felt_period), np.nan_to_num(felt))
            travelled = integrate.cumulative_trapezoid(integrate.cumulative_trapezoid(filtered[first:last] - 9.80665, dx=felt_period),
                                                       dx=felt_period)
        latency = decisions[0] - (start + onset * period) if len(decisions) else None
        speeds.append(impulse[-1])
        computing += time.process_time() - read
print("%d trials: reading %.3f s, computing %.3f s of processor time; mean impulse %.4f N s" %
      (len(names), reading, computing, np.mean(speeds)))
