// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/playback/playback_run.hpp"

#include <random>

#include "analysis/detector/board_counts.hpp"
#include "analysis/pneumatics/stroke_model.hpp"
#include "daq/playback/board_talk.hpp"

namespace coldstroke::daq {
namespace {

/// What both ways share: bytes to messages to the session and back.
class Dialogue : public BoardTalk {
 public:
  explicit Dialogue(const StimulusMaker& make, const PlaybackProgress& progress)
      : session_{std::random_device{}()}, make_{make}, progress_{progress} {}

  void receive(std::span<const std::byte> bytes, std::int64_t now_us) override {
    std::vector<wire::Message> messages;
    decoder_.feed(bytes, messages);
    for (const wire::Message& message : messages) session_.receive(message, now_us);
  }
  /// Bytes to send; a complaint if the stimuli cannot be made.
  Result<std::vector<std::byte>> turn(std::int64_t now_us) override {
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
  [[nodiscard]] bool over() const override { return session_.finished() || stopped_; }
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

}  // namespace

Result<std::vector<Stimulus>> stimuli_of(std::span<const analysis::Recording> recordings, const BoardClaims& claims) {
  if (claims.stream.bits != 16 || claims.stream.channels.size() < 3)
    return complain("playback carries three axes of 16 bits; this board's stream is another",
                    "board \"" + claims.identity.firmware_name + "\"", "play to a board of 16 bits");
  const analysis::BoardSampling board = sampling_of(claims.stream);
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
  Dialogue dialogue{make, progress};
  const auto end = talk_over_port(port, dialogue);
  if (!end) return tl::unexpected{end.error()};
  auto run = dialogue.result(end->now_us);
  if (!run && !end->port_lost.empty()) return complain(end->port_lost, port.name, "check cable, power and port name");
  return run;
}

Result<PlaybackRun> play_in_lockstep(VirtualRigProcess& rig, const StimulusMaker& make, const PlaybackProgress& progress) {
  Dialogue dialogue{make, progress};
  const auto end = talk_in_lockstep(rig, dialogue);
  if (!end) return tl::unexpected{end.error()};
  return dialogue.result(end->now_us);
}

Result<PlaybackRun> play_to_virtual_board(const VirtualRigOptions& options, bool simulated_time, const StimulusMaker& make,
                                          const PlaybackProgress& progress, const VirtualRigProgram& program) {
  Dialogue dialogue{make, progress};
  const auto end = talk_to_virtual_board(options, simulated_time, dialogue, program);
  if (!end) return tl::unexpected{end.error()};
  return dialogue.result(end->now_us);
}

}  // namespace coldstroke::daq
