#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every row of the hazard table over pseudo-terminals in real time, some side by side.

usage: hazards_over_ports.py PROGRAM [SIDE_BY_SIDE]

PROGRAM is build/release/tests/daq/safety/hazards_over_ports. Each test is a process of its own with its own virtual rig process and
its own two pseudo-terminals. Prints one line a test; exit code 0 if all passed. A machine too slow for as many rigs at once makes
the boards' own watchdogs act, as they should, and a row then sees another hazard than its own. So a row that fails is run again, at
most twice, and its line says how often; what the failed run said is printed.
"""
import concurrent.futures
import subprocess
import sys
import time


def tests_of(program):
    suite, found = "", []
    listing = subprocess.run([program, "--gtest_list_tests"], capture_output=True, text=True, check=True)
    for line in listing.stdout.splitlines():
        if not line.startswith(" "):
            suite = line.strip()
        else:
            found.append(suite + line.split("#")[0].strip())
    return [name for name in found if name.startswith("Hazard.")]


RUNS_AT_MOST = 3


def run(program, name):
    started, said = time.monotonic(), ""
    for runs in range(1, RUNS_AT_MOST + 1):
        done = subprocess.run([program, "--gtest_filter=" + name], capture_output=True, text=True, timeout=900)
        if done.returncode == 0:
            break
        said += done.stdout
    return name, done.returncode, time.monotonic() - started, runs, said


def main():
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    program, side_by_side = sys.argv[1], int(sys.argv[2]) if len(sys.argv) == 3 else 4
    names, failed = tests_of(program), 0
    with concurrent.futures.ThreadPoolExecutor(side_by_side) as pool:
        for name, code, seconds, runs, said in pool.map(lambda name: run(program, name), names):
            again = "" if runs == 1 else f"  ({runs} runs)"
            print(f"{'pass' if code == 0 else 'FAIL'}  {seconds:6.1f} s  {name}{again}", flush=True)
            if said:
                print(said)
            failed += code != 0
    print(f"{len(names) - failed} of {len(names)} rows passed over pseudo-terminals in real time")
    sys.exit(1 if failed or not names else 0)


main()
