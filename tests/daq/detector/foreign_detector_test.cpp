// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/foreign_detector.hpp"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <thread>

#include "tests/daq/record/fresh_folder.hpp"

namespace coldstroke::daq {
namespace {

using analysis::DetectorState;
using analysis::PreparedRecording;
using analysis::StateChange;
using testing::ElementsAre;
using testing::HasSubstr;

ForeignDetector detector(const char* library) { return {"own", library, analysis::Axis::z, {2000.0, 16, 64.0}}; }
ForeignProgram program(double limit_seconds = 20.0) { return {COLDSTROKE_PROGRAM, {"foreign-detector"}, limit_seconds}; }

PreparedRecording recording(const std::string& name, std::vector<std::int32_t> counts) {
  PreparedRecording out;
  out.name = name;
  out.counts = std::move(counts);
  return out;
}

TEST(ForeignDetector, TheExampleOfTheDocsDecidesWhereItSays) {
  std::vector<std::int32_t> counts(400, 512);  // 1 g at 512 counts a g
  for (std::size_t k = 200; k < 300; ++k) counts[k] = 512 + 10 * 512;
  const std::vector<PreparedRecording> recordings{recording("pulse", counts),
                                                  recording("still", std::vector<std::int32_t>(400, 512))};
  const auto answers = run_foreign(detector(FOREIGN_EXAMPLE), recordings, program());
  ASSERT_TRUE(answers) << answers.error().what;
  EXPECT_THAT(answers->at(0).changes,
              ElementsAre(StateChange{200, DetectorState::building}, StateChange{219, DetectorState::decided}));
  EXPECT_EQ(decision_of(answers->at(0).changes), 219U);
  EXPECT_THAT(answers->at(1).changes, testing::IsEmpty()) << "each recording starts a detector of its own";
  EXPECT_FALSE(answers->at(0).finding);
}

/// Good, bad, good: what goes wrong in the middle is a finding and the third is run all the same.
std::vector<ForeignAnswer> around_a_fault(const char* library, double limit_seconds) {
  const std::vector<PreparedRecording> recordings{recording("first", {0, 0, 1000}), recording("second", {0, -2000, 1000}),
                                                  recording("third", {0, 1000, 0})};
  auto answers = run_foreign(detector(library), recordings, program(limit_seconds));
  EXPECT_TRUE(answers) << answers.error().what;
  EXPECT_EQ(decision_of(answers->at(0).changes), 2U);
  EXPECT_EQ(decision_of(answers->at(2).changes), 1U);
  EXPECT_TRUE(answers->at(1).finding);
  EXPECT_EQ(answers->at(1).finding->channel, "second");
  return std::move(*answers);
}

TEST(ForeignDetector, ACrashIsAFindingOfItsRecording) {
  const auto answers = around_a_fault(FOREIGN_CRASH, 20.0);
  EXPECT_EQ(answers[1].finding->kind, "foreign_crashed");
  EXPECT_THAT(answers[1].finding->message, HasSubstr("signal 11"));
}

TEST(ForeignDetector, AnEndlessLoopIsEndedAndIsAFinding) {
  const auto answers = around_a_fault(FOREIGN_LOOP, 2.0);
  EXPECT_EQ(answers[1].finding->kind, "foreign_hung");
  EXPECT_THAT(answers[1].finding->message, HasSubstr("2 s"));
}

TEST(ForeignDetector, AValueThatIsNoStateIsAFinding) {
  const auto answers = around_a_fault(FOREIGN_BAD_STATE, 20.0);
  EXPECT_EQ(answers[1].finding->kind, "foreign_bad_state");
  EXPECT_THAT(answers[1].finding->message, HasSubstr("sample 1"));
}

TEST(ForeignDetector, IsStoppedBetweenRecordings) {
  const std::vector<PreparedRecording> recordings{recording("one", {0}), recording("two", {0})};
  int asked = 0;
  const auto answers = run_foreign(detector(FOREIGN_EXAMPLE), recordings, program(), [&] { return ++asked > 1; });
  ASSERT_FALSE(answers);
  EXPECT_EQ(asked, 2);
  EXPECT_THAT(answers.error().what, HasSubstr("Stopped"));
}

/// The program replaying a detector that never comes back, in a process group of its own, as a shell starts it; and its child.
class ReplayOfALoop : public testing::Test {
 protected:
  void SetUp() override {
    std::ofstream{folder / "library.toml"} << R"([[recording]]
from = "pulse"
name = "stroke"
shape = "half_sine"
peak_g = 14.0
duration_seconds = 0.045
deadline_seconds = 0.060

[[recording]]
from = "variant"
name = "hung upside down"
of = "stroke"
offset_g = -10.0

[[recording]]
from = "handling"
name = "knock"
event = "tube_knock"
)";
    std::ofstream{folder / "detectors.toml"} << R"([[detector]]
name = "own"
kind = "foreign"
library = ")" << FOREIGN_LOOP << R"("
[detector.board]
sample_rate_hz = 2000.0
bits = 16
range_g = 64.0
)";
    const std::string table = (folder / "detectors.toml").string(), library = (folder / "library.toml").string(),
                      said = (folder / "said.txt").string();
    process = ::fork();
    ASSERT_GE(process, 0);
    if (process == 0) {
      ::setpgid(0, 0);
      const int file = ::open(said.c_str(), O_CREAT | O_WRONLY | O_TRUNC, 0600);
      ::dup2(file, STDOUT_FILENO);
      ::dup2(file, STDERR_FILENO);
      ::execl(COLDSTROKE_PROGRAM, COLDSTROKE_PROGRAM, "detector", "replay", table.c_str(), library.c_str(), nullptr);
      ::_exit(127);
    }
    ::setpgid(process, process);
    ASSERT_TRUE(within(20.0, [this] { return child() > 0; }));
    // In the loop, not on the way to it: it has used more processor time than loading takes.
    ASSERT_TRUE(within(20.0, [this] { return ticks(child()) > 30; }));
  }
  void TearDown() override {
    if (process > 0) ::kill(process, SIGKILL), ::waitpid(process, nullptr, 0);
  }
  template <class Done>
  static bool within(double seconds, Done done) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::duration<double>{seconds};
    while (!done()) {
      if (std::chrono::steady_clock::now() > end) return false;
      std::this_thread::yield();
    }
    return true;
  }
  /// Field `field` of /proc/PID/stat, counted from 1; those after the name.
  static long stat(pid_t pid, int field) {
    std::ifstream in{"/proc/" + std::to_string(pid) + "/stat"};
    std::string text{std::istreambuf_iterator<char>{in}, {}};
    std::istringstream rest{text.substr(std::min(text.size(), text.rfind(')') + 4))};
    long value = -1;
    for (int at = 4; at <= field; ++at) rest >> value;
    return rest ? value : -1;
  }
  static long ticks(pid_t pid) { return pid > 0 ? stat(pid, 14) : -1; }
  pid_t child() const {
    for (const auto& entry : std::filesystem::directory_iterator{"/proc"}) {
      const pid_t pid = std::atoi(entry.path().filename().c_str());
      if (pid > 0 && stat(pid, 4) == process) return pid;
    }
    return 0;
  }
  std::string said() const {
    std::ifstream in{folder / "said.txt"};
    return {std::istreambuf_iterator<char>{in}, {}};
  }
  FreshFolder folder;
  pid_t process = -1;
};

