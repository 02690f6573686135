// SPDX-License-Identifier: GPL-3.0-or-later
//
// The disk fails at every single write and sync in turn, and the program is killed at random moments.
#include <gmock/gmock.h>
#include <signal.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <random>

#include "daq/record/campaign.hpp"
#include "tests/daq/record/failing_disk.hpp"
#include "tests/daq/record/fresh_folder.hpp"
#include "tests/daq/record/trial_samples.hpp"

namespace coldstroke::daq {
namespace {

using testing::AnyOf;
using testing::HasSubstr;
using testing::IsEmpty;

/// Before the first campaign is opened: the campaign's own layer goes over what is the default then.
const bool g_installed = (failing_disk::install(), true);

class CampaignOnFailingDisk : public testing::TestWithParam<int> {};

TEST_P(CampaignOnFailingDisk, creating_leaves_no_file_or_a_whole_one) {
  ASSERT_TRUE(g_installed);
  long asked = 1;
  long failures = 0;
  for (long at = 0; at < asked; ++at) {
    const FreshFolder folder;
    const auto file = folder / "campaign";
    failing_disk::fail(at, GetParam());
    const auto first = Campaign::open_or_create(file, "Juniper");
    asked = failing_disk::heal();
    if (first) continue;
    ++failures;
    asked = at + 2;  // what comes after the failure was not asked for; there may be a next one
    EXPECT_THAT(first.error().what, AnyOf(HasSubstr("disk is full"), HasSubstr("disk reported an error"))) << at;
    if (std::filesystem::exists(file)) {
      EXPECT_TRUE(Campaign::open_read_only(file)) << at;
    }
    EXPECT_FALSE(std::filesystem::exists(file.string() + ".new"));
    const auto second = Campaign::open_or_create(file, "Juniper");
    ASSERT_TRUE(second) << second.error().what;
    EXPECT_THAT(second->verify()->findings, IsEmpty());
  }
  EXPECT_GT(failures, 10);
}

/// One trial step by step; a failed step is tried again after the disk is healed, as the recorder does.
TEST_P(CampaignOnFailingDisk, a_step_is_done_whole_or_not_at_all_and_can_be_tried_again) {
  const auto setup = virtual_setup();
  const auto rows = invented_rows(12, 9000, 3);
  const std::vector<HostEvent> events{{1, "step", "one"}, {2, "step", "two"}};
  const FreshFolder folder;
  ASSERT_TRUE(Campaign::open_or_create(folder / "empty", "Juniper"));
  long failures = 0;
  for (long at = 0;; ++at) {
    const auto file = folder / ("campaign" + std::to_string(at)).c_str();
    std::filesystem::copy_file(folder / "empty", file);
    auto campaign = Campaign::open_or_create(file, "");
    ASSERT_TRUE(campaign);
    failing_disk::fail(at, GetParam());
    bool failed = false;
    const auto step = [&](auto&& work) {
      auto result = work();
      if (result) return;
      failed = true;
      EXPECT_THAT(result.error().what, AnyOf(HasSubstr("disk is full"), HasSubstr("disk reported an error")));
      failing_disk::heal();
      // Before the second try: nothing of the failed step may be there.
      const auto trial = campaign->trial(1);
      if (trial) {
        EXPECT_THAT(trial->raw_rows, AnyOf(0U, 5U, 12U));
        EXPECT_EQ(campaign->events(1)->size(), trial->raw_rows == 12U ? 2U : trial->raw_rows == 5U ? 1U : 0U);
      }
      EXPECT_THAT(campaign->verify()->findings, IsEmpty());
      result = work();
      EXPECT_TRUE(result) << result.error().what;
    };
    step([&] { return campaign->begin_trial(setup, true, "test"); });
    step([&] { return campaign->append(1, std::span{rows}.first(5), std::span{events}.first(1)); });
    step([&] { return campaign->append(1, std::span{rows}.subspan(5), std::span{events}.subspan(1)); });
    step([&] { return campaign->set_identity(1, Node::flight, "{}"); });
    step([&] { return campaign->end_trial(1, TrialStatus::recorded); });
    step([&] { return campaign->add_result(1, "pass", "{}"); });
    step([&] { return campaign->add_note(1, "Ada", "note"); });
    failing_disk::heal();
    campaign = Campaign::open_read_only(file);  // closes the writer first
    ASSERT_TRUE(campaign) << campaign.error().what;
    EXPECT_EQ(campaign->raw(1).value(), rows);
    EXPECT_EQ(campaign->events(1).value(), events);
    EXPECT_EQ(campaign->results(1)->size(), 1U);
    EXPECT_EQ(campaign->notes(1)->size(), 1U);
    EXPECT_THAT(campaign->verify()->findings, IsEmpty());
    if (!failed) break;  // the failure lies behind the last step: every place before it was tried
    ++failures;
  }
  EXPECT_GT(failures, 20);
}

INSTANTIATE_TEST_SUITE_P(all, CampaignOnFailingDisk, testing::Values(SQLITE_FULL, SQLITE_OK),
                         [](const auto& kind) { return kind.param == SQLITE_FULL ? "full" : "errors"; });

/// In the child: appends one row after the other and tells of each only after it is committed. Never returns.
[[noreturn]] void append_until_killed(const std::filesystem::path& file, int told) {
  auto campaign = Campaign::open_or_create(file, "killed");
  if (!campaign) ::_exit(2);
  const auto trial = campaign->begin_trial(virtual_setup(), true, "kill test");
  if (!trial) ::_exit(3);
  for (std::int64_t i = 0;; ++i) {
    const RawRow row{Node::rig, Direction::from_board, i, std::vector<std::byte>(2000, static_cast<std::byte>(i))};
    const HostEvent event{i, "mark", std::to_string(i)};
    if (!campaign->append(*trial, {&row, 1}, {&event, 1})) ::_exit(4);
    if (::write(told, "x", 1) != 1) ::_exit(5);
  }
}

TEST(CampaignKilled, everything_acknowledged_is_there_and_the_trial_is_interrupted) {
  std::mt19937 draw{20260101};
  const FreshFolder folder;
  const auto file = folder / "campaign";
  for (std::int64_t round = 1; round <= 20; ++round) {
    int ends[2];
    ASSERT_EQ(::pipe(ends), 0);
    const pid_t child = ::fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
      ::close(ends[0]);
      append_until_killed(file, ends[1]);
    }
    ::close(ends[1]);
    std::size_t acknowledged = 0;
    char byte = 0;
    const std::size_t wanted = 1 + draw() % 60U;
    while (acknowledged < wanted && ::read(ends[0], &byte, 1) == 1) ++acknowledged;
    ASSERT_EQ(acknowledged, wanted) << "the child ended by itself";
    // The random moment is the test: somewhere inside the commits that follow.
    const auto until = std::chrono::steady_clock::now() + std::chrono::microseconds{draw() % 3000U};
    while (std::chrono::steady_clock::now() < until) {
    }
    ASSERT_EQ(::kill(child, SIGKILL), 0);
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFSIGNALED(status));
    while (::read(ends[0], &byte, 1) == 1) ++acknowledged;
    ::close(ends[0]);

