// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/playback/board_talk.hpp"

#include <chrono>
#include <condition_variable>
#include <mutex>

#include "daq/link/serial_link.hpp"

namespace coldstroke::daq {
namespace {

constexpr std::int64_t kStepUs = 4'000;  // twice as often as the smallest piece is played
constexpr std::size_t kQueueMost = 1U << 20U;

/// Where the port's thread puts what came.
struct Inbox {
  std::mutex mutex;
  std::condition_variable come;
  std::vector<std::byte> bytes;
  std::string lost;
};

}  // namespace

Result<TalkEnd> talk_over_port(const PortSetup& port, BoardTalk& talk) {
  Inbox inbox;
  SerialLink::Handlers handlers;
  handlers.received = [&inbox](HostTime, std::vector<std::byte> bytes) {
    const std::lock_guard lock{inbox.mutex};
    if (inbox.bytes.size() < kQueueMost) inbox.bytes.insert(inbox.bytes.end(), bytes.begin(), bytes.end());
    inbox.come.notify_one();
  };
  handlers.opened = [](HostTime) {};
  handlers.lost = [&inbox](HostTime, const QString& why) {
    const std::lock_guard lock{inbox.mutex};
    inbox.lost = why.toStdString();
  };
  SerialLink link{port, Node::flight, std::move(handlers)};
  const auto start = std::chrono::steady_clock::now();
  const auto now_us = [&start] {
    return std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::steady_clock::now() - start).count();
  };
  while (!talk.over()) {
    std::vector<std::byte> bytes;
    {
      std::unique_lock lock{inbox.mutex};
      inbox.come.wait_for(lock, std::chrono::microseconds{kStepUs}, [&inbox] { return !inbox.bytes.empty(); });
      bytes.swap(inbox.bytes);
    }
    talk.receive(bytes, now_us());
    auto out = talk.turn(now_us());
    if (!out) return tl::unexpected{out.error()};
    if (!out->empty()) link.write(std::move(*out));
  }
  const std::lock_guard lock{inbox.mutex};
  return TalkEnd{now_us(), inbox.lost};
}

Result<TalkEnd> talk_in_lockstep(VirtualRigProcess& rig, BoardTalk& talk) {
  std::int64_t now_us = 0;
  while (!talk.over()) {
    auto out = talk.turn(now_us);
    if (!out) return tl::unexpected{out.error()};
    LockstepRequest request;
    request.advance_to_us = now_us + kStepUs;
    request.bytes[static_cast<std::size_t>(Node::flight)] = std::move(*out);
    auto reply = rig.exchange(request);
    if (!reply) return tl::unexpected{reply.error()};
    now_us = reply->now_us;
    for (const auto& chunk : reply->chunks)
      if (chunk.node == Node::flight) talk.receive(chunk.stamped.bytes, now_us);
  }
  return TalkEnd{now_us, {}};
}

Result<TalkEnd> talk_to_virtual_board(const VirtualRigOptions& options, bool simulated_time, BoardTalk& talk,
                                      const VirtualRigProgram& program) {
  auto rig =
      simulated_time ? VirtualRigProcess::start_lockstep(options, program) : VirtualRigProcess::start_real_time(options, program);
  if (!rig) return tl::unexpected{rig.error()};
  constexpr int kAnyBaud = 921600;  // a pseudo-terminal has none
  return simulated_time ? talk_in_lockstep(*rig, talk) : talk_over_port({rig->flight_port(), kAnyBaud}, talk);
}

}  // namespace coldstroke::daq
