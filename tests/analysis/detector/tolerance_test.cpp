// SPDX-License-Identifier: GPL-3.0-or-later
//
// A noise-free rectangular pulse of 10 g and 50 ms, moving mean 20 ms over 4 g at 1 kHz, deadline 30 ms: every tolerance follows
// by hand from the rule "trips at sample ceil(N a / A) - 1, if ceil(N a / A) <= min(N, M)".
#include "analysis/detector/tolerance.hpp"

#include <gtest/gtest.h>

#include "analysis/detector/prepared_library.hpp"
#include "tests/analysis/detector/random_library.hpp"

namespace coldstroke::analysis {
namespace {

Recording rectangle(const char* name, Label label, double level_g, std::size_t length) {
  Recording r;
  r.name = name;
  r.label = label;
  r.sample_rate_hz = 1000.0;
  r.first_motion_seconds = 0.1;
  r.deadline_seconds = 0.03;
  for (std::size_t k = 0; k < 400; ++k)
    r.axes[2].push_back((1.0 + (k >= 100 && k < 100 + length ? level_g : 0.0)) * kStandardGravity);
  return r;
}

DetectorSpec mean20() {
  DetectorSpec s;
  s.name = "mean of 20 ms";
  s.window_samples = 20;
  s.threshold_g = 4.0;
  s.building_g = 1.0;
  s.board = {1000.0, 16, 32.0};
  return s;
}

Tolerances found(const std::vector<Recording>& library, const DetectorSpec& spec, const ToleranceSteps& steps = {}) {
  const auto search = plan_tolerances(library, spec, steps);
  EXPECT_TRUE(search) << search.error().what;
  return tolerances(*search).value();
}

const Tolerance& of(const Tolerances& t, Change change) {
  for (const Tolerance& one : t.each)
    if (one.change == change) return one;
  throw std::runtime_error{"no such change"};
}

TEST(Tolerances, OfARectangularPulseFollowTheClosedForm) {
  const std::vector<Recording> library{rectangle("pulse", Label::must_fire, 10.0, 50),
                                       rectangle("bump", Label::must_stay_silent, 3.0, 10)};
  const Tolerances t = found(library, mean20());
  EXPECT_TRUE(t.wrong_as_recorded.empty());
  EXPECT_EQ(t.each.size(), kChangeCount);
  // The pulse outlasts the window: 4 g of 10 is enough, so 60 % weaker passes (equality) and 61 % does not.
  EXPECT_NEAR(of(t, Change::weaker_pulse).tolerated, 0.60, 1e-12);
  EXPECT_NEAR(*of(t, Change::weaker_pulse).fails_at, 0.61, 1e-12);
  EXPECT_EQ(of(t, Change::weaker_pulse).binding_recording, 0u);
  // 8 samples of 10 g in 20 make 4 g: the stroke may shrink from 50 to 8 ms, give or take the straight line at its end.
  EXPECT_NEAR(of(t, Change::shorter_stroke).tolerated, 0.84, 0.011);
  // A longer stroke only starts no later: the whole ladder, nine times longer, passes.
  EXPECT_FALSE(of(t, Change::longer_stroke).fails_at);
  // The bump's mean is 3 g * 10 / 20: 1.5 g against 4 g. It may grow by 166 %.
  EXPECT_NEAR(of(t, Change::stronger_silent).tolerated, 1.66, 1e-9);
  // However long, 3 g is not 4 g.
  EXPECT_FALSE(of(t, Change::longer_silent).fails_at);
  // Offset upwards: the bump with 1.5 g mean has 2.5 g to go, binding over the pulse's early rest of 0 g.
  EXPECT_NEAR(of(t, Change::offset_up).tolerated, 2.45, 1e-9);
  EXPECT_EQ(of(t, Change::offset_up).binding_recording, 1u);
  // Downwards the pulse keeps 6 g of spare; 5 g is the largest tried.
  EXPECT_FALSE(of(t, Change::offset_down).fails_at);
  EXPECT_GT(of(t, Change::noise).tolerated, 1.0);
}

TEST(Tolerances, ALibraryItGetsWrongHasNone) {
  const std::vector<Recording> library{rectangle("pulse", Label::must_fire, 3.0, 50)};
  const Tolerances t = found(library, mean20());
  EXPECT_EQ(t.wrong_as_recorded, std::vector<std::size_t>{0});
  EXPECT_TRUE(t.each.empty());
  EXPECT_EQ(sentence(t), "gets 1 recording wrong as recorded, so nothing is tolerated");
}

TEST(Tolerances, CanBeCancelledAndRefuseBadSteps) {
  const std::vector<Recording> library{rectangle("pulse", Label::must_fire, 10.0, 50)};
  const auto detector = mean20();
  EXPECT_FALSE(tolerances(plan_tolerances(library, detector).value(), [] { return true; }));
  ToleranceSteps none;
  none.fraction_step = 0.0;
  EXPECT_FALSE(plan_tolerances(library, detector, none));
  EXPECT_FALSE(plan_tolerances({}, detector));
}

Variation changed_by(Change change, double amount, std::uint64_t seed) {
  switch (change) {
    case Change::weaker_pulse:
      return {.level_factor = 1.0 - amount};
    case Change::shorter_stroke:
      return {.time_factor = 1.0 - amount};
    case Change::longer_stroke:
    case Change::longer_silent:
      return {.time_factor = 1.0 + amount};
    case Change::stronger_silent:
      return {.level_factor = 1.0 + amount};
    case Change::offset_up:
      return {.offset_g = amount};
    case Change::offset_down:
      return {.offset_g = -amount};
    case Change::noise:
      return {.noise_rms_g = amount, .noise_seed = seed};
  }
  return {};
}

/// The whole recording, every sample of it, through the library's own checks and the plain replay.
bool plainly_right(const Recording& recording, const DetectorSpec& spec) {
  const auto prepared = prepare_library(std::span{&recording, 1}, spec.axis, spec.board);
  if (!prepared) return false;
  const auto outcome = replay_library(*prepared, settings_of(spec).value()).front().outcome;
  return outcome == ReplayOutcome::in_time || outcome == ReplayOutcome::silent;
}

/// What a search leaves out (samples after a decision could be in time, recordings too low to decide on) changes no answer.
TEST(Tolerances, EveryStepIsTheStraightforwardReplayOverRandomLibraries) {
  const ToleranceSteps steps{.fraction_step = 0.07, .fraction_max = 0.9, .level_step_g = 0.4, .level_max_g = 4.0};
  std::size_t compared = 0, wrong = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    Engine engine{seed};
    const auto spec = random_spec(engine);
    std::vector<Recording> library = random_library(engine, 5);
    if (!settings_of(spec)) continue;
    std::erase_if(library, [&](const Recording& r) { return !plainly_right(r, spec); });
    if (library.empty()) continue;
    const auto search = plan_tolerances(library, spec, steps);
    ASSERT_TRUE(search) << search.error().what;
    for (std::size_t c = 0; c < kChangeCount; ++c) {
      const auto change = static_cast<Change>(c);
      const double step = c >= static_cast<std::size_t>(Change::offset_up) ? steps.level_step_g : steps.fraction_step;
      for (std::size_t i = 0; i < library.size(); ++i) {
        if (!concerns(change, library[i].label)) continue;
        std::optional<std::size_t> first;
        for (std::size_t k = 1; k <= step_count(*search, change) && !first; ++k) {
          const std::uint64_t noise_seed = steps.noise_seed + 1'000'003 * i + k;
          if (!plainly_right(vary(library[i], changed_by(change, static_cast<double>(k) * step, noise_seed)), spec)) first = k;
          ++compared;
        }
        ASSERT_EQ(first_wrong_step(*search, change, i, step_count(*search, change)), first)
            << word(change) << ", seed " << seed << ", recording " << i;
        wrong += first ? 1 : 0;
        const auto any = any_wrong_step(*search, change, i, first.value_or(step_count(*search, change)));
        EXPECT_EQ(any.has_value(), first.has_value());
      }
    }
  }
  EXPECT_GT(compared, 5000U);
  EXPECT_GT(wrong, 200U);
}

TEST(Tolerances, ReadAsASentence) {
  Tolerances t;
  t.each = {{Change::weaker_pulse, 0.23, 0.24, 0},
            {Change::shorter_stroke, 0.319, 0.32, 0},
            {Change::offset_up, 0.4, 0.45, 1},
            {Change::noise, 5.0, std::nullopt, std::nullopt}};
  EXPECT_EQ(sentence(t),
            "tolerates 23 % weaker pulse, 31 % shorter stroke, 0.40 g of offset upwards, at least 5.00 g rms of noise");
}

}  // namespace
}  // namespace coldstroke::analysis
