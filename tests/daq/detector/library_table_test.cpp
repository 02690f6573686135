// SPDX-License-Identifier: GPL-3.0-or-later
//
// Library tables: computed, imported and varied recordings, and trials of a campaign with and without motion.
#include "daq/detector/library_table.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <iterator>

namespace coldstroke::daq {
namespace {

using analysis::Event;
using analysis::Label;
using testing::HasSubstr;

const std::filesystem::path kFolder = std::filesystem::path{testing::TempDir()} / ("library_table_" + std::to_string(::getpid()));

Result<std::vector<analysis::Recording>> parse(const std::string& text) { return parse_library_table(text, "lib.toml", kFolder); }

constexpr const char* kStrokes = R"(
[[recording]]
from = "pulse"
name = "stroke"
shape = "half_sine"
peak_g = 10.0
peak_scatter_fraction = 0.5
duration_seconds = 0.040
deadline_seconds = 0.060
copies = 3
)";

TEST(LibraryTable, CopiesAreSpreadEvenlyAndVariantsFollowThem) {
  const auto made = parse(std::string{kStrokes} + R"(
[[recording]]
from = "variant"
name = "weak"
of = "stroke"
level_factor = 0.5
)");
  ASSERT_TRUE(made) << made.error().what << made.error().where;
  ASSERT_EQ(made->size(), 6U);
  const auto peak = [&](std::size_t i) {
    const auto& z = (*made)[i].along(analysis::Axis::z);
    return *std::max_element(z.begin(), z.begin() + static_cast<std::ptrdiff_t>(z.size() / 2)) / 9.80665 - 1.0;
  };
  EXPECT_NEAR(peak(0), 5.0, 0.1);
  EXPECT_NEAR(peak(2), 15.0, 0.1);
  EXPECT_NEAR(peak(5), 7.5, 0.1);
  EXPECT_EQ((*made)[5].provenance, analysis::Provenance::variant);
  EXPECT_EQ((*made)[5].label, Label::must_fire);
  EXPECT_EQ((*made)[5].name, "stroke 3, weak");
}

TEST(LibraryTable, EveryProblemIsNamedWithLineAndKey) {
  const auto made = parse(R"([[recording]]
from = "handling"
name = "knock"
event = "ejection"

[[recording]]
from = "variant"
name = "weak"
of = "nothing"

[[recording]]
from = "pulse"
name = "stroke"
peak_g = -3.0
duration_seconds = 0.04
deadline_seconds = 0.06
wrong_key = 1
)");
  ASSERT_FALSE(made);
  const std::string said = made.error().what + made.error().where + made.error().remedy;
  for (const char* part : {"event", "names no recording further up", "peak_g", "wrong_key"}) EXPECT_THAT(said, HasSubstr(part));
}

TEST(LibraryTable, ACsvIsImportedWithItsLabel) {
  std::filesystem::create_directories(kFolder);
  std::ofstream out{kFolder / "carry.csv"};
  out << "time_s,acceleration_g\n";
  for (int k = 0; k < 400; ++k) out << k * 0.001 << ',' << (k % 50 < 25 ? 1.2 : 0.8) << '\n';
  out.close();
  const auto made = parse(R"([[recording]]
from = "csv"
name = "carried"
file = "carry.csv"
label = "must_stay_silent"
event = "carrying"
sensor_range_g = 16.0
)");
  ASSERT_TRUE(made) << made.error().what;
  ASSERT_EQ(made->size(), 1U);
  EXPECT_EQ(made->front().event, Event::carrying);
  EXPECT_EQ(made->front().provenance, analysis::Provenance::imported);
  EXPECT_NEAR(made->front().sample_rate_hz, 1000.0, 1e-6);
  EXPECT_NEAR(made->front().along(analysis::Axis::z).front(), 1.2 * 9.80665, 1e-9);
  EXPECT_FALSE(parse("[[recording]]\nfrom = \"csv\"\nname = \"x\"\nfile = \"none.csv\"\nlabel = \"must_stay_silent\"\n"));
}

TEST(LibraryTable, WhatAFileComplainsOfIsPassedOnInWholeSentences) {
  const auto made = parse(
      "[[recording]]\nfrom = \"trial\"\ncampaign = \"none.coldstroke\"\ntrial = 1\n\n"
      "[[recording]]\nfrom = \"csv\"\nname = \"x\"\nfile = \"none.csv\"\nlabel = \"must_stay_silent\"\n");
  ASSERT_FALSE(made);
  const std::string said = made.error().what + made.error().remedy;
  for (const char* part : {"2 problems in the library table", "none.coldstroke", "none.csv", "docs/detectors.md"})
    EXPECT_THAT(said, HasSubstr(part));
  for (const char* part : {"..\n", ". .", "Allowed", "setup"}) EXPECT_THAT(said, testing::Not(HasSubstr(part)));
}

/// One ejection, and one trial that was aborted under pressure before its release: as if the vehicle had been carried about
/// meanwhile.
TEST(LibraryTable, TrialsOfACampaignServeWithAndWithoutMotion) {
  std::filesystem::create_directories(kFolder);
  const auto file = kFolder / "library.coldstroke";
  std::filesystem::remove(file);
  const std::string eject = std::string{COLDSTROKE_PROGRAM} + " eject --virtual --campaign " + file.string();
  ASSERT_EQ(std::system((eject + " >/dev/null 2>&1").c_str()), 0);
  ASSERT_NE(std::system((eject + " --fault stop_loop_opens,step=holding,after_seconds=0.3 >/dev/null 2>&1").c_str()), 0);
  std::vector<std::string> left_out;
  const auto all = load_library(file, left_out);
  ASSERT_TRUE(all) << all.error().what;
  ASSERT_EQ(all->size(), 1U);
  EXPECT_EQ(all->front().label, Label::must_fire);
  EXPECT_GT(all->front().first_motion_seconds, 0.0);
  ASSERT_EQ(left_out.size(), 1U);
  EXPECT_THAT(left_out.front(), HasSubstr("no first motion"));
  const std::string second = "[[recording]]\nfrom = \"trial\"\ncampaign = \"library.coldstroke\"\ntrial = 2\n";
  EXPECT_THAT(parse(second).error().what + parse(second).error().where, HasSubstr("shows no first motion"));
  const auto labelled = parse(second + "label = \"must_stay_silent\"\nevent = \"tube_knock\"\n");
  ASSERT_TRUE(labelled) << labelled.error().what;
  EXPECT_EQ(labelled->front().event, Event::tube_knock);
  EXPECT_EQ(labelled->front().provenance, analysis::Provenance::synthesised) << "a virtual rig is no evidence about a vehicle";
  EXPECT_THAT(labelled->front().source, HasSubstr("virtual rig"));
}

}  // namespace
}  // namespace coldstroke::daq
