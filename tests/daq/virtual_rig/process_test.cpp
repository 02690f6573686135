// SPDX-License-Identifier: GPL-3.0-or-later
//
// The virtual rig as a process of its own: over pipes in lock-step, over real pseudo-terminals in real time.
#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <signal.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>
#include <sstream>

#include "daq/virtual_rig/process.hpp"
#include "tests/daq/virtual_rig/bench_host.hpp"
#include "tests/daq/virtual_rig/open_port.hpp"

namespace coldstroke::daq {
namespace {

namespace fs = std::filesystem;

VirtualRigProgram server() { return {.executable = COLDSTROKE_VIRTUAL_RIG_SERVER, .leading_arguments = {}}; }

class VirtualRigProcessTest : public testing::Test {
 protected:
  void SetUp() override {
    const std::string name = testing::UnitTest::GetInstance()->current_test_info()->name();
    folder_ = fs::temp_directory_path() / ("coldstroke-virtual-rig-" + std::to_string(::getpid()) + "-" + name);
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }
  [[nodiscard]] std::string file(const char* name) const { return (folder_ / name).string(); }
  static std::string text_of(const std::string& name) {
    std::ifstream in{name};
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
  }
  fs::path folder_;
};

Exchange exchange_with(VirtualRigProcess& process) {
  return [&process](const LockstepRequest& request) {
    Result<LockstepReply> reply = process.exchange(request);
    if (!reply) throw std::runtime_error(reply.error().what);
    return *reply;
  };
}

TEST_F(VirtualRigProcessTest, LockstepOverPipesIsTheInProcessRigBitForBit) {
  VirtualRigOptions options;
  options.seed = 6;
  options.truth_file = file("truth.jsonl");
  std::vector<std::byte> raw[2];
  for (int round = 0; round < 2; ++round) {
    Result<VirtualRigProcess> process = VirtualRigProcess::start_lockstep(options, server());
    ASSERT_TRUE(process) << process.error().what;
    BenchHost host{exchange_with(*process)};
    ASSERT_TRUE(host.eject(1));
    EXPECT_EQ(process->end(), 0);
    if (round == 1) {
      EXPECT_EQ(raw[0], host.raw[0]);
      EXPECT_EQ(raw[1], host.raw[1]);
    }
    raw[0] = host.raw[0];
    raw[1] = host.raw[1];
  }
  VirtualRig rig{load_scenario("steady").value(), 6};
  BenchHost host{exchange_with(rig)};
  ASSERT_TRUE(host.eject(1));
  EXPECT_EQ(raw[0], host.raw[0]);
  EXPECT_EQ(raw[1], host.raw[1]);
  const std::string truth = rig.take_truth().at(0).json() + "\n";
  EXPECT_EQ(text_of(options.truth_file), truth + truth);
}

TEST_F(VirtualRigProcessTest, TruthOfAnUnfinishedEjectionIsWrittenAtTheEnd) {
  VirtualRigOptions options;
  options.truth_file = file("truth.jsonl");
  Result<VirtualRigProcess> process = VirtualRigProcess::start_lockstep(options, server());
  ASSERT_TRUE(process);
  BenchHost host{exchange_with(*process)};
  host.prepare(1);
  ASSERT_TRUE(host.charge(8.0e5, 1.0));
  ASSERT_EQ(host.release(), wire::Reason::done);
  host.run_for(0.3);
  EXPECT_EQ(text_of(options.truth_file), "");
  EXPECT_EQ(process->end(), 0);
  const nlohmann::json truth = nlohmann::json::parse(text_of(options.truth_file));
  EXPECT_GT(truth.at("exit_speed_mps").get<double>(), 13.0);
  EXPECT_TRUE(truth.at("landing_rig_clock_seconds").is_null());
}

TEST_F(VirtualRigProcessTest, ComplainsOfWhatCannotBeStarted) {
  VirtualRigOptions options;
  options.scenario = "nowhere";
  const auto unknown = VirtualRigProcess::start_lockstep(options, server());
  ASSERT_FALSE(unknown);
  EXPECT_THAT(unknown.error().remedy, testing::HasSubstr("steady"));
  options.scenario = "steady";
  options.faults = {"no_such_fault"};
  EXPECT_FALSE(VirtualRigProcess::start_lockstep(options, server()));
  options.faults = {};
  const auto missing = VirtualRigProcess::start_lockstep(options, {"/no/such/program", {}});
  ASSERT_FALSE(missing);
  EXPECT_EQ(missing.error().where, "/no/such/program");
  // A program that starts and ends without speaking.
  const auto mute = VirtualRigProcess::start_lockstep(options, {"/bin/true", {}});
  ASSERT_FALSE(mute);
  EXPECT_THAT(mute.error().where, testing::HasSubstr("virtual rig process"));
  const auto mute_ports = VirtualRigProcess::start_real_time(options, {"/bin/true", {}});
  ASSERT_FALSE(mute_ports);
}

TEST_F(VirtualRigProcessTest, ADeadChildIsAComplaintNotACrash) {
  Result<VirtualRigProcess> process = VirtualRigProcess::start_lockstep({}, server());
  ASSERT_TRUE(process);
  ::kill(process->process_id(), SIGKILL);
  Result<LockstepReply> reply = process->exchange({1000, {}});
  if (reply) reply = process->exchange({2000, {}});  // the signal may come after the first answer
  ASSERT_FALSE(reply);
  EXPECT_EQ(process->end(), 128 + SIGKILL);
  EXPECT_FALSE(process->exchange({3000, {}}));
}

TEST_F(VirtualRigProcessTest, ARequestForThePastEndsTheLockstepWithACode) {
  Result<VirtualRigProcess> process = VirtualRigProcess::start_lockstep({}, server());
  ASSERT_TRUE(process);
  ASSERT_TRUE(process->exchange({5000, {}}));
  EXPECT_FALSE(process->exchange({4000, {}}));
  EXPECT_EQ(process->end(), 1);
}

TEST_F(VirtualRigProcessTest, BoardsAnswerThroughRealPseudoTerminals) {
  VirtualRigOptions options;
  options.ports_file = file("ports");
  options.rig_link = file("rig");
  options.flight_link = file("flight");
  Result<VirtualRigProcess> process = VirtualRigProcess::start_real_time(options, server());
  ASSERT_TRUE(process) << process.error().what << process.error().where;
  EXPECT_EQ(text_of(options.ports_file), "rig " + process->rig_port() + "\nflight " + process->flight_port() + "\n");
  EXPECT_EQ(fs::read_symlink(options.rig_link).string(), process->rig_port());
  OpenPort rig{options.rig_link}, flight{process->flight_port()};
  ASSERT_TRUE(rig.is_open() && flight.is_open());
  rig.send(wire::Hello{1, 0, 11});
  flight.send(wire::Hello{1, 0, 12});
  const auto rig_identity = rig.wait_for<wire::Identity>(10.0), flight_identity = flight.wait_for<wire::Identity>(10.0);
  ASSERT_TRUE(rig_identity && flight_identity);
  EXPECT_EQ(rig_identity->kind, wire::NodeKind::rig_board);
  EXPECT_EQ(rig_identity->session, 11U);
  EXPECT_EQ(flight_identity->kind, wire::NodeKind::flight_board);
  EXPECT_TRUE(rig.wait_for<wire::SampleBlock>(10.0));
  EXPECT_EQ(process->end(), 0);
  EXPECT_FALSE(fs::exists(fs::symlink_status(options.rig_link)));
}

TEST_F(VirtualRigProcessTest, RealTimeKeepsPaceWithTheClock) {
  Result<VirtualRigProcess> process = VirtualRigProcess::start_real_time({}, server());
  ASSERT_TRUE(process);
  OpenPort rig{process->rig_port()};
  const auto first = rig.wait_for<wire::SampleBlock>(10.0);
  ASSERT_TRUE(first);
  const auto start = std::chrono::steady_clock::now();
  std::uint64_t node_us = first->node_time_us;
  while (std::chrono::steady_clock::now() - start < std::chrono::seconds{2})
    for (const wire::Message& message : rig.read(50))
      if (const auto* block = std::get_if<wire::SampleBlock>(&message)) node_us = block->node_time_us;
  const double wall = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  // The bench may stand still while a busy machine does not let the process run, but it never runs ahead.
  EXPECT_LT(static_cast<double>(node_us - first->node_time_us) * 1.0e-6, wall + 0.3);
  EXPECT_GT(static_cast<double>(node_us - first->node_time_us) * 1.0e-6, 0.5 * wall);
}

TEST_F(VirtualRigProcessTest, EjectsInRealTimeAndHangsTheFlightPortUpUntilTheVehicleIsBack) {
  // A small fast rig, so that the whole life of an ejection takes a few seconds of real time.
  std::ofstream{file("quick.toml")} << "[gas]\nregulator_set_bar = 3.2\nregulator_flow_litres_per_minute = 1000\n"
                                       "[vehicle]\nseparation = \"hang_up\"\nrecover_seconds = 0.2\nhandling_seconds = 0.2\n";
  VirtualRigOptions options;
  options.scenario = file("quick.toml");
  options.truth_file = file("truth.jsonl");
  options.rig_link = file("rig");
  options.flight_link = file("flight");
  Result<VirtualRigProcess> process = VirtualRigProcess::start_real_time(options, server());
  ASSERT_TRUE(process) << process.error().what;
  BenchHost host{exchange_over_ports(options.rig_link, options.flight_link)};
  host.prepare(3);
  ASSERT_TRUE(host.newest<wire::Identity>(Node::flight));
  ASSERT_TRUE(host.charge(2.5e5, 0.2));
  ASSERT_EQ(host.release(), wire::Reason::done);
  EXPECT_TRUE(host.run_until([&] { return !host.port_up[1]; }, 5.0));
  host.vent();
  EXPECT_TRUE(host.run_until([&] { return host.port_up[1]; }, 20.0));
  host.forget();
  // A port that has just come back may lose what is said first: a host repeats what is not answered.
  for (int asked = 0; asked < 10 && !host.newest<wire::MemorySummary>(Node::flight); ++asked) {
    host.greet();
    host.send(Node::flight, wire::MemoryRequest{wire::MemoryPart::summary, 0, 0});
    host.run_until([&] { return host.newest<wire::MemorySummary>(Node::flight).has_value(); }, 1.0);
  }
  const auto summary = host.newest<wire::MemorySummary>(Node::flight);
  ASSERT_TRUE(summary);
  EXPECT_EQ(summary->record_id, 3U);
  EXPECT_EQ(process->end(), 0);
  const nlohmann::json truth = nlohmann::json::parse(text_of(options.truth_file));
  EXPECT_GT(truth.at("exit_speed_mps").get<double>(), 5.0);
}

TEST_F(VirtualRigProcessTest, EndsWhenItsStarterLetsGo) {
  Result<VirtualRigProcess> process = VirtualRigProcess::start_real_time({}, server());
  ASSERT_TRUE(process);
  const pid_t child = process->process_id();
  { const VirtualRigProcess ended = std::move(*process); }
  EXPECT_NE(::kill(child, 0), 0);  // gone, and reaped
}

TEST_F(VirtualRigProcessTest, ACtrlCAtTheTerminalIsForItsStarterAlone) {
  Result<VirtualRigProcess> process = VirtualRigProcess::start_real_time({}, server());
  ASSERT_TRUE(process);
  // A terminal signals its whole foreground group.
  EXPECT_NE(::getpgid(process->process_id()), ::getpgrp());
  EXPECT_EQ(process->end(), 0);
}

TEST_F(VirtualRigProcessTest, StopsByItselfAfterTheTimeGiven) {
  VirtualRigOptions options;
  options.for_seconds = 0.2;
  Result<VirtualRigProcess> process = VirtualRigProcess::start_real_time(options, server());
  ASSERT_TRUE(process);
  OpenPort rig{process->rig_port()};
  rig.wait_for<wire::Acknowledgement>(10.0);  // never comes: returns when the port hangs up
  EXPECT_TRUE(rig.hung_up());
  EXPECT_EQ(process->end(), 0);
}

TEST_F(VirtualRigProcessTest, RefusesALinkNameThatIsAFile) {
  std::ofstream{file("precious")} << "keep me";
  VirtualRigOptions options;
  options.rig_link = file("precious");
  const auto process = VirtualRigProcess::start_real_time(options, server());
  ASSERT_FALSE(process);
  EXPECT_EQ(text_of(file("precious")), "keep me");
}

}  // namespace
}  // namespace coldstroke::daq
