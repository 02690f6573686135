// SPDX-License-Identifier: GPL-3.0-or-later
//
// A trial recorded through a quadratic calibration: the campaign file alone is enough to judge it by that quadratic again.
#include <SQLiteCpp/SQLiteCpp.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "daq/setup/calibration_file.hpp"
#include "tests/daq/bench/run_of_trials.hpp"

namespace coldstroke::daq {
namespace {

using testing::DoubleEq;
using testing::HasSubstr;

/// The virtual rig's force cell as a certificate might have it: bent by 4 % at 1500 N, points off the curve by a few counts.
CalibrationRecord bent() {
  CalibrationRecord out;
  out.channel = "force";
  for (const double load : {-200.0, 0.0, 400.0, 800.0, 1200.0, 1500.0})
    out.points.push_back({load, 4194.304 * (load + 2.7e-5 * load * load) + 40.0 * std::sin(load), 2.5, 1000, false});
  out.who = "Mira";
  out.when = "2026-11-25T14:02:11Z";
  out.reference = "weights, invented";
  out.reason = "yearly";
  out.valid_until = "2099-12-31";
  return fit_record(std::move(out), analysis::CalibrationForm::quadratic).value();
}

/// The same setup with the quadratic's slope at no load alone.
Setup straightened(Setup setup) {
  setup.channels.front().calibration.curvature = 0.0;
  return setup;
}

const analysis::Trace& force(const analysis::TraceSet& traces) {
  return *std::ranges::find(traces.traces, analysis::Role::force, &analysis::Trace::role);
}

/// A trial at the folder's run.coldstroke; the setup lies nowhere but in there.
void run_one(const std::filesystem::path& folder, const Setup& setup) {
  auto bench = LockstepBench::start({setup, folder / "run.coldstroke", "steady", 12, {}, folder / "truth.jsonl", 1, program()});
  ASSERT_TRUE(bench) << bench.error().what;
  const auto trial = (*bench)->run_trial([] { return false; });
  ASSERT_TRUE(trial) << trial.error().what;
}

Setup bent_setup() {
  const auto setup = parse_setup(std::string{virtual_setup_text()} + toml_text(bent()), "bent");
  EXPECT_TRUE(setup) << setup.error().where << setup.error().what;
  EXPECT_GT(setup->channels.front().calibration.curvature, 2.0e-5);
  return *setup;
}

/// Largest difference of the quadratic's force to that of its straight line; each sample undone by hand.
double largest_bend(const Campaign& campaign, const Setup& quadratic) {
  const auto curved = archived_traces(campaign, 1, quadratic), straight = archived_traces(campaign, 1, straightened(quadratic));
  EXPECT_TRUE(curved && straight);
  const auto &v = force(curved->traces).samples, &u = force(straight->traces).samples;
  EXPECT_EQ(v.size(), u.size());
  const double curvature = quadratic.channels.front().calibration.curvature;
  double most = 0.0;
  for (std::size_t k = 0; k < v.size(); ++k) {
    EXPECT_NEAR(v[k] + curvature * v[k] * v[k], u[k], 1.0e-9 * (1.0 + std::abs(u[k])));
    most = std::max(most, std::abs(v[k] - u[k]));
  }
  return most;
}

TEST(BentCalibration, ATrialIsJudgedAgainByItsQuadraticFromTheCampaignAlone) {
  const auto folder = test_folder();
  const daq::Setup setup = bent_setup();
  run_one(folder, setup);
  const auto campaign = Campaign::open_read_only(folder / "run.coldstroke").value();
  const auto stored = parse_setup(campaign.setup_text(1).value(), "setup of trial 1");
  ASSERT_TRUE(stored) << stored.error().what;
  EXPECT_EQ(stored->channels, setup.channels) << "curvature, span and all, to the bit";
  const auto again = judge_trial(campaign, 1);
  ASSERT_TRUE(again) << again.error().what;
  const auto results = campaign.results(1).value();
  ASSERT_EQ(results.size(), 1U);
  EXPECT_EQ(result_json(again->result), results.front().json);
  EXPECT_GT(largest_bend(campaign, *stored), 1.0) << "a curvature that was lost would not show";
  const daq::Setup straight = straightened(*stored);
  EXPECT_NE(result_json(judge_trial(campaign, 1, &straight)->result), results.front().json);
}

TEST(BentCalibration, ItsCurvatureAndSpanStandInTheTableAndUnderTheSeal) {
  const auto folder = test_folder();
  const daq::Setup setup = bent_setup();
  run_one(folder, setup);
  const auto file = folder / "run.coldstroke";
  EXPECT_THAT(Campaign::open_read_only(file)->verify()->findings, testing::IsEmpty());
  const std::string check = "python3 " COLDSTROKE_SOURCE_DIR "/docs/check_campaign.py " + file.string() + " > /dev/null";
  EXPECT_EQ(std::system(check.c_str()), 0) << "the documented seal is the one that is written";
  SQLite::Database database{file.string(), SQLite::OPEN_READWRITE};
  SQLite::Statement query{database,
                          "SELECT scale, curvature, calibrated_low, calibrated_high FROM calibration WHERE channel = 'force'"};
  ASSERT_TRUE(query.executeStep());
  const Calibration& used = setup.channels.front().calibration;
  EXPECT_EQ(query.getColumn(0).getDouble(), used.scale);
  EXPECT_EQ(query.getColumn(1).getDouble(), used.curvature);
  EXPECT_THAT(query.getColumn(2).getDouble(), DoubleEq(-200.0));
  EXPECT_THAT(query.getColumn(3).getDouble(), DoubleEq(1500.0));
  SQLite::Statement rest{database, "SELECT count(*) FROM calibration WHERE calibrated_low IS NULL AND curvature = 0"};
  ASSERT_TRUE(rest.executeStep());
  EXPECT_EQ(rest.getColumn(0).getInt(), static_cast<int>(setup.channels.size()) - 1);
}

TEST(BentCalibration, ATrialCorrectedByAQuadraticKeepsItBesideTheOldResult) {
  const auto folder = test_folder();
  run_one(folder, virtual_setup());
  const Recalibration correction{"force", calibration_of(bent()), "Mira", "the cell is bent"};
  {
    auto campaign = Campaign::open_or_create(folder / "run.coldstroke", "").value();
    const auto judged = judge_recalibrated(campaign, 1, correction);
    ASSERT_TRUE(judged) << judged.error().what;
    ASSERT_TRUE(keep_recalibration(campaign, 1, correction));
    ASSERT_TRUE(campaign.add_result(1, analysis::word(judged->result.verdict), result_json(judged->result)));
  }
  const auto campaign = Campaign::open_read_only(folder / "run.coldstroke").value();
  EXPECT_EQ(recalibrations(campaign, 1).value(), std::vector{correction}) << "to the bit";
  const auto results = campaign.results(1).value();
  ASSERT_EQ(results.size(), 2U);
  EXPECT_EQ(result_json(judge_trial(campaign, 1)->result), results.back().json);
  const daq::Setup first = virtual_setup();
  EXPECT_EQ(result_json(judge_trial(campaign, 1, &first)->result), results.front().json) << "the old one is still right";
}

}  // namespace
}  // namespace coldstroke::daq
