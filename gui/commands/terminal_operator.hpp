// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <ostream>
#include <string>
#include <string_view>

#include "daq/bench/bench_view.hpp"

namespace coldstroke::gui {

/// A person at a terminal: says what comes next and why not, and takes a typed word for every step. What moves gas needs the word
/// for that very step typed in full; `stop` aborts at any time. Pure but for the stream it prints to.
class TerminalOperator {
 public:
  TerminalOperator(std::ostream& out, std::int64_t trials) : out_{out}, trials_left_{trials} {}

  /// Prints what changed: the step, the open interlock, the next prompt, new log lines.
  void show(const daq::BenchView& view);
  /// One typed line. Answers what to ask of the bench; `none` if the line means nothing now (said so).
  [[nodiscard]] daq::OperatorRequest typed(std::string_view line, const daq::BenchView& view);

 private:
  [[nodiscard]] static std::string_view word_for(const daq::BenchView& view);
  std::ostream& out_;
  std::int64_t trials_left_;
  std::string shown_step_, shown_prompt_, shown_block_, newest_log_;
};

}  // namespace coldstroke::gui
