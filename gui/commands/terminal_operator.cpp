// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/terminal_operator.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "gui/report/figures.hpp"

namespace coldstroke::gui {

namespace {

bool same(const daq::BenchLogLine& a, const daq::BenchLogLine& b) { return a.clock_time == b.clock_time && a.text == b.text; }

/// How many of `now` were the last of `before` already: the log is a window that moves on.
std::size_t known_lines(const std::vector<daq::BenchLogLine>& before, const std::vector<daq::BenchLogLine>& now) {
  for (std::size_t overlap = std::min(before.size(), now.size()); overlap > 0; --overlap)
    if (std::equal(before.end() - static_cast<std::ptrdiff_t>(overlap), before.end(), now.begin(), same)) return overlap;
  return 0;
}

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

}  // namespace

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

/// What does not change while the bench is open.
void TerminalOperator::show_standing(const daq::BenchView& view) {
  if (standing_shown_) return;
  standing_shown_ = true;
  const daq::KeepOut& k = view.keep_out;
  out_ << "Stored energy " << decimal((k.reservoir_joules + k.supply_joules.value_or(0.0)) / 1000.0, 1)
       << " kJ. Keep-out: line at " << decimal(k.configured_metres, 1) << " m; scaled distance " << decimal(k.scaled_metres, 1)
       << " m, published floor "
       << (k.floor_metres ? decimal(*k.floor_metres, 1) + " m" : std::string{"none: beyond what it covers"}) << " (" << k.edition
       << "); projectile reach " << decimal(k.reach_metres, 1) << " m" << std::endl;
  for (const std::string& warning : k.warnings) out_ << "WARNING: " << warning << std::endl;
  for (const std::string& lacking : view.lacking_protections) out_ << "THIS RIG LACKS: " << lacking << std::endl;
  out_ << "These interlocks reduce mistakes. They are not a safety-rated function (docs/safety.md)." << std::endl;
}

void TerminalOperator::show_log(const daq::BenchView& view) {
  for (std::size_t k = known_lines(shown_log_, view.log); k < view.log.size(); ++k)
    out_ << "  " << view.log[k].clock_time << ' ' << view.log[k].text << std::endl;
  shown_log_ = view.log;
}

void TerminalOperator::show_checklist(const daq::BenchView& view) {
  std::string missing;
  for (const auto& role : view.checklist.roles)
    if (view.checklist.open && role.name.empty()) missing += (missing.empty() ? "" : ", ") + role.role;
  if (missing == shown_roles_) return;
  if (shown_roles_.empty())
    for (std::size_t k = 0; k < view.checklist.items.size(); ++k)
      out_ << "  [ ] " << k + 1 << ". " << view.checklist.items[k] << std::endl;
  if (!missing.empty())
    out_ << "NEXT: each role goes through the list and signs all of it: 'sign ROLE NAME'. Not signed yet: " << missing
         << std::endl;
  shown_roles_ = missing;
}

void TerminalOperator::show_target(const daq::BenchView& view) {
  const bool missing = view.checklist.open && !view.typed_target_pascals;
  if (missing && !target_asked_)
    out_ << "NEXT: type the pressure to charge to, bar gauge: 'target BAR'. There is no default." << std::endl;
  target_asked_ = missing;
}

void TerminalOperator::show_hand_steps(const daq::BenchView& view) {
  std::string now;
  for (const daq::HandStep& step : view.hand_steps) now += step.what + (step.proven ? "\x01" : "\x02");
  if (now == shown_hand_) return;
  shown_hand_ = now;
  for (const daq::HandStep& step : view.hand_steps)
    out_ << "  BY HAND " << (step.proven ? "(proven) " : "") << step.what << " [" << step.proof << "]" << std::endl;
}

void TerminalOperator::show_count(const daq::BenchView& view) {
  const int seconds = view.countdown_seconds ? static_cast<int>(std::ceil(*view.countdown_seconds)) : -1;
  if (seconds == shown_seconds_) return;
  shown_seconds_ = seconds;
  if (seconds > 0) out_ << "\a  release in " << seconds << " s ('stop' aborts)" << std::endl;
}

void TerminalOperator::show_next(const daq::BenchView& view) {
  const bool finished = view.next.request == daq::OperatorRequest::begin && trials_left_ <= 0;
  const std::string prompt = view.next.enabled && !finished
                                 ? view.next.label + ": type '" + std::string{word_for(view)} + "' and Enter ('stop' aborts)"
                                 : "";
  if (prompt != shown_prompt_ && !prompt.empty()) out_ << "NEXT: " << prompt << std::endl;
  shown_prompt_ = prompt;
  // the reading inside changes all the time; the interlock's name does not
  const std::string block = view.next.why_not.substr(0, view.next.why_not.find(':'));
  if (block != shown_block_ && !block.empty()) {
    out_ << "  waits for " << view.next.why_not << std::endl;
    const auto line = std::ranges::find(view.interlocks, block, &daq::InterlockLine::name);
    if (line != view.interlocks.end()) {
      out_ << "    what to do: " << line->remedy << std::endl;
      if (line->bypassable) out_ << "    or, with a reason that is stored: 'bypass " << block << ": REASON'" << std::endl;
    }
  }
  shown_block_ = block;
}

void TerminalOperator::show(const daq::BenchView& view) {
  show_standing(view);
  const std::string step = std::string{word(view.headline)} + ", " + word(view.step);
  if (step != shown_step_) {
    out_ << "[" << step << "]" << std::endl;
    if (view.headline == daq::Headline::keep_clear) out_ << "\aKEEP CLEAR: " << view.alarm << std::endl;
  }
  shown_step_ = step;
  show_log(view);
  show_checklist(view);
  show_target(view);
  show_hand_steps(view);
  show_count(view);
  show_next(view);
}

Typed TerminalOperator::typed_signature(std::string_view rest, const daq::BenchView& view) {
  for (const auto& role : view.checklist.roles) {
    if (!rest.starts_with(role.role) || rest.size() <= role.role.size() || rest[role.role.size()] != ' ') continue;
    return TypedSignature{role.role, std::string{trimmed(rest.substr(role.role.size()))}, view.checklist.items};
  }
  out_ << "A signature reads 'sign ROLE NAME'." << std::endl;
  return daq::OperatorRequest::none;
}

Typed TerminalOperator::typed_bypass(std::string_view rest) {
  const std::size_t colon = rest.find(':');
  if (colon == std::string_view::npos) {
    out_ << "A bypass reads 'bypass INTERLOCK: REASON'." << std::endl;
    return daq::OperatorRequest::none;
  }
  return TypedBypass{std::string{trimmed(rest.substr(0, colon))}, std::string{trimmed(rest.substr(colon + 1))}};
}

Typed TerminalOperator::typed_target(std::string_view rest) {
  double bar = 0.0;
  const auto [end, error] = std::from_chars(rest.data(), rest.data() + rest.size(), bar);
  if (error != std::errc{} || end != rest.data() + rest.size() || !std::isfinite(bar)) {
    out_ << "A target reads 'target BAR', in bar gauge with a point: 'target 8.0'." << std::endl;
    return daq::OperatorRequest::none;
  }
  return TypedTarget{bar * 1.0e5};
}

Typed TerminalOperator::typed(std::string_view whole, const daq::BenchView& view) {
  const std::string_view line = trimmed(whole);
  if (line == "stop") return daq::OperatorRequest::abort;
  shown_prompt_.clear();  // said again after every line
  if (line.starts_with("sign ")) return typed_signature(trimmed(line.substr(5)), view);
  if (line.starts_with("bypass ")) return typed_bypass(line.substr(7));
  if (line.starts_with("target ")) return typed_target(trimmed(line.substr(7)));
  const bool finished = view.next.request == daq::OperatorRequest::begin && trials_left_ <= 0;
  if (view.next.enabled && !finished && line == word_for(view)) {
    if (view.next.request == daq::OperatorRequest::begin) --trials_left_;
    return view.next.request;
  }
  out_ << "'" << line << "' means nothing now." << std::endl;
  return daq::OperatorRequest::none;
}

}  // namespace coldstroke::gui
