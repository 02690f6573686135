// SPDX-License-Identifier: GPL-3.0-or-later
//
// Labelled recordings inside a campaign: what is kept comes back bit for bit, and what makes a library unusable is refused.
#include "daq/detector/campaign_library.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>

#include "analysis/detector/agreement.hpp"
#include "analysis/detector/synthesise.hpp"
#include "daq/detector/library_table.hpp"
#include "tests/daq/record/fresh_folder.hpp"

namespace coldstroke::daq {
namespace {

using analysis::Label;
using analysis::Recording;
using testing::HasSubstr;

/// Pulses and handling at two rates, one of which has no short decimal period, and variants.
std::vector<Recording> mixed_library() {
  analysis::Scene scene;
  scene.noise_rms_g = 0.05;
  scene.seed = 11;
  auto library = analysis::synthetic_library(4, 1, scene).value();
  scene.sample_rate_hz = 3000.0;
  analysis::PulseParameters pulse;
  pulse.peak_g = 9.0;
  library.push_back(analysis::synthesise_pulse("at 3 kHz \xE2\x80\x93 \"quoted\"", pulse, scene).value());
  analysis::Variation weaker;
  weaker.level_factor = 0.77;
  library.push_back(vary(library.front(), weaker));
  return library;
}

std::vector<analysis::DetectorSpec> detectors() {
  analysis::DetectorSpec mean;
  mean.name = "mean of 20 ms";
  mean.window_seconds = 0.020;
  mean.threshold_g = 4.0;
  mean.building_g = 1.0;
  mean.board = {2000.0, 16, 64.0};
  analysis::DetectorSpec held = mean;
  held.name = "2 g held 3 ms";
  held.kind = analysis::DetectorKind::sustained;
  held.window_seconds = 0.003;
  held.threshold_g = 2.0;
  return {mean, held};
}

std::string said(const Complaint& complaint) { return complaint.what + " | " + complaint.where + " | " + complaint.remedy; }

class CampaignLibrary : public testing::Test {
 protected:
  Result<std::vector<Recording>> load() {
    left_out.clear();
    return load_library(file, left_out);
  }
  FreshFolder folder;
  std::filesystem::path file = folder / "kept.coldstroke";
  std::vector<std::string> left_out;
};

TEST_F(CampaignLibrary, WhatIsKeptComesBackBitForBitAndIsReplayedAlike) {
  const auto library = mixed_library();
  const auto findings = keep_recordings(file, library);
  ASSERT_TRUE(findings) << said(findings.error());
  EXPECT_EQ(std::ranges::count(*findings, "mixed_sample_rates", &analysis::Finding::kind), 1);
  const auto again = load();
  ASSERT_TRUE(again) << said(again.error());
  EXPECT_TRUE(left_out.empty());
  EXPECT_EQ(*again, library) << "samples, rates, labels, parameters: everything";
  const auto before = side_by_side(library, detectors()), after = side_by_side(*again, detectors());
  ASSERT_TRUE(before && after);
  for (std::size_t i = 0; i < before->size(); ++i) EXPECT_EQ((*before)[i].results, (*after)[i].results);
  EXPECT_GT((*before)[0].summary.in_time, 0U);
  const auto report = Campaign::open_read_only(file).value().verify();
  ASSERT_TRUE(report);
  EXPECT_THAT(report->findings, testing::IsEmpty());
}

TEST_F(CampaignLibrary, MoreIsKeptBesideWhatIsThereAlready) {
  auto library = mixed_library();
  ASSERT_TRUE(keep_recordings(file, std::span{library}.first(2)));
  ASSERT_TRUE(keep_recordings(file, std::span{library}.subspan(2)));
  EXPECT_EQ(load().value(), library);
}

TEST_F(CampaignLibrary, ADuplicateAContradictionAndNothingAreRefusedAndNothingIsLost) {
  const auto library = mixed_library();
  ASSERT_TRUE(keep_recordings(file, library));
  const auto same_name = keep_recordings(file, std::span{library}.first(1));
  ASSERT_FALSE(same_name);
  EXPECT_THAT(said(same_name.error()), HasSubstr("two recordings have this name"));
  Recording other = library.front();
  ASSERT_EQ(other.label, Label::must_fire);
  other.name = "the same, called harmless";
  other.label = Label::must_stay_silent;
  const auto contradiction = keep_recordings(file, std::span{&other, 1});
  ASSERT_FALSE(contradiction);
  EXPECT_THAT(said(contradiction.error()), HasSubstr("labelled both must_fire and must_stay_silent"));
  EXPECT_THAT(said(contradiction.error()), HasSubstr(library.front().name));
  const auto nothing = keep_recordings(file, {});
  ASSERT_FALSE(nothing);
  EXPECT_THAT(said(nothing.error()), HasSubstr("no recording to keep"));
  EXPECT_EQ(load().value(), library);
}

TEST_F(CampaignLibrary, WhatAnotherProgramWroteWithoutWhatAReplayNeedsIsNamed) {
  {
    auto campaign = Campaign::open_or_create(file, "kept").value();
    Campaign::Stimulus row;
    row.label = "must_stay_silent";
    row.sample_period_seconds = 0.001;
    row.samples_mps2 = {9.8, 9.9};
    for (const auto& [name, source] :
         {std::pair{"words", "carried upstairs"}, std::pair{"list", "[1, 2]"},
          std::pair{"odd", R"({"event": "dancing", "provenance": "bench", "axis": "z"})"},
          std::pair{"good", R"({"event": "carrying", "provenance": "bench", "axis": "z", "rest_g": "one"})"}}) {
      row.name = name;
      row.source = source;
      ASSERT_TRUE(campaign.add_stimulus(row));
    }
    row.name = "fires when";
    row.label = "must_fire";
    row.source = R"({"event": "ejection", "provenance": "bench", "axis": "z", "first_motion_seconds": 0.0})";
    ASSERT_TRUE(campaign.add_stimulus(row));
  }
  const auto library = load();
  ASSERT_TRUE(library) << said(library.error());
  ASSERT_EQ(library->size(), 1U);
  EXPECT_EQ(library->front().name, "good");
  EXPECT_EQ(library->front().sample_rate_hz, 1000.0);
  EXPECT_EQ(library->front().rest_g[2], 1.0);
  ASSERT_EQ(left_out.size(), 4U);
  EXPECT_THAT(left_out[0], HasSubstr("\"words\""));
  EXPECT_THAT(left_out[3], HasSubstr("no deadline"));
}

/// A trial of the campaign is in its library already: keeping it once more would count it twice.
TEST_F(CampaignLibrary, TrialsAndKeptRecordingsAreOneLibrary) {
  const std::string eject = std::string{COLDSTROKE_PROGRAM} + " eject --virtual --campaign " + file.string() + " >/dev/null 2>&1";
  ASSERT_EQ(std::system(eject.c_str()), 0);
  const auto trials = load().value();
  ASSERT_EQ(trials.size(), 1U);
  const auto twice = keep_recordings(file, trials);
  ASSERT_FALSE(twice);
  EXPECT_THAT(said(twice.error()), HasSubstr("two recordings have this name"));
  const auto more = mixed_library();
  ASSERT_TRUE(keep_recordings(file, more));
  const auto whole = load().value();
  ASSERT_EQ(whole.size(), 1 + more.size());
  EXPECT_EQ(whole.front(), trials.front());
  EXPECT_TRUE(std::ranges::equal(std::span{whole}.subspan(1), more));
  std::size_t told = 0;
  const auto stopped = load_library(file, left_out, [&told](std::size_t done, std::size_t of) {
    told = of;
    return done > 1;
  });
  ASSERT_FALSE(stopped);
  EXPECT_EQ(told, 1U);
}

}  // namespace
}  // namespace coldstroke::daq
