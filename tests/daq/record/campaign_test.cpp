// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/campaign.hpp"

#include <gmock/gmock.h>

#include "tests/daq/record/fresh_folder.hpp"
#include "tests/daq/record/trial_samples.hpp"

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

TEST(Campaign, keeps_everything_that_was_given_to_it) {
  const FreshFolder folder;
  const auto file = folder / "juniper.campaign";
  const auto setup = virtual_setup();
  const auto rows = invented_rows(40, 3000, 1);
  const std::vector<HostEvent> events{{1000, "step", "charging"}, {2000, "step", "released"}};
  {
    auto campaign = Campaign::open_or_create(file, "Juniper");
    ASSERT_TRUE(campaign) << campaign.error().what;
    ASSERT_EQ(campaign->begin_trial(setup, true, "scenario healthy, seed 1").value(), 1);
    ASSERT_TRUE(campaign->append(1, std::span{rows}.first(25), std::span{events}.first(1)));
    ASSERT_TRUE(campaign->append(1, std::span{rows}.subspan(25), std::span{events}.subspan(1)));
    ASSERT_TRUE(campaign->set_identity(1, Node::rig, R"({"firmware":"a"})"));
    ASSERT_TRUE(campaign->set_identity(1, Node::rig, R"({"firmware":"b"})"));
    ASSERT_TRUE(campaign->end_trial(1, TrialStatus::recorded));
    ASSERT_TRUE(campaign->add_result(1, "fail", R"({"verdict":"fail"})"));
    ASSERT_TRUE(campaign->add_result(1, "pass", R"({"verdict":"pass"})"));
    ASSERT_TRUE(campaign->add_note(1, "Ada", "the hose was moved\nand taped"));
    const std::byte log[] = {std::byte{1}, std::byte{0}, std::byte{255}};
    ASSERT_TRUE(campaign->add_attachment(1, "board-log.csv", log));
    ASSERT_EQ(campaign->begin_trial(setup, false, "bench").value(), 2);
    ASSERT_TRUE(campaign->end_trial(2, TrialStatus::aborted));
  }
  for (const bool read_only : {true, false}) {
    const auto campaign = read_only ? Campaign::open_read_only(file) : Campaign::open_or_create(file, "other name");
    ASSERT_TRUE(campaign) << campaign.error().what;
    EXPECT_EQ(campaign->name().value(), "Juniper");
    const auto trials = campaign->trials().value();
    ASSERT_EQ(trials.size(), 2U);
    EXPECT_EQ(trials[0].status, TrialStatus::recorded);
    EXPECT_TRUE(trials[0].virtual_rig);
    EXPECT_EQ(trials[0].origin, "scenario healthy, seed 1");
    EXPECT_EQ(trials[0].raw_rows, 40U);
    std::size_t bytes = 0;
    for (const RawRow& row : rows) bytes += row.bytes.size();
    EXPECT_EQ(trials[0].raw_bytes, bytes);
    EXPECT_THAT(trials[0].started_utc, testing::MatchesRegex("....-..-..T..:..:..\\....Z"));
    EXPECT_EQ(trials[1].status, TrialStatus::aborted);
    EXPECT_FALSE(trials[1].virtual_rig);
    EXPECT_EQ(trials[0].setup_sha256, trials[1].setup_sha256);
    EXPECT_EQ(campaign->trial(2)->number, 2);
    EXPECT_EQ(campaign->setup_text(1).value(), setup.text);
    EXPECT_EQ(campaign->raw(1).value(), rows);
    EXPECT_THAT(campaign->raw(2).value(), IsEmpty());
    EXPECT_EQ(campaign->events(1).value(), events);
    EXPECT_EQ(campaign->identity(1, Node::rig).value(), R"({"firmware":"b"})");
    EXPECT_EQ(campaign->identity(1, Node::flight).value(), std::nullopt);
    const auto results = campaign->results(1).value();
    ASSERT_EQ(results.size(), 2U);
    EXPECT_EQ(results[0].verdict, "fail");
    EXPECT_EQ(results[1].json, R"({"verdict":"pass"})");
    EXPECT_FALSE(results[1].program_version.empty());
    ASSERT_EQ(campaign->notes(1)->size(), 1U);
    EXPECT_EQ(campaign->notes(1)->front().text, "the hose was moved\nand taped");
    ASSERT_EQ(campaign->attachments(1)->size(), 1U);
    EXPECT_EQ(campaign->attachments(1)->front().bytes.size(), 3U);
    const auto report = campaign->verify().value();
    EXPECT_THAT(report.findings, IsEmpty());
    EXPECT_EQ(report.trials, 2U);
    EXPECT_EQ(report.raw_rows, 40U);
  }
}

}  // namespace
}  // namespace coldstroke::daq
