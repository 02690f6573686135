// SPDX-License-Identifier: GPL-3.0-or-later
//
// Calibration records on disk: appended, read back, superseded, refused where they are wrong.
#include "daq/setup/calibration_file.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <thread>

#include "daq/bench/surroundings.hpp"
#include "daq/record/campaign.hpp"
#include "tests/daq/record/fresh_folder.hpp"

namespace coldstroke::daq {
namespace {

namespace fs = std::filesystem;
using testing::AllOf;
using testing::HasSubstr;

class CalibrationFile : public testing::Test {
 protected:
  CalibrationFile() {
    std::string text{virtual_setup_text()};
    text.replace(text.find("[rig]\n"), 6, "[rig]\ncalibration_file = \"records.toml\"\n");
    std::ofstream{folder / "rig.toml"} << text;
    std::ofstream{folder / "records.toml"};
  }
  Result<daq::Setup> load() const { return load_setup(folder / "rig.toml"); }
  std::string records() const {
    std::ifstream in{folder / "records.toml", std::ios::binary};
    return {std::istreambuf_iterator<char>{in}, {}};
  }
  void write(const std::string& text) const { std::ofstream{folder / "records.toml"} << text; }
  std::string complaint() const {
    const auto setup = load();
    EXPECT_FALSE(setup);
    return setup ? "" : setup.error().what + "\n" + setup.error().where + "\n" + setup.error().remedy;
  }
  static CalibrationRecord record(double counts_per_newton, const std::string& who = "A. \"Moreau\" \\ Kai", double bend = 0.0) {
    CalibrationRecord out;
    out.channel = "force";
    for (const double load : {0.0, 250.0, 500.0, 1000.0})
      out.points.push_back({load, 17.0 + counts_per_newton * (load + bend * load * load) + std::sin(load), 2.5, 1000, false});
    out.points.push_back({250.0, 18.0 + counts_per_newton * (250.0 + bend * 62500.0), 2.5, 1000, true});
    out.points.push_back({0.0, 20.0, 2.5, 1000, true});
    out.who = who;
    out.when = "2026-11-25T14:02:11Z";
    out.reference = "weights, certificate 12";
    out.reason = "yearly";
    out.valid_until = "2027-11-25";
    out.reference_standard_uncertainty = 0.001;
    return fit_record(std::move(out), bend == 0.0 ? analysis::CalibrationForm::line : analysis::CalibrationForm::quadratic)
        .value();
  }
  FreshFolder folder;
};

TEST_F(CalibrationFile, TheNewestRecordOfAChannelIsInForceAndTheOlderStay) {
  const auto first = load();
  ASSERT_TRUE(first) << first.error().what;
  EXPECT_EQ(first->channels[0].calibration.reference, "invented: virtual rig");
  ASSERT_TRUE(append_calibration(*first, record(4000.0)));
  const std::string one = records();
  ASSERT_TRUE(append_calibration(*first, record(5000.0)));
  EXPECT_THAT(records(), testing::StartsWith(one)) << "nothing older is touched";
  const auto now = load();
  ASSERT_TRUE(now) << now.error().what;
  ASSERT_EQ(now->calibrations.size(), 2U);
  EXPECT_EQ(now->calibrations[0].who, "A. \"Moreau\" \\ Kai");
  EXPECT_EQ(now->calibrations[0].points, record(4000.0).points);
  const Calibration& force = now->channels[0].calibration;
  EXPECT_NEAR(force.scale, 1.0 / 5000.0, 1.0e-9);
  EXPECT_EQ(force.valid_until, "2027-11-25");
  EXPECT_GE(force.gain_standard_uncertainty, 0.001) << "the reference's own doubt is in it";
  EXPECT_THAT(force.reference, AllOf(HasSubstr("certificate 12"), HasSubstr("Moreau"), HasSubstr("2026-11-25T14:02:11Z")));
  const auto again = parse_setup(now->text, "stored");
  ASSERT_TRUE(again) << again.error().what;
  EXPECT_EQ(again->channels, now->channels) << "the exact effective text is what a trial stores";
}

TEST_F(CalibrationFile, ALoadedSetupIsNoLongerTheSameOnceARecordIsAppended) {
  const auto before = load();
  ASSERT_TRUE(before);
  EXPECT_TRUE(look_around(*before, folder / "c.coldstroke").setup_file_same);
  ASSERT_TRUE(append_calibration(*before, record(4000.0)));
  EXPECT_FALSE(look_around(*before, folder / "c.coldstroke").setup_file_same);
}

TEST_F(CalibrationFile, FewPointsAndPointsOnTheLineEnterATrialWithTheirDoubt) {
  const auto of = [](std::initializer_list<double> off) {
    CalibrationRecord out;
    double load = 0.0;
    for (const double counts : off) out.points.push_back({load, 17.0 + 4000.0 * load + counts, 0.0, 1, false}), load += 500.0;
    return fit_record(std::move(out), analysis::CalibrationForm::line).value();
  };
  const CalibrationRecord few = of({0.0, 300.0, -200.0});
  // One degree of freedom: 12.706 standard errors where a budget counts 1.96.
  EXPECT_NEAR(calibration_of(few).gain_standard_uncertainty / few.curve.mean_slope_relative_uncertainty(), 12.706 / 1.960, 0.001);
  const Calibration exact = calibration_of(of({0.0, 0.0, 0.0}));
  const double count = 1.0 / std::sqrt(12.0);
  EXPECT_NEAR(exact.gain_standard_uncertainty, count / std::sqrt(500'000.0) / 4000.0, 1.0e-12);
  EXPECT_NEAR(exact.zero_standard_uncertainty, count * std::sqrt(1.0 + 5.0 / 6.0) / 4000.0, 1.0e-9);
}

TEST_F(CalibrationFile, AQuadraticIsUndoneBothWays) {
  const CalibrationRecord bent = record(4000.0, "Mira", 1.0e-5);
  const Calibration calibration = calibration_of(bent);
  for (const double load : {-500.0, 0.0, 300.0, 1000.0}) {
    EXPECT_NEAR(calibration.si(bent.curve.reading_at(load)), load, 1.0e-6);
    EXPECT_NEAR(calibration.counts(load), bent.curve.reading_at(load), 1.0e-4);
  }
  EXPECT_LT(calibration.si(-1.0e12), -2000.0) << "counts that the curve never gives are out of range";
}

TEST_F(CalibrationFile, AQuadraticAndItsSpanComeBackFromTheCampaignFile) {
  const auto before = load();
  ASSERT_TRUE(before);
  const CalibrationRecord bent = record(4000.0, "Mira", 1.0e-5);
  ASSERT_TRUE(append_calibration(*before, bent));
  const auto setup = load();
  ASSERT_TRUE(setup) << setup.error().what;
  auto campaign = Campaign::open_or_create(folder / "trials.coldstroke", "bent");
  ASSERT_TRUE(campaign) << campaign.error().what;
  const auto trial = campaign->begin_trial(*setup, true, "invented");
  ASSERT_TRUE(trial) << trial.error().what;
  const auto text = campaign->setup_text(*trial);
  ASSERT_TRUE(text) << text.error().what;
  const auto stored = parse_setup(*text, "stored");
  ASSERT_TRUE(stored) << stored.error().what;
  EXPECT_EQ(stored->channels[0].calibration, setup->channels[0].calibration);
  EXPECT_NEAR(stored->channels[0].calibration.si(bent.curve.reading_at(700.0)), 700.0, 1.0e-6);
  EXPECT_EQ(stored->channels[0].calibration.span, (analysis::CalibratedSpan{0.0, 1000.0}));
}

TEST_F(CalibrationFile, TwoWritersAtOnceLoseNothing) {
  const auto setup = load();
  ASSERT_TRUE(setup);
  constexpr int kEach = 20;
  const auto many = [&](const std::string& who) {
    for (int k = 0; k < kEach; ++k) EXPECT_TRUE(append_calibration(*setup, record(4000.0 + k, who)));
  };
  std::thread other{many, "Kai"};
  many("Mira");
  other.join();
  const auto now = load();
  ASSERT_TRUE(now) << now.error().what;
  EXPECT_EQ(now->calibrations.size(), 2U * kEach);
  EXPECT_EQ(std::ranges::count(now->calibrations, "Kai", &CalibrationRecord::who), kEach);
}

TEST_F(CalibrationFile, WrongRecordsAreRefusedWithFileLineKeyAndWhatIsAllowed) {
  const std::string good = toml_text(record(4000.0));
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string text = good;
    EXPECT_NE(text.find(from), std::string::npos) << from;
    text.replace(text.find(from), from.size(), to);
    write(text);
    return complaint();
  };
  EXPECT_THAT(with("channel = \"force\"", "channel = \"fores\""),
              AllOf(HasSubstr("records.toml, line 3, key calibration[1].channel"), HasSubstr("one of force, supply")));
  EXPECT_THAT(with("\"2027-11-25\"", "\"2027-02-30\""), AllOf(HasSubstr("valid_until"), HasSubstr("YYYY-MM-DD")));
  EXPECT_THAT(with("T14:02:11Z", " 14:02"), HasSubstr("calibration[1].when"));
  EXPECT_THAT(with("who = ", "whom = "), HasSubstr("calibration[1].who"));
  EXPECT_THAT(with("\"loading\"", "\"sideways\""), HasSubstr("one of loading, unloading"));
  EXPECT_THAT(with("applied_si = 250", "applied_si = 251"), HasSubstr("was edited"));
  EXPECT_THAT(with("model = \"line\"", "model = \"cubic\""), HasSubstr("one of line, quadratic"));
  write(good + "[charge]\ntarget_bar = 1.0\n");
  EXPECT_THAT(complaint(), AllOf(HasSubstr("does not belong"), HasSubstr("key charge")));
  write(good + "[[calibration\n");
  EXPECT_THAT(complaint(), AllOf(HasSubstr("not TOML"), HasSubstr("records.toml, line")));
  fs::remove(folder / "records.toml");
  EXPECT_THAT(complaint(), AllOf(HasSubstr("cannot be opened"), HasSubstr("make an empty file")));
}

TEST_F(CalibrationFile, WhatWouldNotLoadAgainIsNotAppended) {
  const auto setup = load();
  ASSERT_TRUE(setup);
  CalibrationRecord nobody = record(4000.0);
  nobody.who.clear();
  EXPECT_FALSE(append_calibration(*setup, nobody));
  CalibrationRecord two_lines = record(4000.0);
  two_lines.valid_until = "next\nyear";
  EXPECT_FALSE(append_calibration(*setup, two_lines));
  EXPECT_EQ(records(), "");
  const auto built_in = parse_setup(virtual_setup_text(), "built in");
  ASSERT_TRUE(built_in);
  EXPECT_THAT(append_calibration(*built_in, record(4000.0)).error().what, HasSubstr("no file"));
  daq::Setup without = *setup;
  without.calibration_file.clear();
  EXPECT_THAT(append_calibration(without, record(4000.0)).error().remedy, HasSubstr("calibration_file"));
}

}  // namespace
}  // namespace coldstroke::daq
