// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/bench/board_dialogue.hpp"

#include <chrono>
#include <utility>

namespace coldstroke::daq {

namespace {
using std::chrono::milliseconds;
constexpr milliseconds kHelloEvery{200};
constexpr milliseconds kHeartbeatEvery{50};  // a fifth of the rig board's watchdog: four may be lost
// Not multiples of a block's period (2 or 5 ms): a reply would wait behind a block every time, and the wait would look like an
// offset.
constexpr milliseconds kClockEvery{263};
constexpr milliseconds kClockQuick{27};
constexpr int kQuickRequests = 24;  // three clock-filter windows of eight
}  // namespace

void BoardDialogue::opened(HostTime now, std::uint32_t session) {
  open_ = true;
  session_ = session;
  // a lone delimiter ends whatever partial frame lies in the board's reader from an earlier opening (docs/wire.md)
  output_.assign(1, std::byte{0});
  hello_due_ = heartbeat_due_ = clock_due_ = now;
  quick_clock_requests_ = kQuickRequests;
}

void BoardDialogue::closed() {
  open_ = false;
  output_.clear();
}

void BoardDialogue::tick(HostTime now, bool compatible) {
  if (!open_) return;
  if (!compatible && now >= hello_due_) {
    send(wire::Hello{wire::kProtocolMajor, wire::kProtocolMinor, session_});
    hello_due_ = now + kHelloEvery;
  }
  if (now >= heartbeat_due_) {
    send(wire::Heartbeat{++heartbeats_});
    heartbeat_due_ = now + kHeartbeatEvery;
  }
  if (now >= clock_due_) {
    send(wire::ClockRequest{++clock_requests_, us_of(now)});
    const bool quick = quick_clock_requests_ > 0;
    if (quick) --quick_clock_requests_;
    clock_due_ = now + (quick ? kClockQuick : kClockEvery);
  }
}

void BoardDialogue::introduce(HostTime now) {
  if (!open_) return;
  send(wire::Hello{wire::kProtocolMajor, wire::kProtocolMinor, session_});
  quick_clock_requests_ = kQuickRequests;
  clock_due_ = now;
}

std::uint16_t BoardDialogue::command(wire::CommandCode code, std::uint32_t argument, std::uint32_t token) {
  send(wire::Command{++command_id_, code, token, argument});
  return command_id_;
}

void BoardDialogue::send(const wire::Message& message) {
  if (open_) encoder_.append(message, output_);
}

std::vector<std::byte> BoardDialogue::take_output() { return std::exchange(output_, {}); }

}  // namespace coldstroke::daq
