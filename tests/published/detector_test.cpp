// SPDX-License-Identifier: GPL-3.0-or-later
//
// The analysis' detectors against closed-form latencies (tests/published/data/detectors.json). The board's C code has its own
// such test (detector_table_test.cpp); here the way goes through descriptions, quantisation and the operating map as well.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "analysis/detector/operating_map.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "tests/published/check_values.hpp"

namespace coldstroke::analysis {
namespace {

using nlohmann::json;
using published::check;

const json& file() {
  static const json data = published::load("detectors.json");
  return data;
}

/// One count is 2^-17 g: whole and half g are exact, so the table's borderline equalities are met exactly.
BoardSampling fine_board(double sample_rate_hz) { return {sample_rate_hz, 24, 64.0}; }

double net_g(const json& pulse, double t_ms) {
  const std::string shape = pulse.at("shape");
  if (shape == "ramp") return pulse.at("rate_g_per_ms").get<double>() * t_ms;
  const double peak = pulse.at("A_g"), duration = pulse.at("D_ms");
  if (t_ms >= duration) return 0.0;
  if (shape == "rect") return peak;
  return shape == "hs" ? peak * std::sin(std::numbers::pi * t_ms / duration) : peak * t_ms / duration;
}

/// The pulse from its first sample, which is first motion; rest (1 g) after it.
Recording recorded(const json& pulse, double sample_rate_hz, double seconds) {
  Recording r;
  r.name = pulse.value("name", "pulse");
  r.label = Label::must_fire;
  r.sample_rate_hz = sample_rate_hz;
  r.deadline_seconds = 10.0;
  for (std::size_t k = 0; static_cast<double>(k) < seconds * sample_rate_hz; ++k)
    r.axes[2].push_back((1.0 + net_g(pulse, 1000.0 * static_cast<double>(k) / sample_rate_hz)) * kStandardGravity);
  return r;
}

struct Trip {
  std::optional<std::size_t> index;
  std::optional<double> latency_ms;
};

/// By the model; the operating map must say the same.
Trip trip(const DetectorSpec& spec, const Recording& recording) {
  const auto settings = settings_of(spec);
  const auto library = prepare_library(std::span{&recording, 1}, Axis::z, spec.board);
  EXPECT_TRUE(settings && library) << (settings ? "" : settings.error().what);
  if (!settings || !library) return {};
  const RecordingResult result = replay_library(*library, *settings).front();
  const MapCell cell = map_cell(*library, *settings);
  EXPECT_EQ(cell.latency_max_seconds, result.latency_seconds) << recording.name << ", " << spec.name;
  Trip out{result.decision_index, std::nullopt};
  if (result.latency_seconds) out.latency_ms = 1000.0 * *result.latency_seconds;
  return out;
}

DetectorSpec begun(const std::string& name, double threshold_g, double sample_rate_hz) {
  DetectorSpec spec;
  spec.name = name;
  spec.threshold_g = threshold_g;
  spec.building_g = 0.1;
  spec.board = fine_board(sample_rate_hz);
  return spec;
}

/// The table's detector. `rate` is free but where the family's limits bind: 512 samples to a window, and an exponential mean
/// whose constant is that of a power of two.
DetectorSpec spec_of(const json& detector, double rate) {
  const std::string kind = detector.at("kind");
  DetectorSpec spec = begun(detector.at("name"), detector.at("threshold"), rate);
  spec.window_seconds = detector.at("window_ms").get<double>() / 1000.0;
  if (kind == "mean") return spec;
  spec.kind = DetectorKind::sustained;
  if (kind == "dv") {
    spec.kind = DetectorKind::velocity_gain;
    spec.velocity_gain_mps = detector.at("threshold");
    spec.window_seconds.reset();
    spec.window_samples = kDetectorWindowMaxSamples;  // longer than any latency of the table: as good as no window
  } else if (kind == "exp") {
    spec.window_seconds = 0.0;
    spec.filter_shift = 8;
  }
  return spec;
}

double rate_for(const json& detector) {
  const std::string kind = detector.at("kind");
  if (kind == "dv") return 4000.0;  // 512 samples are 128 ms
  if (kind == "exp") return filter_time_constant_seconds(8, 1.0) / 0.020;
  return 10'000.0;
}

TEST(Published, DetectorTableContinuous) {
  const json item = check(file(), "detector-table-continuous");
  const auto& pulses = item.at("inputs").at("pulses");
  const auto& detectors = item.at("inputs").at("detectors");
  for (std::size_t p = 0; p < pulses.size(); ++p) {
    for (std::size_t d = 0; d < detectors.size(); ++d) {
      const double rate = rate_for(detectors[d]);
      const bool ramp = pulses[p].at("shape") == "ramp";  // it would leave the range
      const Trip found = trip(spec_of(detectors[d], rate), recorded(pulses[p], rate, ramp ? 0.1 : 0.4));
      const json& expected = item.at("expected").at("latency_ms")[p][d];
      const std::string where = pulses[p].at("name").get<std::string>() + ", " + detectors[d].at("name").get<std::string>();
      ASSERT_EQ(found.latency_ms.has_value(), !expected.is_null()) << where;
      // A sampled detector sees the crossing within one period.
      if (found.latency_ms) {
        EXPECT_NEAR(*found.latency_ms, expected.get<double>(), 1000.0 / rate + 0.002) << where;
      }
    }
  }
}

/// All columns but the exponential one: at 1 kHz a filter of this family cannot have its constant (15.5 or 31.5 samples, not 20).
TEST(Published, DetectorTable1Khz) {
  const json item = check(file(), "detector-table-1khz"), table = check(file(), "detector-table-continuous");
  const auto& pulses = table.at("inputs").at("pulses");
  const auto& detectors = table.at("inputs").at("detectors");
  std::size_t compared = 0;
  for (std::size_t p = 0; p < pulses.size(); ++p) {
    for (std::size_t d = 0; d < detectors.size(); ++d) {
      if (detectors[d].at("kind") == "exp") continue;
      const bool ramp = pulses[p].at("shape") == "ramp";
      const Trip found = trip(spec_of(detectors[d], 1000.0), recorded(pulses[p], 1000.0, ramp ? 0.1 : 0.4));
      const json& expected = item.at("expected").at("index")[p][d];
      EXPECT_EQ(found.index, expected.is_null() ? std::nullopt : std::optional{expected.get<std::size_t>()})
          << pulses[p].at("name") << ", " << detectors[d].at("name");
      ++compared;
    }
  }
  EXPECT_EQ(compared, 42u);
}

TEST(Published, DetectorMeanRule) {
  const json item = check(file(), "detector-mean-rule");
  const json& in = item.at("inputs");
  for (std::size_t i = 0; i < in.at("A_g").size(); ++i) {
    const double window_ms = in.at("W_ms")[i], rate = 500'000.0 / window_ms;  // 500 samples to the window
    DetectorSpec spec = begun("mean", in.at("a_th_g")[i], rate);
    spec.window_samples = 500;
    const json pulse{{"shape", "rect"}, {"A_g", in.at("A_g")[i]}, {"D_ms", in.at("tau_ms")[i]}};
    const Trip found = trip(spec, recorded(pulse, rate, 0.8));
    const json& expected = item.at("expected").at("latency_ms")[i];
    ASSERT_EQ(found.index.has_value(), !expected.is_null()) << "row " << i;
    if (!found.index) continue;
    // k + 1 samples have been summed at index k. The rule's own instant may fall between samples: at most one later.
    const double summed_ms = 1000.0 * static_cast<double>(*found.index + 1) / rate;
    EXPECT_GE(summed_ms, expected.get<double>() - 1e-9) << "row " << i;
    EXPECT_LT(summed_ms, expected.get<double>() + 1000.0 / rate) << "row " << i;
  }
}

TEST(Published, DetectorMeanDiscreteRule) {
  const json item = check(file(), "detector-mean-discrete-rule");
  const json& in = item.at("inputs");
  for (std::size_t i = 0; i < in.at("N").size(); ++i) {
    DetectorSpec spec = begun("mean", in.at("a_th")[i], 1000.0);
    spec.window_samples = in.at("N")[i].get<std::uint32_t>();
    const json pulse{{"shape", "rect"}, {"A_g", in.at("A")[i]}, {"D_ms", in.at("M")[i]}};
    const json& expected = item.at("expected").at("index")[i];
    EXPECT_EQ(trip(spec, recorded(pulse, 1000.0, 0.3)).index,
              expected.is_null() ? std::nullopt : std::optional{expected.get<std::size_t>()})
        << "row " << i;
  }
}

TEST(Published, DetectorBiasG) {
  const json item = check(file(), "detector-bias-g");
  for (std::size_t i = 0; i < 2; ++i) {
    const double raw = item.at("inputs").at("raw_threshold_g")[i], net = item.at("expected").at("net")[i];
    DetectorSpec on_raw = begun("raw", raw, 1000.0), on_net = begun("net", net, 1000.0);
    on_raw.rest_g = 0.0;
    for (DetectorSpec* spec : {&on_raw, &on_net}) {
      spec->kind = DetectorKind::sustained;
      spec->window_samples = 0;
    }
    const double count = count_g(on_raw.board);
    const json reaches{{"shape", "rect"}, {"A_g", net}, {"D_ms", 20.0}},
        just_not{{"shape", "rect"}, {"A_g", net - count}, {"D_ms", 20.0}};
    for (const DetectorSpec& spec : {on_raw, on_net}) {
      EXPECT_EQ(trip(spec, recorded(reaches, 1000.0, 0.1)).index, 0u) << spec.name << " " << raw;
      EXPECT_FALSE(trip(spec, recorded(just_not, 1000.0, 0.1)).index) << spec.name << " " << raw;
    }
  }
}

}  // namespace
}  // namespace coldstroke::analysis
