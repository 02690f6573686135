// SPDX-License-Identifier: GPL-3.0-or-later
//
// The operating map of 200 recordings, 60 windows and 60 thresholds: time, cells a second, and the ratio to the least that must
// be done, one pass over the same samples for every window (a plain sum of the counts).
#include <benchmark/benchmark.h>

#include <atomic>
#include <chrono>
#include <numeric>
#include <thread>

#include "analysis/detector/operating_map.hpp"
#include "analysis/detector/synthesise.hpp"

namespace coldstroke::analysis {
namespace {

constexpr std::size_t kWindows = 60, kThresholds = 60;

const std::vector<Recording>& library() {
  static const std::vector<Recording> made = *synthetic_library(72, 16, Scene{});  // 72 + 8 * 16 = 200
  return made;
}

OperatingMapPlan plan_for(DetectorKind kind) {
  DetectorSpec spec;
  spec.name = word(kind);
  spec.kind = kind;
  spec.building_g = 1.0;
  spec.deadline_seconds = 0.1;
  spec.required_samples = 3;
  spec.board = {2000.0, 16, 64.0};
  MapAxis windows{MapParameter::window_samples, {}}, thresholds{MapParameter::threshold, {}};
  for (std::size_t i = 0; i < kWindows; ++i) windows.values.push_back(3.0 + 2.0 * static_cast<double>(i));
  for (std::size_t i = 0; i < kThresholds; ++i)
    thresholds.values.push_back((kind == DetectorKind::velocity_gain ? 0.1 : 0.25) * static_cast<double>(i + 1));
  return *plan_operating_map(library(), spec, windows, thresholds);
}

const OperatingMapPlan& plan_of(DetectorKind kind) {
  static const std::vector<OperatingMapPlan> plans{plan_for(DetectorKind::moving_mean), plan_for(DetectorKind::sustained),
                                                   plan_for(DetectorKind::velocity_gain), plan_for(DetectorKind::k_of_n)};
  return plans[static_cast<std::size_t>(kind) - 1];
}

/// The physical limit: every sample read once for every window.
std::int64_t one_pass_a_window(const OperatingMapPlan& plan) {
  std::int64_t sum = 0;
  for (std::size_t w = 0; w < kWindows; ++w) {
    for (const NetStream& stream : plan.streams) {
      benchmark::DoNotOptimize(stream.net.data());
      sum = std::accumulate(stream.net.begin(), stream.net.end(), sum);
    }
  }
  return sum;
}

double seconds_of(const auto& work) {
  const auto begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

void map_on(const OperatingMapPlan& plan, unsigned threads) {
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t row = next++; row < kWindows; row = next++) benchmark::DoNotOptimize(map_row(plan, row));
  };
  std::vector<std::jthread> others;
  for (unsigned i = 1; i < threads; ++i) others.emplace_back(work);
  work();
}

void OperatingMapTime(benchmark::State& state) {
  const auto kind = static_cast<DetectorKind>(state.range(0));
  const auto threads = static_cast<unsigned>(state.range(1));
  const OperatingMapPlan& plan = plan_of(kind);
  double map_seconds = 0.0, pass_seconds = 0.0;
  for (auto _ : state) {
    map_seconds += seconds_of([&] { map_on(plan, threads); });
    state.PauseTiming();
    pass_seconds += seconds_of([&] { benchmark::DoNotOptimize(one_pass_a_window(plan)); });
    state.ResumeTiming();
  }
  std::size_t samples = 0;
  for (const auto& r : plan.library.recordings) samples += r.counts.size();
  state.SetLabel(word(kind));
  state.counters["recordings"] = static_cast<double>(plan.library.recordings.size());
  state.counters["samples"] = static_cast<double>(samples);
  state.counters["cells/s"] = static_cast<double>(state.iterations()) * kWindows * kThresholds / map_seconds;
  state.counters["replays/s"] = state.counters["cells/s"] * static_cast<double>(plan.library.recordings.size());
  state.counters["times_one_pass"] = map_seconds / pass_seconds;
}
BENCHMARK(OperatingMapTime)
    ->ArgNames({"kind", "threads"})
    ->ArgsProduct({{1, 2, 3, 4}, {1}})
    ->Args({1, static_cast<long>(std::max(1u, std::thread::hardware_concurrency()))})
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();

}  // namespace
}  // namespace coldstroke::analysis

BENCHMARK_MAIN();
