// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/campaign.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gmock/gmock.h>

#include <QByteArray>
#include <QCryptographicHash>
#include <cmath>
#include <cstdint>

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

TEST(Campaign, refuses_what_does_not_fit_and_says_why) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  const auto setup = virtual_setup();
  const auto row = invented_rows(1, 10, 1);
  auto campaign = Campaign::open_or_create(file, "Juniper").value();
  EXPECT_THAT(campaign.append(1, row, {}).error().what, HasSubstr("not being recorded"));
  EXPECT_THAT(campaign.raw(1).error().what, HasSubstr("no trial 1"));
  EXPECT_THAT(campaign.trial(-1).error().what, HasSubstr("no trial -1"));
  EXPECT_THAT(campaign.setup_text(9).error().remedy, HasSubstr("coldstroke show"));
  EXPECT_FALSE(campaign.add_note(1, "Ada", "x"));
  EXPECT_FALSE(campaign.add_attachment(1, "x", {}));
  ASSERT_EQ(campaign.begin_trial(setup, true, "test").value(), 1);
  EXPECT_THAT(campaign.begin_trial(setup, true, "test").error().what, HasSubstr("still being recorded"));
  EXPECT_FALSE(campaign.append(2, row, {}));
  EXPECT_FALSE(campaign.set_identity(1, Node::rig, "{broken"));
  EXPECT_FALSE(campaign.end_trial(1, TrialStatus::recording));
  EXPECT_THAT(campaign.add_result(1, "pass", "{}").error().what, HasSubstr("has not ended"));
  EXPECT_TRUE(campaign.add_note(1, "Ada", "while it runs"));
  ASSERT_TRUE(campaign.end_trial(1, TrialStatus::aborted));
  EXPECT_FALSE(campaign.append(1, row, {}));
  EXPECT_FALSE(campaign.set_identity(1, Node::rig, "{}"));
  EXPECT_FALSE(campaign.end_trial(1, TrialStatus::recorded));
  EXPECT_FALSE(campaign.add_result(1, "passed", "{}"));
  EXPECT_FALSE(campaign.add_result(1, "pass", "pass"));
  EXPECT_FALSE(campaign.add_result(7, "pass", "{}"));
  EXPECT_EQ(campaign.trial(1)->status, TrialStatus::aborted);
  auto reader = Campaign::open_read_only(file).value();
  EXPECT_THAT(reader.begin_trial(setup, true, "test").error().what, HasSubstr("reading only"));
  EXPECT_FALSE(reader.add_note(1, "Ada", "x"));
  EXPECT_FALSE(reader.add_result(1, "pass", "{}"));
  EXPECT_FALSE(reader.add_attachment(1, "x", {}));
}

TEST(Campaign, bytes_of_every_value_and_no_bytes_at_all_are_kept) {
  const FreshFolder folder;
  auto campaign = Campaign::open_or_create(folder / "campaign", "Juniper").value();
  ASSERT_TRUE(campaign.begin_trial(virtual_setup(), true, "test"));
  std::vector<RawRow> rows(2);
  for (int value = 0; value < 256; ++value) rows[0].bytes.push_back(static_cast<std::byte>(value));
  rows[0].host_us = INT64_MIN;
  rows[1].host_us = INT64_MAX;
  ASSERT_TRUE(campaign.append(1, rows, {}));
  ASSERT_TRUE(campaign.append(1, {}, {}));
  EXPECT_EQ(campaign.raw(1).value(), rows);
}

