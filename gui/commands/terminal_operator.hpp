// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <ostream>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daq/bench/bench_view.hpp"

namespace coldstroke::gui {

/// A role signs, having confirmed every item that was printed.
struct TypedSignature {
  std::string role, name;
  std::vector<std::string> confirmed;
  bool operator==(const TypedSignature&) const = default;
};
/// Go on although this interlock does not hold, for this trial, for this reason.
struct TypedBypass {
  std::string interlock, reason;
  bool operator==(const TypedBypass&) const = default;
};
/// The pressure to charge to in this trial, gauge. There is no default.
struct TypedTarget {
  double pascals = 0.0;
  bool operator==(const TypedTarget&) const = default;
};
using Typed = std::variant<daq::OperatorRequest, TypedSignature, TypedBypass, TypedTarget>;

/// People at a terminal: says what comes next and why not, and takes a typed word for every step. What moves gas needs the word
/// for that very step typed in full; `stop` aborts at any time; the checklist is signed with `sign ROLE NAME`, each role by
/// another person; `target BAR` says what to charge to, anew for each trial; `bypass INTERLOCK: REASON` goes on without an
/// interlock that may be bypassed. It decides nothing: the bench does. Pure but for the stream it prints to.
class TerminalOperator {
 public:
  TerminalOperator(std::ostream& out, std::int64_t trials) : out_{out}, trials_left_{trials} {}

  /// Prints what changed: the step, new log lines, the keep-out distances, the checklist and who has not signed it, what the
  /// person at hand valves does, the open interlock, the next prompt, and the seconds of a count with a beep each.
  void show(const daq::BenchView& view);
  /// One typed line. Answers what to ask of the bench; OperatorRequest::none if the line means nothing now (said so).
  [[nodiscard]] Typed typed(std::string_view line, const daq::BenchView& view);

 private:
  [[nodiscard]] static std::string_view word_for(const daq::BenchView& view);
  void show_standing(const daq::BenchView& view);
  void show_log(const daq::BenchView& view);
  void show_checklist(const daq::BenchView& view);
  void show_target(const daq::BenchView& view);
  void show_hand_steps(const daq::BenchView& view);
  void show_count(const daq::BenchView& view);
  void show_next(const daq::BenchView& view);
  [[nodiscard]] Typed typed_signature(std::string_view rest, const daq::BenchView& view);
  [[nodiscard]] Typed typed_bypass(std::string_view rest);
  [[nodiscard]] Typed typed_target(std::string_view rest);
  std::ostream& out_;
  std::int64_t trials_left_;
  bool standing_shown_ = false, target_asked_ = false;
  int shown_seconds_ = -1;
  std::string shown_step_, shown_prompt_, shown_block_, shown_hand_, shown_roles_;
  std::vector<daq::BenchLogLine> shown_log_;
};

}  // namespace coldstroke::gui
