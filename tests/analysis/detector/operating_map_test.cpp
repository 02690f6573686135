// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/operating_map.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/analysis/detector/random_library.hpp"
#include "tests/analysis/detector/random_settings.hpp"

namespace coldstroke::analysis {
namespace {

/// The cell got the slow way: every recording through the model, sample by sample.
MapCell replayed_cell(const PreparedLibrary& library, const DetectorSettings& settings) {
  MapCell cell;
  double sum = 0.0;
  bool margin_known = true;
  std::vector<double> latencies;
  const auto results = replay_library(library, settings);
  for (std::size_t i = 0; i < results.size(); ++i) {
    const RecordingResult& r = results[i];
    cell.in_time += r.outcome == ReplayOutcome::in_time;
    cell.late += r.outcome == ReplayOutcome::late;
    cell.missed += r.outcome == ReplayOutcome::missed;
    cell.early += r.outcome == ReplayOutcome::early;
    cell.silent += r.outcome == ReplayOutcome::silent;
    cell.false_decisions += r.outcome == ReplayOutcome::false_decision;
    if (r.outcome == ReplayOutcome::missed || r.outcome == ReplayOutcome::early) margin_known = false;
    if (r.outcome != ReplayOutcome::in_time && r.outcome != ReplayOutcome::late) continue;
    latencies.push_back(*r.latency_seconds);
    sum += *r.latency_seconds;
    const double margin = library.recordings[i].deadline_seconds - *r.latency_seconds;
    cell.time_margin_seconds = std::min(margin, cell.time_margin_seconds.value_or(margin));
  }
  if (!latencies.empty()) {
    cell.latency_max_seconds = *std::max_element(latencies.begin(), latencies.end());
    cell.latency_mean_seconds = sum / static_cast<double>(latencies.size());
  }
  if (!margin_known) cell.time_margin_seconds.reset();
  cell.outcome = cell.early + cell.false_decisions > 0 ? CellOutcome::false_decisions
                 : cell.late > 0                       ? CellOutcome::late
                 : cell.missed == 0                    ? CellOutcome::always_in_time
                 : cell.in_time > 0                    ? CellOutcome::sometimes
                                                       : CellOutcome::misses;
  return cell;
}

/// Map and replay agree in everything the replay can say; the level margin's sign agrees with the outcome.
void expect_cell(const MapCell& cell, MapCell replayed, const std::string& where) {
  EXPECT_EQ(cell.level_margin >= 0.0, replayed.outcome == CellOutcome::always_in_time) << where;
  replayed.level_margin = cell.level_margin;
  replayed.binding_recording = cell.binding_recording;
  EXPECT_EQ(cell, replayed) << where << ": " << word(cell.outcome) << " against " << word(replayed.outcome);
}

std::vector<double> some(Engine& engine, std::size_t count, double low, double high, bool whole) {
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i) {
    const double v = low + (high - low) * static_cast<double>(engine() % 100'000) / 100'000.0;
    out.push_back(whole ? std::round(v) : v);
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

MapAxis random_axis(Engine& engine, MapParameter parameter) {
  switch (parameter) {
    case MapParameter::window_seconds:
      return {parameter, some(engine, 6, 0.001, 0.09, false)};
    case MapParameter::window_samples:
      return {parameter, some(engine, 6, 1.0, 90.0, true)};
    case MapParameter::threshold:
      return {parameter, some(engine, 9, 0.05, 9.0, false)};
    case MapParameter::required_samples:
      return {parameter, {1.0}};
    case MapParameter::filter_shift:
      return {parameter, {0.0, 1.0, 2.0, 4.0}};
    case MapParameter::building_g:
      return {parameter, some(engine, 5, 0.05, 8.0, false)};
    case MapParameter::deadline_seconds:
      return {parameter, some(engine, 7, 0.001, 0.2, false)};
    case MapParameter::rest_g:
      return {parameter, some(engine, 4, 0.5, 1.5, false)};
  }
  return {};
}

TEST(OperatingMap, EveryCellIsTheStraightforwardReplay) {
  std::array<std::size_t, 5> seen{};
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    Engine engine{seed};
    const auto library = random_library(engine, 5);
    const DetectorSpec spec = random_spec(engine);
    const auto rows = static_cast<MapParameter>(engine() % 8);
    auto columns = static_cast<MapParameter>(engine() % 8);
    if (columns == rows) columns = rows == MapParameter::threshold ? MapParameter::deadline_seconds : MapParameter::threshold;
    const auto plan = plan_operating_map(library, spec, random_axis(engine, rows), random_axis(engine, columns));
    ASSERT_TRUE(plan) << "seed " << seed << ": " << plan.error().what << " " << plan.error().where;
    const auto map = operating_map(*plan);
    ASSERT_TRUE(map);
    for (std::size_t r = 0; r < plan->rows.values.size(); ++r) {
      for (std::size_t c = 0; c < plan->columns.values.size(); ++c) {
        expect_cell(map->at(r, c), replayed_cell(plan->library, plan->at(r, c)),
                    "seed " + std::to_string(seed) + " row " + std::to_string(r) + " column " + std::to_string(c));
        ++seen[static_cast<std::size_t>(map->at(r, c).outcome)];
      }
    }
    if (HasFailure()) return;
  }
  for (const std::size_t count : seen) EXPECT_GT(count, 50u) << "every outcome must occur";
}

TEST(OperatingMap, RequiredSamplesOfAWindowAgreeToo) {
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    Engine engine{seed};
    const auto library = random_library(engine, 5);
    DetectorSpec spec = random_spec(engine);
    spec.kind = DetectorKind::k_of_n;
    spec.window_seconds.reset();
    spec.window_samples = 30;
    const auto plan = plan_operating_map(library, spec, {MapParameter::required_samples, {1, 2, 7, 29, 30}},
                                         random_axis(engine, MapParameter::threshold));
    ASSERT_TRUE(plan);
    const auto map = operating_map(*plan);
    for (std::size_t i = 0; i < map->cells.size(); ++i)
      expect_cell(map->cells[i], replayed_cell(plan->library, plan->settings[i]), "seed " + std::to_string(seed));
  }
}

/// Half-step walk: raising the threshold by up to the margin keeps the cell, one step more breaks it, for a recording that binds
/// from above; and the other way round from below.
TEST(OperatingMap, TheLevelMarginIsTheDistanceToTheEdge) {
  std::size_t from_above = 0, from_below = 0;
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    Engine engine{seed};
    const auto library = prepare_library(random_library(engine, 4), Axis::z, kTestBoard);
    const auto settings = settings_of(random_spec(engine));
    ASSERT_TRUE(library && settings);
    const MapCell cell = map_cell(*library, *settings);
    if (cell.outcome != CellOutcome::always_in_time || settings->kind == DetectorKind::moving_mean) continue;
    const auto steps = static_cast<std::int32_t>(std::lround(cell.level_margin / statistic_unit(*settings, kTestBoard)));
    const auto moved = [&](std::int32_t by) {
      DetectorSettings s = *settings;
      s.threshold_counts += by;
      s.sum_threshold += by;
      return replayed_cell(*library, s).outcome;
    };
    if (moved(steps + 1) != CellOutcome::always_in_time) {
      ++from_above;
      EXPECT_EQ(moved(steps), CellOutcome::always_in_time) << "seed " << seed;
    } else {
      ++from_below;
      EXPECT_EQ(moved(-steps), CellOutcome::always_in_time) << "seed " << seed;
      EXPECT_NE(moved(-steps - 1), CellOutcome::always_in_time) << "seed " << seed;
    }
  }
  EXPECT_GT(from_above, 5u);
  EXPECT_GT(from_below, 5u);
}

TEST(OperatingMap, RowsAreIndependentAndCanBeCancelled) {
  Engine engine{3};
  const auto library = random_library(engine, 6);
  const auto plan = plan_operating_map(library, random_spec(engine), {MapParameter::window_samples, {2, 5, 9}},
                                       {MapParameter::threshold, {0.5, 1.0, 2.0, 4.0}});
  ASSERT_TRUE(plan);
  const auto whole = operating_map(*plan);
  const auto last = map_row(*plan, 2);
  ASSERT_TRUE(whole && last);
  EXPECT_TRUE(std::equal(last->begin(), last->end(), whole->cells.begin() + 8));
  int asked = 0;
  EXPECT_FALSE(map_row(*plan, 0, [&] { return ++asked == 4; }));
  EXPECT_EQ(asked, 4) << "asked before every recording";
  EXPECT_FALSE(operating_map(*plan, [] { return true; }));
}

TEST(OperatingMap, RefusesWhatCannotBeAMap) {
  Engine engine{4};
  const auto library = random_library(engine, 6);
  const DetectorSpec spec = random_spec(engine);
  const MapAxis windows{MapParameter::window_samples, {2, 5}}, thresholds{MapParameter::threshold, {1.0, 2.0}};
  ASSERT_TRUE(plan_operating_map(library, spec, windows, thresholds));
  const auto what = [&](std::span<const Recording> lib, const MapAxis& rows, const MapAxis& columns) {
    const auto plan = plan_operating_map(lib, spec, rows, columns);
    return plan ? std::string{"accepted"} : plan.error().what + " | " + plan.error().where;
  };
  EXPECT_THAT(what({}, windows, thresholds), testing::HasSubstr("no recordings"));
  EXPECT_THAT(what(library, windows, windows), testing::HasSubstr("both axes vary window_samples"));
  EXPECT_THAT(what(library, {MapParameter::window_samples, {}}, thresholds), testing::HasSubstr("no values | map, rows"));
  EXPECT_THAT(what(library, {MapParameter::window_samples, {5, 2}}, thresholds), testing::HasSubstr("do not ascend"));
  EXPECT_THAT(what(library, {MapParameter::window_samples, {2.5}}, thresholds), testing::HasSubstr("is no count"));
  EXPECT_THAT(what(library, {MapParameter::window_samples, {600}}, thresholds), testing::HasSubstr("window of 600"));
  EXPECT_THAT(what(library, windows, {MapParameter::threshold, {std::nan("")}}), testing::HasSubstr("not a number"));
  EXPECT_THAT(what(library, windows, {MapParameter::threshold, {1.0, 50.0}}), testing::HasSubstr("beyond the range"));
  auto silent = library;
  std::erase_if(silent, [](const Recording& r) { return r.label == Label::must_fire; });
  EXPECT_THAT(what(silent, windows, thresholds), testing::HasSubstr("no recording must fire"));
}

}  // namespace
}  // namespace coldstroke::analysis