TEST(Campaign, calibrations_in_force_stand_beside_the_trial) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  {
    auto campaign = Campaign::open_or_create(file, "Juniper").value();
    ASSERT_TRUE(campaign.begin_trial(virtual_setup(), true, "test"));
  }
  SQLite::Database database{file.string()};
  SQLite::Statement query{database,
                          "SELECT scale, role, node, channel_index, range_high FROM calibration WHERE trial = 1 AND channel = ?"};
  query.bind(1, "acceleration");
  ASSERT_TRUE(query.executeStep());
  EXPECT_DOUBLE_EQ(query.getColumn(0).getDouble(), 100 * 9.80665 / 32768);
  EXPECT_EQ(query.getColumn(1).getString(), "vehicle_acceleration");
  EXPECT_EQ(query.getColumn(2).getInt(), 1);
  EXPECT_EQ(query.getColumn(3).getInt(), 2);
  EXPECT_DOUBLE_EQ(query.getColumn(4).getDouble(), 980.665);
}

/// The chain as docs/campaign-file.md states it, recomputed here from the stated bytes alone.
TEST(Campaign, the_chain_is_the_documented_one) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  const std::vector<RawRow> rows{{Node::flight, Direction::to_board, 0x0102030405060708, {std::byte{0xAB}, std::byte{0xCD}}}};
  {
    auto campaign = Campaign::open_or_create(file, "Juniper").value();
    ASSERT_TRUE(campaign.begin_trial(virtual_setup(), true, "test"));
    ASSERT_TRUE(campaign.append(1, rows, {}));
  }
  SQLite::Database database{file.string()};
  SQLite::Statement query{database, "SELECT started_utc, setup_sha256, chain FROM trial JOIN raw ON trial = number"};
  ASSERT_TRUE(query.executeStep());
  const auto length = [](std::size_t size) {
    QByteArray bytes(8, '\0');
    bytes[0] = static_cast<char>(size);
    return bytes;
  };
  const QByteArray started = QByteArray::fromStdString(query.getColumn(0).getString());
  const QByteArray setup = QByteArray::fromStdString(query.getColumn(1).getString());
  const QByteArray start = QCryptographicHash::hash(
      length(16) + "coldstroke chain" + length(1) + length(64) + setup + length(24) + started, QCryptographicHash::Sha256);
  const QByteArray link = QCryptographicHash::hash(start + QByteArray::fromHex("01"
                                                                               "01"
                                                                               "0807060504030201"
                                                                               "ABCD"),
                                                   QCryptographicHash::Sha256);
  EXPECT_EQ(QByteArray(static_cast<const char*>(query.getColumn(2).getBlob()), 32), link);
  EXPECT_EQ(setup, QCryptographicHash::hash(QByteArray::fromStdString(virtual_setup().text), QCryptographicHash::Sha256).toHex());
}

TEST(Campaign, a_trial_voided_by_hand_keeps_what_it_was_and_why) {
  const FreshFolder folder;
  auto campaign = Campaign::open_or_create(folder / "campaign", "Juniper").value();
  ASSERT_TRUE(campaign.begin_trial(virtual_setup(), true, "test"));
  EXPECT_FALSE(campaign.void_by_hand(1, "Ada", "too early"));  // still recording
  ASSERT_TRUE(campaign.end_trial(1, TrialStatus::recorded));
  ASSERT_TRUE(campaign.add_result(1, "fail", "{}"));
  EXPECT_FALSE(campaign.void_by_hand(1, "Ada", " "));
  EXPECT_FALSE(campaign.void_by_hand(1, "", "hose burst"));
  EXPECT_FALSE(campaign.void_by_hand(2, "Ada", "hose burst"));
  ASSERT_TRUE(campaign.void_by_hand(1, "Ada", "hose burst"));
  const auto again = campaign.void_by_hand(1, "Ada", "and again");
  ASSERT_FALSE(again);
  EXPECT_NE(again.error().what.find("hose burst"), std::string::npos);
  const auto made = campaign.hand_void(1).value();
  ASSERT_TRUE(made);
  EXPECT_EQ(made->judged_before, "fail");
  EXPECT_EQ(made->person, "Ada");
  EXPECT_EQ(made->reason, "hose burst");
  EXPECT_EQ(campaign.results(1)->size(), 1U);
  EXPECT_TRUE(campaign.verify()->findings.empty());
}

