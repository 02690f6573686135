// SPDX-License-Identifier: GPL-3.0-or-later
//
// What an archived trial says of the configuration that was tested, and what it does not say.
#include "daq/record/evidence_trials.hpp"

#include <gmock/gmock.h>

#include "analysis/statistics/trial_count.hpp"
#include "daq/record/trial_archive.hpp"
#include "tests/analysis/trial/synthetic_ejection.hpp"
#include "tests/daq/record/fresh_folder.hpp"
#include "tests/daq/record/trial_samples.hpp"

namespace coldstroke::daq {
namespace {

constexpr auto kBoard = R"({"firmware_name":"kestrel","firmware_version":"1.2","detector":{"threshold_g":"10"}})";
constexpr auto kOtherBoard = R"({"firmware_name":"kestrel","firmware_version":"1.3","detector":{"threshold_g":"10"}})";

/// A trial that passed, or one that was stopped; without `identity` the flight board never introduced itself.
void add_trial(Campaign& campaign, bool passed, const char* identity) {
  const auto number = campaign.begin_trial(virtual_setup(), false, "bench").value();
  if (identity != nullptr) {
    ASSERT_TRUE(campaign.set_identity(number, Node::flight, identity));
  }
  ASSERT_TRUE(campaign.end_trial(number, passed ? TrialStatus::recorded : TrialStatus::aborted));
  if (!passed) return;
  const auto made = analysis::synthetic_ejection({}, 5);
  ASSERT_TRUE(campaign.add_result(number, "pass", result_json(analysis::analyse(made.traces, virtual_setup().trial))));
}

analysis::statistics::TrialCount counted(const Campaign& campaign) {
  std::vector<analysis::statistics::TrialRecord> records;
  const auto trials = read_evidence(campaign);
  EXPECT_TRUE(trials);
  for (const auto& trial : *trials) records.push_back(trial.record);
  return analysis::statistics::count_trials(records).value();
}

TEST(ReadEvidence, a_stopped_trial_without_the_boards_word_restarts_nothing) {
  const FreshFolder folder;
  auto campaign = Campaign::open_or_create(folder / "campaign", "Larch").value();
  add_trial(campaign, true, kBoard);
  add_trial(campaign, false, nullptr);
  add_trial(campaign, false, R"({"firmware_name":"kestrel","firmware_version":"1.2"})");
  add_trial(campaign, true, kBoard);
  const auto count = counted(campaign);
  ASSERT_EQ(count.runs.size(), 1U);
  EXPECT_EQ(count.runs.front().passes, 2);
  EXPECT_EQ(count.runs.front().aborted, 2);
}

TEST(ReadEvidence, a_judged_trial_without_the_boards_word_is_no_evidence_about_the_board_before) {
  const FreshFolder folder;
  auto campaign = Campaign::open_or_create(folder / "campaign", "Larch").value();
  add_trial(campaign, true, kBoard);
  add_trial(campaign, true, nullptr);
  EXPECT_EQ(counted(campaign).runs.size(), 2U);
}

TEST(ReadEvidence, another_board_after_a_silent_stop_restarts_the_count_where_it_is_first_seen) {
  const FreshFolder folder;
  auto campaign = Campaign::open_or_create(folder / "campaign", "Larch").value();
  add_trial(campaign, true, kBoard);
  add_trial(campaign, false, nullptr);
  add_trial(campaign, false, kOtherBoard);
  add_trial(campaign, true, kOtherBoard);
  const auto count = counted(campaign);
  ASSERT_EQ(count.runs.size(), 2U);
  EXPECT_EQ(count.runs.back().first, 2U);
  EXPECT_EQ(count.runs.back().passes, 1);
}

}  // namespace
}  // namespace coldstroke::daq
