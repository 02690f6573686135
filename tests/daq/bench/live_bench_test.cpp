// SPDX-License-Identifier: GPL-3.0-or-later
//
// Real time: two pseudo-terminals, QSerialPort in its threads, the virtual rig as a separate process.
#include "daq/bench/live_bench.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <QCoreApplication>
#include <QEventLoop>
#include <QTimer>
#include <csignal>

#include "daq/bench/unattended_operator.hpp"
#include "tests/daq/bench/run_of_trials.hpp"

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;

class LiveBenchTest : public testing::Test {
 protected:
  void SetUp() override {
    if (QCoreApplication::instance() == nullptr) {
      static int argc = 1;
      static char name[] = "daq_bench_test";
      static char* argv[] = {name, nullptr};
      application_ = std::make_unique<QCoreApplication>(argc, argv);
    }
    folder_ = test_folder();
  }

  std::unique_ptr<LiveBench> start(bool virtual_rig, std::function<void(daq::Setup&)> change = {}) {
    LiveBench::Options options;
    options.setup = virtual_setup();
    options.setup.alignment_limit_seconds =
        20.0e-3;  // a busy machine holds bytes back; how well clocks align is tested elsewhere
    options.campaign = folder_ / "run.coldstroke";
    options.virtual_rig = virtual_rig;
    options.program = program();
    if (change) change(options.setup);
    auto bench = LiveBench::start(std::move(options));
    EXPECT_TRUE(bench) << bench.error().what;
    return bench ? std::move(*bench) : nullptr;
  }

  /// Turns the event loop until `done` says so, asked at each new view. False if it never does within `seconds`.
  static bool until(LiveBench& bench, const std::function<bool(const BenchView&)>& done, int seconds = 60) {
    QEventLoop loop;
    bool came = false;
    const auto look = [&] {
      if (came || !done(*bench.view())) return;
      came = true;
      loop.quit();
    };
    QObject::connect(&bench, &LiveBench::viewChanged, &loop, look);
    QTimer::singleShot(seconds * 1000, &loop, &QEventLoop::quit);
    loop.exec();
    return came;
  }

  std::unique_ptr<QCoreApplication> application_;
  std::filesystem::path folder_;
};

TEST_F(LiveBenchTest, ATrialRunsOverPseudoTerminalsAndIsJudged) {
  {
    auto bench = start(true);
    ASSERT_NE(bench, nullptr);
    ASSERT_NE(bench->virtualRig(), nullptr);
    UnattendedOperator person{*bench->virtualRig(), 1};
    qlonglong finished = 0;
    QObject::connect(bench.get(), &LiveBench::trialFinished, [&](qlonglong number) { finished = number; });
    ASSERT_TRUE(until(*bench, [&](const BenchView& view) {
      bench->request(person.decide(view));
      return finished != 0 && view.step == Step::idle;
    })) << word(bench->view()->step);
    EXPECT_EQ(finished, 1);
    const auto view = bench->view();
    // void where the machine was too busy for the clock-alignment criterion; nothing else may go wrong
    EXPECT_THAT(view->last->verdict, testing::AnyOf("pass", "void")) << view->last->sentence;
    EXPECT_EQ(view->headline, Headline::safe);
    // no byte of the rig's line was damaged; that none is lost is tested in lock-step, where no busy machine makes the board drop
    // frames
    EXPECT_EQ(view->links[0].counts.fault(wire::FrameFault::bad_checksum), 0U);
    ASSERT_NE(bench->history(0), nullptr);
  }
  auto campaign = Campaign::open_read_only(folder_ / "run.coldstroke");
  ASSERT_TRUE(campaign);
  const auto report = campaign->verify();
  ASSERT_TRUE(report);
  EXPECT_THAT(report->findings, testing::IsEmpty());
  EXPECT_TRUE(judge_trial(*campaign, 1));
}

TEST_F(LiveBenchTest, AMissingPortIsSaidWithTheRemedyAndNothingIsAllowed) {
  auto bench = start(false, [](daq::Setup& setup) {
    setup.rig_port.name = "/dev/no-such-rig-port";
    setup.flight_port.name = "";
  });
  ASSERT_NE(bench, nullptr);
  ASSERT_TRUE(until(
      *bench, [](const BenchView& view) { return !view.links[0].trouble.empty() && !view.links[1].trouble.empty(); }, 10));
  EXPECT_THAT(bench->view()->links[0].trouble, HasSubstr("no such port"));
  EXPECT_THAT(bench->view()->links[1].trouble, HasSubstr("no port is named"));
  EXPECT_EQ(bench->view()->headline, Headline::unknown);
  EXPECT_FALSE(bench->view()->next.enabled);
  EXPECT_EQ(bench->virtualRig(), nullptr);
}

TEST_F(LiveBenchTest, AVirtualRigThatDiesUnderPressureIsKeepClearNotSafe) {
  auto bench = start(true);
  ASSERT_NE(bench, nullptr);
  UnattendedOperator person{*bench->virtualRig(), 1};
  ASSERT_TRUE(until(*bench, [&](const BenchView& view) {
    if (view.step == Step::settling) return true;
    bench->request(person.decide(view));
    return false;
  }));
  ASSERT_EQ(kill(bench->virtualRig()->process_id(), SIGKILL), 0);
  ASSERT_TRUE(until(*bench, [](const BenchView& view) { return view.step == Step::keep_clear; }));
  EXPECT_EQ(bench->view()->headline, Headline::keep_clear);
  EXPECT_FALSE(bench->view()->next.enabled);
  EXPECT_THAT(bench->view()->links[0].trouble, HasSubstr("rig board port"));
}

TEST_F(LiveBenchTest, LeavingInTheMiddleVentsAndKeepsTheTrialAsAborted) {
  {
    auto bench = start(true);
    ASSERT_NE(bench, nullptr);
    UnattendedOperator person{*bench->virtualRig(), 1};
    ASSERT_TRUE(until(*bench, [&](const BenchView& view) {
      if (view.step == Step::charging) return true;
      bench->request(person.decide(view));
      return false;
    }));
  }
  auto campaign = Campaign::open_read_only(folder_ / "run.coldstroke");
  ASSERT_TRUE(campaign);
  const auto trials = campaign->trials();
  ASSERT_TRUE(trials);
  ASSERT_EQ(trials->size(), 1U);
  EXPECT_EQ(trials->front().status, TrialStatus::aborted);
}

}  // namespace
}  // namespace coldstroke::daq
