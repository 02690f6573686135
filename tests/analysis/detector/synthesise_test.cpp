// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/detector/synthesise.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace coldstroke::analysis {
namespace {

constexpr double kG = kStandardGravity;

Scene still() {
  Scene s;
  s.noise_rms_g = 0.0;
  return s;
}

double parameter(const Recording& r, const std::string& name) {
  const auto at = std::find_if(r.parameters.begin(), r.parameters.end(), [&](const auto& p) { return p.name == name; });
  EXPECT_NE(at, r.parameters.end()) << name;
  return at == r.parameters.end() ? 0.0 : at->value;
}

/// Speed gained net of weight between two instants, by the trapezoid rule on the samples.
double speed_gain(const Recording& r, double from, double to) {
  double sum = 0.0;
  for (std::size_t k = 0; k + 1 < r.axes[2].size(); ++k) {
    const double t = static_cast<double>(k) / r.sample_rate_hz;
    if (t >= from && t < to) sum += (0.5 * (r.axes[2][k] + r.axes[2][k + 1]) - kG) / r.sample_rate_hz;
  }
  return sum;
}

TEST(SynthesisePulse, HasTheAreaOfItsShapeThenFallsAndLands) {
  for (const auto& [shape, area] : std::vector<std::pair<PulseShape, double>>{
           {PulseShape::rectangular, 1.0}, {PulseShape::half_sine, 2.0 / 3.14159265358979}, {PulseShape::ramp, 0.5}}) {
    Scene scene = still();
    scene.sample_rate_hz = 50'000.0;
    PulseParameters p;
    p.shape = shape;
    p.peak_g = 12.0;
    const auto made = synthesise_pulse("p", p, scene);
    ASSERT_TRUE(made);
    const Recording& r = *made;
    EXPECT_EQ(r.label, Label::must_fire);
    EXPECT_DOUBLE_EQ(r.first_motion_seconds, scene.quiet_seconds);
    EXPECT_NEAR(speed_gain(r, 0.2, 0.34), 12.0 * kG * 0.04 * area, 0.01) << word(shape);
    EXPECT_DOUBLE_EQ(r.axes[2][static_cast<std::size_t>(0.8 * 50'000)], 0.0) << "free fall";
    EXPECT_NEAR(*std::max_element(r.axes[2].begin() + 40'000, r.axes[2].end()), 30.0 * kG, 0.01) << "landing";
    EXPECT_DOUBLE_EQ(r.axes[2].back(), kG) << "rest";
  }
}

TEST(SynthesiseEjection, AgreesWithTheStrokeModel) {
  EjectionParameters p;
  p.stroke.valves.assign(2, Valve{8.0e-8, 0.3, 0.006, 0.010});
  const auto made = synthesise_ejection("e", p, still());
  ASSERT_TRUE(made);
  const StrokeSummary model = simulate_stroke(p.stroke, p.charge_gauge_pascals);
  EXPECT_NEAR(made->first_motion_seconds - still().quiet_seconds, *model.first_motion_seconds, 2.0e-5);
  EXPECT_NEAR(parameter(*made, "exit_speed_mps"), model.exit_speed_mps, 2.0e-3 * model.exit_speed_mps);
  const double exit = still().quiet_seconds + *model.exit_seconds;
  EXPECT_NEAR(speed_gain(*made, made->first_motion_seconds - 0.01, exit), model.exit_speed_mps, 0.02 * model.exit_speed_mps);
  EXPECT_NEAR(*std::max_element(made->axes[2].begin(), made->axes[2].begin() + 900), model.peak_acceleration_mps2 + kG, 0.3);
  // Up and down again: the landing is v/g + sqrt(v^2 + 2 g h)/g after the exit.
  const double v = model.exit_speed_mps, landing = exit + (v + std::sqrt(v * v + 2.0 * kG * 0.8)) / kG;
  const auto first_touch = std::find_if(made->axes[2].begin() + 900, made->axes[2].end(), [](double a) { return a > 1.0; });
  EXPECT_NEAR(static_cast<double>(first_touch - made->axes[2].begin()) / 2000.0, landing, 2.0e-3 * landing);
}

TEST(SynthesiseSilent, EveryEventIsMadeRepeatableAndOfItsSize) {
  for (const Event event : kSilentEvents) {
    const SilentParameters p = typical(event);
    const auto a = synthesise_silent("s", p, Scene{}), b = synthesise_silent("s", p, Scene{});
    Scene other;
    other.seed = 2;
    const auto c = synthesise_silent("s", p, other);
    ASSERT_TRUE(a && b && c) << word(event);
    EXPECT_EQ(*a, *b);
    EXPECT_NE(a->axes, c->axes);
    EXPECT_EQ(a->label, Label::must_stay_silent);
    EXPECT_EQ(a->event, event);
    double most = 0.0;
    for (const double v : a->axes[2]) most = std::max(most, std::abs(v / kG - 1.0));
    EXPECT_GT(most, 0.7 * p.level_g) << word(event);
    EXPECT_LT(most, 7.0 * p.level_g + 1.2) << word(event);
  }
}

TEST(Synthesise, HoldsReadingsAtTheSensorsRange) {
  Scene scene;
  scene.sensor_range_g = 16.0;
  const auto r = synthesise_silent("drop", typical(Event::hand_drop), scene);
  EXPECT_DOUBLE_EQ(*std::max_element(r->axes[2].begin(), r->axes[2].end()), 16.0 * kG);
  const auto findings = check_library(std::span{&*r, 1}, Axis::z);
  EXPECT_EQ(findings->front().kind, "clipped");
}

TEST(Synthesise, RefusesNumbersOutOfRange) {
  const auto fault = [](const auto& made) { return made ? std::string{"made"} : made.error().what + " | " + made.error().where; };
  PulseParameters pulse;
  pulse.duration_seconds = -1.0;
  EXPECT_THAT(fault(synthesise_pulse("p", pulse, Scene{})), testing::HasSubstr("duration_seconds is -1"));
  Scene scene;
  scene.sample_rate_hz = std::nan("");
  EXPECT_THAT(fault(synthesise_silent("s", typical(Event::carrying), scene)), testing::HasSubstr("sample_rate_hz"));
  EXPECT_THAT(fault(synthesise_silent("s", {Event::ejection, 1.0, 1.0, 1.0}, Scene{})),
              testing::HasSubstr("silent recording of ejection"));
  EjectionParameters stuck;
  stuck.stroke.valves.assign(1, Valve{8.0e-8, 0.3, 0.006, 0.010});
  stuck.charge_gauge_pascals = 100.0;
  EXPECT_THAT(fault(synthesise_ejection("e", stuck, Scene{})), testing::HasSubstr("does not leave the tube"));
  scene = Scene{};
  scene.sample_rate_hz = 100.0;
  EXPECT_FALSE(synthetic_library(1, 1, scene)) << "a knock rings far above 50 Hz";
}

TEST(SyntheticLibrary, IsMixedAndUsable) {
  const auto library = synthetic_library(8, 2, Scene{});
  ASSERT_TRUE(library);
  EXPECT_EQ(library->size(), 8u + 16u);
  EXPECT_TRUE(check_library(*library, Axis::z)->empty());
  EXPECT_EQ(*library, *synthetic_library(8, 2, Scene{}));
}

}  // namespace
}  // namespace coldstroke::analysis
