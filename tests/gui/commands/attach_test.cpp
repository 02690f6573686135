// SPDX-License-Identifier: GPL-3.0-or-later
//
// The flight board's own log, attached to an archived trial through the program itself: `coldstroke eject`, then
// `coldstroke attach` in another process, over the campaign file on disk.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>

#include "daq/record/trial_archive.hpp"
#include "daq/stream/node_session.hpp"
#include "tests/gui/commands/run_program.hpp"

namespace coldstroke::gui {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class Attach : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    // tests run in processes of their own, side by side
    shared = fs::path{testing::TempDir()} / ("coldstroke_attach_" + std::to_string(::getpid()));
    fs::remove_all(shared);
    fs::create_directories(shared);
    const Ran made =
        run_program(shared, "eject --virtual --seed 5 --trials 2 --json --campaign " + (shared / "made.coldstroke").string());
    ASSERT_EQ(made.code, 0) << made.complaints;
  }
  static void TearDownTestSuite() { fs::remove_all(shared); }
  void SetUp() override {
    folder = shared / testing::UnitTest::GetInstance()->current_test_info()->name();
    fs::create_directories(folder);
    file = folder / "trial.coldstroke";
    fs::copy_file(shared / "made.coldstroke", file);
    auto campaign = daq::Campaign::open_read_only(file);
    ASSERT_TRUE(campaign) << campaign.error().what;
    auto judged = daq::judge_trial(*campaign, 1);
    ASSERT_TRUE(judged) << judged.error().what;
    linked = std::move(*judged);
  }

  /// What the board would have written of trial 1, its time line by `time_of` bench seconds.
  fs::path write_log(const char* name, const std::function<double(double)>& time_of, std::size_t times = 1) const {
    const analysis::Trace& a = *find(linked.traces, analysis::Role::vehicle_acceleration);
    const double decided = linked.traces.detector.decisions_seconds.front();
    std::ofstream out{folder / name};
    out << "time_s,acceleration_g,detector\n";
    out.precision(15);
    const double length = a.period_seconds * static_cast<double>(a.samples.size());
    for (std::size_t repeat = 0; repeat < times; ++repeat)
      for (std::size_t k = 0; k < a.samples.size(); ++k) {
        const double bench = a.start_seconds + a.period_seconds * static_cast<double>(k);
        out << time_of(bench + length * static_cast<double>(repeat)) << ',' << a.samples[k] / 9.80665 << ','
            << (bench >= decided - 0.5 * a.period_seconds ? 1 : 0) << '\n';
      }
    return folder / name;
  }

  /// Bench seconds to the flight board's own clock, by the exchanges of trial 1 on file.
  [[nodiscard]] std::function<double(double)> board_clock() const {
    const auto campaign = daq::Campaign::open_read_only(file);
    const auto raw = campaign->raw(1);
    const auto setup = daq::parse_setup(*campaign->setup_text(1), "stored");
    daq::NodeSession rig{daq::Node::rig}, flight{daq::Node::flight};
    std::int64_t released = 0;
    for (const daq::RawRow& row : *raw) {
      if (row.direction == daq::Direction::to_board) continue;
      auto& session = row.node == daq::Node::rig ? rig : flight;
      for (const wire::Message& message : session.receive(daq::at_us<daq::HostTime>(row.host_us), row.bytes))
        if (const auto* event = std::get_if<wire::Event>(&message);
            event != nullptr && row.node == daq::Node::rig && event->code == wire::EventCode::fast_valves_opened && released == 0)
          released = static_cast<std::int64_t>(event->node_time_us);
    }
    const auto clocks = daq::ClockAlignment::fit(rig.exchanges(), flight.exchanges(), daq::at_us<daq::RigTime>(released),
                                                 daq::line_knowledge(*setup));
    const double first_us = static_cast<double>(flight.exchanges().front().t2_node_us);
    const double at_0 = clocks->to_bench(first_us).bench_seconds, at_1 = clocks->to_bench(first_us + 1.0e6).bench_seconds;
    return [=](double bench) { return first_us * 1.0e-6 + (bench - at_0) / (at_1 - at_0); };
  }

  [[nodiscard]] Ran attach(const fs::path& log, const std::string& more = "") const {
    return run_program(folder, "attach " + file.string() + " --trial 1 --flight-log " + log.string() + " --json " + more);
  }
  [[nodiscard]] double linked_latency() const { return linked.result.metric("detector_latency_seconds")->measured()->value; }
  /// Neither attachments nor results were added.
  void expect_nothing_written() const {
    const auto campaign = daq::Campaign::open_read_only(file);
    EXPECT_TRUE(campaign->attachments(1)->empty());
    EXPECT_EQ(campaign->results(1)->size(), 1U);
  }

  static fs::path shared;
  fs::path folder, file;
  daq::JudgedTrial linked;
};
fs::path Attach::shared;

