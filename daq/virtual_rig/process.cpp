// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/process.hpp"

#include <poll.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <thread>
#include <utility>

namespace coldstroke::daq {
namespace {

constexpr double kAnswerSeconds = 60.0;  // far longer than any request takes
constexpr int kNotStarted = 127;

/// In the child, between fork and exec: only calls that are safe there. Does not return.
[[noreturn]] void become(int stream, const char* executable, char* const* arguments) {
  if (::dup2(stream, STDIN_FILENO) < 0 || ::dup2(stream, STDOUT_FILENO) < 0) ::_exit(kNotStarted);
  sigset_t none;
  ::sigemptyset(&none);
  ::sigprocmask(SIG_SETMASK, &none, nullptr);
  ::setpgid(0, 0);  // a Ctrl-C at the terminal is for the host, which vents the rig and then ends it; not for both at once
  ::execv(executable, arguments);
  ::_exit(kNotStarted);
}

/// Waits up to `seconds` for the child; true once it is reaped.
bool reaped(pid_t child, int& status, double seconds) {
  const auto until = std::chrono::steady_clock::now() + std::chrono::duration<double>{seconds};
  while (true) {
    const pid_t got = ::waitpid(child, &status, WNOHANG);
    if (got == child || (got < 0 && errno == ECHILD)) return true;
    if (std::chrono::steady_clock::now() >= until) return false;
    std::this_thread::sleep_for(std::chrono::milliseconds{2});
  }
}

}  // namespace

VirtualRigProcess::VirtualRigProcess(VirtualRigProcess&& other) noexcept { *this = std::move(other); }

VirtualRigProcess& VirtualRigProcess::operator=(VirtualRigProcess&& other) noexcept {
  std::swap(child_, other.child_);
  std::swap(stream_, other.stream_);
  std::swap(exit_code_, other.exit_code_);
  std::swap(ports_, other.ports_);
  return *this;
}

VirtualRigProcess::~VirtualRigProcess() { end(); }

int VirtualRigProcess::end() {
  if (child_ < 0) return exit_code_;
  if (stream_ >= 0) ::shutdown(stream_, SHUT_WR);
  int status = 0;
  bool done = reaped(child_, status, 2.0);
  for (const int signal : {SIGTERM, SIGKILL}) {
    if (done) break;
    ::kill(child_, signal);
    done = reaped(child_, status, 2.0);
  }
  if (stream_ >= 0) ::close(stream_);
  stream_ = child_ = -1;
  exit_code_ = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  return exit_code_;
}

Result<VirtualRigProcess> VirtualRigProcess::start(const VirtualRigOptions& options, const VirtualRigProgram& program) {
  std::vector<std::string> words{program.executable};
  words.insert(words.end(), program.leading_arguments.begin(), program.leading_arguments.end());
  const std::vector<std::string> rest = arguments_of(options);
  words.insert(words.end(), rest.begin(), rest.end());
  std::vector<char*> arguments;
  arguments.reserve(words.size() + 1);
  for (std::string& word : words) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  if (::access(program.executable.c_str(), X_OK) != 0)
    return complain("The virtual rig's program cannot be run: " + std::string{std::strerror(errno)} + ".", program.executable,
                    "Name a program that is there and may be run.");
  std::array<int, 2> pair{};
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair.data()) != 0)
    return complain(std::string{"No stream to the virtual rig: "} + std::strerror(errno) + ".", program.executable,
                    "Close some files.");
  const pid_t child = ::fork();
  if (child == 0) become(pair[1], program.executable.c_str(), arguments.data());
  ::close(pair[1]);
  VirtualRigProcess process;
  process.stream_ = pair[0];
  process.child_ = child;
  if (child < 0)
    return complain(std::string{"The virtual rig cannot be started: "} + std::strerror(errno) + ".", program.executable,
                    "Try again.");
  return process;
}

Result<VirtualRigProcess> VirtualRigProcess::start_lockstep(VirtualRigOptions options, const VirtualRigProgram& program) {
  // A wrong scenario is told here, in words, before a process is made of it.
  if (const Result<Scenario> scenario = scenario_of(options); !scenario) return tl::unexpected(scenario.error());
  options.lockstep = true;
  Result<VirtualRigProcess> process = start(options, program);
  if (!process) return process;
  if (const Result<LockstepReply> first = process->exchange({}); !first) return tl::unexpected(first.error());
  return process;
}

Result<VirtualRigProcess> VirtualRigProcess::start_real_time(VirtualRigOptions options, const VirtualRigProgram& program,
                                                             double limit_seconds) {
  if (const Result<Scenario> scenario = scenario_of(options); !scenario) return tl::unexpected(scenario.error());
  options.lockstep = false;
  options.end_with_input = true;
  Result<VirtualRigProcess> process = start(options, program);
  if (!process) return process;
  if (const Result<bool> told = process->read_ports(limit_seconds); !told) return tl::unexpected(process->gone(told.error()));
  return process;
}

Result<bool> VirtualRigProcess::read_ports(double limit_seconds) {
  std::string text;
  std::byte one{};
  while (text.find("flight ") == std::string::npos || text.back() != '\n') {
    const Result<bool> got = read_exactly(stream_, {&one, 1}, limit_seconds);
    if (!got) return got;
    if (!*got || text.size() > 4096)
      return complain("The virtual rig ended before it told its ports.", "virtual rig process", "Its own message says why.");
    text.push_back(static_cast<char>(one));
  }
  const auto line = [&text](const std::string& key) {
    const std::size_t at = text.find(key) + key.size();
    return text.substr(at, text.find('\n', at) - at);
  };
  ports_[0] = line("rig ");
  ports_[1] = line("flight ");
  return true;
}

Complaint VirtualRigProcess::gone(const Complaint& cause) {
  const int code = end();
  return {cause.what, "virtual rig process, ended with code " + std::to_string(code),
          code == kNotStarted ? "Check that the program is there and may be run."
                              : "Look at what it said on standard error and start it again."};
}

Result<LockstepReply> VirtualRigProcess::exchange(const LockstepRequest& request) {
  if (stream_ < 0) return complain("The virtual rig has ended.", "virtual rig process", "Start it again.");
  LockstepReply reply;
  if (const Result<bool> put = write_all(stream_, encode(request)); !put) return tl::unexpected(gone(put.error()));
  const ReadExactly source = [this](std::span<std::byte> into) { return read_exactly(stream_, into, kAnswerSeconds); };
  const Result<bool> got = read(source, reply);
  if (!got) return tl::unexpected(gone(got.error()));
  if (!*got) return tl::unexpected(gone({"The virtual rig ended instead of answering.", "", ""}));
  return reply;
}

}  // namespace coldstroke::daq
