// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/command.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <charconv>
#include <csignal>
#include <iostream>
#include <sstream>

namespace coldstroke::gui {

namespace {
std::atomic<bool> stop_flag{false};
static_assert(std::atomic<bool>::is_always_lock_free);  // set from a signal handler

template <class Number>
CLI::Validator within(Number low, Number high, const std::string& kind) {
  std::ostringstream allowed;
  allowed << "a " << kind << " from " << low << " to " << high;
  return {[=, words = allowed.str()](std::string& text) {
            Number value{};
            const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
            const bool good = error == std::errc{} && end == text.data() + text.size() && value >= low && value <= high;
            return good ? std::string{} : "'" + text + "' is not " + words;
          },
          "", kind};
}

}  // namespace

Exit worse(Exit a, Exit b) {
  static constexpr std::array kOrder{Exit::done, Exit::not_judged, Exit::failed, Exit::bad_input, Exit::bench_trouble};
  return *std::max(std::ranges::find(kOrder, a), std::ranges::find(kOrder, b));
}

Exit exit_of(std::string_view verdict) {
  if (verdict == "pass") return Exit::done;
  return verdict == "fail" ? Exit::failed : Exit::not_judged;
}

void print_complaint(const Complaint& complaint) {
  std::cerr << "coldstroke: " << complaint.what << "\n  where: " << complaint.where << "\n  what to do: " << complaint.remedy
            << '\n';
}

CLI::Validator whole_number(std::int64_t low, std::int64_t high) { return within(low, high, "whole number"); }

CLI::Validator number_within(double low, double high) { return within(low, high, "number"); }

void catch_stop_signals() {
  struct sigaction action {};
  action.sa_handler = [](int) { stop_flag = true; };
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

bool stop_asked() { return stop_flag; }

}  // namespace coldstroke::gui
