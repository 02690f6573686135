#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Installs what is missing, checks the format, builds and runs every test. --full adds the linter and the sanitizer
# builds, as the continuous integration does. Stops at the first stage that fails and names it.
set -euo pipefail

usage() {
  cat <<'TEXT'
usage: scripts/check.sh [--full]
  (nothing)   packages, format, release build, all tests
  --full      also clang-tidy, the address+undefined sanitizer build with the tests of protocol, analysis and daq that do
              not need real time, and the thread sanitizer build with the tests of what runs in threads
Builds into build/release, build/asan, build/tsan. Set COLDSTROKE_JOBS to use other than all processors.
TEXT
}

full=no
for argument in "$@"; do
  case "$argument" in
    --full) full=yes ;;
    -h | --help) usage; exit 0 ;;
    *) echo "check.sh: unknown option: $argument" >&2; usage >&2; exit 2 ;;
  esac
done

cd "$(dirname "${BASH_SOURCE[0]}")/.."
. scripts/system_packages.sh
jobs="${COLDSTROKE_JOBS:-$(nproc)}"

stage_name=""
stage_started=0
stages=()
end_stage() {
  [ -z "$stage_name" ] || stages+=("$(printf '%5d s  %s' "$((SECONDS - stage_started))" "$stage_name")")
  stage_name=""
}
stage() {
  end_stage
  stage_name="$1"
  stage_started=$SECONDS
  printf '\n== %s\n' "$stage_name"
}
report_failure() {
  local status=$?
  [ "$status" -eq 0 ] || printf '\ncheck.sh: failed in the stage "%s"\n' "$stage_name" >&2
}
trap report_failure EXIT

our_sources() {
  find protocol analysis daq gui tests -type f \( -name '*.cpp' -o -name '*.hpp' -o -name '*.c' -o -name '*.h' \) -print0
}

# run_tests PRESET [CTEST ARGUMENT...]: the tests of a build, or those chosen. A failed test is run once more and the log says so:
# some run boards in real time, whose watchdogs rightly act when a busy machine lets nobody run for a quarter of a second. The
# log is kept so that its closing lines can be repeated at the end.
run_tests() {
  local build="build/$1"
  shift
  ctest --test-dir "$build" "$@" --output-on-failure --parallel "$jobs" --repeat until-pass:2 --timeout 600 --no-tests=error \
    </dev/null 2>&1 |
    tee "$build/tests.log"
}

stage "packages"
install_packages run test

stage "format (clang-format)"
if ! our_sources | xargs -0 -r clang-format-14 --dry-run -Werror; then
  echo "Remedy: clang-format-14 -i on the files named above" >&2
  exit 1
fi

stage "release: build"
cmake --preset release
cmake --build --preset release --parallel "$jobs"

stage "release: tests"
run_tests release
presets=(release)

if [ "$full" = yes ]; then
  # Everything but the tests, which the compiler's own warnings serve well enough.
  stage "lint (clang-tidy)"
  if ! find protocol analysis daq gui -name '*.cpp' -print0 |
    xargs -0 -r -n 1 -P "$jobs" timeout 300 clang-tidy-14 -p build/release --quiet --warnings-as-errors='*' 2>/dev/null; then
    echo "Remedy: mend what is named above; nothing is silenced" >&2
    exit 1
  fi

  # Where bytes are parsed, files are written, numbers are computed and the sequence runs, the whole bench on a faulty rig in
  # lock-step (hazard) among it. Nothing in real time: the sanitizer makes the program so slow that the boards' own watchdogs act,
  # as they should. Nor the exhaustive exploration and the coverage of intervals, for their length.
  stage "address and undefined-behaviour sanitizers: build"
  cmake --preset asan
  cmake --build --preset asan --parallel "$jobs" --target tests/protocol/all tests/analysis/all tests/daq/setup/all \
    tests/daq/record/all tests/daq/link/all tests/daq/stream/all tests/daq/sequence/all tests/daq/virtual_rig/all daq_hazard_test
  stage "address and undefined-behaviour sanitizers: tests"
  run_tests asan --label-regex '^(protocol|analysis_.*|daq_(setup|campaign|campaign_disk|recorder|trace_import|link|stream|sequence|hazard)|virtual_rig)$' \
    --exclude-regex 'RealTime|PseudoTerminal|^Coverage|NineteenOfTwenty'
  presets+=(asan)

  stage "thread sanitizer: build"
  cmake --preset tsan
  cmake --build --preset tsan --parallel "$jobs" --target daq_recorder_test daq_stream_test daq_link_test
  stage "thread sanitizer: tests of the writing thread, the histories and the ports' threads"
  export TSAN_OPTIONS="suppressions=$PWD/tests/thread_sanitizer.supp"
  run_tests tsan --label-regex '^daq_(recorder|stream|link)$'
  presets+=(tsan)
fi
end_stage

printf '\n== All stages passed\n'
printf '%s\n' "${stages[@]}"
for preset in "${presets[@]}"; do
  printf '\nTests of the %s build:\n' "$preset"
  grep -E '^[0-9]+% tests passed|^Total Test time' "build/$preset/tests.log"
done
