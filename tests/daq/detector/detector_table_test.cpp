// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/detector_table.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;

constexpr const char* kTable = R"([[detector]]
name = "mean of 20 ms"
kind = "moving_mean"
axis = "z"
window_seconds = 0.02
threshold_g = 4.0
building_g = 1.0
deadline_seconds = 0.06
filter_shift = 0
rest_g = 1.0

[detector.board]
sample_rate_hz = 2000.0
bits = 16
range_g = 64.0
)";

std::string with(const std::string& old_text, const std::string& new_text) {
  std::string text = kTable;
  const auto at = text.find(old_text);
  EXPECT_NE(at, std::string::npos) << old_text;
  return text.replace(at, old_text.size(), new_text);
}

TEST(DetectorTable, ReadsWhatThePageShows) {
  const auto table = parse_detector_table(kTable, "t.toml");
  ASSERT_TRUE(table) << table.error().what;
  ASSERT_EQ(table->detectors.size(), 1U);
  const auto& spec = table->detectors[0];
  EXPECT_EQ(spec.name, "mean of 20 ms");
  EXPECT_EQ(spec.kind, analysis::DetectorKind::moving_mean);
  EXPECT_EQ(spec.window_seconds, 0.02);
  EXPECT_EQ(spec.threshold_g, 4.0);
  EXPECT_EQ(spec.deadline_seconds, 0.06);
  EXPECT_EQ(spec.board, (analysis::BoardSampling{2000.0, 16, 64.0}));
}

TEST(DetectorTable, WhatIsWrittenReadsBackTheSame) {
  analysis::DetectorSpec spec = parse_detector_table(kTable, "t.toml")->detectors[0];
  spec.name = "a \"quoted\" one\\";
  spec.threshold_g = 1.0 / 3.0;
  for (const auto kind : {analysis::DetectorKind::moving_mean, analysis::DetectorKind::sustained,
                          analysis::DetectorKind::velocity_gain, analysis::DetectorKind::k_of_n}) {
    spec.kind = kind;
    spec.required_samples = kind == analysis::DetectorKind::k_of_n ? 3 : 0;
    spec.velocity_gain_mps = kind == analysis::DetectorKind::velocity_gain ? 1.0 / 7.0 : 0.0;
    spec.threshold_g = kind == analysis::DetectorKind::velocity_gain ? 0.0 : 1.0 / 3.0;
    const auto back = parse_detector_table(detector_table_text(spec), "t.toml");
    ASSERT_TRUE(back) << back.error().what << back.error().where;
    EXPECT_EQ(back->detectors.at(0), spec);
  }
}

struct BadTable {
  const char *old_text, *new_text, *key, *allowed;
  int line;
};

TEST(DetectorTable, BadInputNamesLineKeyAndWhatIsAllowed) {
  for (const BadTable& bad :
       {BadTable{"threshold_g = 4.0", "threshold_g = -4.0", "threshold_g", "0", 6},
        BadTable{"threshold_g = 4.0", "treshold_g = 4.0", "treshold_g", "threshold_g", 6},
        BadTable{"kind = \"moving_mean\"", "kind = \"wavelet\"", "kind", "velocity_gain", 3},
        BadTable{"axis = \"z\"", "axis = \"w\"", "axis", "x", 4},
        BadTable{"window_seconds = 0.02", "window_seconds = 0.02\nwindow_samples = 40", "window_seconds", "exactly one", 5},
        BadTable{"building_g = 1.0", "building_g = \"one\"", "building_g", "number", 7},
        BadTable{"filter_shift = 0", "filter_shift = 13", "filter_shift", "12", 9},
        BadTable{"bits = 16", "bits = 40", "bits", "24", 14},
        BadTable{"window_seconds = 0.02", "window_seconds = 1.0", "detector[1]", "512", 1}}) {
    const auto table = parse_detector_table(with(bad.old_text, bad.new_text), "t.toml");
    ASSERT_FALSE(table) << bad.new_text;
    const std::string said = table.error().what + " " + table.error().where + " " + table.error().remedy;
    EXPECT_THAT(said, HasSubstr("t.toml")) << bad.new_text;
    EXPECT_THAT(said, HasSubstr("line " + std::to_string(bad.line))) << bad.new_text;
    EXPECT_THAT(said, HasSubstr(bad.key)) << bad.new_text;
    EXPECT_THAT(said, HasSubstr(bad.allowed)) << bad.new_text;
  }
}

TEST(DetectorTable, EmptyTwiceNamedAndNoTomlAreRefused) {
  EXPECT_FALSE(parse_detector_table("", "t.toml"));
  EXPECT_FALSE(parse_detector_table("[[detector", "t.toml"));
  const auto twice = parse_detector_table(std::string{kTable} + kTable, "t.toml");
  ASSERT_FALSE(twice);
  EXPECT_THAT(twice.error().what + twice.error().where, HasSubstr("line"));
  EXPECT_FALSE(load_detector_table("/nowhere/t.toml"));
}

TEST(DetectorTable, AForeignLibraryIsMeantFromTheTablesFolder) {
  const auto folder = std::filesystem::path{testing::TempDir()};
  std::ofstream{folder / "foreign_table.toml"} << "[[detector]]\nname = \"own\"\nkind = \"foreign\"\nlibrary = "
                                                  "\"own.so\"\n[detector.board]\nsample_rate_hz = 2000.0\nrange_g = 64.0\n";
  const auto table = load_detector_table(folder / "foreign_table.toml");
  ASSERT_TRUE(table) << table.error().what;
  ASSERT_EQ(table->foreign.size(), 1U);
  EXPECT_EQ(table->foreign[0].library, std::filesystem::absolute(folder) / "own.so");
}

TEST(DetectorTable, ThePageShowsATableThatReads) {
  std::ifstream page{COLDSTROKE_SOURCE_DIR "/docs/detectors.md"};
  const std::string text{std::istreambuf_iterator<char>{page}, {}};
  const auto begin = text.find("```toml\n") + 8;
  const auto table = parse_detector_table(text.substr(begin, text.find("```", begin) - begin), "detectors.md");
  ASSERT_TRUE(table) << table.error().what;
  EXPECT_EQ(table->detectors.size(), 1U);
}

}  // namespace
}  // namespace coldstroke::daq
