// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/detector/foreign_detector.hpp"

#include <fcntl.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmath>
#include <csignal>
#include <cstring>
#include <sstream>

#include "daq/setup/units.hpp"
#include "daq/virtual_rig/lockstep.hpp"

extern char** environ;

namespace coldstroke::daq {
namespace {

using analysis::Finding;
using analysis::PreparedRecording;
using analysis::StateChange;

/// The child and its line; ended when this goes.
class Child {
 public:
  static Result<Child> start(const ForeignDetector& detector, const ForeignProgram& program) {
    int pair[2];
    if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0) return cannot(detector, errno);
    std::vector<std::string> words{program.executable};
    words.insert(words.end(), program.leading_arguments.begin(), program.leading_arguments.end());
    words.insert(words.end(),
                 {detector.library.string(), shortest(detector.board.sample_rate_hz), shortest(1.0 / count_g(detector.board))});
    std::vector<char*> arguments;
    arguments.reserve(words.size() + 1);
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, pair[1], STDIN_FILENO);
    posix_spawn_file_actions_adddup2(&actions, pair[1], STDOUT_FILENO);
    // A process group of its own: Ctrl-C is for this program, which then ends the child; a child that died of it would read as a
    // crash of the team's detector.
    posix_spawnattr_t attributes;
    posix_spawnattr_init(&attributes);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP);
    posix_spawnattr_setpgroup(&attributes, 0);
    Child child;
    const int failed =
        ::posix_spawn(&child.process_, program.executable.c_str(), &actions, &attributes, arguments.data(), environ);
    posix_spawnattr_destroy(&attributes);
    posix_spawn_file_actions_destroy(&actions);
    ::close(pair[1]);
    child.line_ = pair[0];
    if (failed != 0) {
      child.process_ = -1;
      return cannot(detector, failed);
    }
    std::byte ready{};
    const auto told = read_exactly(child.line_, std::span{&ready, 1}, program.limit_seconds);
    if (!told || !*told)
      return complain("The library cannot be used: " + child.end() + ". Its own words are on standard error.",
                      detector.library.string(),
                      "Build it as daq/detector/detector_interface.h says, for this machine, with all three functions.");
    return child;
  }
  Child(Child&& other) noexcept : process_{std::exchange(other.process_, -1)}, line_{std::exchange(other.line_, -1)} {}
  Child& operator=(Child&& other) noexcept {
    std::swap(process_, other.process_);
    std::swap(line_, other.line_);
    return *this;
  }
  ~Child() { end(); }

  [[nodiscard]] int line() const { return line_; }

  /// Ends it and says how it ended.
  std::string end() {
    if (line_ >= 0) ::close(std::exchange(line_, -1));
    if (process_ < 0) return "it is gone";
    const pid_t process = std::exchange(process_, -1);
    int status = 0;
    // A child that ended by itself keeps its own cause; one that did not is not asked twice.
    for (int turn = 0; turn < 50; ++turn) {
      const pid_t ended = ::waitpid(process, &status, WNOHANG);
      if (ended == process) return cause(status);
      ::usleep(2000);
    }
    ::kill(process, SIGKILL);
    ::waitpid(process, &status, 0);
    return "it did not end by itself";
  }

 private:
  Child() = default;
  static tl::unexpected<Complaint> cannot(const ForeignDetector& detector, int error) {
    return complain(std::string{"The child process for the library cannot be started: "} + std::strerror(error) + ".",
                    detector.library.string(), "Free some processes or memory and try again.");
  }
  static std::string cause(int status) {
    if (WIFSIGNALED(status))
      return std::string{"ended by signal "} + std::to_string(WTERMSIG(status)) + " (" + strsignal(WTERMSIG(status)) + ")";
    return "ended with exit code " + std::to_string(WEXITSTATUS(status));
  }
  pid_t process_ = -1;
  int line_ = -1;
};

std::vector<StateChange> changes_of(std::span<const std::uint8_t> states) {
  std::vector<StateChange> out;
  std::uint8_t before = 0;
  for (std::size_t k = 0; k < states.size(); ++k) {
    if (states[k] != before) out.push_back({k, static_cast<analysis::DetectorState>(states[k])});
    before = states[k];
  }
  return out;
}

std::optional<std::vector<std::uint8_t>> ask(Child& child, const PreparedRecording& recording, double limit_seconds, bool& hung) {
  const auto count = static_cast<std::uint32_t>(recording.counts.size());
  if (!write_all(child.line(), std::as_bytes(std::span{&count, 1})) ||
      !write_all(child.line(), std::as_bytes(std::span{recording.counts})))
    return std::nullopt;
  std::uint32_t answered = 0;
  std::vector<std::uint8_t> states(count);
  for (const std::span<std::byte> part :
       {std::as_writable_bytes(std::span{&answered, 1}), std::as_writable_bytes(std::span{states})}) {
    if (part.empty()) continue;
    const auto got = read_exactly(child.line(), part, limit_seconds);
    hung = !got && got.error().what.find("in time") != std::string::npos;
    if (!got || !*got || answered != count) return std::nullopt;
  }
  return states;
}

ForeignAnswer answer_of(const ForeignDetector& detector, const PreparedRecording& recording,
                        std::span<const std::uint8_t> states) {
  for (std::size_t k = 0; k < states.size(); ++k)
    if (states[k] > 3)
      return {{},
              Finding{"foreign_bad_state", recording.name,
                      "\"" + detector.name + "\" gave a value that is no state at sample " + std::to_string(k) + "."}};
  return {changes_of(states), std::nullopt};
}

}  // namespace

Result<std::vector<ForeignAnswer>> run_foreign(const ForeignDetector& detector, std::span<const PreparedRecording> recordings,
                                               const ForeignProgram& program, const std::function<bool()>& stop) {
  std::vector<ForeignAnswer> out;
  std::optional<Child> child;
  for (const PreparedRecording& recording : recordings) {
    if (stop && stop()) return complain("Stopped by the person.", "\"" + detector.name + "\"", "Start again when ready.");
    if (!child) {
      auto started = Child::start(detector, program);
      if (!started) return tl::unexpected{started.error()};
      child.emplace(std::move(*started));
    }
    bool hung = false;
    if (const auto states = ask(*child, recording, program.limit_seconds, hung)) {
      out.push_back(answer_of(detector, recording, *states));
      continue;
    }
    const std::string how = child->end();
    child.reset();
    std::ostringstream message;
    message << '"' << detector.name << "\" "
            << (hung ? "gave no answer within " + shortest(program.limit_seconds) + " s" : "crashed: " + how) << " on \""
            << recording.name << "\".";
    out.push_back({{}, Finding{hung ? "foreign_hung" : "foreign_crashed", recording.name, message.str()}});
  }
  return out;
}

}  // namespace coldstroke::daq
