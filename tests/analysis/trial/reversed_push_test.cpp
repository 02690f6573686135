// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/trial/reversed_push.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "tests/analysis/trial/clean_trial.hpp"

namespace coldstroke::analysis {
namespace {

CleanTrial rectangle_trial() {
  CleanPulse p;
  p.acceleration = [](double) { return 200.0; };
  return clean_trial(p);
}

/// It was explained as "fewer than ten samples in the stroke": the piston's stop, upside down, was taken for the stroke.
TEST(ReversedScale, IsCalledThat) {
  for (const std::size_t which : {0U, 1U}) {
    CleanTrial t = rectangle_trial();
    std::vector<double>& samples = t.traces.traces[which].samples;
    const auto stop = static_cast<std::size_t>(0.2504 / 1.0e-4);
    if (which == 0)
      for (std::size_t i = stop; i < stop + 5; ++i) samples[i] -= 250.0;
    const TrialResult upright = analyse(t.traces, t.setup);
    EXPECT_FALSE(has_finding(upright, "reversed_scale"));
    EXPECT_NE(upright.metric("impulse_newton_seconds")->measured(), nullptr);
    for (double& x : samples) x = -x;
    const TrialResult r = analyse(t.traces, t.setup);
    EXPECT_TRUE(has_finding(r, "reversed_scale")) << t.traces.traces[which].name;
    EXPECT_FALSE(has_finding(r, "rate_too_low"));
    EXPECT_EQ(r.metric(which == 0 ? "impulse_newton_seconds" : "peak_acceleration_g")->measured(), nullptr);
  }
}

TEST(PushesDownwards, OnlyOfADipThatBeginsAndEndsInTheRecordInTime) {
  const std::vector<double> dip{0.0, 0.0, -9.0, -10.0, -8.0, 1.0, 1.0, 1.0};
  EXPECT_TRUE(pushes_downwards(dip, dip.size(), 10.0, 3));
  EXPECT_FALSE(pushes_downwards(dip, dip.size(), 10.1, 3)) << "too shallow";
  EXPECT_FALSE(pushes_downwards(dip, dip.size(), 10.0, 2)) << "too long";
  EXPECT_FALSE(pushes_downwards(dip, 2, 5.0, 3)) << "not in the part searched";
  EXPECT_FALSE(pushes_downwards(std::span{dip}.first(5), 5, 5.0, 9)) << "it stays down";
  EXPECT_FALSE(pushes_downwards(std::span{dip}.subspan(2), 6, 5.0, 9)) << "it begins down";
  EXPECT_FALSE(pushes_downwards({}, 3, 5.0, 9));
  EXPECT_FALSE(pushes_downwards(std::vector<double>{0.0, NAN, 0.0}, 3, 5.0, 9));
}

TEST(ReversedScale, IsNotAVehicleLiftedOffItsSeat) {
  CleanTrial t = rectangle_trial();
  for (double& x : t.traces.traces[0].samples) x = 0.0;
  for (std::size_t i = 3000; i < 6000; ++i) t.traces.traces[0].samples[i] = -1.5 * kStandardGravity;
  const TrialResult r = analyse(t.traces, t.setup);
  EXPECT_FALSE(has_finding(r, "reversed_scale"));
  EXPECT_TRUE(has_finding(r, "no_motion"));
}

}  // namespace
}  // namespace coldstroke::analysis
