// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/command.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <csignal>
#include <iostream>

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

void catch_stop_signals() {
  struct sigaction action {};
  action.sa_handler = [](int) { stop_flag = true; };
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

bool stop_asked() { return stop_flag; }

}  // namespace coldstroke::gui
