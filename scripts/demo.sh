#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
#
# From a bare Debian 12 to a judged trial on the virtual rig: installs what is missing, builds the program, runs it.
# With a display the window opens; without one (or with --headless) trials run in the terminal and leave a campaign
# file and a report. No gas and no hardware are involved.
set -euo pipefail

usage() {
  cat <<'TEXT'
usage: scripts/demo.sh [--headless]
  --headless   do not open the window even if there is a display
Installs the packages of scripts/packages.txt [run] that are missing (as root or through sudo), builds into build/demo,
and runs the virtual rig. Headless results go to a new folder demo-output, demo-output-2, ... each time.
TEXT
}

headless=no
for argument in "$@"; do
  case "$argument" in
    --headless) headless=yes ;;
    -h | --help) usage; exit 0 ;;
    *) echo "demo.sh: unknown option: $argument" >&2; usage >&2; exit 2 ;;
  esac
done

cd "$(dirname "${BASH_SOURCE[0]}")/.."
started=$SECONDS
. scripts/system_packages.sh

install_packages run
echo "== Building the program (the first time takes some minutes)"
cmake --preset release -B build/demo -DCOLDSTROKE_TESTS=OFF
cmake --build build/demo --target coldstroke --parallel "$(nproc)"
program=build/demo/gui/coldstroke
echo "== Built in $((SECONDS - started)) s: $program"

# A Wayland desktop without its X server needs a Qt plugin of its own, which the package list does not bring.
has_display() {
  [ -n "${DISPLAY:-}" ] || { [ -n "${WAYLAND_DISPLAY:-}" ] && dpkg-query --show qt6-wayland >/dev/null 2>&1; }
}
if [ "$headless" = no ] && has_display; then
  echo "== Opening the window on the virtual rig"
  if ! "$program" window --virtual; then
    echo "The window could not run. Without a display use: scripts/demo.sh --headless" >&2
    exit 1
  fi
  exit 0
fi

output=demo-output
number=1
until mkdir "$output" 2>/dev/null; do
  if [ ! -e "$output" ]; then
    echo "demo.sh: cannot make the folder $output in $PWD: is it writable?" >&2
    exit 1
  fi
  number=$((number + 1))
  output="demo-output-$number"
done

echo
echo "== No display: three inert ejections on the virtual rig, healthy detector"
"$program" eject --virtual --scenario steady --seed 1 --trials 3 \
  --campaign "$output/demo.coldstroke" --report "$output/report.html"

# Most of the other scenarios go wrong on purpose: a trial that fails (1) or is void (2) is what they are there to show. The load
# box shows the firing channels on dummy loads.
for file in daq/virtual_rig/scenarios/*.toml; do
  scenario="$(basename "$file" .toml)"
  [ "$scenario" != steady ] || continue
  echo
  echo "== One ejection of the scenario \"$scenario\""
  status=0
  "$program" eject --virtual --scenario "$scenario" --seed 1 --trials 1 \
    --campaign "$output/$scenario.coldstroke" --report "$output/$scenario.html" || status=$?
  if [ "$status" -gt 2 ]; then
    echo "demo.sh: the scenario $scenario did not run to a verdict (exit code $status)" >&2
    exit 1
  fi
done

echo
echo "== The files are in $PWD/$output (total $((SECONDS - started)) s):"
ls -l "$output"
