// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/playback/playback_run.hpp"

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <random>

#include "analysis/detector/board_counts.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "daq/link/serial_link.hpp"

namespace coldstroke::daq {
namespace {

constexpr std::int64_t kStepUs = 4'000;  // twice as often as the smallest piece is played
constexpr std::size_t kQueueMost = 1U << 20U;

/// What both ways share: bytes to messages to the session and back.
class Dialogue {
 public:
  explicit Dialogue(const StimulusMaker& make, const PlaybackProgress& progress)
      : session_{std::random_device{}()}, make_{make}, progress_{progress} {}

  void receive(std::span<const std::byte> bytes, std::int64_t now_us) {
    std::vector<wire::Message> messages;
    decoder_.feed(bytes, messages);
    for (const wire::Message& message : messages) session_.receive(message, now_us);
  }
  /// Bytes to send; a complaint if the stimuli cannot be made.
  Result<std::vector<std::byte>> turn(std::int64_t now_us) {
    if (session_.claims() && !made_) {
      made_ = true;
      run_.claims = *session_.claims();
      auto stimuli = make_(run_.claims);
      if (!stimuli) return tl::unexpected{stimuli.error()};
      run_.stimuli = *stimuli;
      session_.play(std::move(*stimuli));
    }
    if (made_ && session_.at() != told_) {
      told_ = session_.at();
      if (progress_ && !progress_(told_, run_.stimuli.size())) stopped_ = true;
    }
    std::vector<std::byte> out;
    for (const wire::Message& message : session_.due(now_us)) encoder_.append(message, out);
    return out;
  }
  [[nodiscard]] bool over() const { return session_.finished() || stopped_; }
  Result<PlaybackRun> result(std::int64_t now_us) {
    if (!made_)
      return tl::unexpected{
          session_.complaint().value_or(Complaint{"stopped before the board answered", "playback", "start again when ready"})};
    run_.answers = session_.answers();
    run_.ended_early = session_.complaint();
    if (stopped_ && !run_.ended_early)
      run_.ended_early = Complaint{"stopped by the person", "playback", "start again when ready"};
    run_.line = decoder_.counts();
    run_.elapsed_seconds = static_cast<double>(now_us) * 1.0e-6;
    return run_;
  }

 private:
  wire::Decoder decoder_;
  wire::Encoder encoder_;
  PlaybackSession session_;
  const StimulusMaker& make_;
  const PlaybackProgress& progress_;
  PlaybackRun run_;
  bool made_ = false, stopped_ = false;
  std::size_t told_ = SIZE_MAX;
};

/// Where the port's thread puts what came.
struct Inbox {
  std::mutex mutex;
  std::condition_variable come;
  std::vector<std::byte> bytes;
  std::string lost;
};

}  // namespace

Result<std::vector<Stimulus>> stimuli_of(std::span<const analysis::Recording> recordings, const BoardClaims& claims) {
  if (claims.stream.bits != 16 || claims.stream.channels.size() < 3)
    return complain("playback carries three axes of 16 bits; this board's stream is another",
                    "board \"" + claims.identity.firmware_name + "\"", "play to a board of 16 bits");
  const double range_g = static_cast<double>(claims.stream.channels.front().scale_hint) * 32768.0 / analysis::kStandardGravity;
  const analysis::BoardSampling board{1.0e9 / claims.stream.period_ns, 16, range_g};
  std::vector<Stimulus> out;
  for (const analysis::Recording& recording : recordings) {
    Stimulus stimulus{recording.name, {}};
    for (std::size_t axis = 0; axis < 3; ++axis) {
      const auto counts = analysis::board_counts(recording.axes[axis], recording.sample_rate_hz, board).counts;
      if (stimulus.counts.empty() && !counts.empty()) {
        std::array<std::int16_t, 3> rest{};
        for (std::size_t other = 0; other < 3; ++other)
          rest[other] =
              static_cast<std::int16_t>(analysis::count_of(recording.rest_g[other] * analysis::kStandardGravity, board));
        stimulus.counts.assign(counts.size(), rest);
      }
      for (std::size_t k = 0; k < std::min(counts.size(), stimulus.counts.size()); ++k)
        stimulus.counts[k][axis] = static_cast<std::int16_t>(counts[k]);
    }
    if (stimulus.counts.empty())
      return complain("the recording has no sample", "recording \"" + recording.name + "\"", "leave it out");
    out.push_back(std::move(stimulus));
  }
  return out;
}

Result<PlaybackRun> play_over_port(const PortSetup& port, const StimulusMaker& make, const PlaybackProgress& progress) {
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
  Dialogue dialogue{make, progress};
  const auto start = std::chrono::steady_clock::now();
  const auto now_us = [&start] {
    return std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::steady_clock::now() - start).count();
  };
  while (!dialogue.over()) {
    std::vector<std::byte> bytes;
    {
      std::unique_lock lock{inbox.mutex};
      inbox.come.wait_for(lock, std::chrono::microseconds{kStepUs}, [&inbox] { return !inbox.bytes.empty(); });
      bytes.swap(inbox.bytes);
    }
    dialogue.receive(bytes, now_us());
    auto out = dialogue.turn(now_us());
    if (!out) return tl::unexpected{out.error()};
    if (!out->empty()) link.write(std::move(*out));
  }
  auto run = dialogue.result(now_us());
  const std::lock_guard lock{inbox.mutex};
  if (!run && !inbox.lost.empty()) return complain(inbox.lost, port.name, "check cable, power and port name");
  return run;
}

Result<PlaybackRun> play_in_lockstep(VirtualRigProcess& rig, const StimulusMaker& make, const PlaybackProgress& progress) {
  Dialogue dialogue{make, progress};
  std::int64_t now_us = 0;
  while (!dialogue.over()) {
    auto out = dialogue.turn(now_us);
    if (!out) return tl::unexpected{out.error()};
    LockstepRequest request;
    request.advance_to_us = now_us + kStepUs;
    request.bytes[static_cast<std::size_t>(Node::flight)] = std::move(*out);
    auto reply = rig.exchange(request);
    if (!reply) return tl::unexpected{reply.error()};
    now_us = reply->now_us;
    for (const auto& chunk : reply->chunks)
      if (chunk.node == Node::flight) dialogue.receive(chunk.stamped.bytes, now_us);
  }
  return dialogue.result(now_us);
}

Result<PlaybackRun> play_to_virtual_board(const VirtualRigOptions& options, bool simulated_time, const StimulusMaker& make,
                                          const PlaybackProgress& progress, const VirtualRigProgram& program) {
  auto rig =
      simulated_time ? VirtualRigProcess::start_lockstep(options, program) : VirtualRigProcess::start_real_time(options, program);
  if (!rig) return tl::unexpected{rig.error()};
  constexpr int kAnyBaud = 921600;  // a pseudo-terminal has none
  return simulated_time ? play_in_lockstep(*rig, make, progress) : play_over_port({rig->flight_port(), kAnyBaud}, make, progress);
}

}  // namespace coldstroke::daq
