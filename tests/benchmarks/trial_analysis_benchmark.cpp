// SPDX-License-Identifier: GPL-3.0-or-later
//
// Time of one trial's full analysis, and of the same pipeline in SciPy on the same traces in the same run
// (scipy_trial_analysis.py); their ratio is the figure that stays when the machine changes.
#include <benchmark/benchmark.h>

#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "analysis/trial/analyse.hpp"
#include "tests/analysis/trial/synthetic_ejection.hpp"

namespace {

using namespace coldstroke::analysis;

SyntheticTrial trial() {
  SyntheticOptions options = varied_options(3);
  return synthetic_ejection(options, 3);
}

double seconds_of_one = 0.0;

void full_analysis(benchmark::State& state) {
  const SyntheticTrial t = trial();
  const std::clock_t begin = std::clock();  // processor time: other programs on the machine do not count
  for (auto _ : state) benchmark::DoNotOptimize(analyse(t.traces, t.setup));
  seconds_of_one = static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC / static_cast<double>(state.iterations());
  std::size_t samples = 0;
  for (const Trace& trace : t.traces.traces) samples += trace.samples.size();
  state.counters["samples"] = static_cast<double>(samples);
}
BENCHMARK(full_analysis)->Unit(benchmark::kMillisecond)->MinTime(2.0);

/// What the other side needs, and what it must come out with.
void write_traces(const std::filesystem::path& file) {
  const SyntheticTrial t = trial();
  const TrialResult result = analyse(t.traces, t.setup);
  nlohmann::json out;
  for (const Trace& trace : t.traces.traces)
    out["traces"][trace.name] = {{"start", trace.start_seconds}, {"period", trace.period_seconds}, {"samples", trace.samples}};
  for (const char* name :
       {"first_motion_seconds", "stroke_time_seconds", "exit_speed_from_force_mps", "exit_speed_from_stroke_mps",
        "peak_force_newtons", "exit_speed_from_acceleration_mps", "peak_acceleration_g", "droop_pascals"})
    out["results"][name] = result.metric(name)->measured()->value;
  const TrialSetup& s = t.setup;
  out["setup"] = {{"vehicle_mass_kg", s.vehicle_mass_kg},
                  {"moved_mass_kg", s.vehicle_mass_kg + s.moving_rig_mass_kg},
                  {"stroke_metres", s.stroke_metres},
                  {"tilt_radians", s.tilt_radians},
                  {"natural_frequency_hz", s.force_cell_natural_frequency_hz},
                  {"release_seconds", t.traces.release_commanded_seconds.value_or(0.0)}};
  std::ofstream{file} << out;
}

}  // namespace

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  benchmark::RunSpecifiedBenchmarks();
  const auto file = std::filesystem::temp_directory_path() / "coldstroke_trial_analysis.json";
  write_traces(file);
  char seconds[32];
  std::snprintf(seconds, sizeof seconds, "%.9g", seconds_of_one);
  const std::string command = std::string{"/usr/bin/python3 "} + COLDSTROKE_SCIPY_PIPELINE + " " + file.string() + " " + seconds;
  const int status = std::system(command.c_str());
  std::filesystem::remove(file);
  return status == 0 ? 0 : 1;
}
