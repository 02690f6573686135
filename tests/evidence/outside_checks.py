#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Table of all checks against values from outside the project: computed, published, difference.

usage: outside_checks.py BUILD_FOLDER [--all]

Runs the tests of tests/published in BUILD_FOLDER and prints what they recorded of themselves, so that the table cannot say anything
else than what was compared. Without --all, of a case with many numbers only the one with the largest relative difference is shown and
how many there are. Exit code 1 if a test fails.
"""
import pathlib
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as xml

folder = pathlib.Path(sys.argv[1]).resolve() / "tests/published"
everything = "--all" in sys.argv
rows, failed = [], 0
for program in sorted(folder.glob("published_*_test")):
    with tempfile.NamedTemporaryFile(suffix=".xml") as file:
        done = subprocess.run([program, f"--gtest_output=xml:{file.name}"], capture_output=True, text=True)
        failed += done.returncode != 0
        for entry in xml.parse(file.name).getroot().iter("property"):
            if entry.get("name").startswith("outside "):
                _, case, what = entry.get("name").split(" ", 2)
                computed, published, source = (entry.get("value").split(" ", 2) + [""])[:3]
                rows.append((case, what, float(computed), float(published), source))


def relative(row):
    return abs(row[2] - row[3]) / abs(row[3]) if row[3] else abs(row[2])


cases = {}
for row in rows:
    cases.setdefault(row[0], []).append(row)
print(f"{'case':30} {'what':34} {'computed':>20} {'published':>20} {'difference':>11}  source")
for case, mine in cases.items():
    shown = mine if everything else [max(mine, key=relative)]
    for row in shown:
        of = "" if everything or len(mine) == 1 else f" (largest of {len(mine)})"
        print(f"{case:30} {(row[1] + of):34} {row[2]:20.14g} {row[3]:20.14g} {row[2] - row[3]:11.2e}  {row[4][:110]}")
print(f"{len(rows)} numbers of {len(cases)} cases compared; {failed} test programs failed")
sys.exit(1 if failed or not rows else 0)
