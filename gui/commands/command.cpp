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

CLI::Validator whole_number(std::int64_t low, std::int64_t high) {
  const std::string allowed = "a whole number from " + std::to_string(low) + " to " + std::to_string(high);
  return {[=](std::string& text) {
            std::int64_t value = 0;
            const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
            const bool good = error == std::errc{} && end == text.data() + text.size() && value >= low && value <= high;
            return good ? std::string{} : "'" + text + "' is not " + allowed;
          },
          "", "whole number"};
}

CLI::Validator number_within(double low, double high) {
  std::ostringstream allowed;
  allowed << "a number from " << low << " to " << high;
  return {[=, words = allowed.str()](std::string& text) {
            double value = 0.0;
            const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
            const bool good = error == std::errc{} && end == text.data() + text.size() && value >= low && value <= high;
            return good ? std::string{} : "'" + text + "' is not " + words;
          },
          "", "number"};
}

void catch_stop_signals() {
  struct sigaction action {};
  action.sa_handler = [](int) { stop_flag = true; };
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

bool stop_asked() { return stop_flag; }

}  // namespace coldstroke::gui
