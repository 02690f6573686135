// SPDX-License-Identifier: GPL-3.0-or-later
//
// The bench: what two boards say, what a person asks and what time it is go in; bytes to write, rows to keep and a view come out.
// No thread, port or timer in here: the live bench and the lock-step bench drive the very same object.
#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daq/bench/bench_view.hpp"
#include "daq/bench/board_dialogue.hpp"
#include "daq/bench/live_channels.hpp"
#include "daq/bench/read_back.hpp"
#include "daq/record/recorder.hpp"
#include "daq/record/trial_archive.hpp"
#include "daq/sequence/interlocks.hpp"
#include "daq/stream/clock_alignment.hpp"
#include "daq/stream/node_session.hpp"

namespace coldstroke::daq {

class Bench {
 public:
  struct Options {
    Setup setup;
    bool virtual_rig = false;
    std::string origin = "bench";  ///< stored with each trial
    std::int64_t first_trial = 1;  ///< number of the next trial, for the screen
    std::string campaign_file, campaign_name;
    std::uint32_t session_seed = 1;  ///< differs from opening to opening, so that stale answers are known
  };
  Bench(Options options, Recorder& recorder);

  // what happens
  void port_opened(Node node, HostTime now);
  void port_lost(Node node, HostTime now, const std::string& why);
  void receive(Node node, HostTime arrival, std::span<const std::byte> bytes);
  void tick(HostTime now);  ///< every few milliseconds
  void request(OperatorRequest request, HostTime now);
  void add_note(HostTime now, const std::string& author, const std::string& text);
  /// A role signs the checklist of the running trial, having confirmed every item of it. A complaint says why not, and nothing
  /// changes.
  Result<void> sign(HostTime now, const std::string& role, const std::string& name, const std::vector<std::string>& confirmed);
  /// Go on although this interlock does not hold, for this trial only; the reason is stored with it.
  Result<void> bypass(HostTime now, const std::string& interlock, const std::string& reason);
  /// The charge that a person typed for the running trial, gauge; it overrules the setup's target for this trial only.
  Result<void> set_target(HostTime now, double pascals);
  /// Date, disk and setup file as they are now: the driver reads them, about once a second.
  void set_surroundings(Surroundings surroundings) { surroundings_ = std::move(surroundings); }

  // what it wants done
  /// Bytes to write to a port now; they are in the raw record already.
  [[nodiscard]] std::vector<std::byte> take_output(Node node, HostTime now);
  /// A trial whose record is complete and committed: judge it (possibly elsewhere) and hand the result back.
  [[nodiscard]] std::optional<std::int64_t> take_trial_to_judge();
  void judged(std::int64_t trial, const Result<JudgedTrial>& judged, HostTime now);
  /// Trials finished since the last call: judged, aborted or hung.
  [[nodiscard]] std::vector<LastTrial> take_finished();

  [[nodiscard]] BenchView view(HostTime now) const;
  [[nodiscard]] std::shared_ptr<const History> history(std::size_t channel) const { return live_.history(channel); }
  [[nodiscard]] Step step() const { return step_; }
  [[nodiscard]] const Setup& setup() const { return options_.setup; }
  /// Ends a trial that no one will finish, as aborted: before the program goes.
  void leave(HostTime now);
  /// Vented and nothing running: safe to leave.
  [[nodiscard]] bool at_rest() const;

 private:
  struct BoardSide {
    explicit BoardSide(Node node) : session{node} {}
    NodeSession session;
    BoardDialogue dialogue;
    std::string port_trouble;
    std::optional<std::uint32_t> boot_count;
    bool restarted_in_trial = false;
  };
  BoardSide& side(Node node) { return sides_[static_cast<std::size_t>(node)]; }
  [[nodiscard]] const BoardSide& side(Node node) const { return sides_[static_cast<std::size_t>(node)]; }

