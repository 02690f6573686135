// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/terminal_operator.hpp"

namespace coldstroke::gui {

std::string_view TerminalOperator::word_for(const daq::BenchView& view) {
  switch (view.next.request) {
    case daq::OperatorRequest::begin:
      return "begin";
    case daq::OperatorRequest::charge:
      return "charge";
    case daq::OperatorRequest::count:
      return "release";
    case daq::OperatorRequest::acknowledge:
      return "seen";
    case daq::OperatorRequest::sign_virtual_rig:
      return "unattended";
    default:
      return {};
  }
}

void TerminalOperator::show(const daq::BenchView& view) {
  const std::string step = std::string{word(view.headline)} + ", " + word(view.step);
  if (step != shown_step_) out_ << "[" << step << "]" << std::endl;
  shown_step_ = step;
  if (!view.log.empty()) {
    const std::string newest = view.log.back().clock_time + " " + view.log.back().text;
    if (newest != newest_log_) out_ << "  " << newest << std::endl;
    newest_log_ = newest;
  }
  const bool finished = view.next.request == daq::OperatorRequest::begin && trials_left_ <= 0;
  const std::string prompt = view.next.enabled && !finished
                                 ? view.next.label + ": type '" + std::string{word_for(view)} + "' and Enter ('stop' aborts)"
                                 : "";
  if (prompt != shown_prompt_ && !prompt.empty()) out_ << "NEXT: " << prompt << std::endl;
  shown_prompt_ = prompt;
  // the reading inside changes all the time; the interlock's name does not
  const std::string block = view.next.why_not.substr(0, view.next.why_not.find(':'));
  if (block != shown_block_ && !block.empty()) out_ << "  waits for " << view.next.why_not << std::endl;
  shown_block_ = block;
}

daq::OperatorRequest TerminalOperator::typed(std::string_view line, const daq::BenchView& view) {
  if (line == "stop") return daq::OperatorRequest::abort;
  const bool finished = view.next.request == daq::OperatorRequest::begin && trials_left_ <= 0;
  if (view.next.enabled && !finished && line == word_for(view)) {
    if (view.next.request == daq::OperatorRequest::begin) --trials_left_;
    shown_prompt_.clear();
    return view.next.request;
  }
  out_ << "'" << line << "' means nothing now." << std::endl;
  shown_prompt_.clear();
  return daq::OperatorRequest::none;
}

}  // namespace coldstroke::gui
