// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/virtual_rig/serve.hpp"

#include <poll.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <thread>

#include "daq/setup/units.hpp"
#include "daq/virtual_rig/lockstep.hpp"
#include "daq/virtual_rig/pseudo_terminal.hpp"
#include "daq/virtual_rig/virtual_rig.hpp"

namespace coldstroke::daq {
namespace {

using SteadyClock = std::chrono::steady_clock;
constexpr std::int64_t kBatchUs = 1000;   // boards talk in millisecond batches: a reader's cost follows its wake-ups
constexpr std::int64_t kSlipUs = 100000;  // behind by more, the process was not let run: bench time stands still for that long

volatile std::sig_atomic_t stop_asked = 0;
void ask_stop(int) { stop_asked = 1; }
volatile std::sig_atomic_t plug_pulled = 0;
void move_plug(int) { plug_pulled = plug_pulled == 0 ? 1 : 0; }

/// Handlers for the time of one run; what was there before comes back.
class StopSignals {
 public:
  StopSignals() {
    stop_asked = 0;
    plug_pulled = 0;
    struct sigaction action {};
    action.sa_handler = ask_stop;
    for (std::size_t i = 0; i < kSignals.size(); ++i) ::sigaction(kSignals[i], &action, &before_[i]);
    action.sa_handler = move_plug;
    ::sigaction(SIGUSR1, &action, &plug_before_);
    action.sa_handler = SIG_IGN;
    ::sigaction(SIGPIPE, &action, &pipe_before_);
  }
  ~StopSignals() {
    for (std::size_t i = 0; i < kSignals.size(); ++i) ::sigaction(kSignals[i], &before_[i], nullptr);
    ::sigaction(SIGUSR1, &plug_before_, nullptr);
    ::sigaction(SIGPIPE, &pipe_before_, nullptr);
  }
  StopSignals(const StopSignals&) = delete;
  StopSignals& operator=(const StopSignals&) = delete;

 private:
  static constexpr std::array kSignals{SIGINT, SIGTERM};
  std::array<struct sigaction, 2> before_{};
  struct sigaction plug_before_ {};
  struct sigaction pipe_before_ {};
};

/// JSON lines to a file, each there as soon as its ejection is over.
class TruthFile {
 public:
  static Result<TruthFile> open(const std::string& name) {
    TruthFile file;
    if (name.empty()) return file;
    file.out_.open(name, std::ios::app);
    if (!file.out_) return complain("The truth file cannot be written.", name, "Name a place that can be written.");
    return file;
  }
  void write(VirtualRig& rig) {
    for (const EjectionTruth& truth : rig.take_truth()) line(truth);
  }
  void finish(VirtualRig& rig) {
    write(rig);
    if (const std::optional<EjectionTruth> truth = rig.unfinished_truth()) line(*truth);
  }

 private:
  void line(const EjectionTruth& truth) {
    if (out_.is_open()) out_ << truth.json() << "\n" << std::flush;
  }
  std::ofstream out_;
};

/// The rig board as seen from beside the rig, a JSON line at each change, there at once: what a test of a dead host reads.
class BoardLog {
 public:
  static Result<BoardLog> open(const std::string& name) {
    BoardLog log;
    if (name.empty()) return log;
    log.out_.open(name, std::ios::app);
    if (!log.out_) return complain("The board log cannot be written.", name, "Name a place that can be written.");
    return log;
  }
  /// The machine did not let this process run: bench time stood still, and so did the board.
  void stood_still(double seconds) {
    if (!out_.is_open()) return;
    const double now = std::chrono::duration<double>(SteadyClock::now().time_since_epoch()).count();
    out_ << nlohmann::ordered_json{{"machine_seconds", now}, {"stood_still_seconds", seconds}}.dump() << "\n" << std::flush;
  }
  void follow(const VirtualRig& rig) {
    if (!out_.is_open()) return;
    const RigBoardState state = rig.rig_board();
    if (seen_ && *seen_ == state) return;
    seen_ = state;
    static constexpr std::array kSteps{"vented", "charging", "holding", "released"};
    const bool vented = (state.readback & (CS_VALVE_CHARGE | CS_VALVE_VENT | CS_VALVE_FAST_1 | CS_VALVE_FAST_2)) == CS_VALVE_VENT;
    const nlohmann::ordered_json line{
        {"machine_seconds", std::chrono::duration<double>(SteadyClock::now().time_since_epoch()).count()},
        {"bench_seconds", static_cast<double>(rig.now_us()) * 1.0e-6},
        {"step", kSteps.at(state.step)},
        {"outputs", state.outputs},
        {"readback", state.readback},
        {"faults", state.faults},
        {"vented", vented},
        {"supply_pascals", rig.physics().loads().supply_pascals}};
    out_ << line.dump() << "\n" << std::flush;
  }