TEST_F(Attach, ByTheBoardsClockGivesWhatTheLinkGave) {
  const fs::path log = write_log("log.csv", board_clock());
  const Ran ran = attach(log, "--board-clock");
  ASSERT_EQ(ran.code, 0) << ran.complaints;
  const auto json = nlohmann::json::parse(ran.out);
  EXPECT_EQ(json["detector"]["outcome"], "in_time");
  EXPECT_NEAR(json["metrics"]["detector_latency_seconds"]["value"].get<double>(), linked_latency(), 2.0e-6);

  auto campaign = daq::Campaign::open_read_only(file);
  const auto attachments = campaign->attachments(1);
  ASSERT_EQ(attachments->size(), 2U);
  EXPECT_EQ((*attachments)[0].name, "flight-log/log.csv");
  const auto& kept = (*attachments)[0].bytes;
  EXPECT_EQ((std::string{reinterpret_cast<const char*>(kept.data()), kept.size()}), text_of(log));
  const auto results = campaign->results(1);
  ASSERT_EQ(results->size(), 2U) << "the new result stands beside the old one";
  // Judged once more from the file, it is the same to the last bit.
  const auto again = daq::judge_trial(*campaign, 1);
  ASSERT_TRUE(again) << again.error().what;
  EXPECT_EQ(daq::result_json(again->result), results->back().json);
  EXPECT_EQ(run_program(folder, "verify " + file.string()).code, 0);
  EXPECT_EQ(campaign->raw(1)->size(), daq::Campaign::open_read_only(shared / "made.coldstroke")->raw(1)->size());
}

TEST_F(Attach, ByThePulseWhereTheLogHasATimeOfItsOwn) {
  const Ran ran = attach(write_log("own.csv", [](double bench) { return bench + 4321.0; }));
  ASSERT_EQ(ran.code, 0) << ran.complaints;
  const auto json = nlohmann::json::parse(ran.out);
  EXPECT_EQ(json["detector"]["outcome"], "in_time");
  const auto& latency = json["metrics"]["detector_latency_seconds"];
  EXPECT_NEAR(latency["value"].get<double>(), linked_latency(), 0.5e-3);  // the accelerometer's own lag shifts the pulse
  EXPECT_THAT(json["record"].dump(), HasSubstr("shared pulse"));
}

TEST_F(Attach, ColumnsOfAnyNameAreMapped) {
  std::string text = text_of(write_log("own.csv", [](double bench) { return bench; }));
  text.replace(0, text.find('\n'), "t,az,fired");
  std::ofstream{folder / "named.csv"} << text;
  const Ran plain = attach(folder / "named.csv");
  EXPECT_EQ(plain.code, 3);
  expect_nothing_written();
  const Ran mapped = attach(folder / "named.csv", "--column t=time:s --column az=acceleration:g --column fired=detector:0/1");
  ASSERT_EQ(mapped.code, 0) << mapped.complaints;
  EXPECT_EQ(run_program(folder, "analyse " + file.string() + " --trial 1 --json").code, 0) << "the mapping is kept with the log";
}