  void hear(Node node, const wire::Message& message, HostTime now);
  void follow_restart(Node node, const wire::Message& message, HostTime now);
  void open_session(Node node, HostTime now);
  void hear_rig(const wire::Message& message, HostTime now);
  void hear_rig_event(const wire::Event& event, HostTime now);
  void use_token(const wire::TokenGrant& grant, HostTime now);
  void follow_lid(const wire::RigState& state, HostTime now);
  [[nodiscard]] Readings readings(HostTime now) const;
  void read_boards(Readings& r, HostTime now) const;
  void read_pressure(Readings& r, HostTime now) const;
  [[nodiscard]] bool rig_vented_itself() const;
  [[nodiscard]] std::uint64_t archive_needed_bytes() const;
  [[nodiscard]] bool stood_still(HostTime now) const;  ///< now or just before: whatever asks for gas is stale
  void look(HostTime now);                             ///< turns readings into at most one event
  void follow_pressure(const Readings& readings, HostTime now);
  bool handle(SequenceEvent event, HostTime now);
  void perform(Action action, HostTime now);
  void enter(Step step, HostTime now);
  void seek_token(wire::CommandCode purpose, HostTime now);
  void keep_commanded(HostTime now);  ///< what must stay so is commanded again until the board reads it back
  void sign_virtual_rig(HostTime now);
  void keep_bypass(HostTime now, const Bypass& bypass);
  void open_trial(HostTime now);
  void end_trial(TrialStatus status, const std::string& verdict, const std::string& sentence);
  void start_judging(HostTime now);
  void note_line(HostTime now, std::string text);
  void keep(HostTime now, std::string kind, std::string text);  ///< into the record and the log
  void hand_over();                                             ///< queued rows to the recorder
  [[nodiscard]] NextAction next_action(const Readings& readings) const;
  [[nodiscard]] std::vector<InterlockLine> interlock_lines(const Readings& readings) const;
  [[nodiscard]] ChecklistView checklist_view() const;
  [[nodiscard]] Headline headline(const Readings& readings) const;
  [[nodiscard]] LinkView link_view(Node node, HostTime now) const;
  [[nodiscard]] std::vector<StepLine> ladder(HostTime now) const;
  [[nodiscard]] InterlockList shown_interlocks(const Readings& readings) const;

  Options options_;
  Recorder& recorder_;
  std::array<BoardSide, 2> sides_{BoardSide{Node::rig}, BoardSide{Node::flight}};
  LiveChannels live_;
  ReadBack read_back_;
  std::uint32_t sessions_ = 0;

  Step step_ = Step::idle;
  HostTime entered_{}, now_{};
  std::optional<HostTime> deadline_;
  std::optional<HostTime> steady_since_, low_since_, keep_clear_until_, held_since_;
  bool want_safe_ = true;  ///< until a charge: whatever a program before this one left is vented
  HostTime safe_again_{}, lid_again_{};
  std::optional<bool> want_lid_open_;
  std::optional<std::uint64_t> lid_shutting_since_us_;  ///< rig node time of the command to shut, until the switch answers
  std::optional<double> lid_closing_seconds_;           ///< of the running or last trial
  struct VentStart {
    HostTime time{};
    double pascals = 0.0;
    bool running = false;  ///< a hand valve: not before the pressure falls
  };
  std::optional<VentStart> vent_start_;
  std::uint16_t faults_seen_ = 0;  ///< of the rig board's newest state
  bool rig_held_gas_ = false;      ///< in this trial the board was seen charging
  Surroundings surroundings_;
  std::vector<Signature> signatures_;
  std::vector<Bypass> bypasses_;
  std::optional<double> typed_target_;  ///< for the running trial
  double setup_target_pascals_ = 0.0;   ///< what the setup says
  std::string alarm_;
  // a token asked for and not yet used
  wire::CommandCode token_purpose_ = wire::CommandCode::vent;
  std::uint16_t token_request_ = 0, gas_command_ = 0;
  std::optional<HostTime> token_until_;
  bool gas_refused_ = false;

  // the running trial
  std::int64_t trial_ = 0;  ///< 0: none open
  bool recording_trial_ = false, aborted_ = false, hung_ = false;
  std::string stop_reason_;
  std::optional<std::int64_t> to_judge_;
  bool judging_ = false;
  std::vector<RawRow> rows_;
  std::vector<HostEvent> events_;
  std::size_t rows_bytes_ = 0;
  HostTime hand_over_again_{};
  std::optional<HostTime> ticked_;
  HostTime ask_again_after_{};
  std::string archive_trouble_;
  std::array<std::string, 2> identity_stored_;

  std::deque<BenchLogLine> log_;
  std::vector<LastTrial> finished_;
  std::optional<LastTrial> last_;
  std::int64_t next_trial_ = 1;
  mutable AlignmentCache alignment_;
};

}  // namespace coldstroke::daq