 private:
  std::ofstream out_;
  std::optional<RigBoardState> seen_;
};

/// The two ports with what a host needs to find them.
class Ports {
 public:
  static Result<Ports> open(const VirtualRigOptions& options) {
    Result<PseudoTerminal> rig = PseudoTerminal::open(options.rig_link);
    if (!rig) return tl::unexpected(rig.error());
    Result<PseudoTerminal> flight = PseudoTerminal::open(options.flight_link);
    if (!flight) return tl::unexpected(flight.error());
    Ports ports{std::move(*rig), std::move(*flight), options.ports_file};
    if (Result<bool> told = ports.tell(); !told) return tl::unexpected(told.error());
    return ports;
  }

  PseudoTerminal& operator[](Node node) { return node == Node::rig ? rig_ : flight_; }

  /// What a pulled plug does to a port, once at each change.
  Result<bool> follow(const VirtualRig& rig) {
    if (const bool pulled = plug_pulled != 0; pulled == rig_.is_open()) {
      if (pulled) rig_.hang_up();
      if (!pulled) {
        if (Result<bool> opened = rig_.reopen(); !opened) return opened;
        if (Result<bool> told = tell(); !told) return told;
      }
    }
    const bool up = rig.port_up(Node::flight);
    if (up == flight_.is_open()) return true;
    if (!up) {
      flight_.hang_up();
      return true;
    }
    if (Result<bool> opened = flight_.reopen(); !opened) return opened;
    return tell();
  }

 private:
  Ports(PseudoTerminal rig, PseudoTerminal flight, std::string file)
      : rig_{std::move(rig)}, flight_{std::move(flight)}, file_{std::move(file)} {}

  Result<bool> tell() {
    const std::string text = "rig " + rig_.name() + "\nflight " + flight_.name() + "\n";
    if (const Result<bool> written = write_file(text); !written) return written;
    std::fputs(text.c_str(), stdout);
    std::fflush(stdout);
    return true;
  }

  Result<bool> write_file(const std::string& text) const {
    if (file_.empty()) return true;
    // Written beside and renamed: whoever waits for the file finds it whole.
    const std::string fresh = file_ + ".new";
    {
      std::ofstream out{fresh, std::ios::trunc};
      out << text;
      if (!out.flush()) return complain("The ports file cannot be written.", file_, "Name a place that can be written.");
    }
    std::error_code error;
    std::filesystem::rename(fresh, file_, error);
    if (error)
      return complain("The ports file cannot be written: " + error.message() + ".", file_, "Name a place that can be written.");
    return true;
  }

