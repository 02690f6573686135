// SPDX-License-Identifier: GPL-3.0-or-later
//
// A corrected calibration through the program itself, over a campaign file on disk.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "daq/record/trial_archive.hpp"
#include "tests/daq/record/fresh_folder.hpp"
#include "tests/gui/commands/run_program.hpp"

namespace coldstroke::gui {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

double impulse(const nlohmann::json& trial) { return trial["metrics"]["impulse_newton_seconds"]["value"].get<double>(); }

TEST(Recalibrate, OldTrialsAreJudgedAnewAndNothingOldIsLost) {
  const fs::path folder = fs::path{testing::TempDir()} / "coldstroke_recalibrate";
  fs::remove_all(folder);
  fs::create_directories(folder);
  const std::string file = (folder / "trials.coldstroke").string();
  const Ran made = run_program(folder, "eject --virtual --seed 8 --trials 2 --json --campaign " + file);
  ASSERT_EQ(made.code, 0) << made.complaints;
  const auto before = nlohmann::json::parse(made.out)["trials"];

  const std::string half = "recalibrate " + file +
                           " --channel force --scale 1.1920928955078125e-4 --zero-counts 0"
                           " --gain-standard-uncertainty 0.002 --zero-standard-uncertainty 0.3 --reference weights --author Mira"
                           " --reason halved --json";
  const Ran corrected = run_program(folder, half);
  ASSERT_EQ(corrected.code, 1) << "half the impulse is below the limit: " << corrected.complaints;
  const auto after = nlohmann::json::parse(corrected.out);
  ASSERT_EQ(after.size(), 2U);
  for (std::size_t k = 0; k < 2; ++k) {
    EXPECT_NEAR(impulse(after[k]), 0.5 * impulse(before[k]), 1.0e-3 * impulse(before[k]));
    EXPECT_EQ(after[k]["verdict"], "fail");
    EXPECT_THAT(after[k]["record"].dump(), HasSubstr("corrected by Mira: halved"));
    EXPECT_THAT(after[k]["findings"].dump(), HasSubstr("from force stands apart")) << "the wrong gain is named";
  }
  {
    const auto campaign = daq::Campaign::open_read_only(file);
    EXPECT_EQ(campaign->results(1)->size(), 2U);
    EXPECT_EQ(campaign->results(1)->front().verdict, "pass");
    EXPECT_EQ(daq::recalibrations(*campaign, 1)->size(), 1U);
    const auto again = daq::judge_trial(*campaign, 1);
    ASSERT_TRUE(again);
    EXPECT_EQ(daq::result_json(again->result), campaign->results(1)->back().json);
  }
  // Superseded once more, for one trial only.
  const Ran back =
      run_program(folder, "recalibrate " + file +
                              " --trial 2 --channel force --scale 2.384185791015625e-4 --zero-counts 0"
                              " --gain-standard-uncertainty 0.003 --zero-standard-uncertainty 0.3 --reference weights"
                              " --author Mira --reason mistaken --json");
  ASSERT_EQ(back.code, 0) << back.complaints;
  EXPECT_EQ(impulse(nlohmann::json::parse(back.out)[0]), impulse(before[1]));
  const auto campaign = daq::Campaign::open_read_only(file);
  EXPECT_EQ(campaign->results(1)->size(), 2U);
  EXPECT_EQ(campaign->results(2)->size(), 3U);
  EXPECT_EQ(run_program(folder, "verify " + file).code, 0);
}

TEST(Recalibrate, ACorrectionThatMakesNoSenseWritesNothing) {
  const fs::path folder = fs::path{testing::TempDir()} / "coldstroke_recalibrate_refused";
  fs::remove_all(folder);
  fs::create_directories(folder);
  const std::string file = (folder / "trials.coldstroke").string();
  ASSERT_EQ(run_program(folder, "eject --virtual --seed 8 --json --campaign " + file).code, 0);
  const std::string rest =
      " --zero-counts 0 --gain-standard-uncertainty 0.002 --zero-standard-uncertainty 0.3 --reference w --author M";
  const Ran unknown = run_program(folder, "recalibrate " + file + " --channel fores --scale 1e-4 --reason r" + rest);
  EXPECT_EQ(unknown.code, 3);
  EXPECT_THAT(unknown.complaints, HasSubstr("There is no channel 'fores'"));
  EXPECT_THAT(unknown.complaints, HasSubstr("force, supply"));
  EXPECT_EQ(run_program(folder, "recalibrate " + file + " --channel force --scale 0 --reason r" + rest).code, 3);
  EXPECT_EQ(run_program(folder, "recalibrate " + file + " --channel force --scale nan --reason r" + rest).code, 3);
  EXPECT_EQ(run_program(folder, "recalibrate " + file + " --channel force --scale 1e-4 --reason ''" + rest).code, 3);
  const Ran no_day =
      run_program(folder, "recalibrate " + file + " --channel force --scale 1e-4 --reason r --valid-until 2027-02-30" + rest);
  EXPECT_EQ(no_day.code, 3);
  EXPECT_THAT(no_day.complaints, HasSubstr("YYYY-MM-DD"));
  EXPECT_EQ(run_program(folder, "recalibrate " + file + " --channel force --scale 1e-4" + rest).code, 3) << "no reason at all";
  EXPECT_EQ(run_program(folder, "recalibrate " + file + " --trial 7 --channel force --scale 1e-4 --reason r" + rest).code, 3);
  const auto campaign = daq::Campaign::open_read_only(file);
  EXPECT_EQ(campaign->results(1)->size(), 1U);
  EXPECT_TRUE(campaign->attachments(1)->empty());
}

TEST(Recalibrate, ACalibrationInForceElsewhereIsTakenWithItsCurvatureAndSpan) {
  const daq::FreshFolder folder;
  const std::string file = (folder / "trials.coldstroke").string(), setup_file = (folder / "rig.toml").string();
  ASSERT_EQ(run_program(folder.path(), "eject --virtual --seed 8 --json --campaign " + file).code, 0);
  std::string text{daq::virtual_setup_text()};
  text.replace(text.find("[rig]\n"), 6, "[rig]\ncalibration_file = \"records.toml\"\n");
  std::ofstream{setup_file} << text;
  std::ofstream{folder / "records.toml"};
  const Ran kept = run_program(folder.path(), "fit --setup " + setup_file +
                                                  " --channel force --model quadratic --point 0,5 --point 500,2150000"
                                                  " --point 1000,4400000 --point 1500,6750000 --save --who Mira"
                                                  " --reference weights --reason yearly --valid-until 2099-02-28");
  ASSERT_EQ(kept.code, 0) << kept.complaints;
  const std::string verb = "recalibrate " + file + " --channel force --author Mira --reason bent --json";
  EXPECT_EQ(run_program(folder.path(), verb).code, 3) << "neither a setup nor numbers";
  EXPECT_EQ(run_program(folder.path(), verb + " --scale 1e-4 --setup " + setup_file).code, 3) << "two calibrations at once";
  const Ran unknown =
      run_program(folder.path(), "recalibrate " + file + " --channel fores --author M --reason r --setup " + setup_file);
  EXPECT_EQ(unknown.code, 3);
  EXPECT_THAT(unknown.complaints, HasSubstr("The channels are force, supply"));
  const Ran judged = run_program(folder.path(), verb + " --setup " + setup_file);
  ASSERT_LE(judged.code, 2) << judged.complaints;
  const auto campaign = daq::Campaign::open_read_only(file);
  const auto corrections = daq::recalibrations(*campaign, 1);
  ASSERT_TRUE(corrections);
  ASSERT_EQ(corrections->size(), 1U);
  EXPECT_EQ(corrections->front().calibration, daq::load_setup(setup_file)->channels.front().calibration);
  EXPECT_GT(corrections->front().calibration.curvature, 1.0e-6);
  EXPECT_TRUE(corrections->front().calibration.span);
  EXPECT_EQ(campaign->results(1)->size(), 2U);
}

TEST(AnalyseVerb, PrintsTheBudgetsLineByLine) {
  const fs::path folder = fs::path{testing::TempDir()} / "coldstroke_budget";
  fs::remove_all(folder);
  fs::create_directories(folder);
  const std::string file = (folder / "trials.coldstroke").string();
  ASSERT_EQ(run_program(folder, "eject --virtual --seed 8 --json --campaign " + file).code, 0);
  const Ran plain = run_program(folder, "analyse " + file + " --trial 1"),
            full = run_program(folder, "analyse " + file + " --trial 1 --budget");
  EXPECT_THAT(plain.out, testing::Not(HasSubstr("Uncertainty budgets")));
  EXPECT_THAT(full.out, HasSubstr("Uncertainty budgets"));
  EXPECT_THAT(full.out, HasSubstr("force cell gain"));
  EXPECT_THAT(full.out, HasSubstr("detector_latency_seconds = "));
}

}  // namespace
}  // namespace coldstroke::gui
