// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/recorder.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gmock/gmock.h>

#include <thread>

#include "tests/daq/record/fresh_folder.hpp"
#include "tests/daq/record/trial_samples.hpp"

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

RawRow row(std::int64_t host_us, std::size_t bytes) {
  return {Node::rig, Direction::from_board, host_us, std::vector<std::byte>(bytes)};
}

/// Another program that holds the right to write: the disk that does not follow.
class WriteBlocker {
 public:
  explicit WriteBlocker(const std::filesystem::path& file) : database_{file.string(), SQLite::OPEN_READWRITE} {
    database_.exec("BEGIN IMMEDIATE");
  }
  void release() { database_.exec("ROLLBACK"); }

 private:
  SQLite::Database database_;
};

TEST(Recorder, several_threads_append_and_nothing_is_lost_or_swapped) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  constexpr std::int64_t kRows = 500;
  {
    Recorder recorder{Campaign::open_or_create(file, "threads").value()};
    ASSERT_EQ(recorder.begin_trial(virtual_setup(), true, "test").value(), 1);
    ASSERT_TRUE(recorder.set_identity(Node::rig, "{}"));
    const auto write = [&](Node node) {
      for (std::int64_t i = 0; i < kRows; ++i) {
        EXPECT_TRUE(recorder.append({RawRow{node, Direction::from_board, i, std::vector<std::byte>(700)}},
                                    {HostEvent{i, "mark", word(node)}}));
      }
    };
    std::thread rig{write, Node::rig}, flight{write, Node::flight};
    for (int i = 0; i < 10; ++i) EXPECT_TRUE(recorder.flush());
    rig.join();
    flight.join();
    ASSERT_TRUE(recorder.end_trial(TrialStatus::recorded));
    EXPECT_EQ(recorder.queued_bytes(), 0U);
    EXPECT_FALSE(recorder.trouble());
    ASSERT_TRUE(recorder.add_result("void", "{}"));
  }
  const auto campaign = Campaign::open_read_only(file).value();
  std::int64_t next[2] = {0, 0};
  const auto rows = campaign.raw(1).value();
  for (const RawRow& written : rows) EXPECT_EQ(written.host_us, next[static_cast<std::size_t>(written.node)]++);
  EXPECT_EQ(next[0], kRows);
  EXPECT_EQ(next[1], kRows);
  EXPECT_EQ(campaign.events(1)->size(), 2U * kRows);
  EXPECT_EQ(campaign.results(1)->size(), 1U);
  EXPECT_THAT(campaign.verify()->findings, IsEmpty());
}

TEST(Recorder, what_was_flushed_can_be_read_by_another_reader_while_recording) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  Recorder recorder{Campaign::open_or_create(file, "readers").value()};
  ASSERT_TRUE(recorder.begin_trial(virtual_setup(), true, "test"));
  ASSERT_TRUE(recorder.append({row(1, 10), row(2, 20)}, {}));
  ASSERT_TRUE(recorder.flush());
  const auto reader = Campaign::open_read_only(file);
  ASSERT_TRUE(reader) << reader.error().what;
  EXPECT_EQ(reader->raw(1)->size(), 2U);
  EXPECT_EQ(reader->trial(1)->status, TrialStatus::recording);
  EXPECT_THAT(reader->verify()->findings, IsEmpty());
  ASSERT_TRUE(recorder.append({row(3, 30)}, {}));
  ASSERT_TRUE(recorder.end_trial(TrialStatus::recorded));
  EXPECT_EQ(reader->raw(1)->size(), 3U);
  EXPECT_EQ(reader->trial(1)->status, TrialStatus::recorded);
}

TEST(Recorder, writes_what_waits_when_it_is_destroyed_and_the_trial_is_found_interrupted) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  {
    Recorder recorder{Campaign::open_or_create(file, "ended early").value()};
    ASSERT_TRUE(recorder.begin_trial(virtual_setup(), true, "test"));
    ASSERT_TRUE(recorder.append({row(1, 10)}, {}));
  }
  const auto campaign = Campaign::open_or_create(file, "").value();
  EXPECT_EQ(campaign.raw(1)->size(), 1U);
  EXPECT_EQ(campaign.trial(1)->status, TrialStatus::interrupted);
}

TEST(Recorder, takes_nothing_outside_a_trial) {
  const FreshFolder folder;
  Recorder recorder{Campaign::open_or_create(folder / "campaign", "outside").value()};
  EXPECT_FALSE(recorder.append({row(1, 1)}, {}));
  EXPECT_FALSE(recorder.end_trial(TrialStatus::recorded));
  EXPECT_FALSE(recorder.set_identity(Node::rig, "{}"));
  EXPECT_FALSE(recorder.add_result("pass", "{}"));
  ASSERT_TRUE(recorder.begin_trial(virtual_setup(), true, "test"));
  EXPECT_FALSE(recorder.add_result("pass", "{}")) << "a trial is judged after its end";
  ASSERT_TRUE(recorder.end_trial(TrialStatus::aborted));
  EXPECT_FALSE(recorder.append({row(1, 1)}, {}));
  EXPECT_TRUE(recorder.with_campaign([](Campaign& campaign) { return campaign.add_note(1, "Ada", "hose moved"); }));
}

TEST(Recorder, a_disk_that_does_not_follow_fills_the_queue_and_blocks_nobody) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  Recorder recorder{Campaign::open_or_create(file, "overrun").value()};
  ASSERT_TRUE(recorder.begin_trial(virtual_setup(), true, "test"));
  WriteBlocker blocker{file};
  constexpr std::size_t kMegabyte = 1024UL * 1024UL;
  std::int64_t taken = 0;
  while (recorder.append({row(taken, kMegabyte)}, {})) ASSERT_LT(++taken, 100);
  EXPECT_EQ(taken, 63);  // 64 MB less what the rows cost beside their bytes
  EXPECT_GT(recorder.queued_bytes(), 63 * kMegabyte);
  const auto flushed = recorder.flush();  // the database waits two seconds for the other program, then gives up
  ASSERT_FALSE(flushed);
  EXPECT_THAT(flushed.error().what, HasSubstr("locked by another program"));
  EXPECT_TRUE(recorder.trouble());
  EXPECT_FALSE(recorder.end_trial(TrialStatus::recorded)) << "a record with a hole must not end as recorded";
  blocker.release();
  ASSERT_TRUE(recorder.end_trial(TrialStatus::recorded)) << "all of it is on disk now";
  EXPECT_TRUE(recorder.trouble()) << "that there was trouble stays known";
  const auto campaign = Campaign::open_read_only(file).value();
  const auto rows = campaign.raw(1).value();
  ASSERT_EQ(rows.size(), 63U);
  for (std::size_t i = 0; i < rows.size(); ++i) EXPECT_EQ(rows[i].host_us, static_cast<std::int64_t>(i));
  ASSERT_TRUE(recorder.begin_trial(virtual_setup(), true, "test"));
  EXPECT_FALSE(recorder.trouble());
}

}  // namespace
}  // namespace coldstroke::daq
