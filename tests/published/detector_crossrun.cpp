// SPDX-License-Identifier: GPL-3.0-or-later
//
// Writes libraries, detectors and what the program makes of them, for numpy_detector_crossrun.py to do again by other means.
//   detector_crossrun libraries   200 random libraries, one JSON object a line
//   detector_crossrun map         one library of 200 recordings x 60 windows x 60 thresholds, with the time its map took
#include <chrono>
#include <cstring>
#include <iostream>
#include <nlohmann/json.hpp>

#include "analysis/detector/operating_map.hpp"
#include "analysis/detector/synthesise.hpp"
#include "tests/analysis/detector/random_library.hpp"

namespace coldstroke::analysis {
namespace {

using nlohmann::json;

template <class T>
json or_null(const std::optional<T>& value) {
  return value ? json(*value) : json();
}

json written(const DetectorSpec& s) {
  return {{"kind", word(s.kind)},
          {"window_samples", s.window_samples.value_or(0)},
          {"threshold_g", s.threshold_g},
          {"velocity_gain_mps", s.velocity_gain_mps},
          {"required_samples", s.required_samples},
          {"building_g", s.building_g},
          {"deadline_seconds", or_null(s.deadline_seconds)},
          {"filter_shift", s.filter_shift},
          {"rest_g", s.rest_g},
          {"sample_rate_hz", s.board.sample_rate_hz},
          {"bits", s.board.bits},
          {"range_g", s.board.range_g}};
}

json written(const Recording& r) {
  return {{"must_fire", r.label == Label::must_fire},
          {"sample_rate_hz", r.sample_rate_hz},
          {"first_motion_seconds", r.first_motion_seconds},
          {"deadline_seconds", r.deadline_seconds},
          {"z", r.along(Axis::z)}};
}

json written(const MapCell& c) {
  return {word(c.outcome), c.in_time, c.late, c.missed, c.early, c.false_decisions, or_null(c.latency_max_seconds)};
}

json map_json(const OperatingMapPlan& plan, const DetectorSpec& spec, std::span<const Recording> library,
              const OperatingMap& map) {
  json out{{"detector", written(spec)}, {"windows", plan.rows.values}, {"thresholds", plan.columns.values}};
  for (const Recording& r : library) out["recordings"].push_back(written(r));
  for (const MapCell& c : map.cells) out["cells"].push_back(written(c));
  return out;
}

void random_libraries() {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    Engine engine{seed};
    auto library = random_library(engine, 5);
    for (Recording& r : library)  // some recorded at another rate than the board's
      if (engine() % 4 == 0) r.sample_rate_hz = engine() % 2 == 0 ? 800.0 : 2500.0;
    for (Recording& r : library) r.first_motion_seconds *= kTestBoard.sample_rate_hz / r.sample_rate_hz;
    DetectorSpec spec = random_spec(engine);
    spec.required_samples = 2;
    const auto plan = *plan_operating_map(library, spec, {MapParameter::window_samples, {2, 5, 11, 40}},
                                          {MapParameter::threshold, {0.2, 0.9, 2.0, 3.7, 6.0}});
    json out = map_json(plan, spec, library, *operating_map(plan));
    out["seed"] = seed;
    for (const DetectorSettings& s : plan.settings)
      for (const PreparedRecording& r : plan.library.recordings) out["decisions"].push_back(or_null(replay(s, r.counts)));
    std::cout << out << '\n';
  }
}

void large_map() {
  const auto library = *synthetic_library(72, 16, Scene{});
  DetectorSpec spec;
  spec.building_g = 1.0;
  spec.deadline_seconds = 0.1;
  spec.window_samples = 1;
  spec.threshold_g = 1.0;
  spec.board = {2000.0, 16, 64.0};
  MapAxis windows{MapParameter::window_samples, {}}, thresholds{MapParameter::threshold, {}};
  for (int i = 0; i < 60; ++i) windows.values.push_back(3.0 + 2.0 * i);
  for (int i = 0; i < 60; ++i) thresholds.values.push_back(0.25 * (i + 1));
  const auto begin = std::chrono::steady_clock::now();
  const auto plan = *plan_operating_map(library, spec, windows, thresholds);
  const auto planned = std::chrono::steady_clock::now();
  const auto map = *operating_map(plan);
  const auto end = std::chrono::steady_clock::now();
  json out = map_json(plan, spec, library, map);
  out["plan_seconds"] = std::chrono::duration<double>(planned - begin).count();
  out["map_seconds"] = std::chrono::duration<double>(end - planned).count();
  std::cout << out << '\n';
}

}  // namespace
}  // namespace coldstroke::analysis

int main(int count, char** words) {
  const char* what = count == 2 ? words[1] : "";
  if (std::strcmp(what, "libraries") == 0) {
    coldstroke::analysis::random_libraries();
  } else if (std::strcmp(what, "map") == 0) {
    coldstroke::analysis::large_map();
  } else {
    std::cerr << "usage: detector_crossrun libraries|map\n";
    return 2;
  }
  return std::cout.good() ? 0 : 1;
}
