// SPDX-License-Identifier: GPL-3.0-or-later
//
// What screens and terminals show of the bench: one value, taken whole, so that no two parts of a screen disagree.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daq/sequence/hand_valves.hpp"
#include "daq/sequence/sequence.hpp"
#include "daq/setup/keep_out.hpp"
#include "daq/setup/setup.hpp"
#include "protocol/wire/decoder.hpp"

namespace coldstroke::daq {

/// The state headline. `unknown`: no fresh reading, treat as pressurised.
enum class Headline { unknown, safe, pressurised, release_enabled, recording, venting, keep_clear };
[[nodiscard]] const char* word(Headline headline);  ///< "SAFE", "PRESSURISED", ...

/// One interlock as it stands: what it reads, what it must be, whether it holds, and what to do if not.
struct InterlockLine {
  std::string name, reading, limit, remedy;
  bool holds = false;
  bool fresh = false;
  std::optional<double> fresh_seconds{};  ///< a reading older than this counts as absent; none: it is always present
  bool aborts = false;                    ///< losing it now aborts and vents; else it only blocks the next step
  bool bypassable = false;                ///< a person may give a reason and go on
  std::string bypass_reason{};            ///< given for this trial: it does not hold and does not block. Never hide it
};

/// The checklist of the running trial. Signed by Bench::sign, each role by another person.
struct ChecklistView {
  std::vector<std::string> items;
  struct Role {
    std::string role, name, clock_time;  ///< name empty: not signed yet
    bool unattended = false;
  };
  std::vector<Role> roles;
  bool open = false;  ///< may be signed now
};

struct StepLine {
  std::string name;
  enum class State { done, now, ahead } state = State::ahead;
  std::string remark;  ///< e.g. remaining time "0:08"
};

struct LinkView {
  bool open = false;         ///< the port is open
  bool talking = false;      ///< frames came within the freshness limit
  double age_seconds = 0.0;  ///< since the last good frame; infinite if none
  wire::LineCounts counts;
  std::string identity;                                              ///< "rig-reference 1.0 (id 0a1b..)" or empty
  std::string trouble;                                               ///< one sentence, empty if none
  std::optional<double> clock_uncertainty_seconds, clock_drift_ppm;  ///< against the host clock
};

/// The one next action. `hold`: moves gas, needs press-and-hold.
struct NextAction {
  std::string label;  ///< says what will happen: "Start charging to 8.0 bar"
  OperatorRequest request = OperatorRequest::none;
  bool enabled = false, hold = false;
  std::string why_not;  ///< first blocking interlock, if not enabled
};

struct BenchLogLine {
  std::string clock_time;  ///< local, HH:MM:SS
  std::string text;
};

/// A channel for live drawing: index into Bench histories.
struct ChannelView {
  std::string name;
  analysis::Quantity quantity = analysis::Quantity::other;
  analysis::Role role = analysis::Role::other;
  std::optional<double> newest;  ///< SI
  double age_seconds = 0.0;
  bool saturated = false;
};

struct LastTrial {
  std::int64_t number = 0;
  std::string verdict;   ///< "pass", "fail", "void", "aborted"
  std::string sentence;  ///< why, in one sentence
};

struct BenchView {
  Headline headline = Headline::unknown;
  std::string alarm;                         ///< why everybody keeps clear, or empty
  std::optional<double> keep_clear_seconds;  ///< left to wait, while a wait runs
  std::optional<double> countdown_seconds;   ///< left to release while counting: the screen beeps at each whole second
  std::optional<double> pressure_pascals;    ///< newest supply pressure, gauge
  double pressure_age_seconds = 0.0;
  Step step = Step::idle;
  std::vector<StepLine> ladder;
  std::vector<InterlockLine> interlocks;
  std::array<LinkView, 2> links;  ///< by Node
  NextAction next;
  ChecklistView checklist;
  KeepOut keep_out;
  std::vector<HandStep> hand_steps;              ///< hand-valve rig: what the person there does now, with what proves it
  std::vector<std::string> lacking_protections;  ///< hand-valve rig: what does not happen by itself, one sentence each
  std::string lid;                               ///< "open", "shut", "between", "both switches on"; empty: no lid
  std::optional<double> lid_closing_seconds;     ///< of the running or last trial
  std::int64_t trial_number = 0;                 ///< running or next
  wire::DetectorState detector = wire::DetectorState::idle;
  bool detector_known = false;
  std::string firing;                                   ///< "safe, 2 of 2 open" etc.
  std::optional<double> alignment_uncertainty_seconds;  ///< flight to rig
  std::vector<ChannelView> channels;                    ///< in setup order; same order as the histories
  std::vector<BenchLogLine> log;                        ///< newest last, at most 200
  std::optional<LastTrial> last;
  bool virtual_rig = false;  ///< banner: not a real rig
  std::string campaign_file, campaign_name;
  std::optional<double> typed_target_pascals;  ///< the charge a person typed for this trial, gauge; none yet: nullopt
};

}  // namespace coldstroke::daq
