// SPDX-License-Identifier: GPL-3.0-or-later
//
// The verbs charge and climb through the program itself, over trials of the virtual rig at several charges.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <unistd.h>

#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "tests/gui/commands/run_program.hpp"

namespace coldstroke::gui {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using testing::HasSubstr;

/// One campaign for all tests here: trials at 6.4, 7.2, 8.0 and 7.6 bar.
class Plan : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    folder_ = fs::path{testing::TempDir()} / ("coldstroke_charge_" + std::to_string(::getpid()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    const fs::path setup = folder_ / "setup.toml";
    ASSERT_EQ(run_program(folder_, "virtual --write-setup " + setup.string()).code, 0);
    const std::string text = text_of(setup);
    int seed = 60;
    for (const char* bar : {"6.4", "7.2", "8.0", "7.6"}) {
      const fs::path here = folder_ / (std::string{bar} + ".toml");
      std::string other = replaced(text, "target_bar = 8.0", std::string{"target_bar = "} + bar);
      other = replaced(other, "low_bar = 7.8", "low_bar = " + std::to_string(std::stod(bar) - 0.2));
      other = replaced(other, "high_bar = 8.2", "high_bar = " + std::to_string(std::stod(bar) + 0.2));
      std::ofstream{here} << other;
      const Ran ran = run_program(folder_, "eject --virtual --json --seed " + std::to_string(++seed) + " --setup " +
                                               here.string() + " --campaign " + campaign());
      ASSERT_LE(ran.code, 1) << ran.complaints;  // a low charge may fall short of a criterion
      speeds_.at(static_cast<std::size_t>(seed - 61)) =
          json::parse(ran.out)["trials"][0]["metrics"]["exit_speed_from_stroke_mps"]["value"];
    }
  }
  static void TearDownTestSuite() { fs::remove_all(folder_); }

  static std::string replaced(std::string text, const std::string& from, const std::string& to) {
    return text.replace(text.find(from), from.size(), to);
  }
  static std::string campaign() { return (folder_ / "trials.coldstroke").string(); }
  static Ran charge(const std::string& more) { return run_program(folder_, "charge " + campaign() + " " + more); }

  static inline fs::path folder_;
  static inline std::array<double, 4> speeds_{};
};

TEST_F(Plan, ForetellsATrialThatItHasNotSeen) {
  const Ran ran = charge("--bar 7.6 --leave-out 4 --json");
  ASSERT_EQ(ran.code, 0) << ran.complaints;
  const json out = json::parse(ran.out);
  EXPECT_EQ(out["trials"], (json{1, 2, 3}));
  const json& speed = out["prediction"]["exit_speed_mps"];
  EXPECT_NEAR(speed["value"].get<double>(), speeds_[3], 0.02 * speeds_[3]);
  EXPECT_LE(speed["interval_95"][0], speeds_[3]);
  EXPECT_GE(speed["interval_95"][1], speeds_[3]);
  EXPECT_TRUE(out["prediction"]["beyond"].empty());
}

TEST_F(Plan, FindsTheChargeOfAWantedSpeed) {
  const double wanted = 0.5 * (speeds_[0] + speeds_[1]);
  const Ran ran = charge("--json --speed " + std::to_string(wanted));
  ASSERT_EQ(ran.code, 0) << ran.complaints;
  const json answer = json::parse(ran.out)["answer"];
  EXPECT_EQ(answer["outcome"], "found");
  const double pascals = answer["charge_gauge_pascals"]["value"];
  EXPECT_GT(pascals, 6.4e5);
  EXPECT_LT(pascals, 7.2e5);
  EXPECT_NEAR(answer["prediction"]["exit_speed_mps"]["value"].get<double>(), wanted, 1.0e-3);
}

TEST_F(Plan, SaysWhenAPeakForbidsTheSpeed) {
  const Ran ran = charge("--speed 13 --peak 40");
  EXPECT_EQ(ran.code, 1);
  EXPECT_THAT(ran.out, HasSubstr("TOO HARD"));
}

TEST_F(Plan, TooHardSaysWhatWouldNotBe) {
  const Ran refused = charge("--speed 13 --peak 15");
  EXPECT_EQ(refused.code, 1);
  EXPECT_THAT(refused.out, HasSubstr("The largest charge that keeps that peak is outside what the recorded trials can say"));
  EXPECT_THAT(json::parse(charge("--speed 13 --peak 15 --json").out)["answer"]["no_gentle"].get<std::string>(), HasSubstr("bar"));
  const Ran told = charge("--speed 13 --peak 15 --beyond");
  EXPECT_THAT(told.out.substr(told.out.find("most that keeps it")), HasSubstr("BEYOND the recorded trials: charge"));
}

TEST_F(Plan, TheRigsOwnLimitIsNotLiftedByBeyond) {
  for (const char* asked : {"--bar 15", "--bar 15 --beyond", "--bar 15 --beyond --json"}) {
    const Ran ran = charge(asked);
    EXPECT_EQ(ran.code, 3) << asked;
    EXPECT_THAT(ran.complaints, HasSubstr("above what this rig may be charged to")) << asked;
    EXPECT_EQ(ran.out, "");
  }
}

TEST_F(Plan, AnExtrapolationSaysWhatItsIntervalDoesNotHold) {
  for (const char* asked :
       {"--bar 7.6 --mass 12 --beyond", "--bar 7.6 --reservoir 9 --beyond", "--bar 7.6 --valves 6 --beyond"}) {
    EXPECT_THAT(charge(asked).out, HasSubstr("EXTRAPOLATED: the ± is of the fitted numbers")) << asked;
    EXPECT_TRUE(json::parse(charge(std::string{asked} + " --json").out)["prediction"].contains("caution")) << asked;
  }
  EXPECT_THAT(charge("--bar 7.6").out, testing::Not(HasSubstr("EXTRAPOLATED")));
}

TEST_F(Plan, RefusesToReachBeyondTheTrialsUnlessTold) {
  const Ran refused = charge("--bar 5");
  EXPECT_EQ(refused.code, 3);
  EXPECT_THAT(refused.complaints, HasSubstr("what to do:"));
  const Ran told = charge("--bar 5 --beyond");
  EXPECT_EQ(told.code, 0) << told.complaints;
  EXPECT_THAT(told.out, HasSubstr("BEYOND the recorded trials"));
  EXPECT_EQ(charge("--bar 8 --speed 13").code, 3) << "one question at a time";
  EXPECT_EQ(charge("--peak 40").code, 3) << "a peak alone asks nothing";
  for (const char* what : {"--bar nan", "--speed nan", "--bar 8 --mass nan", "--bar inf", "--bar 8 --reservoir nan"})
    EXPECT_EQ(charge(what).code, 3) << what;
  EXPECT_THAT(charge("--bar 8 --leave-out 99").complaints, HasSubstr("no trial 99"));
}

TEST_F(Plan, NeedsTrialsToStandOn) {
  const Ran none = charge("--bar 8 --leave-out 1 2 3 4");
  EXPECT_EQ(none.code, 3);
  EXPECT_THAT(none.complaints, HasSubstr("what to do:"));
}

TEST_F(Plan, ClimbMarksTheWindowOnTheWayUp) {
  const Ran ran = run_program(folder_, "climb " + campaign() + " --trial 3 --json");
  ASSERT_EQ(ran.code, 0) << ran.complaints;
  const json out = json::parse(ran.out);
  const double opens = out["window_seconds"][0], closes = out["window_seconds"][1], apex = out["apex_seconds"];
  EXPECT_GT(opens, 0.0);
  EXPECT_LT(opens, closes);
  EXPECT_LT(closes, apex);
  // No higher than without drag, not much lower.
  const double vacuum = speeds_[2] * speeds_[2] / (2.0 * 9.80665);
  EXPECT_LT(out["apex_metres"], vacuum);
  EXPECT_GT(out["apex_metres"], 0.95 * vacuum);
  EXPECT_GT(out["profile"].size(), 10U);
  EXPECT_THAT(run_program(folder_, "climb " + campaign() + " --trial 3").out, HasSubstr("m/s  window"));
}

TEST_F(Plan, ClimbOfATrialThatIsNotThereIsRefused) {
  const Ran ran = run_program(folder_, "climb " + campaign() + " --trial 9");
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, HasSubstr("what to do:"));
  EXPECT_EQ(run_program(folder_, "climb " + campaign() + " --trial 0").code, 3);
}

}  // namespace
}  // namespace coldstroke::gui
