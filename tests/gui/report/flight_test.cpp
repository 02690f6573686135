// SPDX-License-Identifier: GPL-3.0-or-later
//
// The climb and the charge plan as pages and verbs show them.
#include <gtest/gtest.h>

#include "gui/report/charge_plan_of.hpp"
#include "gui/report/climb_view.hpp"
#include "tests/gui/invented_flight.hpp"

namespace coldstroke::gui {
namespace {

TEST(ChargePlanOf, FitsACampaignAndSaysWhatItLeftOut) {
  const auto made = charge_plan_of(invented_charges());
  ASSERT_TRUE(made.has_value()) << made.error().what;
  EXPECT_EQ(made->trials.size(), 9U);
  ASSERT_EQ(made->left_out.size(), 1U);
  EXPECT_EQ(made->left_out.front(), "trial 10: void");
  EXPECT_DOUBLE_EQ(made->charge_limit_pascals, 9.0e5) << "the setup's maximum";
  EXPECT_DOUBLE_EQ(made->peak_limit_g, 65.0) << "the setup's criterion";
  EXPECT_NEAR(made->plan.valve_conductance.value / 8.0e-8, 1.0, 0.05);
}

TEST(ChargePlanOf, ForetellsATrialThatWasLeftOut) {
  for (const std::int64_t out : {1, 5, 9}) {
    const CampaignRows rows = invented_charges();
    const auto made = charge_plan_of(rows, {out});
    ASSERT_TRUE(made.has_value()) << made.error().what;
    EXPECT_EQ(made->trials.size(), 8U);
    analysis::PlanConditions c = made->conditions;
    c.charge_gauge_pascals = (6.0 + 0.35 * static_cast<double>(out - 1)) * 1.0e5;
    const auto p = analysis::predict(made->plan, c, analysis::Beyond::refuse);
    ASSERT_TRUE(p.has_value());
    EXPECT_NEAR(p->exit_speed_mps.value / invented_rig_speed_mps(c.charge_gauge_pascals), 1.0, 0.01);
  }
}

TEST(ChargePlanOf, SaysWhatIsMissing) {
  CampaignRows rows = invented_charges();
  for (ReportTrial& trial : rows.trials) trial.setup.reset();
  const auto none = charge_plan_of(rows);
  ASSERT_FALSE(none.has_value());
  EXPECT_NE(none.error().remedy.find("[fast_valves]"), std::string::npos);
  EXPECT_FALSE(charge_plan_of({}).has_value());
}

TEST(ClimbView, CarriesTheProfileTheWindowAndTheWords) {
  const auto view = climb_view(invented_flight());
  ASSERT_TRUE(view.has_value()) << view.error().what;
  EXPECT_NEAR(view->apex.height_metres, 10.64, 0.03);
  ASSERT_TRUE(view->window && view->onset_seconds && view->latest_safe_decision_seconds);
  EXPECT_NEAR(*view->onset_seconds, 0.0182 - 0.0385 + 0.190, 1e-9);
  EXPECT_LT(view->window->opens_seconds, *view->onset_seconds);
  EXPECT_GT(view->window->closes_seconds, *view->onset_late_seconds);
  EXPECT_GT(view->profile.size(), 100U);
  EXPECT_EQ(view->profile.front().height_metres, 0.0);
  EXPECT_LT(view->profile.back().speed_mps, -14.0);
  EXPECT_GE(view->sentences.size(), 6U);
}

TEST(ClimbView, ComplainsWithoutACoastOrASpeed) {
  ReportTrial trial = invented_flight();
  trial.result.metrics.clear();
  EXPECT_FALSE(climb_view(trial).has_value());
  trial = invented_flight();
  trial.setup.reset();
  EXPECT_FALSE(climb_view(trial).has_value());
}

}  // namespace
}  // namespace coldstroke::gui
