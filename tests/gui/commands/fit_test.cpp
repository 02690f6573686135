// SPDX-License-Identifier: GPL-3.0-or-later
//
// The verb that fits and keeps a calibration, in a process of its own.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daq/setup/setup.hpp"
#include "tests/daq/record/fresh_folder.hpp"
#include "tests/gui/commands/run_program.hpp"

namespace coldstroke::gui {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

class FitVerb : public testing::Test {
 protected:
  void write(const std::string& name, const std::string& words) const { std::ofstream{folder / name.c_str()} << words; }
  std::string path(const std::string& name) const { return (folder / name.c_str()).string(); }
  daq::FreshFolder folder;
};

TEST_F(FitVerb, PrintsCurveResidualsHysteresisAndItsCaution) {
  write(
      "p.csv",
      "applied,reading,sd,n,way\n0,10\n100,2010.5,0.3,500,loading\n200,4009.5\n100,2012,0.3,500,unloading\n0,10.4,,,unloading\n");
  const Ran words = run_program(folder.path(), "fit --points " + path("p.csv"));
  EXPECT_EQ(words.code, 0) << words.complaints;
  EXPECT_THAT(words.out, AllOf(HasSubstr("STATIC force only"), HasSubstr("hysteresis"), HasSubstr("zero return")));
  const Ran json = run_program(folder.path(), "fit --json --points " + path("p.csv"));
  const auto read = nlohmann::json::parse(json.out);
  EXPECT_NEAR(read["coefficients"][1].get<double>(), 20.0, 0.01);
  EXPECT_EQ(read["residuals"].size(), 5U);
  EXPECT_NEAR(read["hysteresis"].get<double>(), 1.5 / 20.0, 1.0e-3);
  EXPECT_NEAR(read["zero_return"].get<double>(), 0.4 / 20.0, 1.0e-3);
}

TEST_F(FitVerb, BringsAReadingBackToTheLoadWithItsUncertainty) {
  const std::string fit = "fit --point 0,0.1 --point 1,9.9 --point 2,20.1 --point 3,29.9 --reading 15 --reading 90";
  const auto json = nlohmann::json::parse(run_program(folder.path(), fit + " --json").out);
  ASSERT_EQ(json["applied"].size(), 2U);
  EXPECT_NEAR(json["applied"][0]["value"].get<double>(), 1.5, 0.01);
  EXPECT_GT(json["applied"][0]["standard_uncertainty"].get<double>(), 0.005);
  EXPECT_FALSE(json["applied"][0]["beyond_points"].get<bool>());
  EXPECT_TRUE(json["applied"][1]["beyond_points"].get<bool>());
  EXPECT_THAT(run_program(folder.path(), fit).out, AllOf(HasSubstr("reading 15 means 1.5"), HasSubstr("extrapolated")));
}

TEST_F(FitVerb, PointsOnTheLineHaveNoZeroUncertainty) {
  const std::string fit = "fit --point 0,0 --point 1,10 --point 2,20 --reading 15";
  EXPECT_THAT(run_program(folder.path(), fit).out,
              AllOf(HasSubstr("reading 15 means 1.500 (uncertainty unknown from these points)"), HasSubstr("--resolution"),
                    Not(HasSubstr("± 0.000"))));
  const auto unknown = nlohmann::json::parse(run_program(folder.path(), fit + " --json").out);
  EXPECT_EQ(unknown["uncertainty_stands_on"], "unknown");
  EXPECT_TRUE(unknown["applied"][0]["standard_uncertainty"].is_null());
  EXPECT_TRUE(unknown["applied"][0]["interval_95"].is_null());
  const Ran told = run_program(folder.path(), fit + " --resolution 0.1 --reference-standard-uncertainty 0.02");
  EXPECT_THAT(told.out, AllOf(HasSubstr("reading 15 means 1.500 ± 0.059 (95 %, mostly from the reference)"),
                              HasSubstr("noise and resolution"), HasSubstr("the reference's 2.0 %")));
  EXPECT_NE(run_program(folder.path(), fit + " --resolution 0.1 --save").code, 0) << "a channel's is one count";
}

TEST_F(FitVerb, FewPointsHaveStudentsInterval) {
  const std::string fit = "fit --point 0,0.1 --point 1,9.9 --point 2,20.1 --point 3,29.9 --reading 15";
  const auto back = nlohmann::json::parse(run_program(folder.path(), fit + " --json").out)["applied"][0];
  EXPECT_EQ(back["degrees_of_freedom"].get<double>(), 2.0);
  EXPECT_NEAR(back["interval_95"][1].get<double>() - back["value"].get<double>(),
              4.30265 * back["standard_uncertainty"].get<double>(), 1.0e-5);
  EXPECT_THAT(run_program(folder.path(), fit).out, HasSubstr("Student's t, 2 degrees of freedom"));
}

TEST_F(FitVerb, AReadingOfABrokenWireMeansNothing) {
  const std::string fit =
      "fit --signal current_loop --point 0,4 --point 5,8.01 --point 10,11.99 --point 20,20 --reading 3.5 "
      "--reading 21.5 --reading 12";
  const auto json = nlohmann::json::parse(run_program(folder.path(), fit + " --json").out);
  EXPECT_THAT(json["applied"][0]["absent"].get<std::string>(), HasSubstr("broken"));
  EXPECT_TRUE(json["applied"][1].contains("absent"));
  EXPECT_NEAR(json["applied"][2]["value"].get<double>(), 10.0, 0.05);
  EXPECT_THAT(run_program(folder.path(), fit).out, HasSubstr("reading 3.5 means nothing"));
  EXPECT_EQ(run_program(folder.path(), fit + " --shunt-expected 0 --shunt-seen 1").code, 3);
}

TEST_F(FitVerb, BadPointsAreNamedByFileAndLine) {
  write("p.csv", "0,10\n100,abc\n");
  Ran ran = run_program(folder.path(), "fit --points " + path("p.csv"));
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, AllOf(HasSubstr("p.csv, line 2"), HasSubstr("APPLIED,READING")));
  ran = run_program(folder.path(), "fit --point 0,1 --point 1,2");
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, HasSubstr("too few"));
  ran = run_program(folder.path(), "fit --point 5,1 --point 5,2 --point 5,3");
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, HasSubstr("different loads"));
  ran = run_program(folder.path(), "fit --signal current_loop --point 0,4 --point 8,12 --point 16,3.5");
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, HasSubstr("broken wire"));
  ran = run_program(folder.path(), "fit --signal ratiometric --point 0,0.1 --point 8,0.5 --point 16,0.97");
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, HasSubstr("shorted"));
}

