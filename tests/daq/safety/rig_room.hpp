// SPDX-License-Identifier: GPL-3.0-or-later
//
// A room with a rig in it: the bench, an archive on disk, the virtual rig as a process of its own, in lock-step or (the program
// built with COLDSTROKE_OVER_PORTS) over two pseudo-terminals in real time, and two people who do what they are told to. Unlike
// the product's runs, nobody here is unattended: the checklist is signed by name, and the bench believes that its rig is real.
#pragma once

#include <array>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daq/bench/bench.hpp"
#include "daq/virtual_rig/process.hpp"
#include "tests/daq/virtual_rig/bench_host.hpp"

namespace coldstroke::daq {

/// What the people do by themselves.
struct People {
  bool sign = true;         ///< both sign the checklist when it may be signed
  bool aim = true;          ///< one types the setup's pressure as the target
  bool act = true;          ///< take the next action whenever it is allowed
  bool acknowledge = true;  ///< of the next actions: acknowledging too
  bool release = true;      ///< of the next actions: starting the count too
};

struct RoomOptions {
  std::string scenario = "steady";    ///< built-in name, or the text of a scenario (it then holds a line end)
  std::vector<std::string> faults{};  ///< as --fault takes them
  std::uint64_t seed = 5;
  std::string setup_text{};  ///< empty: that of the virtual rig
  Surroundings surroundings{"2026-07-01", 1'000'000'000'000, true};
  People people{};
};

class Room {
 public:
  explicit Room(RoomOptions options);
  ~Room();
  Room(const Room&) = delete;
  Room& operator=(const Room&) = delete;

  /// Time passes.
  void run(double seconds);
  /// Until `done` or the time is over; true if done.
  bool until(const std::function<bool()>& done, double limit_seconds);
  bool until_step(Step step, double limit_seconds);
  /// Until the bench is back in idle (or the time is over) after a trial that began.
  bool until_trial_ended(double limit_seconds);

  [[nodiscard]] Bench& bench() { return *bench_; }
  [[nodiscard]] BenchView view() const { return bench_->view(now()); }
  [[nodiscard]] HostTime now() const { return at_us<HostTime>(now_us_); }
  void ask(OperatorRequest request);
  [[nodiscard]] const InterlockLine* interlock(const std::string& name);  ///< of the present list, or nullptr
  /// All log lines so far, one under the other.
  [[nodiscard]] const std::string& said();
  /// Steps as the bench went through them, "idle checks charging ...".
  [[nodiscard]] const std::string& path() const { return path_; }
  [[nodiscard]] const std::vector<LastTrial>& ended() const { return ended_; }
  /// Valves as the rig board reads them back now.
  [[nodiscard]] std::uint16_t rig_readback() const { return rig_readback_; }
  [[nodiscard]] bool rig_vented() const;  ///< only the vent open
  [[nodiscard]] bool vent_open() const;   ///< and the charge valve shut, whatever the fast valves do
  [[nodiscard]] double bar() const { return view().pressure_pascals.value_or(-1.0) / 1.0e5; }

  /// Somebody else's program says this to the flight board.
  void tell_flight_board(const wire::Message& message);

  /// The program is gone without a word, as if killed; the rig lives on.
  void host_dies();
  /// The program does not run for so long, as if stopped; the rig and what it says go on.
  void host_stands_still(double seconds);
  /// A new program on the same rig and the same campaign file.
  void host_starts();

  People people;
  Surroundings surroundings;
  [[nodiscard]] const std::filesystem::path& campaign_file() const { return file_; }

 private:
  void turn(bool host_runs = true);
  void act();
  void start_rig(VirtualRigOptions rig);
  void follow_ports(const std::array<bool, 2>& port_up);
  void follow_step();
  void read_log(const BenchView& now_view);
  void listen(const LockstepReply& reply);
  Setup setup_;
  std::filesystem::path folder_, file_;
  std::optional<VirtualRigProcess> rig_;
  Exchange exchange_;
  std::array<bool, 2> port_up_{true, true};
  std::unique_ptr<Recorder> recorder_;
  std::unique_ptr<Bench> bench_;
  std::int64_t now_us_ = 0;
  std::uint32_t sessions_ = 0;
  std::string said_, path_;
  std::string log_last_;
  Step step_seen_ = Step::idle;
  std::vector<LastTrial> ended_;
  std::vector<LockstepReply::Chunk> waiting_;  ///< said to a host that stands still
  std::vector<std::byte> foreign_;             ///< for the flight board, not from the bench
  wire::Decoder ear_;                          // hears what the rig board says even when no host runs
  std::uint16_t rig_readback_ = 0;
};

}  // namespace coldstroke::daq