  PseudoTerminal rig_, flight_;
  std::string file_;
};

bool input_ended() {
  pollfd input{STDIN_FILENO, POLLIN, 0};
  if (::poll(&input, 1, 0) <= 0) return false;
  std::array<char, 64> ignored;
  return ::read(STDIN_FILENO, ignored.data(), ignored.size()) == 0;
}

std::int64_t microseconds_since(SteadyClock::time_point start) {
  return std::chrono::duration_cast<std::chrono::microseconds>(SteadyClock::now() - start).count();
}

}  // namespace

std::string origin_of(const VirtualRigOptions& options) {
  std::string text = "virtual rig, scenario " + options.scenario + ", seed " + std::to_string(options.seed);
  for (const std::string& fault : options.faults) text += ", fault " + fault;
  return text;
}

std::vector<std::string> arguments_of(const VirtualRigOptions& options) {
  std::vector<std::string> out{"--scenario", options.scenario, "--seed", std::to_string(options.seed)};
  const auto add = [&out](const char* name, const std::string& value) {
    if (value.empty()) return;
    out.emplace_back(name);
    out.push_back(value);
  };
  for (const std::string& fault : options.faults) add("--fault", fault);
  add("--truth", options.truth_file);
  add("--board-log", options.board_log_file);
  add("--ports-file", options.ports_file);
  add("--rig-link", options.rig_link);
  add("--flight-link", options.flight_link);
  if (options.for_seconds) add("--for", shortest(*options.for_seconds));
  if (options.lockstep) out.emplace_back("--lockstep");
  if (options.end_with_input) out.emplace_back("--end-with-input");
  return out;
}

Result<Scenario> scenario_of(const VirtualRigOptions& options) {
  Result<Scenario> scenario = load_scenario(options.scenario);
  if (!scenario) return scenario;
  for (const std::string& text : options.faults) {
    Result<Fault> fault = parse_fault(text);
    if (!fault) return tl::unexpected(fault.error());
    scenario->faults.push_back(*fault);
  }
  return scenario;
}

Result<int> run_virtual_rig(const VirtualRigOptions& options) {
  const Result<Scenario> scenario = scenario_of(options);
  if (!scenario) return tl::unexpected(scenario.error());
  return options.lockstep ? serve_lockstep(STDIN_FILENO, STDOUT_FILENO, *scenario, options) : serve_real_time(*scenario, options);
}

Result<int> serve_real_time(const Scenario& scenario, const VirtualRigOptions& options) {
  const StopSignals signals;
  Result<TruthFile> truth = TruthFile::open(options.truth_file);
  if (!truth) return tl::unexpected(truth.error());
  Result<BoardLog> board_log = BoardLog::open(options.board_log_file);
  if (!board_log) return tl::unexpected(board_log.error());
  Result<Ports> ports = Ports::open(options);
  if (!ports) return tl::unexpected(ports.error());
  VirtualRig rig{scenario, options.seed};
  SteadyClock::time_point start = SteadyClock::now();
  std::int64_t slipped_us = 0;
  const auto over = [&] {
    return stop_asked != 0 || (options.for_seconds && static_cast<double>(rig.now_us()) * 1.0e-6 >= *options.for_seconds) ||
           (options.end_with_input && input_ended());
  };
  while (!over()) {
    std::this_thread::sleep_until(start + std::chrono::microseconds{rig.now_us() + kBatchUs});
    // looked at once a turn: whatever delays the turn itself shows in the next one, and no time passes unnoticed
    std::int64_t turn_us = microseconds_since(start);
    const std::int64_t behind_us = turn_us - rig.now_us();
    if (behind_us > kSlipUs) {
      start += std::chrono::microseconds{behind_us - kBatchUs};
      turn_us -= behind_us - kBatchUs;
      slipped_us += behind_us - kBatchUs;
      board_log->stood_still(static_cast<double>(behind_us) * 1.0e-6);
    }
    for (const Node node : {Node::rig, Node::flight})
      if (const std::vector<std::byte> bytes = (*ports)[node].read(); !bytes.empty()) rig.host_bytes(node, bytes);
    rig.advance_to(turn_us);
    board_log->follow(rig);
    for (const Node node : {Node::rig, Node::flight})
      for (const StampedBytes& chunk : rig.take(node)) (*ports)[node].write(chunk.bytes);
    if (Result<bool> followed = ports->follow(rig); !followed) return tl::unexpected(followed.error());
    truth->write(rig);
  }
  truth->finish(rig);
  std::printf("dropped because nobody read: rig %llu bytes, flight %llu bytes; stood still %.3f s\n",
              static_cast<unsigned long long>((*ports)[Node::rig].dropped_bytes()),
              static_cast<unsigned long long>((*ports)[Node::flight].dropped_bytes()), static_cast<double>(slipped_us) * 1.0e-6);
  std::fflush(stdout);
  return 0;
}

Result<int> serve_lockstep(int in_fd, int out_fd, const Scenario& scenario, const VirtualRigOptions& options) {
  const StopSignals signals;
  Result<TruthFile> truth = TruthFile::open(options.truth_file);
  if (!truth) return tl::unexpected(truth.error());
  Result<BoardLog> board_log = BoardLog::open(options.board_log_file);
  if (!board_log) return tl::unexpected(board_log.error());
  VirtualRig rig{scenario, options.seed};
  const ReadExactly source = [in_fd](std::span<std::byte> into) { return read_exactly(in_fd, into); };
  LockstepRequest request;
  while (stop_asked == 0) {
    const Result<bool> got = read(source, request);
    if (!got || !*got) {
      truth->finish(rig);
      if (!got) return tl::unexpected(got.error());
      return 0;
    }
    if (request.advance_to_us < rig.now_us() || request.advance_to_us > rig.now_us() + kLockstepAdvanceMaxUs) {
      truth->finish(rig);
      return complain("A lock-step request asks for a time before now or more than 10 s ahead.",
                      "lock-step stream of the virtual rig", "Move bench time on in smaller steps.");
    }
    if (Result<bool> put = write_all(out_fd, encode(exchange(rig, request))); !put) {
      truth->finish(rig);
      return tl::unexpected(put.error());
    }
    truth->write(rig);
    board_log->follow(rig);
  }
  truth->finish(rig);
  return 0;
}

}  // namespace coldstroke::daq