    {
      const auto reader = Campaign::open_read_only(file);
      ASSERT_TRUE(reader) << reader.error().what;
      EXPECT_THAT(reader->verify()->findings, IsEmpty()) << "round " << round;
      EXPECT_EQ(reader->trial(round)->status, TrialStatus::recording);
    }
    const auto campaign = Campaign::open_or_create(file, "");
    ASSERT_TRUE(campaign) << campaign.error().what;
    EXPECT_EQ(campaign->trial(round)->status, TrialStatus::interrupted);
    const auto raw = campaign->raw(round).value();
    // One more may be on disk than was told of: the kill can fall between the commit and the telling.
    EXPECT_THAT(raw.size(), AnyOf(acknowledged, acknowledged + 1));
    for (std::size_t i = 0; i < raw.size(); ++i) {
      EXPECT_EQ(raw[i].host_us, static_cast<std::int64_t>(i));
      EXPECT_EQ(raw[i].bytes, std::vector<std::byte>(2000, static_cast<std::byte>(i)));
    }
    const auto events = campaign->events(round).value();
    ASSERT_EQ(events.size(), raw.size() + 1);
    EXPECT_EQ(events.back().kind, "interrupted");
    EXPECT_THAT(campaign->verify()->findings, IsEmpty()) << "round " << round;
  }
}

}  // namespace
}  // namespace coldstroke::daq