TEST_F(Attach, TheSameLogTwiceIsRefused) {
  const fs::path log = write_log("log.csv", [](double bench) { return bench; });
  ASSERT_EQ(attach(log).code, 0);
  const Ran twice = attach(log);
  EXPECT_EQ(twice.code, 3);
  EXPECT_THAT(twice.complaints, HasSubstr("this very log already"));
  EXPECT_EQ(daq::Campaign::open_read_only(file)->results(1)->size(), 2U);
}

TEST_F(Attach, ALogOfAnotherTimeIsRefused) {
  const auto clock = board_clock();
  const Ran ran = attach(write_log("late.csv", [&](double bench) { return clock(bench) + 3600.0; }), "--board-clock");
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, HasSubstr("does not reach into the trial"));
  expect_nothing_written();
}

TEST_F(Attach, TwoEjectionsInOneLogAreRefusedUnlessTheClockTells) {
  const Ran by_pulse = attach(write_log(
      "two.csv", [](double bench) { return bench; }, 2));
  EXPECT_EQ(by_pulse.code, 3);
  EXPECT_THAT(by_pulse.complaints, HasSubstr("more than one pulse"));
  expect_nothing_written();
  const Ran by_clock = attach(write_log("clock.csv", board_clock(), 2), "--board-clock");
  ASSERT_EQ(by_clock.code, 0) << by_clock.complaints;
  EXPECT_NEAR(nlohmann::json::parse(by_clock.out)["metrics"]["detector_latency_seconds"]["value"].get<double>(), linked_latency(),
              2.0e-6);
}

TEST_F(Attach, WhatIsNoFlightLogIsRefused) {
  std::ofstream{folder / "force.csv"} << "time_s,force_N\n0,1\n0.001,2\n0.002,3\n";
  const Ran force = attach(folder / "force.csv");
  EXPECT_EQ(force.code, 3);
  EXPECT_THAT(force.complaints, HasSubstr("not a flight board's"));
  std::ofstream{folder / "only_detector.csv"} << "time_s,detector\n0,0\n0.001,0\n0.002,1\n";
  const Ran no_pulse = attach(folder / "only_detector.csv");
  EXPECT_EQ(no_pulse.code, 3);
  EXPECT_THAT(no_pulse.complaints, HasSubstr("--board-clock"));
  std::ofstream{folder / "noise.csv", std::ios::binary} << std::string("\x00\xff\x17 garbage\n\n\xfe", 14);
  EXPECT_EQ(attach(folder / "noise.csv").code, 3);
  std::ofstream{folder / "empty.csv"};
  EXPECT_EQ(attach(folder / "empty.csv").code, 3);
  std::ofstream{folder / "flat.csv"} << [] {
    std::string rows = "time_s,acceleration_g,detector\n";
    for (int k = 0; k < 2000; ++k) rows += std::to_string(k * 0.0005) + ",1,0\n";
    return rows;
  }();
  const Ran flat = attach(folder / "flat.csv");
  EXPECT_EQ(flat.code, 3);
  EXPECT_THAT(flat.complaints, HasSubstr("cannot be laid on each other"));
  expect_nothing_written();
}

TEST_F(Attach, ATrialThatIsNotThereIsRefused) {
  const fs::path log = write_log("log.csv", [](double bench) { return bench; });
  const Ran ran = run_program(folder, "attach " + file.string() + " --trial 9 --flight-log " + log.string());
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.complaints, HasSubstr("9"));
  const Ran no_campaign = run_program(folder, "attach " + log.string() + " --trial 1 --flight-log " + log.string());
  EXPECT_EQ(no_campaign.code, 3);
  expect_nothing_written();
}

TEST_F(Attach, TheTrialBesideItIsNotTouched) {
  const Ran ran = attach(write_log("log.csv", board_clock()), "--board-clock");
  ASSERT_EQ(ran.code, 0) << ran.complaints;
  const auto campaign = daq::Campaign::open_read_only(file);
  EXPECT_TRUE(campaign->attachments(2)->empty());
  EXPECT_EQ(campaign->results(2)->size(), 1U);
}

}  // namespace
}  // namespace coldstroke::gui