TEST_F(ReplayOfALoop, CtrlCIsForTheProgramAndNoCrashOfTheDetector) {
  const pid_t looping = child();
  ASSERT_EQ(::kill(-process, SIGINT), 0);
  int status = 0;
  ASSERT_TRUE(within(20.0, [&] { return ::waitpid(process, &status, WNOHANG) == process; }));
  process = -1;
  ASSERT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 2) << said();
  EXPECT_THAT(said(), HasSubstr("Stopped by the person"));
  EXPECT_THAT(said(), testing::Not(HasSubstr("crashed")));
  EXPECT_TRUE(within(5.0, [&] { return ::kill(looping, 0) != 0; })) << "the child is gone too";
}

TEST_F(ReplayOfALoop, TheChildEndsWithAProgramThatWasKilled) {
  const pid_t looping = child();
  ASSERT_EQ(::kill(process, SIGKILL), 0);
  ::waitpid(process, nullptr, 0);
  process = -1;
  EXPECT_TRUE(within(5.0, [&] { return ::kill(looping, 0) != 0 || stat(looping, 4) < 0; }));
}

TEST(ForeignDetector, ALibraryThatCannotBeUsedIsRefused) {
  const std::vector<PreparedRecording> recordings{recording("one", {0})};
  for (const char* library : {FOREIGN_LACKING, "/nowhere/none.so", COLDSTROKE_SOURCE_DIR "/README.md"}) {
    const auto answers = run_foreign(detector(library), recordings, program());
    ASSERT_FALSE(answers) << library;
    EXPECT_THAT(answers.error().what, HasSubstr("exit code 3"));
    EXPECT_EQ(answers.error().where, library);
  }
}

}  // namespace
}  // namespace coldstroke::daq