TEST(Campaign, labelled_recordings_are_kept_beside_the_trials) {
  const FreshFolder folder;
  const auto file = folder / "campaign";
  Campaign::Stimulus knock{
      0, "", "tube knock 1", "must_stay_silent", "recorded on the bench, mallet", 0.0005, {0.0, -9.80665, 1.0e-300, 42.5}};
  Campaign::Stimulus pulse{
      0, "", "pulse", "must_fire", "synthesised: half sine, 30 g, 20 ms", 0.001, std::vector<double>(50000, 294.2)};
  {
    auto campaign = Campaign::open_or_create(file, "Juniper").value();
    const ChainHead before = campaign.head().value();
    EXPECT_EQ(campaign.add_stimulus(knock).value(), 1);
    EXPECT_EQ(campaign.add_stimulus(pulse).value(), 2);
    EXPECT_EQ(campaign.entries_since(before.hex).value(), 2);
    EXPECT_THAT(campaign.add_stimulus(knock).error().what, HasSubstr("Stimulus 1 is already called"));
    const auto refused = [&](auto change, const char* what) {
      Campaign::Stimulus other = knock;
      other.name = "other";
      change(other);
      const auto result = campaign.add_stimulus(other);
      ASSERT_FALSE(result) << what;
      EXPECT_THAT(result.error().what, HasSubstr(what));
    };
    refused([](Campaign::Stimulus& s) { s.name = " "; }, "with a name");
    refused([](Campaign::Stimulus& s) { s.source.clear(); }, "how it came to be");
    refused([](Campaign::Stimulus& s) { s.label = "quiet"; }, "is no label");
    refused([](Campaign::Stimulus& s) { s.sample_period_seconds = 0.0; }, "not a positive number");
    refused([](Campaign::Stimulus& s) { s.sample_period_seconds = std::nan(""); }, "not a positive number");
    refused([](Campaign::Stimulus& s) { s.samples_mps2.clear(); }, "no samples");
    refused([](Campaign::Stimulus& s) { s.samples_mps2[2] = HUGE_VAL; }, "Sample 2 is no finite number");
  }
  auto campaign = Campaign::open_read_only(file).value();
  EXPECT_THAT(campaign.add_stimulus(knock).error().what, HasSubstr("reading only"));
  auto kept = campaign.stimuli().value();
  ASSERT_EQ(kept.size(), 2U);
  EXPECT_THAT(kept[0].created_utc, testing::MatchesRegex("....-..-..T..:..:..\\....Z"));
  for (Campaign::Stimulus* stimulus : {&knock, &pulse}) {
    stimulus->number = stimulus == &knock ? 1 : 2;
    stimulus->created_utc = kept[static_cast<std::size_t>(stimulus->number - 1)].created_utc;
  }
  EXPECT_EQ(kept, (std::vector{knock, pulse}));
  EXPECT_THAT(campaign.verify()->findings, IsEmpty());
}

TEST(Campaign, a_head_written_down_earlier_is_found_again_with_what_came_after) {
  const FreshFolder folder;
  auto campaign = Campaign::open_or_create(folder / "campaign", "Juniper").value();
  ASSERT_TRUE(campaign.begin_trial(virtual_setup(), true, "test"));
  ASSERT_TRUE(campaign.end_trial(1, TrialStatus::recorded));
  const ChainHead early = campaign.head().value();
  EXPECT_EQ(early.entries, 2);  // the campaign itself and the trial's seal
  EXPECT_EQ(early.hex.size(), 64U);
  EXPECT_EQ(campaign.entries_since(early.hex).value(), 0);
  ASSERT_TRUE(campaign.add_result(1, "pass", "{}"));
  ASSERT_TRUE(campaign.add_note(1, "Ada", "fine"));
  EXPECT_NE(campaign.head().value(), early);
  EXPECT_EQ(campaign.entries_since(early.hex).value(), 2);
  EXPECT_EQ(campaign.entries_since(std::string(64, '0')).value(), std::nullopt);
}

}  // namespace
}  // namespace coldstroke::daq