TEST_F(FitVerb, SavesARecordThatIsThenInForce) {
  std::string text{daq::virtual_setup_text()};
  text.replace(text.find("[rig]\n"), 6, "[rig]\ncalibration_file = \"records.toml\"\n");
  write("rig.toml", text);
  write("records.toml", "");
  const std::string fit = "fit --setup " + path("rig.toml") +
                          " --channel force --unit kN --point 0,5 --point 0.5,2000010 --point 1,4000001 --save --who Mira"
                          " --reference weights --reason yearly --valid-until ";
  EXPECT_EQ(run_program(folder.path(), fit + "2027-02-30").code, 3);
  EXPECT_EQ(text_of(folder / "records.toml"), "") << "what would not load again is not kept";
  const Ran kept = run_program(folder.path(), fit + "2027-02-28");
  ASSERT_EQ(kept.code, 0) << kept.complaints;
  const auto setup = daq::load_setup(folder / "rig.toml");
  ASSERT_TRUE(setup) << setup.error().what;
  EXPECT_NEAR(setup->channels[0].calibration.scale, 1.0 / 4000.0, 1.0e-8);
  EXPECT_EQ(setup->channels[0].calibration.valid_until, "2027-02-28");
}

TEST_F(FitVerb, AShuntStepThatIsOffSaysSoInTheExitCode) {
  const std::string fit = "fit --point 0,0 --point 1,10 --point 2,20.1 --shunt-expected 100 --shunt-seen ";
  EXPECT_EQ(run_program(folder.path(), fit + "100.5").code, 0);
  EXPECT_EQ(run_program(folder.path(), fit + "140").code, 1);
}

}  // namespace
}  // namespace coldstroke::gui
